import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Holes,
  holesAmong,
  judgeOrder,
  orderAmong,
  orderImbalance,
  rotationalSymmetry,
  spiralOrder,
  stagedPasses,
  starBound,
  starOrder,
  tighteningOrder,
} from '../../server/src/mechanics/orders.ts';
import { between } from './sane.ts';

const clean = { missing: [], repeated: [], outside: [], nextDoor: [], inwards: false };
const COUNTS = Array.from({ length: 200 }, (_, i) => i + 1);
const circle = (count: number): Holes => ({ kind: 'circle', count });
const grid = (columns: number, rows: number, dx = 60, dy = 80): Holes => ({
  kind: 'points',
  points: Array.from({ length: columns * rows }, (_, i) => ({
    x: (i % columns) * dx,
    y: Math.floor(i / columns) * dy,
  })),
});

describe.each([
  ['star', starOrder],
  ['spiral', spiralOrder],
] as const)('%s on a circle of 1 to 200', (_, make) => {
  it('takes every hole once, and from five holes on no neighbours in succession', () => {
    for (const count of COUNTS) expect(judgeOrder(make(count)!, circle(count)), `${count}`).toEqual(clean);
  });

  it('keeps the pull within its bound', () => {
    for (const count of COUNTS) {
      const worst = orderImbalance(make(count)!, circle(count))!;
      expect(worst, `${count}`).toBeLessThanOrEqual(starBound(count)! + 1e-9);
    }
    // The bound is not slack: an odd circle comes to it.
    expect(orderImbalance(make(5)!, circle(5))).toBeGreaterThan(starBound(5)! - 0.06);
  });
});

describe('orders of any pattern', () => {
  const angles = fc
    .array(between(0, 359), { minLength: 1, maxLength: 40 })
    .map((list): Holes => ({ kind: 'angles', angles: list }));
  const point = fc.record({ x: between(-500, 500), y: between(-500, 500) });
  const points = fc
    .array(point, { minLength: 1, maxLength: 40 })
    .map((list): Holes => ({ kind: 'points', points: list }));

  it('uneven circles: a permutation, no neighbours in succession, no worse than by rank', () => {
    fc.assert(
      fc.property(angles, fc.constantFrom('star' as const, 'spiral' as const), (holes, style) => {
        const order = tighteningOrder(holes, style)!;
        expect(judgeOrder(order, holes)).toEqual(clean);
        if (holes.kind !== 'angles') return;
        const rank = holes.angles
          .map((_, i) => i + 1)
          .sort((a, b) => holes.angles[a - 1]! - holes.angles[b - 1]! || a - b);
        const byRank = (style === 'star' ? starOrder : spiralOrder)(rank.length)!.map((at) => rank[at - 1]!);
        expect(orderImbalance(order, holes)).toBeLessThanOrEqual(orderImbalance(byRank, holes)! + 1e-9);
      }),
    );
  });

  it('an evenly spaced circle written as angles keeps the balance of the star', () => {
    for (const count of COUNTS.slice(0, 60)) {
      const holes: Holes = { kind: 'angles', angles: Array.from({ length: count }, (_, i) => (360 * i) / count) };
      expect(orderImbalance(tighteningOrder(holes)!, holes)).toBeLessThanOrEqual(starBound(count)! + 1e-9);
    }
  });

  // Bolt holes of flanges straddle the centre lines (EN 1092-1, from memory), so that such a circle is written as angles.
  it.each([5, 6, 8, 10, 12, 16, 20])(
    '%d even holes that begin beside 12 o’clock are tightened as those that begin there',
    (count) => {
      const angles = Array.from({ length: count }, (_, i) => ((i + 0.5) * 360) / count);
      for (const style of ['star', 'spiral'] as const)
        expect(tighteningOrder({ kind: 'angles', angles }, style)).toEqual(tighteningOrder(circle(count), style));
    },
  );

  it('points: a permutation from the inside outwards; the reverse works inwards', () => {
    fc.assert(
      fc.property(points, fc.constantFrom('star' as const, 'spiral' as const), (holes, style) => {
        expect(judgeOrder(tighteningOrder(holes, style)!, holes)).toEqual(clean);
      }),
    );
    for (const style of ['star', 'spiral'] as const) {
      for (const [columns, rows] of [
        [3, 2],
        [4, 3],
        [5, 5],
        [2, 6],
      ] as const) {
        const holes = grid(columns, rows);
        const order = tighteningOrder(holes, style)!;
        expect(judgeOrder(order, holes).inwards).toBe(false);
        expect(judgeOrder([...order].reverse(), holes).inwards).toBe(true);
      }
    }
  });

  // Common practice, no source: neighbours in a row draw a flange down on one side, however its holes are given.
  it('a circle that is given by points is tightened as the circle is', () => {
    for (const count of [5, 6, 8, 11, 12, 16]) {
      const at = (i: number) => (2 * Math.PI * i) / count;
      const ring = Array.from({ length: count }, (_, i) => ({ x: 90 * Math.sin(at(i)), y: 90 * Math.cos(at(i)) }));
      const holes: Holes = { kind: 'points', points: ring };
      expect(tighteningOrder(holes, 'spiral')).toEqual(spiralOrder(count));
      expect(tighteningOrder(holes, 'star')).toEqual(starOrder(count));
    }
  });

  it('a lid of six: middle pair first', () => {
    expect(tighteningOrder(grid(3, 2))!.slice(0, 2).sort()).toEqual([2, 5]);
  });
});

// Left out of the star of ten, 1 6 3 8 5 10 2 7 4 9, what is between them, five holes would be taken one after the other round the circle.
describe('an order among some of the holes', () => {
  it.each([
    ['star', 10, [1, 3, 5, 7, 9], [1, 5, 9, 3, 7]],
    ['star', 10, [10, 8, 6, 4, 2], [2, 6, 10, 4, 8]],
    ['star', 8, [1, 3, 6, 8], [1, 6, 3, 8]],
    ['star', 12, [1, 3, 5, 7, 9, 11], [1, 7, 3, 9, 5, 11]],
    ['spiral', 16, [2, 4, 6, 8, 10, 12, 14, 16], [2, 10, 4, 12, 6, 14, 8, 16]],
    ['star', 6, [2, 5], [2, 5]],
    ['star', 6, [1, 2, 3, 4, 5, 6], [1, 4, 2, 5, 3, 6]],
  ] as const)('%s, of %d the holes %j: %j', (style, count, numbers, order) => {
    expect(orderAmong(circle(count), numbers, style)).toEqual(order);
  });
  it('of points begins in the middle of those', () => {
    // Six in two rows: the four corners, then the right-hand four.
    expect(orderAmong(grid(3, 2), [1, 3, 4, 6], 'star')).toEqual([6, 1, 3, 4]);
    expect(new Set(orderAmong(grid(3, 2), [2, 3, 5, 6], 'star'))).toEqual(new Set([2, 3, 5, 6]));
  });
  it('is none of holes that do not exist', () => {
    expect(orderAmong(circle(6), [1, 7])).toBeUndefined();
    expect(orderAmong(circle(6), [])).toBeUndefined();
  });
  it('takes each once, from five on no neighbours among themselves in succession', () => {
    fc.assert(
      fc.property(fc.integer({ min: 5, max: 40 }), fc.integer({ min: 1, max: 5 }), (pieces, apart) => {
        const numbers = Array.from({ length: pieces }, (_, i) => i * apart + 1);
        const holes = circle(pieces * apart);
        const order = orderAmong(holes, numbers)!;
        expect([...order].sort((a, b) => a - b)).toEqual(numbers);
        const places = order.map((hole) => numbers.indexOf(hole) + 1);
        expect(judgeOrder(places, holesAmong(holes, numbers)!)).toEqual(clean);
      }),
    );
  });
});

describe('judging', () => {
  it('names what is missing, doubled and no hole', () => {
    expect(judgeOrder([1, 3, 3, 9, 0, 2.5], circle(4))).toEqual({
      ...clean,
      missing: [2, 4],
      repeated: [3],
      outside: [9, 0, 2.5],
    });
  });

  it('names neighbours in succession on five holes or more, across 12 o’clock too, but not from the last to the first', () => {
    expect(judgeOrder([1, 2, 4, 3], circle(4)).nextDoor).toEqual([]);
    expect(judgeOrder([1, 2, 4, 6, 3, 5], circle(6)).nextDoor).toEqual([[1, 2]]);
    expect(judgeOrder([1, 6, 3, 5, 2, 4], circle(6)).nextDoor).toEqual([[1, 6]]);
    expect(judgeOrder([1, 3, 5, 2, 4, 6], circle(6)).nextDoor).toEqual([]);
  });

  it('goes by the angles, not by the numbers, on an uneven circle', () => {
    const holes: Holes = { kind: 'angles', angles: [0, 180, 72, 252, 144, 300] };
    expect(judgeOrder([1, 2, 3, 4, 5, 6], holes).nextDoor).toEqual([]);
    expect(judgeOrder([1, 3, 2, 6, 5, 4], holes).nextDoor).toEqual([[1, 3]]);
  });

  it('any permutation has no bad hole, and one hole changed has', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 60 }), fc.nat(), fc.nat(), (count, a, b) => {
        const order = fc.sample(
          fc.shuffledSubarray(
            Array.from({ length: count }, (_, i) => i + 1),
            { minLength: count },
          ),
          1,
        )[0]!;
        const verdict = judgeOrder(order, circle(count));
        expect([verdict.missing, verdict.repeated, verdict.outside]).toEqual([[], [], []]);
        const spoilt = order.with(a % count, order[b % count]!);
        const again = judgeOrder(spoilt, circle(count));
        const changed = a % count !== b % count;
        expect(again.missing.length).toBe(changed ? 1 : 0);
        expect(again.repeated.length).toBe(changed ? 1 : 0);
      }),
    );
  });

  it('a staged tightening ends with a round in sequence', () => {
    const passes = stagedPasses(starOrder(6)!, [10, 25])!;
    expect(passes.map((pass) => pass.torque)).toEqual([10, 25, 25]);
    expect(passes.at(-1)!.order).toEqual([1, 2, 3, 4, 5, 6]);
    expect(stagedPasses([1, 2], [])).toBeUndefined();
  });
});

describe('symmetry', () => {
  it('one odd hole fits one way only', () => {
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 60, 120, 180, 240, 297] })).toBe(1);
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 60, 120, 180, 240, 300] })).toBe(6);
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 60, 120, 180, 240, 300.4] })).toBe(6);
    expect(rotationalSymmetry({ kind: 'angles', angles: [10, 50, 190, 230] })).toBe(2);
    expect(rotationalSymmetry(circle(8))).toBe(8);
    expect(rotationalSymmetry(grid(3, 2))).toBe(2);
    expect(rotationalSymmetry(grid(2, 2, 50, 50))).toBe(4);
    expect(rotationalSymmetry(grid(3, 3, 50, 50))).toBe(4);
    expect(
      rotationalSymmetry({
        kind: 'points',
        points: [
          { x: 0, y: 0 },
          { x: 60, y: 0 },
          { x: 0, y: 80 },
        ],
      }),
    ).toBe(1);
    expect(rotationalSymmetry({ kind: 'angles', angles: [] })).toBeUndefined();
  });

  it('stays the same when the pattern is turned, renumbered, moved or enlarged', () => {
    const fold = fc.integer({ min: 1, max: 8 });
    const base = fc.uniqueArray(fc.integer({ min: 0, max: 40 }), { minLength: 1, maxLength: 4 });
    fc.assert(
      fc.property(
        fold,
        base,
        fc.integer({ min: 0, max: 359 }),
        between(1, 100),
        between(-500, 500),
        (k, starts, turned, radius, shift) => {
          // Starts apart by at least a degree within one k-th of the circle.
          const angles = starts.flatMap((s) => Array.from({ length: k }, (_, i) => s + (360 * i) / k));
          const symmetry = rotationalSymmetry({ kind: 'angles', angles })!;
          expect(symmetry % k).toBe(0);
          expect(rotationalSymmetry({ kind: 'angles', angles: angles.map((a) => a + turned).reverse() })).toBe(
            symmetry,
          );
          if (k === 1) return;
          const points = angles.map((a) => ({
            x: shift + radius * Math.sin((a * Math.PI) / 180),
            y: 2 * shift + radius * Math.cos((a * Math.PI) / 180),
          }));
          expect(rotationalSymmetry({ kind: 'points', points })).toBe(symmetry);
        },
      ),
    );
  });
});
