import type { Quantity } from '../../../grammar/syntax.ts';
import type { UnitSystem } from '../../../grammar/units.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import type { Model } from '../model/model.ts';
import { pointUnits, quantitiesOf } from '../model/quantities.ts';
import { convert, customaryUnit, digitsKept, figure, written, writtenIn } from '../model/quantity.ts';
import { type Check, type Raw, related } from './check.ts';
import { appendTo } from './edits.ts';

/** Systems that the quantity and its restatement stand in. */
function systemsOf({ inUnit, restated }: Quantity): readonly UnitSystem[] {
  const first = inUnit?.system;
  const second = restated?.inUnit?.system;
  if (second === undefined || second === 'neutral')
    return first === undefined || first === 'neutral' ? neutral : alone[first];
  return first === undefined || first === 'neutral' ? alone[second] : [first, second];
}
const neutral: readonly UnitSystem[] = [];
/** Made once: a procedure has thousands of quantities. */
const alone = { metric: ['metric'], imperial: ['imperial'] } as const;

export const mixedUnits: Check = {
  code: 'mixed-units',
  severity: 'warning',
  section: 'Units',
  // Without `measures`, the first quantity of the file sets the rule.
  local: ({ model, settings }) => (model.measures ?? settings.measures) !== undefined,
  fires:
    'a quantity is outside the system that `measures` names and does not restate itself in it, or both systems stand in one file without `measures`.',
  why: 'A mechanic with a metric wrench guesses, and guesses differ.',
  bad: `procedure lid "Lid"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 18 lbf·ft
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `procedure lid "Lid"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 18 lbf·ft (24 N·m)
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  *run({ model, settings }): Generator<Raw> {
    let system: UnitSystem | undefined = model.measures ?? settings.measures;
    let first: Quantity | undefined;
    for (const { quantity } of quantitiesOf(model)) {
      const systems = systemsOf(quantity);
      if (systems.length === 0) continue;
      if (system === undefined) {
        // Without `measures`, the first quantity in one system only sets the rule.
        if (new Set(systems).size === 1) {
          system = systems[0];
          first = quantity;
        }
        continue;
      }
      if (systems.includes(system)) continue;
      const unit = quantity.inUnit;
      // Told of by `no-unit`.
      if (unit === undefined) continue;
      const other = writtenIn(quantity, counterpart(unit, system as 'metric' | 'imperial'));
      yield {
        span: quantity,
        message:
          first === undefined
            ? `${written(quantity)} is ${systems[0]}, but this ${model.measures === undefined ? 'project' : 'procedure'} measures ${system}: restate it as (${other}).`
            : `${written(quantity)} is ${systems[0]}, but ${written(first)} above is ${system}: write \`measures\` in the head, and restate the other system in brackets, here (${other}).`,
        related:
          first === undefined
            ? related(model.head?.measures, `\`measures ${system}\``)
            : related(first, `the first ${system} quantity`),
        data: {
          restated: quantity.restated === undefined ? restatement(quantity, unit, system as 'metric' | 'imperial') : '',
        },
      };
    }
    // Points cannot be restated; in a file without `measures` they are no reason to ask for it.
    for (const { unit } of model.measures === undefined ? [] : pointUnits(model)) {
      const given = unit?.unit?.system;
      if (given === undefined || given === 'neutral' || given === model.measures) continue;
      yield {
        span: unit!,
        message: `these points are ${given}, but this procedure measures ${model.measures}: give them in \`${customaryUnit('length', model.measures!).symbol}\`.`,
        related: related(model.head?.measures, `\`measures ${model.measures}\``),
      };
    }
  },
  repairs(finding, { model }) {
    const restated = String(finding.data?.['restated'] ?? '');
    return restated === ''
      ? []
      : [
          {
            title: `Restate it as (${restated})`,
            edits: [appendTo(model.tree, finding.span, `(${restated})`)],
            safe: true,
          },
        ];
  },
};

/** The unit of like size in the other system: lbf·in for small torques, mL for mL. */
export function counterpart(unit: Unit, system: 'metric' | 'imperial'): Unit {
  if (system === 'imperial' && unit.symbol === 'kgf·cm') return unitOf('lbf·in')!;
  if (system === 'metric' && unit.symbol === 'pt') return unitOf('L')!;
  return customaryUnit(unit.kind, system);
}

/** The same value in the other system, with as many digits as keep it within half a percent, and what its author can tell apart. */
export function restatement(quantity: Quantity, unit: Unit, system: 'metric' | 'imperial'): string {
  const to = counterpart(unit, system);
  if (quantity.form === 'tolerance') return writtenIn(quantity, to) ?? '';
  const numbers = quantity.numbers.map((number) => {
    const exact = convert(number.value, unit, to);
    const least = Math.abs(exact) >= 100 ? Math.ceil(Math.log10(Math.abs(exact) + 1)) : 3;
    return figure(exact, digitsKept(quantity, exact, to, least));
  });
  return `${numbers.join('..')}${to.symbol === '°' ? '' : ' '}${to.symbol}`;
}

/** A quantity as it was declared, restated where the procedure measures otherwise. */
export function restated(model: Model, quantity: Quantity): string {
  if (quantity.restated !== undefined) return `${written(quantity)} (${written(quantity.restated)})`;
  const other = otherSystem(model, quantity);
  return other === undefined ? written(quantity) : `${written(quantity)} (${restatement(quantity, ...other)})`;
}

/** The unit of a quantity and the system that the procedure measures in, where that is another. */
export function otherSystem(model: Model, { unit }: Quantity): [Unit, 'metric' | 'imperial'] | undefined {
  const own = unit?.unit;
  return own === undefined || model.measures === undefined || own.system === 'neutral' || own.system === model.measures
    ? undefined
    : [own, model.measures];
}
