import { describe, expect, it } from 'vitest';
import { shaftLimits } from '../../server/src/mechanics/fits.ts';
import { starBound } from '../../server/src/mechanics/orders.ts';
import { INCH, METRIC_SIZES, parseThread } from '../../server/src/mechanics/threads.ts';
import { bearingFace } from '../../server/src/mechanics/torque.ts';

describe('metric sizes', () => {
  // ISO 261: the pitches of the series, from memory.
  const pitches = [0.2, 0.25, 0.35, 0.5, 0.75, 1, 1.25, 1.5, 2, 3, 4];
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
  // ISO 261: coarse pitch grows with the diameter, and from 42 mm on every size has 3, 2 and 1.5, from memory.
  it('grow coarser, and the large ones share their fine pitches', () => {
    const coarse = METRIC_SIZES.flatMap(([, pitch]) => (pitch === undefined ? [] : [pitch]));
    expect(coarse).toEqual([...coarse].sort((a, b) => a - b));
    for (const [diameter, , fine] of METRIC_SIZES)
      if (diameter >= 40)
        expect(
          fine.filter((pitch) => pitch <= 3),
          `M${diameter}`,
        ).toEqual([3, 2, 1.5]);
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
