import type { Statement } from '../../../grammar/syntax.ts';
import type { Severity } from '../checks/check.ts';
import { appliesTo } from '../ledger/start.ts';
import {
  type Activity,
  type CrewSchedule,
  crewSchedule,
  plan as criticalPathPlan,
  type PlanProblem,
} from '../mechanics/index.ts';
import { type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { duration } from './durations.ts';
import { add as addOrder, type Order, ordersOf } from './plan-orders.ts';
import { Precedence } from './plan-precedence.ts';
import { stretchesOf, waitTitle } from './plan-stretches.ts';
import { isForOtherCodes, workTime } from './step-time.ts';

/** One bar of the plan. Times in seconds from the start of the work. */
export interface PlanRow {
  readonly id: string;
  readonly kind: 'work' | 'wait' | 'order';
  readonly title: string;
  readonly phase: string | undefined;
  /** Number of its step, as on the card; an order has none. */
  readonly step?: number;
  readonly duration: number;
  readonly start: number;
  readonly finish: number;
  /** How long it may slip without delaying the end, where all else is done by this crew in this order. */
  readonly float: number;
  readonly critical: boolean;
  /** Ids of the rows that it waits for. What one of these waits for need not stand here. */
  readonly after: readonly string[];
  /** Of an order: what would call for it, where nothing does for sure. No row waits for it. */
  readonly inCase?: readonly string[];
}

export interface WorkPlan {
  readonly rows: readonly PlanRow[];
  readonly duration: number;
  readonly handsOn: number;
  readonly waiting: number;
  /** Some of it depends on what is found, or on the way that is chosen. */
  readonly waitsInCase?: true;
  readonly crew: number;
  readonly criticalPath: readonly string[];
  /** What the plan could not know, in plain words. */
  readonly notes: readonly string[];
  /** Seconds until the end where all that is ordered in case is waited for; absent where nothing is. */
  readonly durationInCase?: number;
}

export interface PlanFault {
  readonly severity: Severity;
  readonly message: string;
}

/**
 * Work, waits and lead times of a procedure as a schedule. A step follows the one above it, or those that it states behind `after`, and
 * every earlier step that works on a part of its own, on what holds, covers or carries one, or on a reading or a fluid of its own. One
 * that loads the unit follows every earlier step that applies what has to cure, and every wait behind the first of those.
 * Reassembly begins when teardown is finished, proving when reassembly is.
 * Within a step, work and waits keep the order of the text; of alternatives the one that waits longest counts, and says so.
 * What states a lead time is ordered when the work begins, unless all is `inStock`; what only an alternative calls for is ordered in case, and nothing waits for it.
 */
export function planOf(
  model: Model,
  options: { readonly crew?: number; readonly code?: string; readonly inStock?: boolean } = {},
): WorkPlan | PlanFault {
  const crew = options.crew ?? 1;
  const notes: string[] = [];
  let waitsInCase: true | undefined;
  const activities: Activity[] = [];
  const about = new Map<string, { kind: PlanRow['kind']; title: string; entry: StepEntry | undefined }>();
  const idOf = (entry: StepEntry): string => entry.step.name?.text ?? `step ${placeOfStep(model, entry) + 1}`;
  /** By id, the number up to which all are taken. */
  const numbers = new Map<string, number>();
  const unique = (id: string): string => {
    let number = numbers.get(id) ?? 1;
    let name = number === 1 ? id : `${id} (${number})`;
    while (about.has(name)) name = `${id} (${++number})`;
    numbers.set(id, number);
    return name;
  };
  const precedence = new Precedence(model);
  const orders = new Map<string, Order>();
  /** By the first activity of each step, what it waits for if it comes to that. */
  const perhaps = new Map<string, readonly Order[]>();
  const add = (activity: Activity, kind: PlanRow['kind'], title: string, entry: StepEntry | undefined): void => {
    activities.push(activity);
    about.set(activity.id, { kind, title, entry });
  };
  for (const entry of model.steps) {
    const { step } = entry;
    const id = unique(idOf(entry));
    const said = step.name === undefined ? id : `step ${id}`;
    const statements = statementsFor(step.statements, options.code);
    const below = step.after.find(({ text }) => !isAbove(model, model.stepNames.get(text), entry));
    if (below !== undefined)
      return {
        severity: 'error',
        message: `${said} stands above ${below.text}, which it is to follow: move it, or correct \`after\``,
      };
    const steps = precedence.before(entry, statements);
    const deliveries: string[] = [];
    const own = options.inStock === true ? [] : [...ordersOf(model, step.statements, options.code).values()];
    for (const order of own) {
      addOrder(orders, order);
      if (order.inCase.length > 0) continue;
      const { title, lead } = order;
      if (!about.has(orderId(order)))
        add({ id: orderId(order), duration: lead, after: [], hands: 0 }, 'order', `Order ${title}`, undefined);
      deliveries.push(orderId(order));
    }
    const takes = workTime(step, options.code);
    if (takes === undefined && statements.length > 0 && !isForOtherCodes(step, options.code))
      notes.push(`${said} states no time: it counts as none; add \`takes\``);
    const { stretches, alternatives } = stretchesOf(step.statements, takes ?? 0, codesOf(model, options.code));
    if (alternatives.size > 0) waitsInCase = true;
    const [first, ...more] = stretches.filter(({ kind }) => kind === 'work');
    if (more.length > 0)
      notes.push(
        `${said} waits between its statements: its time is shared out evenly over them; make them steps of their own to plan them closer`,
      );
    for (const { wait, otherwise, condition } of alternatives)
      notes.push(
        `${said} waits ${duration(wait)} only if ${condition}${otherwise === '' ? '' : `, else ${otherwise}`}: the plan counts the longest`,
      );
    const title = step.title?.value ?? id;
    let before = [...steps, ...deliveries];
    const begun = activities.length;
    for (const stretch of stretches) {
      const goesOn = stretch.kind === 'work' && stretch !== first;
      const own = stretch === first ? id : unique(goesOn ? `${id}, goes on` : `${id}, wait`);
      add(
        { id: own, duration: stretch.duration, after: before, hands: stretch.kind === 'work' ? 1 : 0 },
        stretch.kind,
        stretch.kind === 'wait' ? waitTitle(stretch) : goesOn ? `${title}, goes on` : title,
        entry,
      );
      before = [own];
    }
    perhaps.set(
      activities[begun]!.id,
      own.filter(({ inCase }) => inCase.length > 0),
    );
    precedence.add(entry, statements, steps, before[0]!);
  }
  const schedule = crewSchedule(activities, crew);
  if ('problem' in schedule) return { severity: 'error', message: problemText(schedule) };
  const network = criticalPathPlan(handedOn(activities, schedule, crew));
  if ('problem' in network) return { severity: 'error', message: problemText(network) };
  const rows = activities.map((activity, i): PlanRow => {
    const { kind, title, entry } = about.get(activity.id)!;
    const { totalFloat, critical } = network.activities[i]!;
    const { start, finish } = schedule.activities[i]!;
    return {
      id: activity.id,
      kind,
      title,
      phase: entry?.phase,
      ...(entry === undefined ? {} : { step: placeOfStep(model, entry) + 1 }),
      duration: activity.duration,
      start,
      finish,
      float: totalFloat,
      critical,
      after: activity.after,
    };
  });
  const inCase = [...orders.values()].filter((order) => order.inCase.length > 0);
  const latest = new Map<string, number>();
  for (const { id, latestStart } of network.activities)
    for (const { name } of perhaps.get(id) ?? [])
      latest.set(name, Math.min(latestStart, latest.get(name) ?? Number.POSITIVE_INFINITY));
  for (const order of inCase) {
    const least = latest.get(order.name)!;
    rows.push({
      id: orderId(order),
      kind: 'order',
      title: `Order ${order.title} in case: ${order.inCase.map((text) => `“${text}”`).join(' or ')}`,
      phase: undefined,
      duration: order.lead,
      start: 0,
      finish: order.lead,
      float: Math.max(0, least - order.lead),
      critical: false,
      after: [],
      inCase: order.inCase,
    });
  }
  const sum = (kind: PlanRow['kind']): number =>
    rows.reduce((total, row) => total + (row.kind === kind ? row.duration : 0), 0);
  return {
    rows,
    duration: schedule.duration,
    handsOn: sum('work'),
    waiting: sum('wait'),
    ...(waitsInCase && { waitsInCase }),
    crew,
    criticalPath: network.criticalPath,
    notes,
    ...(inCase.length === 0 ? {} : { durationInCase: durationInCase(activities, inCase, perhaps, crew) }),
  };
}

/** What is done by the same hands follows, too: else what they do next would be late where the one before slips. */
function handedOn(activities: readonly Activity[], schedule: CrewSchedule, crew: number): Activity[] {
  const last: { id: string; finish: number }[] = [];
  const before = new Map<string, string>();
  const work = schedule.activities.filter((_, i) => activities[i]!.hands !== 0);
  for (const { id, start, finish } of work.sort((a, b) => a.start - b.start || a.finish - b.finish)) {
    // Whose hands became free last takes it over, so that others are left for what begins beside it.
    const free = last.filter((done) => done.finish <= start).sort((a, b) => b.finish - a.finish)[0];
    if (free === undefined || (free.finish < start && last.length < crew)) last.push({ id, finish });
    else {
      before.set(id, free.id);
      Object.assign(free, { id, finish });
    }
  }
  return activities.map((activity) => {
    const taken = before.get(activity.id);
    return taken === undefined ? activity : { ...activity, after: [...activity.after, taken] };
  });
}

const orderId = ({ name }: Order): string => `order ${name}`;

/** The schedule's end, s, where each step waits for all that it may need. */
function durationInCase(
  activities: readonly Activity[],
  orders: readonly Order[],
  perhaps: ReadonlyMap<string, readonly Order[]>,
  crew: number,
): number {
  const known = new Set(activities.map(({ id }) => id));
  const all: Activity[] = activities.map((activity) => ({
    ...activity,
    after: [...new Set([...activity.after, ...(perhaps.get(activity.id) ?? []).map(orderId)])],
  }));
  for (const order of orders)
    if (!known.has(orderId(order))) all.push({ id: orderId(order), duration: order.lead, after: [], hands: 0 });
  const schedule = crewSchedule(all, crew);
  return 'problem' in schedule ? 0 : schedule.duration;
}

function problemText(problem: PlanProblem): string {
  switch (problem.problem) {
    case 'cycle':
      return `the steps wait for each other in a loop: ${problem.cycle.join(', ')}; take one \`after\` out`;
    case 'hands':
      return `${problem.id} needs more hands than the crew has`;
    default:
      return `${problem.id} cannot be planned (${problem.problem}): check its \`takes\` and \`after\``;
  }
}

/** The statements and what stands in them, without what is for other codes than `code`. */
function statementsFor(statements: readonly Statement[], code: string | undefined): Statement[] {
  return statements.flatMap((statement) =>
    appliesTo(statement, code)
      ? [statement, ...(statement.branches ?? []).flatMap((branch) => statementsFor(branch.statements, code))]
      : [],
  );
}

/** The codes that a plan is made for, one after the other. */
export const codesOf = (model: Model, code: string | undefined): readonly (string | undefined)[] =>
  code !== undefined || model.codes.length === 0 ? [code] : model.codes;

/** True, too, of a name that no step has. */
const isAbove = (model: Model, step: StepEntry | undefined, entry: StepEntry): boolean =>
  step === undefined || placeOfStep(model, step) < placeOfStep(model, entry);
