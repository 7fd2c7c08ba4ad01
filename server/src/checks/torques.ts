import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { agreesAsRounded, convert, type Extent, extentOf, saysTheSame } from '../model/quantity.ts';

/** The torque that a `tighten` ends with: its last stage or its `to`. */
export const lastTorque = (statement: Statement): Quantity | undefined => statement.to ?? statement.stages?.at(-1);

/** Whether `statement` reaches the torque behind which its own angle, or the declared one, comes. */
export function reachesTurn(statement: Statement, part: Declaration | undefined): boolean {
  const last = lastTorque(statement);
  return (
    statement.angle !== undefined || last === undefined || (part?.torque !== undefined && sameTorque(last, part.torque))
  );
}

/** The stages before {@link lastTorque}: a last stage that `to` restates is the same pass. */
export function stagesBefore({ stages = [], to }: Statement): readonly Quantity[] {
  const last = stages.at(-1);
  return last === undefined || (to !== undefined && !sameTorque(last, to)) ? stages : stages.slice(0, -1);
}

/** Equal within the rounding of either, or overlapping where one is a range or has a tolerance. */
export function sameTorque(a: Quantity, b: Quantity): boolean {
  if (saysTheSame(a, b)) return true;
  const left = extentOf(a);
  const right = extentOf(b);
  if (left === undefined || right === undefined || left.kind !== 'torque' || right.kind !== 'torque') return true;
  if (overlaps(left, right)) return true;
  return (
    rounds(a, b) ||
    rounds(b, a) ||
    (a.restated !== undefined && sameTorque(a.restated, b)) ||
    (b.restated !== undefined && sameTorque(b.restated, a))
  );
}

const overlaps = (a: Extent, b: Extent): boolean => {
  const slack = 1e-9 * Math.max(Math.abs(a.high), Math.abs(b.high));
  return a.low <= b.high + slack && b.low <= a.high + slack;
};

/** True when the exact value, converted to the unit of the printed one, rounds to it. In one unit, rounding is no excuse. */
function rounds(exact: Quantity, printed: Quantity): boolean {
  const from = exact.inUnit;
  const to = printed.inUnit;
  if (from === undefined || to === undefined || from === to) return false;
  return (
    exact.form === 'single' &&
    printed.form === 'single' &&
    agreesAsRounded(convert(exact.value, from, to), printed.first)
  );
}
