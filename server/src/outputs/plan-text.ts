import { hanging } from './columns.ts';
import { duration, workDuration } from './durations.ts';
import type { PlanRow, WorkPlan } from './plan.ts';

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

function planLines(plan: WorkPlan, start?: Date): readonly PlanLine[] {
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
  const widths = [0, 1, 2, 3, 4].map((column) =>
    rows.reduce((most, { columns }) => Math.max(most, columns[column]!.length), 0),
  );
  return rows.map(({ columns, title, after }) => ({
    before: columns.map((text, column) => `${text.padEnd(widths[column]!)}  `).join(''),
    title,
    after,
  }));
}

/** What stands below the rows. */
export const planSummary = (plan: WorkPlan, start?: Date): string =>
  summaryOf(plan, start)
    .map((line) => line.join(''))
    .join('\n');

/** Lines, each as what it begins with and the rest. */
function summaryOf(plan: WorkPlan, start: Date | undefined): [string, string][] {
  return [
    [
      '',
      `Hands-on ${workDuration(plan.handsOn)}, waiting ${plan.waitsInCase === true ? 'up to ' : ''}${duration(plan.waiting)}; with ${plan.crew === 1 ? 'one pair of hands' : `${plan.crew} pairs of hands`} finished after ${finishOf(plan.duration, start)}.`,
    ],
    ...inCaseText(plan, start).map((line): [string, string] => ['', line]),
    ['Critical path (*): ', plan.criticalPath.join(' – ')],
    ...plan.notes.map((note): [string, string] => ['Note: ', `${note}.`]),
    ['', 'Times run on without nights and breaks.'],
  ];
}

/** How long it takes, and when that is by the clock. */
const finishOf = (seconds: number, start: Date | undefined): string =>
  start === undefined ? duration(seconds) : `${duration(seconds)} (${moment(seconds, start)})`;

export const noSteps = 'There are no steps to plan.';

/** The plan for people, in lines of `width` columns. */
export function planText(plan: WorkPlan, start?: Date, width = Number.POSITIVE_INFINITY): string {
  if (plan.rows.length === 0) return noSteps;
  const rows = planLines(plan, start).map(({ before, title, after }) =>
    hanging(before, `${title}${after}`, width).trimEnd(),
  );
  const summary = summaryOf(plan, start).map(([head, text]) => hanging(head, text, width));
  return `${rows.join('\n')}\n\n${summary.join('\n')}`;
}

/** What comes of an order that is made in case, where it would hold the work up. */
function inCaseText({ duration: planned, durationInCase: later }: WorkPlan, start: Date | undefined): string[] {
  if (later === undefined) return [];
  return [
    later > planned
      ? `Nothing waits for what is ordered in case: if all of it is needed, finished after ${finishOf(later, start)}.`
      : 'What is ordered in case is there before it may be needed.',
  ];
}
