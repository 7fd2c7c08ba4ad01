/** Torque wrenches: what an adapter does to the reading, and whether the wrench suits the torque. N·m, mm, degrees. */
import { isAmount, isPositive, isSigned } from './guard.ts';

export interface Adapter {
  /** From the middle of the grip to the square drive, mm. */
  readonly wrench: number;
  /** From the square drive to the middle of the fastener, mm. */
  readonly extension: number;
  /** Between the adapter and the wrench's own line, degrees; 0 lengthens it, 90 changes nothing, 180 shortens it. */
  readonly angle?: number;
}

/** Quotient of lever arms: torque at the drive for each unit of torque at the fastener. */
function leverRatio({ wrench, extension, angle = 0 }: Adapter): number | undefined {
  if (!isPositive(wrench) || !isAmount(extension) || !isSigned(angle)) return undefined;
  // The cosine of a right angle must be 0, of any number of turns too.
  const turned = Math.abs(angle) % 360;
  const arm = wrench + extension * (turned % 180 === 90 ? 0 : Math.cos((turned * Math.PI) / 180));
  const ratio = wrench / arm;
  return isPositive(ratio) ? ratio : undefined;
}

/**
 * What to dial in so that the fastener gets its torque: T·L/(L + E·cos θ). A straight extension lowers the setting.
 * Undefined where the adapter folds back past the grip.
 */
export function adapterSetting(torque: number, adapter: Adapter): number | undefined {
  const ratio = leverRatio(adapter);
  return ratio !== undefined && isAmount(torque) ? torque * ratio : undefined;
}

/** What the fastener gets at a setting: the inverse of {@link adapterSetting}. */
export function torqueAtSetting(setting: number, adapter: Adapter): number | undefined {
  const ratio = leverRatio(adapter);
  return ratio !== undefined && isAmount(setting) ? setting / ratio : undefined;
}

export interface RangeUse {
  /** `low`: inside the range but under a fifth of its upper end. */
  readonly verdict: 'below' | 'low' | 'good' | 'above';
  /** Of the upper end of the range. */
  readonly share: number;
}

/** What is lost on the way through other units and through an adapter: a torque at the very end of the range is in it. */
const rounding = 1e-9;

/** How a torque sits in a wrench's range, same unit for all three. Common practice, no source: not under a fifth. */
export function rangeUse(torque: number, from: number, to: number): RangeUse | undefined {
  if (!isAmount(torque) || !isAmount(from) || !isPositive(to) || from > to) return undefined;
  const least = torque * (1 - rounding);
  const most = torque * (1 + rounding);
  const verdict = least > to ? 'above' : most < from ? 'below' : most < to / 5 ? 'low' : 'good';
  return { verdict, share: torque / to };
}

/** Permitted deviation of the reading, as a share: ISO 6789:2003, 6 % for tools up to 10 N·m, 4 % above (read as quoted). */
export function wrenchTolerance(upperEnd: number): number | undefined {
  return isPositive(upperEnd) ? (upperEnd <= 10 ? 0.06 : 0.04) : undefined;
}
