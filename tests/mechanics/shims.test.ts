import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  chooseShims,
  type Shim,
  type ShimChoice,
  type ShimTarget,
  type WorstReading,
  worstReading,
} from '../../server/src/mechanics/shims.ts';
import { between } from './sane.ts';

const shim: fc.Arbitrary<Shim> = fc.record({
  thickness: fc.integer({ min: 1, max: 12 }).map((n) => n * 10),
  count: fc.option(fc.integer({ min: 0, max: 3 }), { nil: undefined }),
});
const shims = fc.array(shim, { minLength: 1, maxLength: 5 }).filter((list) => list.some(({ count }) => count !== 0));
const target: fc.Arbitrary<ShimTarget> = fc
  .record({
    kind: fc.constantFrom('endplay' as const, 'preload' as const),
    low: fc.integer({ min: 0, max: 60 }),
    high: fc.integer({ min: 0, max: 60 }),
  })
  .map(({ kind, low, high }) => ({ kind, low: Math.min(low, high), high: Math.max(low, high) }));

/** Every total up to a limit with its fewest pieces, by trying all stacks: slow and plain. */
function allStacks(list: readonly Shim[], limit: number): Map<number, number> {
  let totals = new Map([[0, 0]]);
  for (const { thickness, count = Infinity } of list) {
    const next = new Map(totals);
    for (const [total, pieces] of totals) {
      for (let k = 1; k <= count && total + k * thickness <= limit; k++) {
        const sum = total + k * thickness;
        next.set(sum, Math.min(next.get(sum) ?? Infinity, pieces + k));
      }
    }
    totals = next;
  }
  return totals;
}

const band = (gap: number, { kind, low, high }: ShimTarget): [number, number] =>
  kind === 'endplay' ? [gap - high, gap - low] : [gap + low, gap + high];

function isMadeOf(pieces: readonly number[], list: readonly Shim[]): boolean {
  return pieces.every((piece) => {
    const have = list.reduce((sum, s) => (s.thickness === piece ? sum + (s.count ?? Infinity) : sum), 0);
    return pieces.filter((p) => p === piece).length <= have;
  });
}

describe('choice', () => {
  it('is the best of all stacks there are: in the target, fewest pieces, nearest to the middle', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 400 }), target, shims, (gap, goal, list) => {
        const { reached, stack } = chooseShims(gap, goal, list) as ShimChoice;
        const [least, most] = band(gap, goal);
        expect(isMadeOf(stack.pieces, list)).toBe(true);
        expect(stack.pieces.reduce((a, b) => a + b, 0)).toBe(stack.total);
        expect(stack.result).toBe(goal.kind === 'endplay' ? gap - stack.total : stack.total - gap);
        const outside = (total: number) => Math.max(0, least - total, total - most);
        expect(reached).toBe(outside(stack.total) === 0);
        for (const [total, pieces] of allStacks(list, 700)) {
          const worse =
            outside(total) - outside(stack.total) ||
            pieces - stack.pieces.length ||
            Math.abs(2 * total - least - most) - Math.abs(2 * stack.total - least - most);
          expect(worse, `${total} of ${pieces} pieces`).toBeGreaterThanOrEqual(0);
        }
      }),
      { numRuns: 300 },
    );
  });

  it('is the same in any unit: everything times 25.4', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 400 }), target, shims, (gap, goal, list) => {
        const once = chooseShims(gap, goal, list) as ShimChoice;
        const inches = list.map((s) => ({ ...s, thickness: s.thickness * 25.4 }));
        const scaled = chooseShims(
          gap * 25.4,
          { ...goal, low: goal.low * 25.4, high: goal.high * 25.4 },
          inches,
        ) as ShimChoice;
        expect(scaled.reached).toBe(once.reached);
        expect(scaled.stack.pieces).toHaveLength(once.stack.pieces.length);
        expect(scaled.stack.total).toBeCloseTo(once.stack.total * 25.4, 6);
      }),
    );
  });

  it('keeps to the counts', () => {
    const stock = [
      { thickness: 500, count: 1 },
      { thickness: 100, count: 2 },
    ];
    expect(chooseShims(1000, { kind: 'endplay', low: 0, high: 50 }, stock)).toEqual({
      reached: false,
      stack: { pieces: [500, 100, 100], total: 700, result: 300 },
    });
    expect(chooseShims(30, { kind: 'endplay', low: 0, high: 50 }, stock)).toEqual({
      reached: true,
      stack: { pieces: [], total: 0, result: 30 },
    });
  });
});

describe('every reading within the limits', () => {
  it('finds a reading without a stack wherever there is one, and none where there is none', () => {
    const low = fc.integer({ min: 0, max: 300 });
    fc.assert(
      fc.property(low, fc.integer({ min: 0, max: 200 }), target, shims, (from, width, goal, list) => {
        const limits = { low: from, high: from + width };
        const totals = [...allStacks(list, 1000).keys()];
        const serves = (reading: number) => {
          const [least, most] = band(reading, goal);
          return totals.some((total) => total >= least && total <= most);
        };
        const distance = (reading: number) => {
          const [least, most] = band(reading, goal);
          return Math.min(...totals.map((total) => Math.max(0, least - total, total - most)));
        };
        const worst = worstReading(limits, goal, list) as WorstReading | undefined;
        // All ends of intervals are whole micrometres: whole and half ones between them see every interval.
        const readings = Array.from({ length: 2 * width + 1 }, (_, i) => from + i / 2);
        expect(worst === undefined).toBe(readings.every(serves));
        if (!worst) return;
        expect(worst.reading).toBeGreaterThanOrEqual(limits.low);
        expect(worst.reading).toBeLessThanOrEqual(limits.high);
        expect(serves(worst.reading)).toBe(false);
        expect(distance(worst.reading)).toBe(Math.max(...readings.map(distance)));
        const [least, most] = band(worst.reading, goal);
        expect(Math.max(least - worst.nearest.total, worst.nearest.total - most)).toBe(distance(worst.reading));
        for (const reading of readings) {
          const within = worst.gaps.some(([a, b]) => reading > a && reading < b);
          if (within) expect(serves(reading)).toBe(false);
        }
      }),
      { numRuns: 300 },
    );
  });

  it('names the reading and the nearest stack', () => {
    // Stacks are 0, 100, 200, 250, 350 and 450 µm; for 50 to 100 µm of play they serve all from 250 to 350 and from 400 on.
    const stock = [
      { thickness: 100, count: 2 },
      { thickness: 250, count: 1 },
    ];
    expect(worstReading({ low: 300, high: 420 }, { kind: 'endplay', low: 50, high: 100 }, stock)).toEqual({
      reading: 375,
      nearest: { pieces: [250], total: 250, result: 125 },
      gaps: [[350, 400]],
    });
    expect(worstReading({ low: 300, high: 350 }, { kind: 'endplay', low: 50, high: 100 }, stock)).toBeUndefined();
    // Above the thickest stack the farthest reading is the limit itself.
    expect(worstReading({ low: 500, high: 600 }, { kind: 'endplay', low: 50, high: 100 }, stock)).toMatchObject({
      reading: 600,
      nearest: { total: 450, result: 150 },
    });
  });
});

describe('hostile figures', () => {
  const many = Array.from({ length: 50 }, (_, i) => ({ thickness: 20 + i * 1.001, count: i % 2 ? undefined : 3 }));

  it('answers for a million readings and fifty odd thicknesses', () => {
    const worst = worstReading(
      { low: 0, high: 1000 },
      { kind: 'endplay', low: 0.001, high: 0.002 },
      many,
    ) as WorstReading;
    expect(worst.reading).toBeCloseTo(10.0015, 6);
    expect(worst.nearest.total).toBe(0);
  });

  it('says so where it will not compute', () => {
    const goal: ShimTarget = { kind: 'endplay', low: 0, high: 1 };
    const fine = [{ thickness: 0.001 }, { thickness: 0.0011 }];
    expect(chooseShims(1e6, goal, fine)).toEqual({ problem: 'the thicknesses are too fine for a gap this large' });
    for (const bad of [
      [],
      [{ thickness: 0 }],
      [{ thickness: Number.NaN }],
      [{ thickness: -5 }],
      [{ thickness: 5, count: 0.5 }],
      [{ thickness: 5, count: 0 }],
    ]) {
      expect(chooseShims(100, goal, bad)).toHaveProperty('problem');
    }
    expect(chooseShims(100, { ...goal, low: 2 }, [{ thickness: 5 }])).toHaveProperty('problem');
    expect(chooseShims(Number.NaN, goal, [{ thickness: 5 }])).toHaveProperty('problem');
    expect(worstReading({ low: 5, high: 1 }, goal, [{ thickness: 5 }])).toHaveProperty('problem');
    expect(
      chooseShims(
        100,
        goal,
        Array.from({ length: 201 }, (_, i) => ({ thickness: i + 1 })),
      ),
    ).toHaveProperty('problem');
  });

  it('stands any figures', () => {
    const figure = fc.oneof(
      between(0, 1000),
      fc.double(),
      fc.constantFrom(0, -1, 1e7, Number.NaN, Number.POSITIVE_INFINITY),
    );
    fc.assert(
      fc.property(
        figure,
        figure,
        figure,
        fc.array(fc.record({ thickness: figure, count: fc.option(fc.nat(5), { nil: undefined }) }), { maxLength: 4 }),
        (a, b, c, list) => {
          const choice = chooseShims(a, { kind: 'preload', low: b, high: c }, list);
          if (!('problem' in choice)) {
            expect(Number.isFinite(choice.stack.total)).toBe(true);
            expect(Number.isFinite(choice.stack.result)).toBe(true);
          }
          worstReading({ low: a, high: b }, { kind: 'endplay', low: 0, high: c }, list);
        },
      ),
    );
  });
});
