import { describe, expect, it } from 'vitest';
import { isStainless, stainlessClass } from '../../server/src/mechanics/strength.ts';
import { parseThread } from '../../server/src/mechanics/threads.ts';
import { clampAtUtilisation, STAINLESS_FRICTION, torqueForClamp } from '../../server/src/mechanics/torque.ts';
import { expectNear } from './near.ts';

describe('ISO 3506-1', () => {
  // Read in a public copy of the 2020 edition: stress at 0.2 % elongation and tensile strength of A2, MPa.
  it.each([
    ['A2-50', 210, 500],
    ['A2-70', 450, 700],
    ['A2-80', 600, 800],
  ] as const)('%s', (name, yields, tensile) => {
    expect(stainlessClass(name, 12)).toEqual({ proof: yields, yield: yields, tensile, covered: true });
  });

  // The class is a tenth of the tensile strength in MPa: read in the standard's foreword, in public copies.
  it.each([
    'A1-50',
    'A3-70',
    'A4-80',
    'A5L-70',
    'A4-100',
    'A8-100',
    'C1-110',
    'C3-80',
    'C4-70',
    'D4-80',
    'D8-100',
    'F1-45',
    'F1-60',
  ])('%s', (name) => {
    const strength = stainlessClass(name, 12)!;
    expect(strength.tensile).toBe(10 * Number(name.split('-')[1]));
    expect(strength.yield).toBeLessThan(strength.tensile);
  });

  it('has no such pairs', () => {
    for (const name of [
      'A2-110',
      'A2-100',
      'C3-50',
      'F1-70',
      'A8-50',
      'A2-070',
      'A9-70',
      'A2',
      '8.8',
      'A2-constructor',
    ])
      expect(stainlessClass(name, 12), name).toBeUndefined();
    expect(stainlessClass('A2-70', 40)?.covered).toBe(false);
    expect(stainlessClass('A2-70', 1.5)?.covered).toBe(false);
    expect(stainlessClass('A2-70', 0)).toBeUndefined();
    expect(isStainless('A2-70') && !isStainless('8.8')).toBe(true);
  });
});

/**
 * Read in a public handbook page: preload, kN, and torque, N·m, at 90 % of the 0.2 % proof strength, for A1, A2 and A4 with coarse
 * threads in classes 50, 70 and 80. Its figures are rounded to two or three digits, and its own faces and diameters are not told: the preloads
 * are compared within 2 %, the torques within 6 %.
 */
// biome-ignore format: a table
const PUBLISHED: readonly (readonly [thread: string, friction: number, preloads: readonly number[], torques: readonly number[]])[] = [
  ['M5',  0.1, [2.4, 5.2, 6.9],    [1.6, 3.6, 4.8]],
  ['M5',  0.2, [2.1, 4.51, 6],     [2.6, 5.7, 7.6]],
  ['M5',  0.3, [1.8, 3.85, 5.1],   [3.3, 7, 9.4]],
  ['M6',  0.1, [3.4, 7.3, 9.7],    [2.9, 6.3, 8.4]],
  ['M6',  0.2, [3, 6.4, 8.4],      [4.6, 10, 13.2]],
  ['M6',  0.3, [2.5, 5.5, 7.2],    [5.7, 12.2, 16.3]],
  ['M8',  0.1, [6.2, 13.4, 17.9],  [7.1, 15.2, 20.3]],
  ['M8',  0.2, [5.4, 11.6, 15.5],  [11.2, 24.1, 32.1]],
  ['M8',  0.3, [4.6, 9.9, 13.3],   [13.9, 30, 40]],
  ['M10', 0.1, [9.9, 21.3, 28.4],  [14, 30, 39]],
  ['M10', 0.2, [8.6, 18.5, 24.7],  [22.2, 47.7, 63]],
  ['M18', 0.1, [33.2, 71, 94],     [82, 176, 235]],
  ['M18', 0.2, [28.9, 62, 82],     [131, 282, 376]],
  ['M18', 0.3, [24.7, 53, 70],     [164, 352, 469]],
  ['M20', 0.1, [42.5, 91, 121],    [115, 247, 330]],
  ['M20', 0.2, [37.1, 79.6, 106],  [187, 401, 534]],
  ['M20', 0.3, [31.8, 68, 90],     [234, 501, 669]],
  ['M24', 0.1, [61.2, 131, 175],   [198, 426, 568]],
  ['M24', 0.2, [53.5, 115, 153],   [322, 690, 920]],
  ['M24', 0.3, [45.8, 98, 131],    [403, 863, 1151]],
];

describe('preload and torque of stainless bolts', () => {
  it.each(PUBLISHED)('%s at friction %d', (text, friction, preloads, torques) => {
    const thread = parseThread(text)!;
    ['A2-50', 'A2-70', 'A4-80'].forEach((name, i) => {
      const strength = stainlessClass(name, thread.diameter)!;
      const clamp = clampAtUtilisation(thread, strength.yield, friction)!;
      expectNear(clamp / 1000, preloads[i]!, 0.02);
      expectNear(torqueForClamp(clamp, { thread, threadFriction: friction })?.total, torques[i]!, 0.06);
    });
  });
});

describe('friction of stainless bolts', () => {
  it('lies within the classes that VDI 2230 names for austenitic steel', () => {
    // Read in public copies of its table: B, solid lubricants in pastes; C, waxes and pastes, adhesives; D, oil; E, nothing.
    const classes = {
      paste: [0.08, 0.16],
      unstated: [0.14, 0.24],
      threadlock: [0.14, 0.24],
      oiled: [0.2, 0.35],
      dry: [0.3, Infinity],
    };
    for (const [condition, [least, most]] of Object.entries(classes)) {
      const { low, mid, high } = STAINLESS_FRICTION[condition as keyof typeof classes];
      expect([low >= least!, low < mid, mid < high, high <= most!], condition).toEqual([true, true, true, true]);
    }
  });
});
