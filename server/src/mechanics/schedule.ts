/** Planning by the critical path method. Durations and times in seconds from the start. */

const GREATEST = 1e12;

export interface Activity {
  readonly id: string;
  /** At least 0. */
  readonly duration: number;
  /** What must be finished before it starts. */
  readonly after: readonly string[];
  /** Pairs of hands it needs while it runs; 1 if absent, 0 for a wait such as a cure. */
  readonly hands?: number;
}

export interface PlannedActivity {
  readonly id: string;
  readonly earliestStart: number;
  readonly earliestFinish: number;
  readonly latestStart: number;
  readonly latestFinish: number;
  /** How long it may slip without delaying the end. */
  readonly totalFloat: number;
  /** How long it may slip without delaying what follows it. */
  readonly freeFloat: number;
  readonly critical: boolean;
}

export interface Plan {
  readonly duration: number;
  /** In the order given. */
  readonly activities: readonly PlannedActivity[];
  /** One critical path, from start to end; the earliest listed where there are several. */
  readonly criticalPath: readonly string[];
}

export type PlanProblem =
  | { readonly problem: 'cycle'; readonly cycle: readonly string[] }
  | { readonly problem: 'unknown'; readonly id: string; readonly after: string }
  | { readonly problem: 'duplicate'; readonly id: string }
  | { readonly problem: 'duration' | 'hands'; readonly id: string };

interface Network {
  readonly activities: readonly Activity[];
  readonly before: readonly (readonly number[])[];
  readonly behind: readonly (readonly number[])[];
  /** Indices so that everything comes after what it waits for. */
  readonly order: readonly number[];
}

function network(activities: readonly Activity[]): Network | PlanProblem {
  const index = new Map<string, number>();
  for (const { id, duration, hands = 1 } of activities) {
    if (index.has(id)) return { problem: 'duplicate', id };
    if (!(duration >= 0 && duration <= GREATEST)) return { problem: 'duration', id };
    if (!(Number.isInteger(hands) && hands >= 0)) return { problem: 'hands', id };
    index.set(id, index.size);
  }
  const behind: number[][] = activities.map(() => []);
  const before: number[][] = [];
  for (const [i, { id, after }] of activities.entries()) {
    const own: number[] = [];
    for (const name of new Set(after)) {
      const at = index.get(name);
      if (at === undefined) return { problem: 'unknown', id, after: name };
      own.push(at);
      behind[at]!.push(i);
    }
    before.push(own);
  }
  const waiting = before.map((list) => list.length);
  const order = activities.flatMap((_, i) => (waiting[i] === 0 ? [i] : []));
  for (let at = 0; at < order.length; at++) {
    for (const next of behind[order[at]!]!) if (--waiting[next]! === 0) order.push(next);
  }
  if (order.length < activities.length) return { problem: 'cycle', cycle: cycleIn(activities, before, waiting) };
  return { activities, before, behind, order };
}

/** Walks back from an activity that never becomes free until one comes round again. */
function cycleIn(
  activities: readonly Activity[],
  before: readonly (readonly number[])[],
  waiting: readonly number[],
): string[] {
  const seen = new Map<number, number>();
  const walk: number[] = [];
  let at = waiting.findIndex((n) => n > 0);
  while (!seen.has(at)) {
    seen.set(at, walk.length);
    walk.push(at);
    at = before[at]!.find((i) => waiting[i]! > 0)!;
  }
  return walk
    .slice(seen.get(at))
    .reverse()
    .map((i) => activities[i]!.id);
}

/**
 * Earliest and latest times, floats and a critical path (critical path method, hands without limit).
 * A cycle, an unknown or doubled name, or a duration below zero comes back as a value; a cycle in the order of work.
 */
export function plan(activities: readonly Activity[]): Plan | PlanProblem {
  const net = network(activities);
  if ('problem' in net) return net;
  const { before, behind, order } = net;
  const start = activities.map(() => 0);
  const finish = activities.map(() => 0);
  for (const i of order) {
    start[i] = before[i]!.reduce((latest, j) => Math.max(latest, finish[j]!), 0);
    finish[i] = start[i]! + activities[i]!.duration;
  }
  const duration = finish.reduce((a, b) => Math.max(a, b), 0);
  const lateFinish = activities.map(() => duration);
  const lateStart = activities.map(() => duration);
  for (const i of [...order].reverse()) {
    lateFinish[i] = behind[i]!.reduce((least, j) => Math.min(least, lateStart[j]!), duration);
    lateStart[i] = lateFinish[i]! - activities[i]!.duration;
  }
  // Sums of fractions round; a float within a billionth of the whole is none.
  const none = duration * 1e-9;
  const float = (f: number) => (f <= none ? 0 : f);
  const planned = activities.map(({ id }, i): PlannedActivity => {
    const totalFloat = float(lateStart[i]! - start[i]!);
    const next = behind[i]!.reduce((least, j) => Math.min(least, start[j]!), duration);
    return {
      id,
      earliestStart: start[i]!,
      earliestFinish: finish[i]!,
      latestStart: lateStart[i]!,
      latestFinish: lateFinish[i]!,
      totalFloat,
      freeFloat: float(next - finish[i]!),
      critical: totalFloat === 0,
    };
  });
  return { duration, activities: planned, criticalPath: criticalPath(net, planned, none) };
}

function criticalPath(
  { before, behind, activities }: Network,
  planned: readonly PlannedActivity[],
  none: number,
): string[] {
  const end = planned.reduce((a, p) => Math.max(a, p.earliestFinish), 0);
  const path: string[] = [];
  // Work without a duration ends with what it waits for: the path leads on over it.
  const isLast = (i: number): boolean => !behind[i]!.some((j) => planned[j]!.critical);
  let at = planned.findIndex((p, i) => p.critical && p.earliestFinish >= end - none && isLast(i));
  const seen = new Set<number>();
  while (at !== -1 && !seen.has(at)) {
    seen.add(at);
    path.push(activities[at]!.id);
    const begin = planned[at]!.earliestStart;
    at = before[at]!.find((i) => planned[i]!.critical && planned[i]!.earliestFinish >= begin - none) ?? -1;
  }
  return path.reverse();
}

export interface CrewActivity {
  readonly id: string;
  readonly start: number;
  readonly finish: number;
}

export interface CrewSchedule {
  readonly duration: number;
  /** In the order given. */
  readonly activities: readonly CrewActivity[];
  /** Sum of duration times hands, s. */
  readonly work: number;
}

/**
 * A schedule for so many pairs of hands: whenever hands are free, the free activity with the least latest start begins,
 * then the one listed first. Waits need no hands and overlap other work. A good schedule, not always the shortest.
 * Problems as for {@link plan}; `hands` names an activity that needs more hands than there are.
 */
export function crewSchedule(activities: readonly Activity[], hands: number): CrewSchedule | PlanProblem {
  const planned = plan(activities);
  if ('problem' in planned) return planned;
  const net = network(activities) as Network;
  const need = (i: number) => activities[i]!.hands ?? 1;
  const tooMany = activities.find((_, i) => !(need(i) <= hands));
  if (tooMany) return { problem: 'hands', id: tooMany.id };
  const urgency = (i: number) => planned.activities[i]!.latestStart;
  const waiting = net.before.map((list) => list.length);
  const ready = activities.flatMap((_, i) => (waiting[i] === 0 ? [i] : []));
  const running: { at: number; finish: number }[] = [];
  const start = activities.map(() => 0);
  const finish = activities.map(() => 0);
  let [now, free] = [0, hands];
  while (ready.length > 0 || running.length > 0) {
    ready.sort((a, b) => urgency(a) - urgency(b) || a - b);
    for (let k = 0; k < ready.length; ) {
      const at = ready[k]!;
      if (need(at) > free) {
        k++;
        continue;
      }
      ready.splice(k, 1);
      free -= need(at);
      start[at] = now;
      finish[at] = now + activities[at]!.duration;
      running.push({ at, finish: finish[at]! });
    }
    now = running.reduce((least, r) => Math.min(least, r.finish), Number.POSITIVE_INFINITY);
    for (let k = running.length - 1; k >= 0; k--) {
      const { at, finish: end } = running[k]!;
      if (end > now) continue;
      running.splice(k, 1);
      free += need(at);
      for (const next of net.behind[at]!) if (--waiting[next]! === 0) ready.push(next);
    }
  }
  return {
    duration: finish.reduce((a, b) => Math.max(a, b), 0),
    activities: activities.map(({ id }, i) => ({ id, start: start[i]!, finish: finish[i]! })),
    work: activities.reduce((sum, { duration }, i) => sum + duration * need(i), 0),
  };
}
