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
