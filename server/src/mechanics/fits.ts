/** Limits and fits, ISO 286-1 and -2. Nominal sizes in mm, deviations in µm, 1 to 500 mm. */
import { isPositive } from './guard.ts';

export interface Limits {
  /** Upper deviation, µm. */
  readonly upper: number;
  /** Lower deviation, µm. */
  readonly lower: number;
}

export interface Interference {
  /** Least interference, µm; negative is clearance. */
  readonly min: number;
  /** Greatest interference, µm. */
  readonly max: number;
}

export interface Fit {
  readonly bore: Limits;
  readonly shaft: Limits;
  readonly interference: Interference;
  readonly kind: 'clearance' | 'transition' | 'interference';
}

// Tables of ISO 286-1 over the main steps of nominal size. From memory; grades IT5 to IT9, g, h, js, k, m, n, p and r,
// and the bores H and G agree with public copies of ISO 286-2, of JIS B 0401 (the same figures), and of makers' tables.

/** Upper end of each main step, mm; a step includes its upper end and not its lower. */
const STEPS = [3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500];

/** Standard tolerances in µm by grade. */
const GRADES: Readonly<Record<number, readonly number[]>> = {
  5: [4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27],
  6: [6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40],
  7: [10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63],
  8: [14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97],
  9: [25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155],
};

/** Upper deviation of shafts that end at or below nominal, µm. */
const SHAFT_UPPER: Readonly<Record<string, readonly number[]>> = {
  f: [-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68],
  g: [-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20],
  h: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
};

/** Lower deviation of shafts that start at or above nominal, µm; k for grades 4 to 7. */
const SHAFT_LOWER: Readonly<Record<string, readonly number[]>> = {
  k: [0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5],
  m: [2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23],
  n: [4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40],
  p: [6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68],
};

/** Lower deviation of j, which lies about nominal and goes by grade, µm. j5 and j6 to 250 mm read in a maker's table, the rest from memory. */
const SHAFT_J: Readonly<Record<string, readonly number[]>> = {
  j5: [-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20],
  j6: [-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20],
  j7: [-4, -4, -5, -6, -8, -10, -12, -15, -18, -21, -26, -28, -32],
};

/** r and s rise within a main step: upper end of each finer step in mm, lower deviation of r and of s in µm. */
// biome-ignore format: a table
const FINER: readonly (readonly [upTo: number, r: number, s: number])[] = [
  [3, 10, 14], [6, 15, 19], [10, 19, 23], [18, 23, 28], [30, 28, 35], [50, 34, 43], [65, 41, 53], [80, 43, 59],
  [100, 51, 71], [120, 54, 79], [140, 63, 92], [160, 65, 100], [180, 68, 108], [200, 77, 122], [225, 80, 130],
  [250, 84, 140], [280, 94, 158], [315, 98, 170], [355, 108, 190], [400, 114, 208], [450, 126, 232], [500, 132, 252],
];

const stepOf = (diameter: number): number | undefined => {
  if (!isPositive(diameter) || diameter < 1 || diameter > 500) return undefined;
  return STEPS.findIndex((upTo) => diameter <= upTo);
};

/** Standard tolerance in µm: grade 5 to 9, nominal size 1 to 500 mm. */
export function standardTolerance(diameter: number, grade: number): number | undefined {
  const step = stepOf(diameter);
  return step === undefined ? undefined : GRADES[grade]?.[step];
}

/**
 * Limits of a shaft class: f, g, h, j, js, k, m, n, p, r, s with grades 5 to 9 (j and k to grade 7), such as `k6`.
 * Undefined for another class or outside 1 to 500 mm.
 */
export function shaftLimits(diameter: number, name: string): Limits | undefined {
  const [, letter = '', digit] = /^(f|g|h|js?|k|m|n|p|r|s)([5-9])$/.exec(name) ?? [];
  const step = stepOf(diameter);
  const width = standardTolerance(diameter, Number(digit));
  if (step === undefined || width === undefined) return undefined;
  if (letter === 'js') return { upper: width / 2, lower: -width / 2 };
  if (letter === 'k' && Number(digit) > 7) return undefined;
  const top = SHAFT_UPPER[letter]?.[step];
  if (top !== undefined) return { upper: top, lower: top - width };
  const bottom = (SHAFT_LOWER[letter] ?? SHAFT_J[name])?.[step] ?? finer(diameter, letter);
  return bottom === undefined ? undefined : { upper: bottom + width, lower: bottom };
}

function finer(diameter: number, letter: string): number | undefined {
  const row = FINER.find(([upTo]) => diameter <= upTo);
  return letter === 'r' ? row?.[1] : letter === 's' ? row?.[2] : undefined;
}

/**
 * Limits of a bore class: F, G, H, JS with grades 5 to 9, and K, M, N, P with grades 6 and 7, such as `H7`.
 * K to P mirror the shaft of the same letter, raised by the step between their grade and the next finer one
 * (ISO 286-1, Δ rule; M6 from 250 to 315 mm is its exception). Undefined for another class or size.
 */
export function boreLimits(diameter: number, name: string): Limits | undefined {
  const [, letter = '', digit] = /^(F|G|H|JS|K|M|N|P)([5-9])$/.exec(name) ?? [];
  const grade = Number(digit);
  const step = stepOf(diameter);
  const width = standardTolerance(diameter, grade);
  if (step === undefined || width === undefined) return undefined;
  if (letter === 'JS') return { upper: width / 2, lower: -width / 2 };
  const mirror = SHAFT_UPPER[letter.toLowerCase()]?.[step];
  if (mirror !== undefined) return { upper: width - mirror, lower: 0 - mirror };
  const start = SHAFT_LOWER[letter.toLowerCase()]?.[step];
  const finerWidth = standardTolerance(diameter, grade - 1);
  if (start === undefined || finerWidth === undefined || grade > 7) return undefined;
  const raise = diameter <= 3 ? 0 : width - finerWidth;
  const upper = name === 'M6' && diameter > 250 && diameter <= 315 ? -9 : raise - start;
  return { upper, lower: upper - width };
}

/** Interference between a bore and a shaft, least and greatest, and what kind of fit that is. */
function fitOf(bore: Limits, shaft: Limits): Fit {
  const interference = { min: shaft.lower - bore.upper, max: shaft.upper - bore.lower };
  const kind = interference.min > 0 ? 'interference' : interference.max <= 0 ? 'clearance' : 'transition';
  return { bore, shaft, interference, kind };
}

/** The fit of a nominal size, mm, by its classes: `H7/k6`. Undefined for a class or size that is not here. */
export function fit(diameter: number, classes: string): Fit | undefined {
  const [boreClass, shaftClass, ...more] = classes.split('/').map((part) => part.trim());
  if (boreClass === undefined || shaftClass === undefined || more.length > 0) return undefined;
  const [bore, shaft] = [boreLimits(diameter, boreClass), shaftLimits(diameter, shaftClass)];
  return bore && shaft && fitOf(bore, shaft);
}

/**
 * Bore of a rolling bearing of Normal class, mean diameter, ISO 492, mm and µm; upper deviation 0.
 * 30 to 50 and 50 to 80 read, to 500 read in a maker's table up to 180, the rest from memory.
 */
// biome-ignore format: a table
const BEARING_BORE: readonly (readonly [upTo: number, lower: number])[] = [
  [18, -8], [30, -10], [50, -12], [80, -15], [120, -20], [180, -25], [250, -30], [315, -35], [400, -40], [500, -45],
];

/** Outside diameter of a rolling bearing of Normal class, ISO 492, from memory. */
// biome-ignore format: a table
const BEARING_OUTSIDE: readonly (readonly [upTo: number, lower: number])[] = [
  [18, -8], [30, -9], [50, -11], [80, -13], [120, -15], [150, -18], [180, -25], [250, -30], [315, -35], [400, -40],
  [500, -45],
];

function bearing(table: typeof BEARING_BORE, diameter: number): Limits | undefined {
  const lower = stepOf(diameter) === undefined ? undefined : table.find(([upTo]) => diameter <= upTo)?.[1];
  return lower === undefined ? undefined : { upper: 0, lower };
}

/** Limits of a Normal-class bearing bore, 1 to 500 mm. */
export const bearingBore = (diameter: number): Limits | undefined => bearing(BEARING_BORE, diameter);

/** Limits of a Normal-class bearing's outside diameter, 1 to 500 mm. */
export const bearingOutside = (diameter: number): Limits | undefined => bearing(BEARING_OUTSIDE, diameter);

/** A Normal-class bearing on a shaft of a class such as `k6`. */
export function bearingOnShaft(diameter: number, shaftClass: string): Fit | undefined {
  const [bore, shaft] = [bearingBore(diameter), shaftLimits(diameter, shaftClass)];
  return bore && shaft && fitOf(bore, shaft);
}

/** A Normal-class bearing in a housing of a class such as `K7`. */
export function bearingInHousing(diameter: number, boreClass: string): Fit | undefined {
  const [bore, outside] = [boreLimits(diameter, boreClass), bearingOutside(diameter)];
  return bore && outside && fitOf(bore, outside);
}
