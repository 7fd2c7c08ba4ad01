import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  METRIC_SIZES,
  nearestListed,
  parseThread,
  threadFault,
  threadGeometry,
  UNIFIED_SIZES,
} from '../../server/src/mechanics/threads.ts';

const LISTED = [
  ...METRIC_SIZES.flatMap(([d, coarse, fine]) =>
    (coarse === undefined ? fine : [coarse, ...fine]).map((p) => `M${d}x${p}`),
  ),
  ...Object.values(UNIFIED_SIZES).flatMap((rows) =>
    rows.map(([size, perInch]) => `${size.replace('#', '')}-${perInch}`),
  ),
];

describe('every listed thread', () => {
  it.each(LISTED)('%s', (text) => {
    const thread = parseThread(text)!;
    expect(thread).toMatchObject({ designation: text, listed: true });
    expect(parseThread(thread.designation)).toEqual(thread);
    expect(nearestListed(thread)).toMatchObject({ designation: text, series: thread.series });
    const { pitchDiameter, minorDiameter, stressDiameter } = threadGeometry(thread)!;
    expect(minorDiameter).toBeLessThan(pitchDiameter);
    expect(stressDiameter).toBeLessThan(pitchDiameter);
    expect(pitchDiameter).toBeLessThan(thread.diameter);
    expect(minorDiameter).toBeGreaterThan(thread.diameter / 2);
  });
});

describe('designations', () => {
  it.each([
    ['M8×1', 'M8x1'],
    ['M8 x 1', 'M8x1'],
    ['M8X1', 'M8x1'],
    [' M8 ', 'M8x1.25'],
    ['#10-32', '10-32'],
    ['1/4-20 UNC', '1/4-20'],
    ['1 1/8-7', '1-1/8-7'],
    ['1-1/8 - 7', '1-1/8-7'],
    ['M20x1.5-LH', 'M20x1.5-LH'],
    ['M20 - LH', 'M20x2.5-LH'],
    ['3/4-16 UNF-LH', '3/4-16-LH'],
  ])('%s is %s', (text, designation) => expect(parseThread(text)?.designation).toBe(designation));

  // Number size 3 of ASME B1.1 is 0.060 + 3 × 0.013 in = 0.099 in across, from memory.
  it('a whole number with no listed threads per inch is a number size from 20 on, else inches', () => {
    expect(parseThread('3-24')?.diameter).toBeCloseTo(0.099 * 25.4, 9);
    expect(parseThread('3-19')?.diameter).toBe(3 * 25.4);
  });

  // ISO 965-1 and ASME B1.1, from memory: LH at the end says left-hand, nothing says right-hand.
  it('a left-hand thread is that of a right-hand one, turned the other way', () => {
    const [left, right] = [parseThread('M20x1.5-LH')!, parseThread('M20x1.5')!];
    expect(left).toEqual({ ...right, designation: 'M20x1.5-LH', leftHand: true });
    expect(threadGeometry(left)).toEqual(threadGeometry(right));
    expect(threadFault('M20LH')).toBe('a left-hand thread ends in -LH');
    expect(threadFault('M20-LH-LH')).toBe('-LH stands twice');
  });

  it.each([
    ['M8x1.1', 'M8x1'],
    ['M8x1.2', 'M8x1.25'],
    ['M21', undefined],
    ['M21x2', 'M20x2'],
    ['1/4-24', '1/4-28'],
    ['1-14', '1-12'],
    ['M21x2-LH', 'M20x2-LH'],
  ])('%s is in no standard; %s is', (text, nearest) => {
    const thread = parseThread(text);
    expect(thread?.listed ?? false).toBe(false);
    expect(thread && nearestListed(thread)?.designation).toBe(nearest);
  });

  it.each([
    ['M15', 'no coarse pitch'],
    ['M0', 'diameter'],
    ['M8x0', 'pitch'],
    ['M8x9', 'does not fit'],
    ['1/4', 'threads per inch'],
    ['1/0-20', 'fraction'],
    ['5/4-20', 'fraction'],
    ['#13-32', 'number sizes'],
    ['1/4-2', 'do not fit'],
    ['bolt', 'written'],
    ['', 'written'],
  ])('%s: says why not', (text, words) => {
    expect(parseThread(text)).toBeUndefined();
    expect(threadFault(text)).toContain(words);
  });

  it('takes any text without stumbling, and gives either a thread or a fault', () => {
    const texts = fc.oneof(fc.string(), fc.stringMatching(/^[M#]?[\d./x×-]{1,12}$/));
    fc.assert(
      fc.property(texts, (text) => {
        const thread = parseThread(text);
        expect(thread === undefined).toBe(threadFault(text) !== undefined);
        if (thread) {
          expect(threadGeometry(thread)!.stressArea).toBeGreaterThan(0);
          expect(parseThread(thread.designation)).toEqual(thread);
        }
      }),
      { numRuns: 2000 },
    );
  });
});
