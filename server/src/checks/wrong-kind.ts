import type { Quantity } from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import { exampleOf, pointUnits, type QuantityPlace, quantitiesOf, supplied } from '../model/quantities.ts';
import { siValueOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { named } from './wording.ts';

const article = (kind: QuantityKind): string => `${/^[aeiou]/.test(kind) ? 'an' : 'a'} ${kind}`;

const isOutOfPlace = ({ quantity: { inUnit, restated }, kinds }: QuantityPlace): boolean => {
  const kind = inUnit?.kind;
  if (kind === undefined) return false;
  const again = restated?.inUnit;
  return (kinds.length > 0 && !kinds.includes(kind)) || (again !== undefined && again.kind !== kind);
};

/** `to 10 N·m then 25 N·m` */
const isPass = (where: string, kind: QuantityKind): boolean => kind === 'torque' && where === 'the angle behind `then`';

/** A time to cure that stands as the quantity of a supply; `cure 1 h 30 min` as one. */
function cureIn(quantity: Quantity): string {
  const { item } = quantity.chunk;
  const begun = item?.kind === 'supply' ? item.cure : undefined;
  const isRest = begun !== undefined && quantity.chunk.text.slice(begun.end, quantity.start).trim() === '';
  const seconds = isRest ? (siValueOf(begun, 'time') ?? 0) + (siValueOf(quantity, 'time') ?? 0) : 0;
  return seconds > 0 && seconds % 60 === 0 ? `${seconds / 60} min` : written(quantity);
}

export const wrongKind: Check = {
  code: 'wrong-kind',
  severity: 'error',
  section: 'Units',
  local: true,
  fires: 'a quantity of one kind stands where another kind belongs.',
  why: 'A length in place of a torque is a slip of the pen that nobody can follow on the bench.',
  bad: 'part bolt "Bolt" thread M8 class 8.8 torque 25 mm',
  good: 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m',
  *run({ model }): Generator<Raw> {
    for (const { quantity, kinds, where } of quantitiesOf(model).filter(isOutOfPlace)) {
      const unit = quantity.inUnit;
      const cure = unit?.kind === 'time' && kinds === supplied ? cureIn(quantity) : undefined;
      if (unit !== undefined && kinds.length > 0 && !kinds.includes(unit.kind)) {
        yield {
          span: quantity,
          message: `${written(quantity)} is ${article(unit.kind)}, but ${where} takes ${kinds.map(article).join(' or ')}, such as ${exampleOf(kinds)}${cure === undefined ? '' : `; of a time to cure, write \`cure ${cure}\``}${isPass(where, unit.kind) ? '; torques one after the other stand behind `in stages`' : ''}.`,
          related: [],
        };
      }
      const again = quantity.restated;
      const restated = again?.inUnit;
      if (again !== undefined && unit !== undefined && restated !== undefined && restated.kind !== unit.kind) {
        yield {
          span: again,
          message: `${written(again)} is ${article(restated.kind)} and cannot restate ${written(quantity)}, ${article(unit.kind)}.`,
          related: [],
        };
      }
    }
    for (const { unit, span } of pointUnits(model)) {
      if (unit?.unit !== undefined && unit.unit.kind !== 'length') {
        yield {
          span,
          message: `points are given as lengths, and \`${unit.text}\` is a unit of ${unit.unit.kind}: write \`mm\` or \`in\`.`,
          related: [],
        };
      }
    }
    for (const { gap } of statementsOf(model, 'shim')) {
      const reading = model.readings.get(gap?.text ?? '');
      const limit = reading?.limit ?? reading?.max ?? reading?.min;
      const kind = limit?.inUnit?.kind;
      if (gap === undefined || limit === undefined || kind === undefined || kind === 'length') continue;
      yield {
        span: gap,
        message: `${named(gap.text)} is ${article(kind)} (${written(limit)}), but shims are chosen from a length: name the reading of the gap.`,
        related: related(limit, 'its limit'),
      };
    }
  },
};
