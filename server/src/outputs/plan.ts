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
import { addTo } from '../model/grouped.ts';
import { type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { siValueOf } from '../model/quantity.ts';
import { referencesOf } from '../model/references.ts';
import { isSafety, loadsUnit } from '../model/statements.ts';
import { conditionOf } from './alternatives.ts';
import { add as addOrder, type Order, ordersOf } from './plan-orders.ts';
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

/** Work or a wait of one step; seconds. */
interface Stretch {
  readonly kind: 'work' | 'wait';
  readonly duration: number;
  readonly title?: string | undefined;
  readonly onlyIf?: readonly Ways[];
}

/** Several ways, in quotes, of which any is taken. */
type Ways = readonly string[];

const waitTitle = ({ title = 'Wait', onlyIf = [] }: Stretch): string =>
  onlyIf.length === 0 ? title : `${title.replace(/\.$/, '')}, if ${allOf(onlyIf)}`;

/** `“A” and “q”`, `either “A” or “B”, and also “q”`: what goes together is not to be taken otherwise. */
function allOf(conditions: readonly Ways[]): string {
  if (conditions.length === 1 || conditions.every((ways) => ways.length === 1))
    return conditions.map(anyOf).join(' and ');
  return conditions
    .map((ways) => (ways.length === 1 ? ways[0] : `${ways.length === 2 ? 'either' : 'any of'} ${anyOf(ways)}`))
    .join(', and also ');
}

const anyOf = (ways: Ways): string =>
  ways.length < 3 ? ways.join(' or ') : `${ways.slice(0, -1).join(', ')} or ${ways.at(-1)}`;

/**
 * Work and waits of a step in the order of the text, for the code that waits longest. `takes` (s) is shared out evenly over the
 * statements that are work; where there are none, or it is zero, there is one stretch of work.
 */
function stretchesOf(
  statements: readonly Statement[],
  takes: number,
  codes: readonly (string | undefined)[],
): { readonly stretches: readonly Stretch[]; readonly alternatives: ReadonlySet<Alternative> } {
  const told = longest(codes.map((code) => piecesOf(statements, code)));
  const work = told.reduce((sum, piece) => sum + piece.work, 0);
  const stretches: Stretch[] = [];
  let done = 0;
  let since = 0;
  /** In whole minutes where `takes` is, so that what is told adds up. */
  const until = (count: number): number => {
    const share = (takes * count) / work;
    return takes % 60 === 0 ? Math.round(share / 60) * 60 : share;
  };
  const close = (): void => {
    if (done > since) stretches.push({ kind: 'work', duration: until(done) - until(since) });
    since = done;
  };
  const alternatives = new Set<Alternative>();
  for (const { work: count, wait, title, onlyIf, alternative } of told) {
    if (takes > 0 || done === 0) done += count;
    if (wait <= 0) continue;
    close();
    stretches.push({ kind: 'wait', duration: wait, title, ...(onlyIf !== undefined && { onlyIf }) });
    if (alternative !== undefined) alternatives.add(alternative);
  }
  close();
  return { stretches: work === 0 ? [{ kind: 'work', duration: takes }, ...stretches] : stretches, alternatives };
}

/** The longest of alternatives that wait differently. */
interface Alternative {
  /** When it is taken, in words. */
  readonly condition: string;
  /** Seconds. */
  readonly wait: number;
  /** How long the others wait, in words; empty where they do not. */
  readonly otherwise: string;
}

/** What one statement comes to: a wait (s), or work, counted in statements. */
interface Piece {
  readonly work: number;
  readonly wait: number;
  readonly title?: string | undefined;
  /** The conditions of its wait, the outermost first. */
  readonly onlyIf?: readonly Ways[];
  /** The outermost one that its wait depends on. */
  readonly alternative?: Alternative;
}

/** Of alternatives, the one that waits longest. */
function piecesOf(statements: readonly Statement[], code: string | undefined): readonly Piece[] {
  return statements.flatMap((statement): readonly Piece[] => {
    if (!appliesTo(statement, code) || isSafety(statement)) return [];
    if (statement.branches !== undefined) return longestWay(statement, code);
    if (statement.kind !== 'wait') return [{ work: 1, wait: 0 }];
    return [{ work: 0, wait: siValueOf(statement.amount, 'time') ?? 0, title: statement.text?.value }];
  });
}

function longestWay(block: Statement, code: string | undefined): readonly Piece[] {
  const ways = block.branches!.map((branch) => piecesOf(branch.statements, code));
  // Without `else`, the other way is to do nothing.
  if (block.kind === 'if' && ways.length === 1) ways.push([]);
  const best = longest(ways);
  const waits = ways.map((way) => sumOf(way, 'wait'));
  const wait = Math.max(...waits);
  const shorter = waits.filter((each) => each < wait);
  if (shorter.length === 0) return best;
  const taken = waits.flatMap((each, place) => (each === wait ? [`“${conditionOf(block, place)}”`] : []));
  const alternative: Alternative = {
    condition: anyOf(taken),
    wait,
    otherwise: inWords(Math.min(...shorter), Math.max(...shorter)),
  };
  return best.map((piece) =>
    piece.wait > 0 ? { ...piece, onlyIf: [taken, ...(piece.onlyIf ?? [])], alternative } : piece,
  );
}

/** `10 min`, `10 min to 30 min`, `up to 30 min`; nothing where there is none. */
function inWords(least: number, most: number): string {
  if (most === 0) return '';
  if (least === most) return duration(most);
  return least === 0 ? `up to ${duration(most)}` : `${duration(least)} to ${duration(most)}`;
}

const sumOf = (way: readonly Piece[], of: 'wait' | 'work'): number =>
  way.reduce((total, piece) => total + piece[of], 0);

/** The way with the longest waits, then with most work. */
function longest(ways: readonly (readonly Piece[])[]): readonly Piece[] {
  return ways.reduce<readonly Piece[]>((best, way) => {
    const more = sumOf(way, 'wait') - sumOf(best, 'wait') || sumOf(way, 'work') - sumOf(best, 'work');
    return more > 0 ? way : best;
  }, []);
}

/** True, too, of a name that no step has. */
const isAbove = (model: Model, step: StepEntry | undefined, entry: StepEntry): boolean =>
  step === undefined || placeOfStep(model, step) < placeOfStep(model, entry);

/** What has to be done before each step, asked in the order of the text. */
class Precedence {
  private readonly model: Model;
  /** True as long as each step follows the one above it, and so all others above. */
  private isOneChain = true;
  private previous: string | undefined;
  /** The last activity of each step. */
  private readonly lastOf = new Map<StepEntry, string>();
  /** By thing, the last activity of the last step that worked on it. */
  private readonly lastWith = new Map<string, string>();
  /** By phase, the last activities of those steps that no other step of it follows. */
  private readonly endsOf = new Map<string | undefined, Set<string>>();
  /** What cures may have its time in these, from the first in which it is applied. */
  private readonly curing: string[] = [];
  private related: ReadonlyMap<string, readonly string[]> | undefined;

  constructor(model: Model) {
    this.model = model;
  }

  /** Ids of what a step with these statements follows, and with them all that they follow. */
  before({ step, phase }: StepEntry, statements: readonly Statement[]): readonly string[] {
    const { model } = this;
    const after = new Set<string>();
    for (const { text } of step.after) {
      const target = model.stepNames.get(text);
      if (target !== undefined) after.add(this.lastOf.get(target)!);
    }
    // A name that no step has may stand for any of them.
    const isInTurn = step.after.length === 0 || step.after.some((name) => !model.stepNames.has(name.text));
    if (isInTurn && this.previous !== undefined) after.add(this.previous);
    this.isOneChain &&= isInTurn;
    if (!this.isOneChain) {
      // Whoever worked on the same before came before the last who did.
      for (const thing of this.withRelatives(thingsOf(model, statements))) {
        const last = this.lastWith.get(thing);
        if (last !== undefined) after.add(last);
      }
      if (statements.some((statement) => loadsUnit(statement, phase))) for (const each of this.curing) after.add(each);
    }
    // Nothing is built up while the unit is still being taken apart, or proved while it is being built up.
    const barrier = phase === 'reassembly' ? 'teardown' : phase === 'proving' ? 'reassembly' : undefined;
    if (barrier !== undefined) for (const end of this.endsOf.get(barrier) ?? []) after.add(end);
    return [...after];
  }

  /** Goes on behind a step that follows the activities `after` and ends with `last`. */
  add(entry: StepEntry, statements: readonly Statement[], after: readonly string[], last: string): void {
    const { supplies } = this.model;
    this.lastOf.set(entry, last);
    this.previous = last;
    for (const thing of thingsOf(this.model, statements)) this.lastWith.set(thing, last);
    const ends = this.endsOf.get(entry.phase) ?? new Set();
    // In one chain it follows all of them, with other phases between them, too.
    if (this.isOneChain) ends.clear();
    else for (const each of after) ends.delete(each);
    this.endsOf.set(entry.phase, ends.add(last));
    const cures = statements.some(({ kind, name }) => kind === 'apply' && supplies.get(name?.text ?? '')?.cure);
    if (cures || (this.curing.length > 0 && statements.some(({ kind }) => kind === 'wait'))) this.curing.push(last);
  }

  /** The things themselves, and what holds, covers or carries the parts of them, or is held, covered or carried by them. */
  private withRelatives(things: ReadonlySet<string>): ReadonlySet<string> {
    this.related ??= relativesIn(this.model);
    const all = new Set(things);
    for (const thing of things) for (const each of this.related.get(thing) ?? []) all.add(each);
    return all;
  }
}

/** What cannot be worked on in two steps at once: parts, by name; readings and fluids, by word and name. */
function thingsOf(model: Model, statements: readonly Statement[]): Set<string> {
  const things = new Set<string>();
  for (const statement of statements) {
    if (statement.kind === 'measure' && statement.name !== undefined) things.add(`reading ${statement.name.text}`);
    for (const { name, kind } of referencesOf(statement)) {
      if (kind === 'part' && model.parts.has(name.text)) things.add(name.text);
      else if (kind === 'reading' || (kind === 'supply' && statement.kind !== 'apply'))
        things.add(`${kind} ${name.text}`);
    }
  }
  return things;
}

/** Of each part, what holds, covers or carries it, and what it holds, covers or carries. */
function relativesIn({ parts }: Model): ReadonlyMap<string, readonly string[]> {
  const related = new Map<string, string[]>();
  const link = (one: string, other: string): void => {
    addTo(related, one, other);
  };
  for (const [name, { heldBy, behind, carriedBy }] of parts)
    for (const { text } of carriedBy === undefined ? [...heldBy, ...behind] : [...heldBy, ...behind, carriedBy]) {
      link(name, text);
      link(text, name);
    }
  return related;
}

/** `1 d 2 h 30 min`: days of 24 hours, for time that runs on. */
export function duration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const days = Math.floor(minutes / 1440);
  if (days === 0) return workDuration(seconds);
  const rest = minutes % 1440;
  return rest === 0 ? `${days} d` : `${days} d ${workDuration(rest * 60)}`;
}

/** `26 h 30 min`: nobody works a day of 24 hours. */
export function workDuration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const hours = Math.floor(minutes / 60);
  const said = [hours > 0 ? `${hours} h` : '', minutes % 60 > 0 ? `${minutes % 60} min` : ''].filter(
    (piece) => piece !== '',
  );
  return said.length === 0 ? '0 min' : said.join(' ');
}

export const rowDuration = ({ kind, duration: seconds }: PlanRow): string =>
  kind === 'work' ? workDuration(seconds) : duration(seconds);

/** A moment of the plan: clock time where a start is given, else time from the start. */
export function moment(seconds: number, start: Date | undefined): string {
  if (start === undefined) return `+${duration(seconds)}`;
  return new Date(start.getTime() + seconds * 1000).toISOString().slice(0, 16).replace('T', ' ');
}

export const byTime = (rows: readonly PlanRow[]): PlanRow[] =>
  [...rows].sort((a, b) => a.start - b.start || a.finish - b.finish);

/** A row of the plan in words, in columns of a fixed width up to its title. */
interface PlanLine {
  readonly before: string;
  readonly title: string;
  readonly after: string;
}

export function planLines(plan: WorkPlan, start?: Date): readonly PlanLine[] {
  const rows = byTime(plan.rows).map((row) => ({
    columns: [
      moment(row.start, start),
      moment(row.finish, start),
      rowDuration(row),
      row.critical ? '*' : '',
      row.kind === 'work' ? '' : row.kind,
    ],
    title: row.title,
    after: row.float > 0 ? `  (may slip ${duration(row.float)})` : '',
  }));
  const widths = [0, 1, 2, 3, 4].map((column) => Math.max(...rows.map(({ columns }) => columns[column]!.length), 0));
  return rows.map(({ columns, title, after }) => ({
    before: columns.map((text, column) => `${text.padEnd(widths[column]!)}  `).join(''),
    title,
    after,
  }));
}

/** What stands below the rows. */
export function planSummary(plan: WorkPlan, start?: Date): string {
  return [
    `Hands-on ${workDuration(plan.handsOn)}, waiting ${plan.waitsInCase === true ? 'up to ' : ''}${duration(plan.waiting)}; with ${plan.crew === 1 ? 'one pair of hands' : `${plan.crew} pairs of hands`} finished after ${duration(plan.duration)} (${moment(plan.duration, start)}).`,
    ...inCaseText(plan, start),
    `Critical path (*): ${plan.criticalPath.join(' – ')}`,
    ...plan.notes.map((note) => `Note: ${note}.`),
    'Times run on without nights and breaks.',
  ].join('\n');
}

export const noSteps = 'There are no steps to plan.';

export function planText(plan: WorkPlan, start?: Date): string {
  if (plan.rows.length === 0) return noSteps;
  const rows = planLines(plan, start).map(({ before, title, after }) => `${before}${title}${after}`.trimEnd());
  return `${rows.join('\n')}\n\n${planSummary(plan, start)}`;
}

/** What comes of an order that is made in case, where it would hold the work up. */
function inCaseText({ duration: planned, durationInCase: later }: WorkPlan, start: Date | undefined): string[] {
  if (later === undefined) return [];
  return [
    later > planned
      ? `Nothing waits for what is ordered in case: if all of it is needed, finished after ${duration(later)} (${moment(later, start)}).`
      : 'What is ordered in case is there before it may be needed.',
  ];
}
