import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ticksOf, timeAxis } from '../../server/src/outputs/time-axis.ts';

const hour = 3600;
const day = 24 * hour;
/** Two stretches of eight hours, five days apart: as where a part is on order. */
const crowded = [
  { start: 0, finish: 8 * hour },
  { start: 5 * day, finish: 5 * day + 8 * hour },
];
const end = 5 * day + 8 * hour;

describe('the axis of time', () => {
  it('has one scale where work has half of the time', () => {
    const axis = timeAxis(16 * hour, [{ start: 0, finish: 8 * hour }], 160);
    expect(axis).toMatchObject({ shortened: [], times: 1, scale: 160 / (16 * hour) });
    expect(axis.place(4 * hour)).toBeCloseTo(40);
  });

  it('draws long time without work shorter, so that the work has most of the width', () => {
    const axis = timeAxis(end, crowded, 600);
    expect(axis.shortened).toEqual([{ start: 8 * hour, finish: 5 * day }]);
    // 112 h on a quarter, 16 h on the rest: (112 / 1) / (16 / 3) = 21.
    expect(axis.times).toBe(21);
    expect(axis.place(8 * hour)).toBeCloseTo(225, 0);
    expect(axis.place(5 * day) - axis.place(8 * hour)).toBeCloseTo(150, 0);
  });

  it('leaves a pause of hours as it is beside one of days, and draws pauses of one length alike', () => {
    const work = [0, 2, 4, 6].map((at) => ({ start: at * hour, finish: (at + 1) * hour }));
    const later = { start: 4 * day, finish: 4 * day + 6 * hour };
    expect(timeAxis(later.finish, [...work, later], 600).shortened).toEqual([{ start: 7 * hour, finish: 4 * day }]);
    const steady = [0, 1, 2, 3].map((at) => ({ start: at * day, finish: at * day + hour }));
    expect(timeAxis(3 * day + hour, steady, 600).shortened).toHaveLength(3);
  });

  it('shortens nothing where there is no work at all', () => {
    expect(timeAxis(day, [], 600).times).toBe(1);
    expect(timeAxis(day, [{ start: 0, finish: 0 }], 600).times).toBe(1);
  });

  const anyWork = fc.array(
    fc.tuple(fc.integer({ min: 0, max: 500 }), fc.integer({ min: 0, max: 30 })).map(([at, length]) => ({
      start: at * hour,
      finish: (at + length) * hour,
    })),
    { minLength: 1, maxLength: 12 },
  );
  const endOf = (work: readonly { finish: number }[]): number => Math.max(hour, ...work.map(({ finish }) => finish));

  it('runs from end to end, and everywhere at one of the two scales that it tells of', () => {
    fc.assert(
      fc.property(anyWork, fc.integer({ min: 0, max: 900 }), (work, extra) => {
        const whole = endOf(work) + extra * hour;
        const axis = timeAxis(whole, work, 656);
        expect(axis.place(0)).toBe(0);
        expect(axis.place(whole)).toBeCloseTo(656, 6);
        const isShort = (at: number): boolean => axis.shortened.some(({ start, finish }) => at >= start && at < finish);
        for (let at = 0; at < whole; at += hour) {
          const pace = (axis.place(at + hour) - axis.place(at)) / hour;
          expect(pace).toBeCloseTo(isShort(at) ? axis.scale / axis.times : axis.scale, 9);
          // Nobody works where it is shorter.
          if (isShort(at)) for (const { start, finish } of work) expect(at >= start && at < finish).toBe(false);
        }
      }),
    );
  });

  it('is told by moments that have room for their words', () => {
    fc.assert(
      fc.property(anyWork, fc.integer({ min: 0, max: 90_000 }), (work, extra) => {
        const whole = endOf(work) + extra * hour;
        const axis = timeAxis(whole, work, 656);
        const ticks = ticksOf(axis, whole, () => 50);
        expect(ticks[0]).toBe(0);
        for (const [i, at] of ticks.entries()) {
          expect(at).toBeLessThanOrEqual(whole);
          if (i > 0) expect(axis.place(at) - axis.place(ticks[i - 1]!)).toBeGreaterThanOrEqual(50);
        }
      }),
    );
    // A day on has no room beside eight hours.
    const [early, days, late] = [
      [0, 4, 8],
      [2, 3, 4, 5],
      [4, 8],
    ];
    expect(ticksOf(timeAxis(end, crowded, 600), end, () => 22)).toEqual([
      ...early!.map((at) => at * hour),
      ...days!.map((at) => at * day),
      ...late!.map((at) => 5 * day + at * hour),
    ]);
  });
});
