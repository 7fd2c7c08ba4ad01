import { describe, expect, it } from 'vitest';
import { type CrewSchedule, crewSchedule, type Plan, plan } from '../../server/src/mechanics/schedule.ts';

// Read: stored lecture page 'Draw the network for the events in Table 1', hours: design a prototype, obtain materials,
// order parts, manufacture parts, two assemblies, final assembly. Answer printed there: 16 hours, critical path ABDEG.
const NETWORK = [
  { id: 'A', duration: 6, after: [] },
  { id: 'B', duration: 2, after: ['A'] },
  { id: 'C', duration: 2, after: ['A'] },
  { id: 'D', duration: 3, after: ['B'] },
  { id: 'F', duration: 2, after: ['C'] },
  { id: 'E', duration: 4, after: ['D', 'F'] },
  { id: 'G', duration: 1, after: ['E'] },
];

// Read: stored page of solved exercises, ten tasks in days with a start and a finish of no length. Answer printed there:
// 20 days over A, D, G, and this table.
const TASKS = [
  { id: 'start', duration: 0, after: [] },
  { id: 'A', duration: 8, after: ['start'] },
  { id: 'B', duration: 4, after: ['start'] },
  { id: 'C', duration: 3, after: ['start'] },
  { id: 'D', duration: 5, after: ['A'] },
  { id: 'E', duration: 1, after: ['A'] },
  { id: 'F', duration: 2, after: ['C'] },
  { id: 'G', duration: 7, after: ['D'] },
  { id: 'H', duration: 6, after: ['C'] },
  { id: 'I', duration: 9, after: ['B', 'E', 'F'] },
  { id: 'J', duration: 6, after: ['H'] },
  { id: 'finish', duration: 0, after: ['G', 'I', 'J'] },
];

describe('critical path, solved exercise', () => {
  const answer = plan(TASKS) as Plan;

  it('takes 20 days over A D G', () => {
    expect(answer.duration).toBe(20);
    expect(answer.criticalPath).toEqual(['start', 'A', 'D', 'G', 'finish']);
  });

  it.each([
    ['start', 0, 0, 0, 0, 0],
    ['A', 0, 8, 0, 8, 0],
    ['B', 0, 4, 7, 11, 7],
    ['C', 0, 3, 5, 8, 5],
    ['D', 8, 13, 8, 13, 0],
    ['E', 8, 9, 10, 11, 2],
    ['F', 3, 5, 9, 11, 6],
    ['G', 13, 20, 13, 20, 0],
    ['H', 3, 9, 8, 14, 5],
    ['I', 9, 18, 11, 20, 2],
    ['J', 9, 15, 14, 20, 5],
    ['finish', 20, 20, 20, 20, 0],
  ])('%s: %d to %d, at the latest %d to %d, float %d', (id, es, ef, ls, lf, float) => {
    expect(answer.activities.find((a) => a.id === id)).toMatchObject({
      earliestStart: es,
      earliestFinish: ef,
      latestStart: ls,
      latestFinish: lf,
      totalFloat: float,
      critical: float === 0,
    });
  });

  // Free float is the earliest start of what follows less the own earliest finish (definition of the method, from memory).
  it.each([
    ['B', 5],
    ['C', 0],
    ['E', 0],
    ['F', 4],
    ['H', 0],
    ['I', 2],
    ['J', 5],
    ['A', 0],
  ])('%s: free float %d', (id, float) => {
    expect(answer.activities.find((a) => a.id === id)?.freeFloat).toBe(float);
  });
});

describe('critical path, textbook network', () => {
  const answer = plan(NETWORK) as Plan;

  it('takes 16 hours over A B D E G', () => {
    expect(answer.duration).toBe(16);
    expect(answer.criticalPath).toEqual(['A', 'B', 'D', 'E', 'G']);
  });

  // The printed table: earliest start and finish, latest start and finish, slack.
  it.each([
    ['A', 0, 6, 0, 6, 0],
    ['B', 6, 8, 6, 8, 0],
    ['D', 8, 11, 8, 11, 0],
    ['E', 11, 15, 11, 15, 0],
    ['G', 15, 16, 15, 16, 0],
    ['C', 6, 8, 7, 9, 1],
    ['F', 8, 10, 9, 11, 1],
  ])('%s: %d to %d, at the latest %d to %d, float %d', (id, es, ef, ls, lf, float) => {
    expect(answer.activities.find((a) => a.id === id)).toMatchObject({
      earliestStart: es,
      earliestFinish: ef,
      latestStart: ls,
      latestFinish: lf,
      totalFloat: float,
      critical: float === 0,
    });
  });

  // Recomputed: C and F share free float only at F; C ends where F starts.
  it('tells free float from total float', () => {
    expect(answer.activities.find((a) => a.id === 'C')?.freeFloat).toBe(0);
    expect(answer.activities.find((a) => a.id === 'F')?.freeFloat).toBe(1);
  });

  it('one pair of hands does one thing after another, two keep the critical path', () => {
    expect((crewSchedule(NETWORK, 1) as CrewSchedule).duration).toBe(20);
    expect((crewSchedule(NETWORK, 2) as CrewSchedule).duration).toBe(16);
  });
});
