import { inDrawing } from './directed-text.ts';
import { widthOf, wrapped } from './drawn-text.ts';
import { duration } from './durations.ts';
import { escapeMarkup } from './markup.ts';
import type { PlanRow, WorkPlan } from './plan.ts';
import { byTime, moment, rowDuration } from './plan-text.ts';
import { ticksOf, timeAxis } from './time-axis.ts';
import { counted } from './wording.ts';

/** Where titles and bars stand, in pixels. */
interface ChartForm {
  readonly width: number;
  /** Left end of the bars. */
  readonly left: number;
  readonly rowHeight: number;
  /** Of the top of a bar and the foot of its title, from the top of their row. */
  readonly bar: number;
  readonly title: number;
  readonly titleWidth: number;
  readonly legend: readonly string[];
}
const chartForms = {
  /** Titles beside the bars. */
  wide: {
    width: 980,
    left: 300,
    rowHeight: 22,
    bar: 4,
    title: 15,
    titleWidth: 288,
    legend: ['Solid: critical work. Grey: work that may slip. Hatched: waiting or on order (dense: critical).'],
  },
  /** Titles above the bars. */
  narrow: {
    width: 440,
    left: 8,
    rowHeight: 38,
    bar: 20,
    title: 15,
    titleWidth: 428,
    legend: ['Solid: critical work. Grey: work that may slip.', 'Hatched: waiting or on order (dense: critical).'],
  },
} as const satisfies Record<string, ChartForm>;

const fontSize = 12;

export interface ChartOptions {
  /** Moments are told by the clock from then on; without, from the start. */
  readonly start?: Date | undefined;
  readonly title?: string;
  readonly form?: keyof typeof chartForms;
  /** No heading, as the page around it has one. */
  readonly bare?: boolean;
  /** Line of the step of a row, counted from 0, for pages that lead there. */
  readonly lineOf?: (row: PlanRow) => number | undefined;
}

/** A moment above the axis: with its day where that is another than of the start, and without the hour at midnight. */
function clockWords(at: number, start: Date): string {
  const words = moment(at, start);
  const [day = '', hour = ''] = words.split(' ');
  if (at === 0) return words;
  if (hour === '00:00') return day;
  return moment(0, start).startsWith(day) ? hour : words;
}

/**
 * A bar chart of the plan: bars filled where critical, hatched where nobody's hands are needed; readable without colour. Where long
 * deliveries or waits would leave slivers of the work, time without work is shaded and drawn shorter ({@link timeAxis}).
 */
export function planSvg(
  plan: WorkPlan,
  { start, title = 'Plan', form = 'wide', bare, lineOf = () => undefined }: ChartOptions = {},
): string {
  const chart: ChartForm = chartForms[form];
  const { width, left, rowHeight } = chart;
  const right = 24;
  const whole = Math.max(plan.duration, 60, ...plan.rows.map(({ finish }) => finish));
  const axis = timeAxis(
    whole,
    plan.rows.filter(({ kind }) => kind === 'work'),
    width - left - right,
  );
  const x = (seconds: number): number => left + axis.place(seconds);
  const isShortened = axis.shortened.length > 0;
  const legend = [
    ...chart.legend,
    ...(isShortened ? [`Shaded: nobody works, and time is drawn ${axis.times} times shorter.`] : []),
    ...(plan.rows.some(({ inCase }) => inCase !== undefined)
      ? ['Dashed edge: ordered in case; nothing waits for it.']
      : []),
  ];
  const top = (bare ? 34 : 64) + (isShortened ? 16 : 0);
  const foot = top + plan.rows.length * rowHeight + 8;
  const height = foot + 4 + legend.length * 16;
  const bands = axis.shortened.map((span) => {
    const [from, to] = [x(span.start).toFixed(1), x(span.finish).toFixed(1)];
    const edges = `M${from} ${top - 6}V${foot}M${to} ${top - 6}V${foot}`;
    const room = x(span.finish) - x(span.start);
    const words = [`drawn ${axis.times} times shorter`, `${axis.times} times shorter`].find(
      (each) => widthOf(each, fontSize) <= room,
    );
    const label =
      words === undefined
        ? ''
        : `<text x="${x((span.start + span.finish) / 2).toFixed(1)}" y="${top - 28}" text-anchor="middle">${words}</text>`;
    return `<path class="shortened" d="M${from} ${top - 6}H${to}V${foot}H${from}z" fill="#e6e6e6"/><path class="line" d="${edges}" stroke="#555"/>${label}`;
  });
  const wordsOf = (at: number): string => (start === undefined ? duration(at) : clockWords(at, start));
  const clock = start === undefined ? 0 : (start.getTime() / 1000) % 86_400;
  const lines = ticksOf(axis, whole, (at) => widthOf(wordsOf(at), fontSize), clock).map((at) => {
    const px = x(at).toFixed(1);
    // The first label would stand half outside.
    const anchor = x(at) < 20 ? 'start' : 'middle';
    return `<line class="tick" x1="${px}" y1="${top - 6}" x2="${px}" y2="${foot}" stroke="#bbb"/><text x="${px}" y="${top - 12}" text-anchor="${anchor}">${escapeMarkup(wordsOf(at))}</text>`;
  });
  const bars = byTime(plan.rows).map((row, i) => {
    const y = top + i * rowHeight;
    const from = x(row.start);
    const wide = Math.max(2, x(row.finish) - from);
    const shade = row.kind !== 'work' ? 'hatched' : row.critical ? 'critical' : 'slack';
    const fill =
      row.kind === 'work' ? (row.critical ? '#333' : '#999') : `url(#${form}-${row.critical ? 'dense' : 'sparse'})`;
    const [label = ''] = wrapped(row.title, chart.titleWidth, fontSize, 1);
    const facts = `${row.title}: ${moment(row.start, start)} to ${moment(row.finish, start)}, ${rowDuration(row)}${row.critical ? ', critical' : row.float > 0 ? `, may slip ${duration(row.float)}` : ''}`;
    const line = lineOf(row);
    return `<g${line === undefined ? '' : ` data-line="${line}"`}><title>${escapeMarkup(facts)}</title><text x="8" y="${y + chart.title}" unicode-bidi="plaintext" class="title" stroke="#fff" stroke-width="3" paint-order="stroke">${inDrawing(label).markup}</text><rect x="${from.toFixed(1)}" y="${y + chart.bar}" width="${wide.toFixed(1)}" height="14" class="line ${shade}" fill="${fill}" stroke="#333"${row.inCase === undefined ? '' : ' stroke-dasharray="4 3"'}/></g>`;
  });
  const hatch = (id: string, gap: number): string =>
    `<pattern id="${form}-${id}" width="${gap}" height="${gap}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect class="paper" width="${gap}" height="${gap}" fill="#fff"/><line class="line" x1="0" y1="0" x2="0" y2="${gap}" stroke="#333" stroke-width="1.6"/></pattern>`;
  const [name = ''] = wrapped(title, width - 16, 16, 1);
  const heading = bare ? '' : `<text x="8" y="22" font-size="15" font-weight="bold">${inDrawing(name).markup}</text>\n`;
  const shortening = isShortened ? `; where nobody works, time is drawn ${axis.times} times shorter` : '';
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="${escapeMarkup(`${title}: bar chart of ${counted(plan.rows.length, 'activity', 'activities')} over ${duration(plan.duration)}${shortening}`)}" font-family="system-ui, sans-serif" font-size="${fontSize}">
<defs>${hatch('dense', 4)}${hatch('sparse', 9)}</defs>
<rect class="paper" width="${width}" height="${height}" fill="#fff"/>
${heading}${legend.map((words, i) => `<text x="8" y="${foot + 12 + i * 16}">${words}</text>`).join('\n')}
${bands.join('\n')}
${lines.join('\n')}
${bars.join('\n')}
</svg>
`;
}
