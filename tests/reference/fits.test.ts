import { describe, expect, it } from 'vitest';
import {
  bearingBore,
  bearingInHousing,
  bearingOnShaft,
  boreLimits,
  fit,
  shaftLimits,
  standardTolerance,
} from '../../server/src/mechanics/fits.ts';

describe('ISO 286 shafts', () => {
  // Read: public copies of JIS B 0401 (same figures as ISO 286-2) up to 65 mm: upper and lower deviation, µm.
  // biome-ignore format: a table
  it.each([
    [3,  'g6', -2, -8],  [3,  'k5', 4, 0],   [3,  'k6', 6, 0],   [3,  'm6', 8, 2],   [3,  'n6', 10, 4],  [3,  'p6', 12, 6],  [3,  'r6', 16, 10],
    [6,  'g6', -4, -12], [6,  'k5', 6, 1],   [6,  'k6', 9, 1],   [6,  'm6', 12, 4],  [6,  'n6', 16, 8],  [6,  'p6', 20, 12], [6,  'r6', 23, 15],
    [10, 'g6', -5, -14], [10, 'k5', 7, 1],   [10, 'k6', 10, 1],  [10, 'm6', 15, 6],  [10, 'n6', 19, 10], [10, 'p6', 24, 15], [10, 'r6', 28, 19],
    [16, 'g6', -6, -17], [16, 'k5', 9, 1],   [16, 'm5', 15, 7],  [16, 'm6', 18, 7],  [16, 'n6', 23, 12], [16, 'p6', 29, 18], [16, 'r6', 34, 23],
    [25, 'g6', -7, -20], [25, 'k5', 11, 2],  [25, 'k6', 15, 2],  [25, 'm6', 21, 8],  [25, 'n6', 28, 15], [25, 'p6', 35, 22], [25, 'r6', 41, 28],
    [40, 'g6', -9, -25], [40, 'k5', 13, 2],  [40, 'k6', 18, 2],  [40, 'm5', 20, 9],  [40, 'm6', 25, 9],  [40, 'n6', 33, 17], [40, 'p6', 42, 26], [40, 'r6', 50, 34],
    [60, 'g6', -10, -29], [60, 'k5', 15, 2], [60, 'k6', 21, 2],  [60, 'm5', 24, 11], [60, 'm6', 30, 11], [60, 'n6', 39, 20], [60, 'p6', 51, 32], [60, 'r6', 60, 41],
    [40, 'js5', 5.5, -5.5], [40, 'js6', 8, -8], [40, 'h5', 0, -11], [40, 'h6', 0, -16], [40, 'h7', 0, -25], [40, 'h8', 0, -39], [40, 'g5', -9, -20],
  ] as const)('%d mm %s: %d, %d µm', (diameter, name, upper, lower) => {
    expect(shaftLimits(diameter, name)).toEqual({ upper, lower });
  });

  // Read: makers' tables of shaft tolerances, n6, p6, r6 from 80 to 250 mm, g6 to 180 mm.
  // biome-ignore format: a table
  it.each([
    [90,  'n6', 45, 23], [90,  'p6', 59, 37], [90,  'r6', 73, 51],  [110, 'r6', 76, 54],
    [130, 'n6', 52, 27], [130, 'p6', 68, 43], [130, 'r6', 88, 63],  [150, 'r6', 90, 65],   [170, 'r6', 93, 68],
    [190, 'n6', 60, 31], [190, 'p6', 79, 50], [190, 'r6', 106, 77], [220, 'r6', 109, 80],  [240, 'r6', 113, 84],
    [100, 'g6', -12, -34], [150, 'g6', -14, -39], [200, 'g6', -15, -44], [260, 'n6', 66, 34], [260, 'p6', 88, 56], [260, 'r6', 126, 94],
  ] as const)('%d mm %s: %d, %d µm', (diameter, name, upper, lower) => {
    expect(shaftLimits(diameter, name)).toEqual({ upper, lower });
  });

  // Read: public copy of JIS B 0401 (1999), same figures as ISO 286-2: f6, f7, f8, g5, js7, k5, m5, s6 from 3 to 80 mm, and h9.
  const NAMES = ['f6', 'f7', 'f8', 'g5', 'h9', 'js7', 'k5', 'm5', 's6'] as const;
  // biome-ignore format: a table
  it.each([
    [3,  [[-6, -12],  [-6, -16],  [-6, -20],  [-2, -6],   [0, -25], [5, -5],       [4, 0],  [6, 2],   [20, 14]]],
    [6,  [[-10, -18], [-10, -22], [-10, -28], [-4, -9],   [0, -30], [6, -6],       [6, 1],  [9, 4],   [27, 19]]],
    [10, [[-13, -22], [-13, -28], [-13, -35], [-5, -11],  [0, -36], [7.5, -7.5],   [7, 1],  [12, 6],  [32, 23]]],
    [18, [[-16, -27], [-16, -34], [-16, -43], [-6, -14],  [0, -43], [9, -9],       [9, 1],  [15, 7],  [39, 28]]],
    [30, [[-20, -33], [-20, -41], [-20, -53], [-7, -16],  [0, -52], [10.5, -10.5], [11, 2], [17, 8],  [48, 35]]],
    [50, [[-25, -41], [-25, -50], [-25, -64], [-9, -20],  [0, -62], [12.5, -12.5], [13, 2], [20, 9],  [59, 43]]],
    [65, [[-30, -49], [-30, -60], [-30, -76], [-10, -23], [0, -74], [15, -15],     [15, 2], [24, 11], [72, 53]]],
    [80, [[-30, -49], [-30, -60], [-30, -76], [-10, -23], [0, -74], [15, -15],     [15, 2], [24, 11], [78, 59]]],
  ] as const)('%d mm, nine classes', (diameter, limits) => {
    limits.forEach(([upper, lower], i) => {
      expect(shaftLimits(diameter, NAMES[i]!), NAMES[i]).toEqual({ upper, lower });
    });
  });

  // Read: public table of ISO 286-2 over 400 mm, the column up to 500 mm.
  it.each([
    ['f6', -68, -108],
    ['f7', -68, -131],
    ['f8', -68, -165],
    ['g6', -20, -60],
    ['g7', -20, -83],
    ['g8', -20, -117],
    ['h6', 0, -40],
    ['h7', 0, -63],
    ['h8', 0, -97],
    ['h9', 0, -155],
  ] as const)('450 mm %s: %d, %d µm', (name, upper, lower) => {
    expect(shaftLimits(450, name)).toEqual({ upper, lower });
  });

  // Read: public implementation table of ISO 286-2, k6 and r6 upper deviations over 250 mm.
  it.each([
    [260, 'k6', 36],
    [350, 'k6', 40],
    [450, 'k6', 45],
    [300, 'r6', 130],
    [350, 'r6', 144],
    [390, 'r6', 150],
    [440, 'r6', 166],
    [500, 'r6', 172],
    [500, 'n6', 80],
  ] as const)('%d mm %s: upper %d µm', (diameter, name, upper) => {
    expect(shaftLimits(diameter, name)?.upper).toBe(upper);
  });
});

describe('ISO 286 bores', () => {
  // Read: public copy of JIS B 0401, bores.
  // biome-ignore format: a table
  it.each([
    [6, 'H6', 8, 0], [6, 'H7', 12, 0], [6, 'H8', 18, 0], [6, 'G7', 16, 4], [16, 'H7', 18, 0], [16, 'H8', 27, 0],
    [25, 'H6', 13, 0], [25, 'H7', 21, 0], [25, 'H8', 33, 0], [40, 'H7', 25, 0], [60, 'H7', 30, 0], [60, 'H8', 46, 0],
    [100, 'H6', 22, 0], [100, 'H7', 35, 0], [150, 'H7', 40, 0], [150, 'H8', 63, 0], [200, 'H7', 46, 0], [260, 'H7', 52, 0],
    [260, 'H8', 81, 0], [200, 'G7', 61, 15],
    [3, 'K7', 0, -10], [3, 'M7', -2, -12], [3, 'N7', -4, -14], [3, 'P7', -6, -16],
    [6, 'K6', 2, -6], [6, 'K7', 3, -9], [6, 'M6', -1, -9], [6, 'M7', 0, -12], [6, 'N6', -5, -13], [6, 'N7', -4, -16], [6, 'P6', -9, -17], [6, 'P7', -8, -20],
    [10, 'K7', 5, -10], [10, 'M7', 0, -15], [10, 'N7', -4, -19], [10, 'P7', -9, -24],
    [16, 'K7', 6, -12], [16, 'N7', -5, -23], [16, 'P7', -11, -29], [25, 'K7', 6, -15], [25, 'N7', -7, -28], [25, 'P7', -14, -35],
    [40, 'K7', 7, -18], [40, 'M7', 0, -25], [40, 'N7', -8, -33], [40, 'P7', -17, -42], [60, 'K7', 9, -21], [60, 'N7', -9, -39], [60, 'P6', -26, -45],
  ] as const)('%d mm %s: %d, %d µm', (diameter, name, upper, lower) => {
    expect(boreLimits(diameter, name)).toEqual({ upper, lower });
  });

  // Read: public extract of DIN ISO 286-2, bores F7, G6, H9 and JS9 of each step up to 250 mm.
  // biome-ignore format: a table
  it.each([
    [3,   [16, 6],  [8, 2],   25,  12.5], [6,   [22, 10], [12, 4],  30,  15],   [10,  [28, 13], [14, 5],  36, 18],
    [18,  [34, 16], [17, 6],  43,  21.5], [30,  [41, 20], [20, 7],  52,  26],   [50,  [50, 25], [25, 9],  62, 31],
    [80,  [60, 30], [29, 10], 74,  37],   [120, [71, 36], [34, 12], 87,  43.5], [180, [83, 43], [39, 14], 100, 50],
    [250, [96, 50], [44, 15], 115, 57.5],
  ] as const)('%d mm: F7, G6, H9 and JS9', (diameter, f7, g6, h9, js9) => {
    expect(boreLimits(diameter, 'F7')).toEqual({ upper: f7[0], lower: f7[1] });
    expect(boreLimits(diameter, 'G6')).toEqual({ upper: g6[0], lower: g6[1] });
    expect(boreLimits(diameter, 'H9')).toEqual({ upper: h9, lower: 0 });
    expect(boreLimits(diameter, 'JS9')).toEqual({ upper: js9, lower: -js9 });
  });

  // Read: a maker's table of h5 to h9, every step of sizes up to 500 mm; there in thousandths of a millimetre.
  // biome-ignore format: a table
  it.each([
    [3,   4, 6, 10, 14, 25],     [6,   5, 8, 12, 18, 30],     [10,  6, 9, 15, 22, 36],     [18,  8, 11, 18, 27, 43],
    [30,  9, 13, 21, 33, 52],    [50,  11, 16, 25, 39, 62],   [80,  13, 19, 30, 46, 74],   [120, 15, 22, 35, 54, 87],
    [180, 18, 25, 40, 63, 100],  [250, 20, 29, 46, 72, 115],  [315, 23, 32, 52, 81, 130],  [400, 25, 36, 57, 89, 140],
    [500, 27, 40, 63, 97, 155],
  ] as const)('up to %d mm: IT5 to IT9', (diameter, ...widths) => {
    expect([5, 6, 7, 8, 9].map((grade) => standardTolerance(diameter, grade))).toEqual(widths);
  });

  // Read: public table of h tolerances, which are the standard tolerances with a minus sign.
  it.each([
    [3, 6, 6],
    [6, 7, 12],
    [10, 8, 22],
    [18, 6, 11],
    [30, 7, 21],
    [50, 8, 39],
    [80, 6, 19],
    [120, 7, 35],
    [180, 8, 63],
    [250, 6, 29],
    [315, 7, 52],
    [400, 6, 36],
    [500, 8, 97],
    [400, 5, 25],
    [500, 5, 27],
  ] as const)('%d mm IT%d is %d µm', (diameter, grade, width) => {
    expect(standardTolerance(diameter, grade)).toBe(width);
  });
});

describe('fits', () => {
  it('takes a fit apart: 52 mm H7/k6', () => {
    // Recomputed from the limits 0..+30 and +2..+21 (read).
    expect(fit(52, 'H7/k6')).toMatchObject({ interference: { min: -28, max: 21 }, kind: 'transition' });
    expect(fit(50, 'H7/p6')).toMatchObject({ interference: { min: 1, max: 42 }, kind: 'interference' });
    expect(fit(50, 'H7/g6')).toMatchObject({ interference: { min: -50, max: -9 }, kind: 'clearance' });
    // Textbook example 3.3, manufacturing considerations in design, read: 50 mm H7/s6.
    expect(fit(50, 'H7/s6')).toMatchObject({ shaft: { upper: 59, lower: 43 }, interference: { min: 18, max: 59 } });
  });

  // Read: makers' tables; the greatest interference of a Normal bearing.
  it('50 mm bearing on m6: 9 to 37 µm', () => {
    expect(bearingOnShaft(50, 'm6')?.interference).toEqual({ min: 9, max: 37 });
  });

  // Read: maker's table of n6, p6, r6 with the bearing's bore tolerance: theoretical interference.
  it.each([
    [60, 'n6', 20, 54],
    [90, 'n6', 23, 65],
    [90, 'p6', 37, 79],
    [90, 'r6', 51, 93],
    [150, 'n6', 27, 77],
    [190, 'p6', 50, 109],
    [240, 'r6', 84, 143],
    [260, 'n6', 34, 101],
  ] as const)('%d mm bearing on %s: %d to %d µm', (diameter, name, min, max) => {
    expect(bearingOnShaft(diameter, name)?.interference).toEqual({ min, max });
  });

  // Read: maker's table, h6 and g6 shafts: interference up to the bore tolerance, clearance down to the shaft's.
  it.each([
    [16, 'g6', -17, 2],
    [25, 'h6', -13, 10],
    [40, 'h6', -16, 12],
    [60, 'g6', -29, 5],
    [150, 'g6', -39, 11],
  ] as const)('%d mm bearing on %s: %d to %d µm', (diameter, name, min, max) => {
    expect(bearingOnShaft(diameter, name)?.interference).toEqual({ min, max });
  });

  // Read: maker's table of j5 and j6, to 250 mm; above that and j7 (ISO 286-2) from memory.
  it.each([
    [5, 'j5', -2, 11],
    [16, 'j6', -3, 16],
    [25, 'j6', -4, 19],
    [40, 'j5', -5, 18],
    [60, 'j6', -7, 27],
    [90, 'j6', -9, 33],
    [150, 'j6', -11, 39],
    [190, 'j5', -13, 37],
    [40, 'j7', -10, 27],
    [300, 'j6', -16, 51],
  ] as const)('%d mm bearing on %s: %d to %d µm', (diameter, name, min, max) => {
    expect(bearingOnShaft(diameter, name)?.interference).toEqual({ min, max });
  });

  it('j has no coarser grade than 7 here', () => {
    expect(shaftLimits(40, 'j8')).toBeUndefined();
    expect(shaftLimits(40, 'j6')).toEqual({ upper: 11, lower: -5 });
  });

  it('a housing may be loose or tight', () => {
    expect(bearingBore(75)).toEqual({ upper: 0, lower: -15 });
    // Recomputed: 62 mm H7 0..+30 over an outside of −13..0 (from memory).
    expect(bearingInHousing(62, 'H7')?.interference).toEqual({ min: -43, max: 0 });
  });
});
