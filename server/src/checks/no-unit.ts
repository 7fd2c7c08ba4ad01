import { type Quantity, type Span, spanText } from '../../../grammar/syntax.ts';
import { type QuantityKind, type Unit, type UnitSystem, unitOf } from '../../../grammar/units.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { exampleOf, pointUnits, type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import { written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Raw } from './check.ts';
import { replaceSpan } from './edits.ts';
import { ByPlace } from './entries.ts';

/** `5 to 100 N·m`, `5 - 100 N·m`, `1 1/4 in`, `12½ L`, `1 250 L`, `2"`: a range or number written otherwise or an inch mark is told of as one, as are stages behind `to`. */
const isTold = ({ chunk, end }: Span): boolean =>
  /^(?: to | ?[-−–—…~] ?[0-9]|(?:[ -][0-9]+)?\/[0-9]|[½¼¾⅓⅔⅛⅜⅝⅞]|[ '’][0-9]{3}|,[0-9]|:[0-9]| ?\+ ?[0-9]| then [0-9.]+ ?[Nlk])/.test(
    chunk.text.slice(end, end + 16),
  ) ||
  (chunk.text[end] === '"' && /^"[^"\r\n]*(?:[\r\n]|$)/.test(chunk.text.slice(end)));
const lacksUnit = ({ quantity }: QuantityPlace): boolean =>
  isBare(quantity) || (quantity.restated !== undefined && isBare(quantity.restated));
/** Where a unit is known, that its name stands there need not be asked. */
const isBare = (quantity: Quantity): boolean => quantity.inUnit === undefined && quantity.unit === undefined;

/** Units that an author is likely to mean, the usual first; those of time and angle belong to both systems. */
const usual: Readonly<Record<QuantityKind, readonly string[]>> = {
  torque: ['N·m', 'lbf·ft', 'lbf·in'],
  length: ['mm', 'in'],
  angle: ['°'],
  temperature: ['°C', '°F'],
  time: ['min', 'h', 'd', 's'],
  volume: ['L', 'mL', 'qt', 'pt'],
  force: ['kN', 'N', 'lbf'],
  pressure: ['bar', 'kPa', 'psi'],
  mass: ['kg', 'g', 'lb'],
};

/** Where other units are usual than elsewhere; most tools that have a range turn something. */
const usualIn: Readonly<Record<string, readonly string[]>> = {
  '`lead`': ['d', 'h'],
  '`interference`': ['µm', 'in'],
  '`range`': [...usual.torque, ...usual.length],
};
const anyKind: readonly QuantityKind[] = ['length', 'torque'];

/** Units that the place may be meant in, of the system that is measured in. */
const unitsFor = ({ kinds, where }: QuantityPlace, measures: UnitSystem | undefined): string =>
  inSystem(usualIn[where] ?? (kinds.length > 0 ? kinds : anyKind).flatMap((kind) => usual[kind]), measures);

const inSystem = (all: readonly string[], system: UnitSystem | undefined): string =>
  all.filter((each) => system === undefined || [system, 'neutral'].includes(unitOf(each)?.system ?? '')).join(' ');

/** The systems that the quantities of the file are written in. */
const systemsIn = noted((model: Model): ReadonlySet<UnitSystem> => {
  const systems = new Set(quantitiesOf(model).flatMap(({ quantity: { inUnit } }) => inUnit?.system ?? []));
  systems.delete('neutral');
  return systems;
});

/** The one system that they are written in. */
function systemOf(model: Model): UnitSystem | undefined {
  const [only, other] = systemsIn(model);
  return other === undefined ? only : undefined;
}

/** By each quantity that is drained or filled, what its supply is declared by. */
const declaredKinds = noted((model: Model): ByPlace<QuantityKind> => {
  const found = new ByPlace<QuantityKind>();
  for (const kind of ['drain', 'fill'] as const)
    for (const { amount, name } of statementsOf(model, kind)) {
      const declared = model.supplies.get(name?.text ?? '')?.amount?.inUnit?.kind;
      if (amount !== undefined && declared !== undefined) found.set(amount, declared);
    }
  return found;
});

/** What restates a unit is of the other system. */
const others = (unit: Unit | undefined): string =>
  unit === undefined ? '' : usual[unit.kind].filter((each) => unitOf(each)?.system !== unit.system).join(' ');

/** Most tools that have one turn something. */
const ranges = '100 N·m, or 25 mm of what measures a length';

export const noUnit: Check = {
  code: 'no-unit',
  severity: 'error',
  section: 'Units',
  local: true,
  fires: 'a number that needs a unit has none.',
  why: 'Twenty-five of what? Newton metres and pound-feet differ by a third.',
  bad: `procedure joint "Joint"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 25
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `procedure joint "Joint"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  *run({ model, settings }): Generator<Raw> {
    const measures = model.measures ?? settings.measures;
    for (const place of quantitiesOf(model).filter(lacksUnit)) {
      const { quantity, kinds, where } = place;
      if (quantity.unit === undefined && !isTold(quantity)) {
        yield {
          span: quantity,
          message: `${written(quantity)} has no unit, and ${where} needs one: write it as in ${where === '`range`' ? ranges : exampleOf(kinds)}.`,
          related: [],
          data: { units: unitsFor(place, measures) },
        };
      }
      const again = quantity.restated;
      if (again !== undefined && again.unit === undefined) {
        yield {
          span: again,
          message: `${written(again)} in brackets has no unit: write the other unit behind it.`,
          related: [],
          data: { units: others(quantity.inUnit), restates: true },
        };
      }
    }
    for (const { unit, span } of pointUnits(model)) {
      if (unit === undefined)
        yield {
          span,
          message: 'the points have no unit: write one behind the last point, such as `mm`.',
          related: [],
          data: { units: inSystem(usual.length, measures), points: true },
        };
    }
  },
  repairs({ span, data }, { model }) {
    const isPoint = data?.['points'] === true;
    // That of points stands behind the bracket.
    const end = isPoint ? span.chunk.text.indexOf(')', span.end) + 1 : span.end;
    if (end === 0) return [];
    // `62H7/k6`
    const isBeforeWord = /\p{L}/u.test(span.chunk.text[end] ?? '');
    const system = data?.['restates'] === true ? undefined : systemOf(model);
    const declared = declaredKinds(model).get(span);
    return inSystem(String(data?.['units'] ?? '').split(' '), system)
      .split(' ')
      .filter((unit) => unit !== '' && (declared === undefined || unitOf(unit)?.kind === declared))
      .map((unit) => {
        const behind = unit === '°' ? unit : ` ${unit}`;
        return {
          title: `Write ${isPoint ? unit : spanText(span) + behind}`,
          edits: [replaceSpan(model.tree, { ...span, start: end, end }, isBeforeWord ? `${behind} ` : behind)],
          safe: false,
        };
      });
  },
};
