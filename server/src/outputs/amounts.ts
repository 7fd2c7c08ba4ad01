import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import { extentOf, fromSI, say, written, writtenIn } from '../model/quantity.ts';

/** A quantity as a person reads it out: `0.40 to 0.80 mm`, with its restatement in brackets. */
export function spoken(quantity: Quantity): string {
  const own = plain(quantity);
  return quantity.restated === undefined ? own : `${own} (${plain(quantity.restated)})`;
}

function plain({ numbers, form, unit }: Quantity): string {
  const [first, second] = numbers;
  const digits =
    second === undefined ? (first?.image ?? '?') : `${first!.image}${form === 'range' ? ' to ' : ' ± '}${second.image}`;
  const symbol = unit?.unit?.symbol ?? unit?.text;
  return symbol === undefined ? digits : symbol === '°' ? `${digits}°` : `${digits} ${symbol}`;
}

const newtonMetres = unitOf('N·m')!;
const poundFeet = unitOf('lbf·ft')!;
const poundInches = unitOf('lbf·in')!;
/** N·m; a torque below is read on a wrench in lbf·in. */
const smallTorque = 15;

/** The unit of the other system in which a torque of so many N·m is read off a wrench. */
const otherTorqueUnit = (unit: Unit, torque: number): Unit =>
  unit.system === 'imperial' ? newtonMetres : torque < smallTorque ? poundInches : poundFeet;

/** The system that a procedure measures in; where it names none, the wrenches may be of either, and N·m must be readable. */
export type Measures = 'metric' | 'imperial' | undefined;

/** What stands in brackets behind a torque in `unit`: the author's own other units, else that of the other system; and what is measured in. */
function bracketUnits(unit: Unit, restated: readonly Unit[], torque: number, measures: Measures): readonly Unit[] {
  const own = restated.find((other) => other.kind === 'torque' && other !== unit);
  const bracketed = own ?? otherTorqueUnit(unit, torque);
  const isMeasured = (each: Unit): boolean =>
    measures === 'imperial' ? each.system === measures : each === newtonMetres;
  if (isMeasured(unit) || isMeasured(bracketed)) return [bracketed];
  return [bracketed, measures === 'imperial' ? otherTorqueUnit(newtonMetres, torque) : newtonMetres];
}

/** The quantity as the author has it, and in each of `units` that he has not; of a restatement its own figure is kept. */
function torqueIn(quantity: Quantity, units: readonly Unit[]): string {
  const { restated } = quantity;
  const others = units
    .filter((unit) => unit !== restated?.inUnit)
    .flatMap((unit) => writtenIn(quantity, unit)?.replace('..', ' to ') ?? []);
  const bracketed = [...(restated === undefined ? [] : [plain(restated)]), ...others];
  return bracketed.length === 0 ? plain(quantity) : `${plain(quantity)} (${bracketed.join(', ')})`;
}

/** A torque in both unit systems: `25 N·m (18.4 lbf·ft)`. The author's own restatement is kept as it stands. */
export function torqueInBoth(quantity: Quantity, measures: Measures): string {
  return torqueWords([quantity], undefined, measures).stated(quantity);
}

/** How the figures of one tightening are told. */
export interface TorqueWords {
  readonly stated: (quantity: Quantity) => string;
  /** N·m, in `unit` and in brackets. */
  readonly computed: (torque: number, unit: Unit) => string;
}

/**
 * The torques of one tightening, all with the same units in brackets: a row in lbf·in above one in lbf·ft would be read for the same. They
 * are what the author restates one of them in, or what is declared, else that of the other system for the highest; and what is measured in.
 */
export function torqueWords(
  torques: readonly Quantity[],
  declared: Quantity | undefined,
  measures: Measures,
): TorqueWords {
  const restated = [...torques.toReversed(), ...(declared === undefined ? [] : [declared])].flatMap(
    ({ restated }) => restated?.inUnit ?? [],
  );
  const greatest = Math.max(...torques.map((quantity) => extentOf(quantity)?.high ?? 0));
  const unitsBeside = (unit: Unit): readonly Unit[] => bracketUnits(unit, restated, greatest, measures);
  return {
    stated(quantity) {
      const unit = quantity.inUnit;
      if (unit?.kind !== 'torque') return spoken(quantity);
      const isDeclared = declared !== undefined && written(quantity) === written(declared);
      return torqueIn(isDeclared && quantity.restated === undefined ? declared : quantity, unitsBeside(unit));
    },
    computed(torque, unit) {
      const others = unitsBeside(unit).map((other) => say(fromSI(torque, other), other));
      return `${say(fromSI(torque, unit), unit)} (${others.join(', ')})`;
    },
  };
}

/** `M12 × 60 mm`; of a ring or bearing bore, outside diameter and width: `17 × 40 × 12 mm` */
export function sizeOf(part: Declaration | undefined): string | undefined {
  if (part === undefined) return undefined;
  const { thread, bore, outside } = part;
  const length = part.length === undefined ? undefined : spoken(part.length);
  if (thread !== undefined) return length === undefined ? thread.text : `${thread.text} × ${length}`;
  if (bore === undefined || (outside ?? part.length) === undefined) return length;
  if (outside === undefined) return `bore ${spoken(bore)}, ${length} long`;
  return across(part.length === undefined ? [bore, outside] : [bore, outside, part.length]);
}

/** `class 10.9`, `grade 8`: what the bolt must be made of to take its torque. */
export function strengthOf(part: Declaration | undefined): string | undefined {
  const said = [
    ...(part?.propertyClass === undefined ? [] : [`class ${part.propertyClass.image}`]),
    ...(part?.grade === undefined ? [] : [`grade ${part.grade.image}`]),
  ];
  return said.length === 0 ? undefined : said.join(', ');
}

/** What a fastener bears on, where its declaration says so. */
export const headOf = (part: Declaration | undefined): string | undefined =>
  part?.head === undefined ? undefined : `${part.head.text} head`;

/** Sizes across each other, the unit once where all are in one. */
function across(sizes: readonly Quantity[]): string {
  const all = sizes.map(spoken);
  const unit = ` ${sizes[0]!.inUnit?.symbol}`;
  const isShared = all.every((each) => each.endsWith(unit));
  return isShared ? `${all.map((each) => each.slice(0, -unit.length)).join(' × ')}${unit}` : all.join(' × ');
}

/** The name of a reading, for people. */
export const readingTitle = (name: string): string => name.replace(/-/g, ' ');

/** `, 0.40 to 0.80 mm` */
export function limitsOf({ limit, min, max }: Statement): string {
  const said = [
    limit === undefined ? '' : spoken(limit),
    min === undefined ? '' : `at least ${spoken(min)}`,
    max === undefined ? '' : `at most ${spoken(max)}`,
  ].filter((each) => each !== '');
  return said.length === 0 ? '' : `, ${said.join(', ')}`;
}
