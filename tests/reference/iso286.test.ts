import { describe, expect, it } from 'vitest';
import {
  bearingBore,
  bearingOutside,
  boreLimits,
  shaftLimits,
  standardTolerance,
} from '../../server/src/mechanics/fits.ts';

/** Ends of the main steps of ISO 286-1, mm: over the one, up to and including the next. */
const STEPS = [1, 3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500];
/** Ends of the finer steps that r and s rise by. */
const FINER = [1, 3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500];

/** Both ends of each step, and the geometric mean that the formulas of the standard are reckoned at. */
const ends = (all: readonly number[]): { size: number; mean: number }[] =>
  all.slice(1).flatMap((to, i) => {
    const from = all[i]!;
    const mean = Math.sqrt(from * to);
    return [
      { size: i === 0 ? from : from + 0.001, mean },
      { size: to, mean },
    ];
  });
const near = (value: number | undefined, formula: number, micrometres: number, share: number, what: string): void => {
  expect(value, what).toBeDefined();
  expect(Math.abs(value! - formula), `${what}: ${value} by ${formula}`).toBeLessThanOrEqual(
    Math.max(micrometres, share * Math.abs(formula)),
  );
};

// The formulas that ISO 286-1 gives for its tables, from memory; the tables are rounded, so that small ones are off by 1 µm.
describe('ISO 286-1: tables by their formulas', () => {
  // i = 0.45 ∛D + 0.001 D; IT5 to IT9 are 7, 10, 16, 25 and 40 i.
  it.each([
    [5, 7],
    [6, 10],
    [7, 16],
    [8, 25],
    [9, 40],
  ] as const)('IT%d is %d tolerance units', (grade, units) => {
    for (const { size, mean } of ends(STEPS)) {
      const formula = units * (0.45 * Math.cbrt(mean) + 0.001 * mean);
      // The first step is rounded upwards most.
      near(standardTolerance(size, grade), formula, size <= 3 ? 3.4 : 1.2, 0.025, `IT${grade} at ${size} mm`);
    }
  });

  it.each([
    ['f', (mean: number) => -5.5 * mean ** 0.41, 1.02],
    ['g', (mean: number) => -2.5 * mean ** 0.34, 1.02],
  ] as const)('%s starts below nominal', (letter, formula, off) => {
    for (const { size, mean } of ends(STEPS))
      near(shaftLimits(size, `${letter}6`)?.upper, formula(mean), off, 0.02, `${letter} at ${size} mm`);
  });

  it.each([
    ['k', (mean: number) => 0.6 * Math.cbrt(mean), 0.75],
    ['n', (mean: number) => 5 * mean ** 0.34, 2.1],
  ] as const)('%s starts above nominal', (letter, formula, off) => {
    for (const { size, mean } of ends(STEPS))
      near(shaftLimits(size, `${letter}6`)?.lower, formula(mean), off, 0.02, `${letter} at ${size} mm`);
  });

  it('m starts at IT7 less IT6, p at IT7 and a little', () => {
    for (const { size } of ends(STEPS)) {
      const [it6, it7] = [standardTolerance(size, 6)!, standardTolerance(size, 7)!];
      near(shaftLimits(size, 'm6')?.lower, it7 - it6, size <= 3 ? 2 : 0, 0, `m at ${size} mm`);
      const above = shaftLimits(size, 'p6')!.lower - it7;
      expect(above, `p at ${size} mm`).toBeGreaterThanOrEqual(size <= 3 ? -4 : 0);
      expect(above, `p at ${size} mm`).toBeLessThanOrEqual(5);
    }
  });

  // s: IT8 + 1 to 4 up to 50 mm, IT7 + 0.4 D above; r: the geometric mean of p and s.
  it('s and r rise in finer steps', () => {
    for (const { size, mean } of ends(FINER)) {
      const s = size <= 50 ? standardTolerance(size, 8)! + 2 : standardTolerance(size, 7)! + 0.4 * mean;
      near(shaftLimits(size, 's6')?.lower, s, size <= 50 ? 2 : 1, 0, `s at ${size} mm`);
      const p = shaftLimits(size, 'p6')!.lower;
      near(shaftLimits(size, 'r6')?.lower, Math.sqrt(p * shaftLimits(size, 's6')!.lower), 1.2, 0, `r at ${size} mm`);
    }
  });

  it('h starts at nominal, at every size', () => {
    for (const { size } of ends(STEPS))
      for (const grade of [5, 6, 7, 8, 9])
        expect(shaftLimits(size, `h${grade}`)).toEqual({ upper: 0, lower: -standardTolerance(size, grade)! });
  });

  it('ends at 1 and 500 mm, and knows no other letter or grade', () => {
    for (const size of [0.999, 500.001, 0, -5]) {
      expect(standardTolerance(size, 6)).toBeUndefined();
      expect(shaftLimits(size, 'r6')).toBeUndefined();
      expect(bearingBore(size)).toBeUndefined();
      expect(bearingOutside(size)).toBeUndefined();
    }
    for (const name of ['a6', 'k8', 'k9', 'h4', 'h10', 'H6', 'r', '6', 'ks6', ''])
      expect(shaftLimits(50, name)).toBeUndefined();
  });
});

// ISO 492, Normal class, from memory: mean deviation of bore and outside diameter, µm, over the one size, up to the next.
describe('ISO 492', () => {
  it.each([
    ['bore', bearingBore, [1, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500], [8, 10, 12, 15, 20, 25, 30, 35, 40, 45]],
    [
      'outside',
      bearingOutside,
      [1, 18, 30, 50, 80, 120, 150, 180, 250, 315, 400, 500],
      [8, 9, 11, 13, 15, 18, 25, 30, 35, 40, 45],
    ],
  ] as const)('%s', (_, limits, steps, deviations) => {
    deviations.forEach((deviation, i) => {
      for (const size of [i === 0 ? 1 : steps[i]! + 0.001, steps[i + 1]!])
        expect(limits(size), `${size} mm`).toEqual({ upper: 0, lower: -deviation });
    });
  });
});

// ISO 286-1, from memory: a bore's deviation is that of the shaft of the same letter with the sign turned; K to P up to grade 7
// are raised by the difference of their tolerance and that of the next finer grade, over 3 mm. M6 from 250 to 315 mm is -9.
describe('ISO 286-1: bores mirror shafts', () => {
  const sizes = ends(STEPS).map(({ size }) => size);
  it.each([
    ['F', 6],
    ['F', 8],
    ['G', 6],
    ['G', 7],
    ['H', 5],
    ['H', 9],
  ] as const)('%s%d', (letter, grade) => {
    for (const size of sizes) {
      const lower = -shaftLimits(size, `${letter.toLowerCase()}${grade}`)!.upper;
      const { upper, lower: found } = boreLimits(size, `${letter}${grade}`)!;
      expect(found).toBeCloseTo(lower, 9);
      expect(upper - found).toBe(standardTolerance(size, grade));
    }
  });
  it.each([5, 6, 7, 8, 9])('JS%d and js%d lie half on each side', (grade) => {
    for (const size of sizes) {
      const half = standardTolerance(size, grade)! / 2;
      expect(boreLimits(size, `JS${grade}`)).toEqual({ upper: half, lower: -half });
      expect(shaftLimits(size, `js${grade}`)).toEqual({ upper: half, lower: -half });
    }
  });
  it.each(['K', 'M', 'N', 'P'])('%s6 and %s7', (letter) => {
    for (const size of sizes)
      for (const grade of [6, 7]) {
        const raise = size <= 3 ? 0 : standardTolerance(size, grade)! - standardTolerance(size, grade - 1)!;
        const odd = letter === 'M' && grade === 6 && size > 250 && size <= 315;
        const upper = odd ? -9 : raise - shaftLimits(size, `${letter.toLowerCase()}5`)!.lower;
        const found = boreLimits(size, `${letter}${grade}`)!;
        expect(found.upper, `${letter}${grade} at ${size} mm`).toBeCloseTo(upper, 9);
        expect(found.upper - found.lower).toBe(standardTolerance(size, grade));
      }
  });
  it('knows no other', () => {
    for (const name of ['K8', 'N9', 'P8', 'h7', 'A7', 'H4', 'H', '7', 'H77', ''])
      expect(boreLimits(50, name), name).toBeUndefined();
    expect(boreLimits(501, 'H7')).toBeUndefined();
  });
});
