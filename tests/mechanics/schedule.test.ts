import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Activity,
  type CrewSchedule,
  crewSchedule,
  type Plan,
  plan,
} from '../../server/src/mechanics/schedule.ts';

/** Networks without a cycle: each activity waits only for earlier ones; then shuffled. */
const networks: fc.Arbitrary<Activity[]> = fc
  .array(
    fc.record({
      duration: fc.integer({ min: 0, max: 50 }),
      hands: fc.integer({ min: 0, max: 2 }),
      picks: fc.array(fc.nat(), { maxLength: 3 }),
    }),
    {
      minLength: 1,
      maxLength: 25,
    },
  )
  .map((rows) =>
    rows.map(({ duration, hands, picks }, i) => ({
      id: `s${i}`,
      duration,
      hands,
      after: i === 0 ? [] : [...new Set(picks.map((p) => `s${p % i}`))],
    })),
  )
  .chain((list) => fc.shuffledSubarray(list, { minLength: list.length }));

const byId = <T extends { id: string }>(list: readonly T[]) => new Map(list.map((item) => [item.id, item]));

describe('plan', () => {
  it('starts each activity when the last it waits for ends, and its length is that of the critical path', () => {
    fc.assert(
      fc.property(networks, (list) => {
        const answer = plan(list) as Plan;
        const planned = byId(answer.activities);
        for (const { id, duration, after } of list) {
          const p = planned.get(id)!;
          expect(p.earliestStart).toBe(Math.max(0, ...after.map((a) => planned.get(a)!.earliestFinish)));
          expect(p.earliestFinish - p.earliestStart).toBe(duration);
          expect(p.latestFinish - p.latestStart).toBe(duration);
          expect(p.totalFloat).toBe(p.latestStart - p.earliestStart);
          expect(p.freeFloat).toBeGreaterThanOrEqual(0);
          expect(p.freeFloat).toBeLessThanOrEqual(p.totalFloat);
          for (const a of after) expect(planned.get(a)!.latestFinish).toBeLessThanOrEqual(p.latestStart);
        }
        const path = answer.criticalPath.map((id) => list.find((a) => a.id === id)!);
        expect(path.reduce((sum, a) => sum + a.duration, 0)).toBe(answer.duration);
        path.slice(1).forEach((a, i) => void expect(a.after).toContain(path[i]!.id));
        expect(answer.duration).toBe(Math.max(...answer.activities.map((p) => p.earliestFinish)));
      }),
    );
  });

  it('slipping an activity by its total float delays nothing; by a second more delays the end', () => {
    fc.assert(
      fc.property(networks, fc.nat(), (list, pick) => {
        const answer = plan(list) as Plan;
        const at = pick % list.length;
        const { totalFloat } = answer.activities[at]!;
        const longer = (by: number) => list.with(at, { ...list[at]!, duration: list[at]!.duration + by });
        expect((plan(longer(totalFloat)) as Plan).duration).toBe(answer.duration);
        expect((plan(longer(totalFloat + 1)) as Plan).duration).toBe(answer.duration + 1);
      }),
    );
  });

  it('scales with the unit of time', () => {
    fc.assert(
      fc.property(networks, (list) => {
        const minutes = list.map((a) => ({ ...a, duration: a.duration * 60 }));
        expect((plan(minutes) as Plan).duration).toBe(60 * (plan(list) as Plan).duration);
      }),
    );
  });

  it('reports a cycle as a value, in the order of work', () => {
    const list = [
      { id: 'free', duration: 1, after: [] },
      { id: 'a', duration: 1, after: ['c', 'free'] },
      { id: 'b', duration: 1, after: ['a'] },
      { id: 'c', duration: 1, after: ['b'] },
      { id: 'behind', duration: 1, after: ['c'] },
    ];
    const answer = plan(list);
    if (!('problem' in answer) || answer.problem !== 'cycle') throw new Error('no cycle found');
    const { cycle } = answer;
    expect([...cycle].sort()).toEqual(['a', 'b', 'c']);
    cycle.forEach(
      (id, i) => void expect(list.find((a) => a.id === cycle[(i + 1) % cycle.length])!.after).toContain(id),
    );
    expect(plan([{ id: 'a', duration: 1, after: ['a'] }])).toEqual({ problem: 'cycle', cycle: ['a'] });
  });

  it('reports other faults as values', () => {
    expect(plan([])).toEqual({ duration: 0, activities: [], criticalPath: [] });
    expect(plan([{ id: 'a', duration: 1, after: ['b'] }])).toEqual({ problem: 'unknown', id: 'a', after: 'b' });
    expect(plan([1, 2].map(() => ({ id: 'a', duration: 1, after: [] })))).toEqual({ problem: 'duplicate', id: 'a' });
    for (const duration of [-1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(plan([{ id: 'a', duration, after: [] }])).toEqual({ problem: 'duration', id: 'a' });
    }
  });

  it('takes from a part of a second up to a million million seconds', () => {
    const alone = (duration: number) => plan([{ id: 'a', duration, after: [] }]);
    for (const duration of [0.25, 1e12]) expect(alone(duration)).toMatchObject({ duration, criticalPath: ['a'] });
    expect(alone(1e12 + 1)).toEqual({ problem: 'duration', id: 'a' });
  });

  it('any network, cyclic or not, gives a plan or a cycle that is one', () => {
    const wild = fc.array(fc.array(fc.nat(9), { maxLength: 3 }), { minLength: 10, maxLength: 10 });
    fc.assert(
      fc.property(wild, (rows) => {
        const list = rows.map((after, i) => ({ id: `${i}`, duration: 1, after: after.map(String) }));
        const answer = plan(list);
        if (!('problem' in answer)) return;
        expect(answer.problem).toBe('cycle');
        const cycle = answer.problem === 'cycle' ? answer.cycle : [];
        expect(cycle.length).toBeGreaterThan(0);
        cycle.forEach((id, i) => void expect(list[Number(cycle[(i + 1) % cycle.length])]!.after).toContain(id));
      }),
    );
  });
});

describe('crew', () => {
  it('never needs more hands than there are, keeps the order of work, and wastes no more than it must', () => {
    fc.assert(
      fc.property(networks, fc.integer({ min: 2, max: 4 }), (list, hands) => {
        const answer = crewSchedule(list, hands) as CrewSchedule;
        const done = byId(answer.activities);
        for (const { id, duration, after } of list) {
          const { start, finish } = done.get(id)!;
          expect(finish - start).toBe(duration);
          for (const a of after) expect(done.get(a)!.finish).toBeLessThanOrEqual(start);
          const busy = list.filter((b) => done.get(b.id)!.start <= start && done.get(b.id)!.finish > start);
          expect(busy.reduce((sum, b) => sum + b.hands!, 0)).toBeLessThanOrEqual(hands);
        }
        const shortest = (plan(list) as Plan).duration;
        expect(answer.duration).toBeGreaterThanOrEqual(Math.max(shortest, answer.work / hands));
        expect(answer.duration).toBeLessThanOrEqual(list.reduce((sum, a) => sum + a.duration, 0));
      }),
    );
  });

  it('with hands to spare it takes no longer than the plan', () => {
    fc.assert(
      fc.property(networks, (list) => {
        expect((crewSchedule(list, 100) as CrewSchedule).duration).toBe((plan(list) as Plan).duration);
      }),
    );
  });

  it('begins with what all waits for longest, else with what is listed first', () => {
    const starts = (list: Activity[]): string[] =>
      [...(crewSchedule(list, 1) as CrewSchedule).activities].sort((a, b) => a.start - b.start).map(({ id }) => id);
    const alike = ['rear', 'front', 'lid'].map((id) => ({ id, duration: 10, after: [] }));
    expect(starts(alike)).toEqual(['rear', 'front', 'lid']);
    const tail = { id: 'cure', duration: 60, after: ['lid'], hands: 0 };
    expect(starts([...alike, tail])).toEqual(['lid', 'rear', 'cure', 'front']);
  });

  it('goes by the list also where what is listed later has become free first', () => {
    const apart = ['left', 'right'].map((id) => ({ id, duration: 10, after: [] }));
    const heavy = ['left', 'right'].map((id) => ({ id: `lift ${id}`, duration: 10, after: [id], hands: 2 }));
    const begun = byId((crewSchedule([...apart, ...heavy], 2) as CrewSchedule).activities);
    expect(['lift left', 'lift right'].map((id) => begun.get(id)!.start)).toEqual([10, 20]);
  });

  it('reports what the plan reports, and hands that are none', () => {
    expect(crewSchedule([{ id: 'a', duration: 1, after: ['a'] }], 1)).toEqual({ problem: 'cycle', cycle: ['a'] });
    for (const hands of [-1, 0.5, Number.NaN])
      expect(crewSchedule([{ id: 'a', duration: 1, after: [], hands }], 2)).toEqual({ problem: 'hands', id: 'a' });
  });

  it('lets a wait overlap other work', () => {
    const list = [
      { id: 'seal', duration: 5, after: [] },
      { id: 'cure', duration: 60, after: ['seal'], hands: 0 },
      { id: 'clean', duration: 30, after: [] },
      { id: 'fill', duration: 5, after: ['cure'] },
    ];
    expect((crewSchedule(list, 1) as CrewSchedule).duration).toBe(70);
    expect(crewSchedule(list, 0)).toEqual({ problem: 'hands', id: 'seal' });
    expect(crewSchedule(list, Number.NaN)).toEqual({ problem: 'hands', id: 'seal' });
  });
});
