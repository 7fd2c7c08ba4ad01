/** Strength of bolts by property class (ISO 898-1, stainless ISO 3506-1) and by grade (SAE J429). Stresses in MPa, loads in N. */
import { isPositive } from './guard.ts';
import { INCH, type Thread, threadGeometry } from './threads.ts';

export interface Strength {
  /** Stress under proof load, MPa; of stainless steel, whose standard sets none, that at 0.2 % elongation. */
  readonly proof: number;
  /** Lower yield or 0.2 % proof strength, minimum, MPa. */
  readonly yield: number;
  /** Tensile strength, minimum, MPa. */
  readonly tensile: number;
  /** Whether the standard covers a bolt of that diameter; outside it the figures are only the nearest it gives. */
  readonly covered: boolean;
}

type Row = readonly [upTo: number, proof: number, yields: number, tensile: number];

/**
 * ISO 898-1 by diameter up to and including, mm. 4.6, 5.8, 9.8, 10.9, 12.9 and 8.8 over 16 mm read in public copies of
 * the 1999 edition, the others from memory; all agree with a public table of proof loads and tensile loads.
 */
const CLASSES: Readonly<Record<string, readonly Row[]>> = {
  '4.6': [[39, 225, 240, 400]],
  '4.8': [[39, 310, 340, 420]],
  '5.6': [[39, 280, 300, 500]],
  '5.8': [[39, 380, 420, 520]],
  '6.8': [[39, 440, 480, 600]],
  '8.8': [
    [16, 580, 640, 800],
    [39, 600, 660, 830],
  ],
  '9.8': [[16, 650, 720, 900]],
  '10.9': [[39, 830, 940, 1040]],
  '12.9': [[39, 970, 1100, 1220]],
};

/**
 * ISO 3506-1:2020 by steel group and class: stress at 0.2 % elongation and tensile strength. A2 read in a public copy, and a public
 * table of preloads agrees for A1, A2 and A4; the others from memory.
 */
const STAINLESS: readonly (readonly [group: RegExp, classes: Readonly<Record<string, readonly [number, number]>>])[] = [
  [/^A[1-3]L?$/, { 50: [210, 500], 70: [450, 700], 80: [600, 800] }],
  [/^A[45]L?$/, { 50: [210, 500], 70: [450, 700], 80: [600, 800], 100: [800, 1000] }],
  [/^(?:A8L?|D[2468])$/, { 70: [450, 700], 80: [600, 800], 100: [800, 1000] }],
  [/^C1$/, { 50: [250, 500], 70: [410, 700], 110: [820, 1100] }],
  [/^C3$/, { 80: [640, 800] }],
  [/^C4$/, { 50: [250, 500], 70: [410, 700] }],
  [/^F1$/, { 45: [250, 450], 60: [410, 600] }],
];

/** SAE J429 by diameter up to and including, inches, and ksi; read in public copies. Covers 1/4 to 1-1/2 in. */
const GRADES: Readonly<Record<string, readonly Row[]>> = {
  '2': [
    [0.75, 55, 57, 74],
    [1.5, 33, 36, 60],
  ],
  '5': [
    [1, 85, 92, 120],
    [1.5, 74, 81, 105],
  ],
  '8': [[1.5, 120, 130, 150]],
};

/** Property classes known here, weakest first. */
export const PROPERTY_CLASSES: readonly string[] = ['4.6', '4.8', '5.6', '5.8', '6.8', '8.8', '9.8', '10.9', '12.9'];

/** Of stainless steel, the usual ones. */
export const STAINLESS_CLASSES: readonly string[] = ['A2-50', 'A2-70', 'A2-80', 'A4-50', 'A4-70', 'A4-80'];

/** SAE grades known here, weakest first. */
export const SAE_GRADES: readonly string[] = ['2', '5', '8'];

/** 1 ksi in MPa: 1000 lbf/in², with the exact pound-force and inch. */
export const KSI = 4448.2216152605 / INCH ** 2;

/**
 * Strength of a metric bolt by property class (`8.8`) and nominal diameter, mm.
 * ISO 898-1 covers M1.6 to M39 (9.8 to M16). Undefined for an unknown class or a diameter that is none.
 */
export function propertyClass(name: string | number, diameter: number): Strength | undefined {
  const rows = Object.hasOwn(CLASSES, String(name)) ? CLASSES[String(name)] : undefined;
  return rows && pick(rows, diameter, 1.6, 1);
}

/** Whether a class names a steel of ISO 3506-1, as in `A2-70`. */
export const isStainless = (name: string): boolean => /^[ACDF]\d/.test(name);

/**
 * Strength of a stainless bolt by steel group and class (`A2-70`, `A4L-80`) and nominal diameter, mm. ISO 3506-1 covers M1.6 to M39.
 * Undefined for a pair that it has not, such as `A2-110`, and for the reduced classes of screws that bear less (`A2-070`).
 */
export function stainlessClass(name: string, diameter: number): Strength | undefined {
  const [, group = '', digits = ''] = /^([ACDF]\dL?)-(\d+)$/.exec(name) ?? [];
  const classes = STAINLESS.find(([groups]) => groups.test(group))?.[1];
  const found = classes !== undefined && Object.hasOwn(classes, digits) ? classes[digits] : undefined;
  return found && pick([[39, found[0], found[0], found[1]]], diameter, 1.6, 1);
}

/**
 * Strength of an inch bolt by SAE J429 grade (`2`, `5`, `8`) and nominal diameter, mm.
 * The standard states ksi and inches and covers 1/4 to 1-1/2 in. Undefined as for {@link propertyClass}.
 */
export function saeGrade(name: string | number, diameter: number): Strength | undefined {
  const rows = Object.hasOwn(GRADES, String(name)) ? GRADES[String(name)] : undefined;
  return rows && pick(rows, diameter / INCH, 0.25, KSI);
}

function pick(rows: readonly Row[], diameter: number, least: number, unit: number): Strength | undefined {
  if (!isPositive(diameter)) return undefined;
  // A tenth of a micrometre, because 1 in is not exactly 25.4 mm once it has been divided and multiplied.
  const within = rows.find(([upTo]) => diameter <= upTo + 1e-4);
  const [, proof, yields, tensile] = (within ?? rows.at(-1))!;
  const covered = within !== undefined && diameter >= least - 1e-4;
  return { proof: proof * unit, yield: yields * unit, tensile: tensile * unit, covered };
}

export interface StrengthLoads {
  readonly proof: number;
  readonly yield: number;
  readonly tensile: number;
}

/**
 * Proof, yield and tensile load of a bolt in N: stress times nominal stress area, the way of ISO 898-1.
 * SAE J429 does the same in lbf with ksi and in². Undefined where the thread has no core.
 */
export function strengthLoads(thread: Thread, strength: Strength): StrengthLoads | undefined {
  const area = threadGeometry(thread)?.stressArea;
  if (
    !isPositive(area) ||
    !isPositive(strength.proof) ||
    !isPositive(strength.yield) ||
    !isPositive(strength.tensile)
  ) {
    return undefined;
  }
  return { proof: strength.proof * area, yield: strength.yield * area, tensile: strength.tensile * area };
}
