/** Mounting by heat or cold. Diameters in mm, growth and interference in µm, temperatures in °C, differences in K. */
import { isAmount, isPositive, isSigned } from './guard.ts';

/**
 * Linear expansion in 1/K, about 20 to 100 °C. Bearing steel: a maker's catalogue, read; another maker's table of bore
 * growth comes to 10.9e-6. Ductile iron, cast aluminium, aluminium, bronze, brass: Callister, Fundamentals of
 * Materials Science and Engineering, 3rd ed., appendix B, read (356.0, 6061, C93200, C26000). Steel: mild steel, read in
 * a public table. Grey iron: read in a public table. Stainless 304: from memory.
 */
export const EXPANSION = {
  'bearing steel': 12.5e-6,
  steel: 11.7e-6,
  'grey iron': 10.8e-6,
  'ductile iron': 11.2e-6,
  'stainless steel': 17.2e-6,
  aluminium: 23.6e-6,
  'cast aluminium': 21.5e-6,
  bronze: 18e-6,
  brass: 19.9e-6,
} as const;

/** Room temperature that parts are measured at (ISO 1), °C. */
export const ROOM = 20;

/** Greatest heating temperature, °C: open bearings 120, sealed or greased for life 80 (makers' handbooks, read). */
export const HEATING_LIMITS = { open: 120, sealed: 80 } as const;

/**
 * Growth of a diameter in µm over a temperature difference in K; negative when it cools.
 * Diameter above 0, expansion in 1/K above 0.
 */
export function growth(
  diameter: number,
  kelvin: number,
  expansion: number = EXPANSION['bearing steel'],
): number | undefined {
  return isPositive(diameter) && isSigned(kelvin) && isPositive(expansion)
    ? diameter * 1000 * kelvin * expansion
    : undefined;
}

/** Temperature difference in K that makes a diameter grow, or shrink, by so many µm. The inverse of {@link growth}. */
export function kelvinFor(
  diameter: number,
  micrometres: number,
  expansion: number = EXPANSION['bearing steel'],
): number | undefined {
  if (!isPositive(diameter) || !isAmount(micrometres) || !isPositive(expansion)) return undefined;
  return micrometres / (diameter * 1000 * expansion);
}

export interface Mounting {
  /** Of the joint, mm. */
  readonly diameter: number;
  /** Greatest interference, µm; negative is clearance. */
  readonly interference: number;
  /** Clearance wanted while mounting, µm; 0 if absent. */
  readonly clearance?: number;
  /** Of the part heated or cooled, °C. */
  readonly temperature: number;
  /** Of the other part, °C; {@link ROOM} if absent. */
  readonly ambient?: number;
  /** Of the part heated or cooled, 1/K; bearing steel if absent. */
  readonly expansion?: number;
  /** The outer part is heated or the inner one cooled; `outer` if absent. */
  readonly part?: 'outer' | 'inner';
}

export interface MountingVerdict {
  readonly opens: boolean;
  /** What has to open, µm. */
  readonly needed: number;
  /** What the temperature opens, µm. */
  readonly gained: number;
  /** Temperature difference that would do, K. */
  readonly kelvin: number;
  /** Kelvin still missing; 0 if it opens. */
  readonly missing: number;
  /** Temperature that would do, °C: above ambient for an outer part, below for an inner one. */
  readonly temperature: number;
}

/**
 * Whether heating the outer part, or cooling the inner one, opens a fit. Undefined for figures that are none, and for
 * temperatures below absolute zero.
 */
export function opensFit(mounting: Mounting): MountingVerdict | undefined {
  const { diameter, interference, clearance = 0, temperature, ambient = ROOM, part = 'outer' } = mounting;
  const expansion = mounting.expansion ?? EXPANSION['bearing steel'];
  if (!isSigned(interference) || !isAmount(clearance) || !isTemperature(temperature) || !isTemperature(ambient))
    return undefined;
  const needed = Math.max(0, interference + clearance);
  const sign = part === 'outer' ? 1 : -1;
  const kelvin = kelvinFor(diameter, isAmount(needed) ? needed : 0, expansion);
  const gained = growth(diameter, sign * (temperature - ambient), expansion);
  if (kelvin === undefined || gained === undefined) return undefined;
  // A millionth of a kelvin: the temperature this function names must pass it.
  const missing = kelvin - sign * (temperature - ambient);
  const opens = missing <= 1e-6;
  return { opens, needed, gained, kelvin, missing: opens ? 0 : missing, temperature: ambient + sign * kelvin };
}

const isTemperature = (celsius: number): boolean => isSigned(celsius) && celsius >= -273.15;
