/** Press fits as thick cylinders (Lamé). Lengths in mm, interference in µm on the diameter, stress in MPa, force in N. */
import { isAmount, isPositive } from './guard.ts';

export interface Elastic {
  /** Modulus, MPa. */
  readonly modulus: number;
  /** Poisson's ratio, 0 to 0.5. */
  readonly poisson: number;
}

/** Steel: modulus 210 GPa, Poisson's ratio 0.3; common handbook values. */
export const STEEL: Elastic = { modulus: 210_000, poisson: 0.3 };

export interface PressFit {
  /** Of the joint, mm. */
  readonly diameter: number;
  /** Outside of the hub, mm. */
  readonly hub: number;
  /** Bore of a hollow shaft, mm; 0, a solid one, if absent. */
  readonly shaftBore?: number;
  /** Length of the joint, mm. */
  readonly length: number;
  /** On the diameter, µm. */
  readonly interference: number;
  /** Friction, 0 to 2. */
  readonly friction: number;
  /** {@link STEEL} if absent. */
  readonly hubMaterial?: Elastic;
  readonly shaftMaterial?: Elastic;
}

export interface PressFigures {
  /** Pressure in the joint, MPa. */
  readonly pressure: number;
  /** Hoop stress at the hub's bore, MPa; tension. */
  readonly hubHoop: number;
  /** Von Mises stress at the hub's bore, MPa. */
  readonly hubEquivalent: number;
  /** Greatest hoop stress in the shaft, MPa; negative, compression. */
  readonly shaftHoop: number;
  /** Force to press it home or to push it off, N. */
  readonly force: number;
  /** Torque it carries before it slips, N·m. */
  readonly torque: number;
}

/** µm of interference per MPa of pressure. */
function compliance({
  diameter: d,
  hub: D,
  shaftBore: b = 0,
  hubMaterial = STEEL,
  shaftMaterial = STEEL,
}: PressFit): number | undefined {
  if (!isPositive(d) || !isPositive(D) || D <= d || !isAmount(b) || b >= d) return undefined;
  for (const { modulus, poisson } of [hubMaterial, shaftMaterial]) {
    if (!isPositive(modulus) || !isAmount(poisson) || poisson > 0.5) return undefined;
  }
  const outer = ((D ** 2 + d ** 2) / ((D - d) * (D + d)) + hubMaterial.poisson) / hubMaterial.modulus;
  const inner = ((d ** 2 + b ** 2) / ((d - b) * (d + b)) - shaftMaterial.poisson) / shaftMaterial.modulus;
  return d * 1000 * (outer + inner);
}

/**
 * Pressure, stresses, force and torque of a press fit, elastic, with even pressure over its length:
 * δ = p·d·[((D² + d²)/(D² − d²) + νo)/Eo + ((d² + b²)/(d² − b²) − νi)/Ei] (Lamé; Shigley, Mechanical Engineering Design).
 * Undefined for a hub no larger than the joint, a bore no smaller, or figures that are none.
 */
export function pressFit(press: PressFit): PressFigures | undefined {
  const perPressure = compliance(press);
  const { diameter: d, hub: D, shaftBore: b = 0, length, interference, friction } = press;
  if (!isPositive(perPressure) || !isPositive(length) || !isAmount(interference)) return undefined;
  if (!isAmount(friction) || friction > 2) return undefined;
  const pressure = interference / perPressure;
  const hubHoop = (pressure * (D ** 2 + d ** 2)) / ((D - d) * (D + d));
  const force = friction * pressure * Math.PI * d * length;
  return {
    pressure,
    hubHoop,
    hubEquivalent: Math.sqrt(hubHoop ** 2 + hubHoop * pressure + pressure ** 2),
    shaftHoop: b === 0 ? 0 - pressure : (-2 * pressure * d ** 2) / ((d - b) * (d + b)),
    force,
    torque: (force * d) / 2000,
  };
}
