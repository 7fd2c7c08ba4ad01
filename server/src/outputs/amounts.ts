import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import { extentOf, fromSI, say, writtenIn } from '../model/quantity.ts';

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

/**
 * A torque in both unit systems: `25 N·m (18.4 lbf·ft)`. The author's own restatement is kept as it stands. `greatest` (N·m)
 * is the highest of the passes that it is one of: a row in lbf·in above one in lbf·ft would be read for the same.
 */
export function torqueInBoth(quantity: Quantity, greatest?: number): string {
  const unit = quantity.unit?.unit;
  const extent = extentOf(quantity);
  if (quantity.restated !== undefined || unit?.kind !== 'torque' || extent === undefined) return spoken(quantity);
  const other = writtenIn(quantity, otherTorqueUnit(unit, greatest ?? extent.high));
  return other === undefined ? spoken(quantity) : `${plain(quantity)} (${other.replace('..', ' to ')})`;
}

/** A computed torque (N·m), in `unit` and in the other system; `greatest` as above. */
export function computedTorque(torque: number, unit: Unit = newtonMetres, greatest = torque): string {
  const other = otherTorqueUnit(unit, greatest);
  return `${say(fromSI(torque, unit), unit)} (${say(fromSI(torque, other), other)})`;
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
