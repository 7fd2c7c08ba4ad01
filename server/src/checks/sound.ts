import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import { judgeClamp } from '../mechanics/index.ts';
import { extentOf } from '../model/quantity.ts';
import { defaultSettings, type Settings } from './check.ts';
import { clampOf, fastenerOf, oddTorqueAt, torqueEnds } from './fastening.ts';
import { isRestatedWrong } from './restated-wrong.ts';

/** Whether a declared quantity of one of `kinds` can be copied: where it is itself told of, the copy would be, too. */
export function isSound(quantity: Quantity, ...kinds: readonly QuantityKind[]): boolean {
  const extent = extentOf(quantity);
  const { form, numbers } = quantity;
  return (
    extent !== undefined &&
    kinds.includes(extent.kind) &&
    extent.low > 0 &&
    (form !== 'range' || numbers.length < 2 || numbers[0]!.value <= numbers[1]!.value) &&
    !isRestatedWrong(quantity)
  );
}

/** Whether the declared torque of `part` is one, and its bolt would bear it. */
export function isSoundTorque(part: Declaration, settings: Settings = defaultSettings): boolean {
  const { torque, angle } = part;
  if (torque === undefined || !isSound(torque, 'torque')) return false;
  if (oddTorqueAt({ torque, angle, part, final: true }, settings) !== undefined) return false;
  const band = clampOf(fastenerOf(part, settings), torqueEnds(torque)!.high);
  return band === undefined || judgeClamp(band)?.over === undefined;
}
