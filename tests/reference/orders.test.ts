import { describe, expect, it } from 'vitest';
import {
  judgeOrder,
  STAGE_SHARES,
  stagedPasses,
  starOrder,
  tighteningOrder,
} from '../../server/src/mechanics/orders.ts';

// Holes numbered clockwise. 4, 8, 16, 20, 24, 32: ASME PCC-1 legacy pattern, from memory; 12 read.
// biome-ignore format: a table
const PUBLISHED = [
  '1-3-2-4',
  '1-5-3-7-2-6-4-8',
  '1-7-4-10-2-8-5-11-3-9-6-12',
  '1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16',
  '1-11-6-16-3-13-8-18-5-15-10-20-2-12-7-17-4-14-9-19',
  '1-13-7-19-4-16-10-22-2-14-8-20-5-17-11-23-3-15-9-21-6-18-12-24',
  '1-17-9-25-5-21-13-29-3-19-11-27-7-23-15-31-2-18-10-26-6-22-14-30-4-20-12-28-8-24-16-32',
];

describe('published star orders', () => {
  it.each(PUBLISHED)('%s', (text) => {
    const order = text.split('-').map(Number);
    expect(starOrder(order.length)).toEqual(order);
  });

  // Read: public guidance of a sealing trade body on flanges. From 12 o'clock to the bolt across, then to the pair halfway between,
  // then to the pairs halfway between those: each pair is opposite, and each group of pairs halves the angles left.
  it.each([4, 8, 16, 32])('%d holes: opposite pairs that halve the angle again and again', (count) => {
    const order = starOrder(count)!;
    for (let i = 0; i < count; i += 2) expect((order[i + 1]! - order[i]! + count) % count).toBe(count / 2);
    for (let taken = 2; taken <= count; taken *= 2)
      expect(order.slice(0, taken).sort((a, b) => a - b)).toEqual(
        Array.from({ length: taken }, (_, i) => 1 + (i * count) / taken),
      );
  });

  // Six holes: each followed by the one across; common practice, no source.
  it('six holes: 1-4-2-5-3-6', () => expect(starOrder(6)).toEqual([1, 4, 2, 5, 3, 6]));

  // A cover or cylinder head on rows of bolts: from the middle outwards, the corners last; common practice, no source.
  it.each([
    ['two rows of five', 5, 2, [3, 8], [1, 5, 6, 10]],
    ['two rows of three', 3, 2, [2, 5], [1, 3, 4, 6]],
    ['three rows of three', 3, 3, [5], [1, 3, 7, 9]],
  ] as const)('%s: the middle first, the corners last', (_, columns, rows, middle, corners) => {
    const points = Array.from({ length: columns * rows }, (__, i) => ({
      x: 60 * (i % columns),
      y: 60 * Math.floor(i / columns),
    }));
    for (const style of ['star', 'spiral'] as const) {
      const order = tighteningOrder({ kind: 'points', points }, style)!;
      expect(order.slice(0, middle.length).sort((a, b) => a - b)).toEqual(middle);
      expect(order.slice(-4).sort((a, b) => a - b)).toEqual(corners);
      expect(judgeOrder(order, { kind: 'points', points }).inwards).toBe(false);
      expect(judgeOrder(order.toReversed(), { kind: 'points', points }).inwards).toBe(true);
    }
  });

  // Five holes of a wheel, common practice, no source.
  it('five holes: 1-3-5-2-4', () => expect(starOrder(5)).toEqual([1, 3, 5, 2, 4]));

  it('accepts balanced orders that are not its own', () => {
    // Invented: six holes with opposites first, eight by quarters the other way round.
    for (const order of [
      [1, 4, 6, 3, 5, 2],
      [1, 5, 7, 3, 8, 4, 6, 2],
    ]) {
      const verdict = judgeOrder(order, { kind: 'circle', count: order.length });
      expect([verdict.missing, verdict.repeated, verdict.outside, verdict.nextDoor]).toEqual([[], [], [], []]);
    }
  });

  // Read: 30, 60 and 100 %, then a round in sequence.
  it('stages', () => {
    expect(STAGE_SHARES).toEqual([0.3, 0.6, 1]);
    expect(stagedPasses(starOrder(4)!, [30, 60, 100])).toEqual([
      { torque: 30, order: [1, 3, 2, 4] },
      { torque: 60, order: [1, 3, 2, 4] },
      { torque: 100, order: [1, 3, 2, 4] },
      { torque: 100, order: [1, 2, 3, 4] },
    ]);
  });
});
