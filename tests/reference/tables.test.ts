import { describe, expect, it } from 'vitest';
import { shaftLimits } from '../../server/src/mechanics/fits.ts';
import { starBound } from '../../server/src/mechanics/orders.ts';
import { PROPERTY_CLASSES, propertyClass, saeGrade } from '../../server/src/mechanics/strength.ts';
import { INCH, METRIC_SIZES, parseThread } from '../../server/src/mechanics/threads.ts';
import { bearingFace } from '../../server/src/mechanics/torque.ts';

describe('metric sizes', () => {
  // ISO 261: the pitches of the series, from memory.
  const pitches = [0.2, 0.25, 0.35, 0.5, 0.75, 1, 1.25, 1.5, 2, 3, 4, 6, 8];
  it('rise, each with fine pitches of the series that fall from below its coarse one', () => {
    METRIC_SIZES.forEach(([diameter, coarse, fine], i) => {
      expect(diameter).toBeGreaterThan(METRIC_SIZES[i - 1]?.[0] ?? 0);
      expect(fine.length).toBeGreaterThan(0);
      let above = coarse ?? diameter / 4;
      for (const pitch of fine) {
        expect(pitches, `M${diameter}x${pitch}`).toContain(pitch);
        expect(pitch, `M${diameter}`).toBeLessThan(above);
        above = pitch;
      }
    });
  });
  // ISO 261: coarse pitch grows with the diameter, and from 40 to 76 mm every size has 3, 2 and 1.5, from memory.
  it('grow coarser, and the large ones share their fine pitches', () => {
    const coarse = METRIC_SIZES.flatMap(([, pitch]) => (pitch === undefined ? [] : [pitch]));
    expect(coarse).toEqual([...coarse].sort((a, b) => a - b));
    for (const [diameter, , fine] of METRIC_SIZES)
      if (diameter >= 40 && diameter <= 76)
        expect(
          fine.filter((pitch) => pitch <= 3),
          `M${diameter}`,
        ).toEqual([3, 2, 1.5]);
  });
});

// ISO 261, from memory: from which diameter to which each fine pitch is listed. M35 is for lock nuts of bearings, M38 beside it.
describe('fine pitches', () => {
  it.each([
    [0.2, 1.6, 1.8],
    [0.25, 2, 2.2],
    [0.35, 2.5, 3.5],
    [0.5, 4, 5.5],
    [0.75, 6, 11],
    [1, 8, 30],
    [1.25, 10, 14],
    [1.5, 12, 80],
    [2, 18, 150],
    [3, 30, 250],
    [4, 42, 300],
    [6, 70, 300],
    [8, 125, 300],
  ])('%d mm stands from M%d to M%d', (pitch, from, to) => {
    const sizes = METRIC_SIZES.filter(([, , fine]) => fine.includes(pitch)).map(([diameter]) => diameter);
    expect(sizes[0]).toBe(from);
    expect(sizes.at(-1)).toBe(to);
  });
  // ISO 2982-2, from memory: threads of the nuts of rolling bearings with bores of 40 to 200 mm.
  it.each([
    ...[40, 45, 50].map((bore) => [bore, 1.5] as const),
    ...[55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 110, 120, 130, 140, 150].map((bore) => [bore, 2] as const),
    ...[160, 170, 180, 190, 200].map((bore) => [bore, 3] as const),
  ])('the bearing nut of M%dx%d is listed', (bore, pitch) =>
    expect(parseThread(`M${bore}x${pitch}`)?.listed).toBe(true),
  );
  it('M26, M35 and M38 have 1.5 alone', () =>
    expect(METRIC_SIZES.filter(([d]) => [26, 35, 38].includes(d)).map(([, coarse, fine]) => [coarse, fine])).toEqual(
      Array.from({ length: 3 }, () => [undefined, [1.5]]),
    ));
});

// ISO 898-1: the name says hundredths of the tensile strength and tenths of the yield ratio; the standard's least values
// are those or a little more. Proof over yield is 0.88 to 0.94, from memory. M1.6 to M39; 9.8 to M16.
describe.each(PROPERTY_CLASSES)('class %s', (name) => {
  const [hundreds, tenths] = name.split('.').map(Number) as [number, number];
  it.each([2, 8, 16, 20, 39])('means what it says on %d mm', (diameter) => {
    const { proof, yield: yields, tensile, covered } = propertyClass(name, diameter)!;
    expect(tensile / (100 * hundreds)).toBeGreaterThanOrEqual(1);
    expect(tensile / (100 * hundreds)).toBeLessThan(1.06);
    expect(yields / (10 * hundreds * tenths)).toBeGreaterThanOrEqual(1);
    expect(yields / (10 * hundreds * tenths)).toBeLessThan(1.07);
    expect(proof / yields).toBeGreaterThan(0.87);
    expect(proof / yields).toBeLessThan(0.95);
    expect(covered).toBe(name !== '9.8' || diameter <= 16);
  });
  it('is stated from M1.6 to M39', () => {
    expect(propertyClass(name, 1.6)?.covered).toBe(true);
    expect(propertyClass(name, 1.5)?.covered).toBe(false);
    expect(propertyClass(name, 40)?.covered).toBe(false);
    expect(propertyClass(name, 0)).toBeUndefined();
  });
});

// SAE J429, ksi: reference list, read in public copies. Covers 1/4 to 1-1/2 in.
it.each([
  ['2', 0.25, 55, 57, 74],
  ['2', 0.75, 55, 57, 74],
  ['2', 0.875, 33, 36, 60],
  ['2', 1.5, 33, 36, 60],
  ['5', 0.25, 85, 92, 120],
  ['5', 1, 85, 92, 120],
  ['5', 1.125, 74, 81, 105],
  ['5', 1.5, 74, 81, 105],
  ['8', 0.25, 120, 130, 150],
  ['8', 1.5, 120, 130, 150],
] as const)('grade %s at %d in', (name, inches, proof, yields, tensile) => {
  const strength = saeGrade(name, inches * INCH)!;
  const ksi = 6.894757293168;
  expect(strength.covered).toBe(true);
  expect(strength.proof / ksi).toBeCloseTo(proof, 6);
  expect(strength.yield / ksi).toBeCloseTo(yields, 6);
  expect(strength.tensile / ksi).toBeCloseTo(tensile, 6);
});
it('SAE grades are stated from 1/4 to 1-1/2 in', () => {
  for (const name of ['2', '5', '8'])
    for (const inches of [0.24, 1.625, 3]) expect(saeGrade(name, inches * INCH)?.covered, `${inches}`).toBe(false);
  expect(saeGrade('9', 10)).toBeUndefined();
});

describe('bearing faces and holes', () => {
  const metric = (d: number, head?: 'socket' | 'flange') => bearingFace(parseThread(`M${d}x${d / 8}`)!, head)!;

  // ISO 272, widths across flats, from memory. The face is a chamfer or washer face less: 0.7 of it on the smallest.
  // biome-ignore format: a table
  const FLATS = [
    [1.6, 3.2], [2, 4], [2.5, 5], [3, 5.5], [3.5, 6], [4, 7], [5, 8], [6, 10], [8, 13], [10, 16], [12, 18], [14, 21],
    [16, 24], [18, 27], [20, 30], [22, 34], [24, 36], [27, 41], [30, 46], [33, 50], [36, 55], [39, 60], [42, 65],
    [45, 70], [48, 75], [52, 80], [56, 85], [60, 90], [64, 95],
  ] as const;
  it.each(FLATS)('hexagon M%d, %d mm across flats', (diameter, flats) => {
    const { outer, tabulated } = metric(diameter);
    expect(tabulated).toBe(true);
    expect(outer / flats).toBeGreaterThan(diameter < 5 ? 0.7 : diameter < 8 ? 0.85 : 0.89);
    expect(outer / flats).toBeLessThan(0.95);
  });

  // ISO 4762, greatest head diameter, from memory: about 1.5 d.
  // biome-ignore format: a table
  const HEADS = [
    [1.6, 3], [2, 3.8], [2.5, 4.5], [3, 5.5], [4, 7], [5, 8.5], [6, 10], [8, 13], [10, 16], [12, 18], [14, 21],
    [16, 24], [20, 30], [24, 36], [30, 45], [36, 54], [42, 63], [48, 72], [56, 84], [64, 96],
  ] as const;
  it.each(HEADS)('socket M%d, head of %d mm', (diameter, head) => {
    const { outer, tabulated } = metric(diameter, 'socket');
    expect(tabulated).toBe(true);
    expect(outer / head).toBeGreaterThan(diameter < 3 ? 0.9 : 0.92);
    expect(outer / head).toBeLessThan(0.99);
  });

  // Hexagon nuts with flange, DIN 6923 (ISO 4161): least dw of M5 and M6 read in a public copy. Greatest flange diameters from memory, the
  // same as of bolts (EN 1665): the face is what its rounded edge leaves.
  it.each([
    [5, 9.8],
    [6, 12.2],
  ])('flange M%d, face of %d mm', (diameter, face) => {
    expect(metric(diameter, 'flange').outer).toBe(face);
  });
  // biome-ignore format: a table
  const FLANGES = [
    [5, 11.8], [6, 14.2], [8, 17.9], [10, 21.8], [12, 26], [14, 29.9], [16, 34.5], [20, 42.8],
  ] as const;
  it.each(FLANGES)('flange M%d of %d mm', (diameter, flange) => {
    const { outer, tabulated } = metric(diameter, 'flange');
    expect(tabulated).toBe(true);
    expect(outer / flange).toBeGreaterThan(0.82);
    expect(outer / flange).toBeLessThan(0.94);
    expect(outer).toBeGreaterThan(metric(diameter).outer * 1.2);
  });

  // ISO 273, fine and coarse series, from memory: the medium one lies between.
  // biome-ignore format: a table
  const HOLES = [
    [1.6, 1.7, 2], [2, 2.2, 2.6], [2.5, 2.7, 3.1], [3, 3.2, 3.6], [3.5, 3.7, 4.2], [4, 4.3, 4.8], [5, 5.3, 5.8],
    [6, 6.4, 7], [7, 7.4, 8], [8, 8.4, 10], [10, 10.5, 12], [12, 13, 14.5], [14, 15, 16.5], [16, 17, 18.5],
    [18, 19, 21], [20, 21, 24], [22, 23, 26], [24, 25, 28], [27, 28, 32], [30, 31, 35], [33, 34, 38], [36, 37, 42],
    [39, 40, 45], [42, 43, 48], [45, 46, 52], [48, 50, 56], [52, 54, 62], [56, 58, 66], [60, 62, 70], [64, 66, 74],
  ] as const;
  it.each(HOLES)('hole of M%d: over %d, under %d mm', (diameter, fine, coarse) => {
    expect(metric(diameter).hole).toBeGreaterThan(fine);
    expect(metric(diameter).hole).toBeLessThan(coarse);
  });
  it('sizes between are interpolated, sizes beyond scaled, and both say so', () => {
    expect(metric(7).tabulated).toBe(false);
    expect(metric(7).outer).toBeCloseTo((metric(6).outer + metric(8).outer) / 2, 6);
    expect(metric(25.5).hole).toBeCloseTo((metric(24).hole + metric(27).hole) / 2, 6);
    expect(metric(128).outer).toBeCloseTo(2 * metric(64).outer, 6);
    expect(metric(0.8).hole).toBeCloseTo(metric(1.6).hole / 2, 6);
    expect(metric(128).tabulated).toBe(false);
    expect(metric(1).tabulated).toBe(false);
  });

  // ASME B18.2.1, widths across flats in inches, read; the face is 0.95 of it. 4 in from memory.
  // biome-ignore format: a table
  it.each([
    ['1/4-20', 7 / 16], ['5/16-18', 1 / 2], ['3/8-16', 9 / 16], ['7/16-14', 5 / 8], ['1/2-13', 3 / 4],
    ['9/16-12', 13 / 16], ['5/8-11', 15 / 16], ['3/4-10', 9 / 8], ['7/8-9', 21 / 16], ['1-8', 1.5], ['1-1/8-7', 27 / 16],
    ['1-1/4-7', 15 / 8], ['1-3/8-6', 33 / 16], ['1-1/2-6', 2.25], ['1-3/4-5', 21 / 8], ['2-4.5', 3], ['3-4', 4.5],
    ['4-4', 6],
  ] as const)('hexagon %s, %d in across flats', (thread, flats) => {
    expect(bearingFace(parseThread(thread)!)!.outer / INCH / flats).toBeCloseTo(0.95, 3);
  });
  // ASME B18.3, greatest head diameter of a socket screw in inches, from memory.
  it.each([
    ['0-80', 0.096],
    ['2-56', 0.14],
    ['4-40', 0.183],
    ['6-32', 0.226],
    ['8-32', 0.27],
    ['10-24', 0.312],
    ['1/4-20', 0.375],
    ['3/8-16', 0.5625],
    ['1/2-13', 0.75],
    ['3/4-10', 1.125],
    ['1-8', 1.5],
    ['2-4.5', 3],
    ['4-4', 6],
  ] as const)('socket %s, head of %d in', (thread, head) => {
    const hexagonToo = !thread.includes('/') && Number(thread.split('-')[1]) > 8;
    expect(bearingFace(parseThread(thread)!, 'socket')!.outer / INCH / head).toBeCloseTo(0.95, 2);
    if (hexagonToo) expect(bearingFace(parseThread(thread)!)!.outer / INCH / head).toBeCloseTo(0.95, 2);
  });
  // ASME B18.2.8, normal fit: number drills 48, 38, 30, 18, 9 and 2, from memory; over 1 in 3/32 and 1/8 over the bolt.
  it.each([
    ['0-80', 0.076],
    ['2-56', 0.1015],
    ['4-40', 0.1285],
    ['6-32', 0.1695],
    ['8-32', 0.196],
    ['10-24', 0.221],
    ['1/4-20', 9 / 32],
    ['1-8', 1 + 3 / 32],
    ['1-1/8-7', 1.125 + 3 / 32],
    ['1-1/4-7', 1.25 + 3 / 32],
    ['1-3/8-6', 1.5],
    ['1-1/2-6', 1.625],
    ['4-4', 4.25],
  ] as const)('hole of %s: %d in', (thread, inches) => {
    expect(Math.abs(bearingFace(parseThread(thread)!)!.hole / INCH - inches)).toBeLessThan(0.0006);
  });
});

// ASME B18.2.8, normal fit, from memory: 1/32 in. over the bolt up to 7/16, 1/16 in. from 1/2 to 7/8.
it.each([
  ['5/16-18', 5 / 16 + 1 / 32],
  ['3/8-16', 3 / 8 + 1 / 32],
  ['7/16-14', 7 / 16 + 1 / 32],
  ['1/2-13', 1 / 2 + 1 / 16],
  ['5/8-11', 5 / 8 + 1 / 16],
  ['3/4-10', 3 / 4 + 1 / 16],
  ['7/8-9', 7 / 8 + 1 / 16],
])('the hole of a %s bolt', (thread, inches) => {
  expect(bearingFace(parseThread(thread)!)!.hole).toBeCloseTo(inches * INCH, 6);
});

// ISO 286-2: k is given from grade 4 to 7 with a positive lower limit; from 8 on it lies at zero and is not listed here.
it('k7 is a class and k8 is none', () => {
  expect(shaftLimits(50, 'k7')).toBeDefined();
  expect(shaftLimits(50, 'k8')).toBeUndefined();
});

// Opposite pulls of an even circle cancel; the sum of n turning arrows of an odd one is a geometric row.
it.each([1, 2, 6, 10, 14])('the pull of a star of %i never passes one bolt', (count) =>
  expect(starBound(count)).toBe(1),
);
it('the pull of a star of 5 passes it a little', () => expect(starBound(5)).toBeCloseTo(1 / Math.cos(Math.PI / 10), 9));
