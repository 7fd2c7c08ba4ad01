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

/** A torque in both unit systems: `25 N·m (18.4 lbf·ft)`. The author's own restatement is kept as it stands. */
export function torqueInBoth(quantity: Quantity, bracketed?: Unit): string {
  const unit = quantity.unit?.unit;
  const extent = extentOf(quantity);
  if (quantity.restated !== undefined || unit?.kind !== 'torque' || extent === undefined) return spoken(quantity);
  const other = writtenIn(quantity, bracketed ?? otherTorqueUnit(unit, extent.high));
  return other === undefined ? spoken(quantity) : `${plain(quantity)} (${other.replace('..', ' to ')})`;
}

/** How the figures of one tightening are told. */
export interface TorqueWords {
  readonly stated: (quantity: Quantity) => string;
  /** N·m, in `unit` and in brackets. */
  readonly computed: (torque: number, unit: Unit) => string;
}

/**
 * The torques of one tightening, all with one unit in brackets: a row in lbf·in above one in lbf·ft would be read for the same. It is
 * the one that the author restates one of them in, or what is declared, else that of the other system for the highest.
 */
export function torqueWords(torques: readonly Quantity[], declared: Quantity | undefined): TorqueWords {
  const restated = [...torques.toReversed(), ...(declared === undefined ? [] : [declared])].flatMap(
    ({ restated }) => restated?.unit?.unit ?? [],
  );
  const greatest = Math.max(...torques.map((quantity) => extentOf(quantity)?.high ?? 0));
  const bracketIn = (unit: Unit): Unit =>
    restated.find((other) => other.kind === 'torque' && other !== unit) ?? otherTorqueUnit(unit, greatest);
  return {
    stated(quantity) {
      const unit = quantity.unit?.unit;
      const isDeclared = declared !== undefined && written(quantity) === written(declared);
      if (isDeclared && quantity.restated === undefined && declared.restated !== undefined) return spoken(declared);
      return torqueInBoth(quantity, unit === undefined ? undefined : bracketIn(unit));
    },
    computed(torque, unit) {
      const other = bracketIn(unit);
      return `${say(fromSI(torque, unit), unit)} (${say(fromSI(torque, other), other)})`;
    },
  };
}

export { counted } from './wording.ts';

/** `1, 2 and 5` */
export function listed(items: readonly (string | number)[]): string {
  return items.length < 2 ? String(items[0] ?? '') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

/** `M12 × 60 mm` */
export function sizeOf(part: Declaration | undefined): string | undefined {
  const length = part?.length === undefined ? undefined : spoken(part.length);
  if (part?.thread === undefined) return length;
  return length === undefined ? part.thread.text : `${part.thread.text} × ${length}`;
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
