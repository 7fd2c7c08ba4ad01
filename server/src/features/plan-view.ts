import { isOwn } from '../model/model.ts';
import { own, withFigures } from '../outputs/directed-text.ts';
import { duration } from '../outputs/durations.ts';
import { type Html, html } from '../outputs/html.ts';
import { escapeMarkup } from '../outputs/markup.ts';
import { type PlanRow, planOf, type WorkPlan } from '../outputs/plan.ts';
import { planSvg } from '../outputs/plan-chart.ts';
import { byTime, moment, noSteps, planSummary, rowDuration } from '../outputs/plan-text.ts';
import { type FileParams, type Page, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** In the colours of the editor, with greys between its two. In a narrow pane the chart's titles stand above the bars. */
const style = `
.drawing { overflow: auto; border: 1px solid var(--vscode-widget-border, currentColor); background: var(--paper); --ink: var(--vscode-editor-foreground); --paper: var(--vscode-editor-background); }
.drawing svg { display: block; }
.drawing text { fill: var(--ink); }
.drawing .title { stroke: var(--paper); }
.drawing .paper { fill: var(--paper); }
.drawing .line { stroke: var(--ink); }
.drawing .critical { fill: var(--ink); }
.drawing .slack { fill: color-mix(in srgb, var(--ink) 45%, var(--paper)); }
.drawing .shortened { fill: color-mix(in srgb, var(--ink) 12%, var(--paper)); }
.drawing .tick { stroke: color-mix(in srgb, var(--ink) 30%, var(--paper)); }
.drawing svg.narrow { display: none; }
@media (max-width: 760px) {
.drawing svg.wide { display: none; }
.drawing svg.narrow { display: block; }
}
.drawing .here rect { stroke-width: 4; }
table { border-collapse: collapse; }
th, td { padding: 3px 8px; text-align: left; vertical-align: top; border-bottom: 1px solid var(--vscode-widget-border, currentColor); }
th:first-child, td:first-child { padding-left: 0; }
[data-line] { cursor: pointer; }
tr[data-line]:hover { outline: 1px dashed currentColor; }
tr.here { outline: 2px solid currentColor; box-shadow: -4px 0 0 0 currentColor; }
.figure { white-space: nowrap; }
@media (min-width: 600px) { td:not(:last-child) { white-space: nowrap; } }
.summary { white-space: pre-line; line-height: 1.5; }
`;

type LineOf = (row: PlanRow) => number | undefined;

/** The sign of what is critical is that of the summary. */
function rowInWords(row: PlanRow, line: number | undefined): Html {
  const said = [row.kind === 'work' ? '' : row.kind, row.float > 0 ? `may slip ${duration(row.float)}` : ''].filter(
    (words) => words !== '',
  );
  return html`<tr class="step"${line !== undefined && html` data-line="${line}"`}><td>${withFigures(moment(row.start, undefined))}</td><td>${withFigures(moment(row.finish, undefined))}</td><td>${withFigures(rowDuration(row))}</td><td>${row.critical && '* '}${own(row.title)}${said.length > 0 && html` (${withFigures(said.join(', '))})`}</td></tr>
`;
}

const inWords = (plan: WorkPlan, lineOf: LineOf): Html =>
  plan.rows.length === 0
    ? html`<p>${noSteps}</p>`
    : html`<table aria-labelledby="in-words">
<thead><tr><th scope="col">Start</th><th scope="col">End</th><th scope="col">Time</th><th scope="col">Work</th></tr></thead>
<tbody>
${byTime(plan.rows).map((row) => rowInWords(row, lineOf(row)))}</tbody>
</table>
<p class="summary">${planSummary(plan)}</p>`;

/** The bar chart above, the same as a table below. */
export function planPage(snapshot: Snapshot): Page {
  const { model } = snapshot;
  const title = model.head?.title?.value ?? model.head?.name?.text ?? 'Plan';
  const plan = planOf(model);
  const lineOf: LineOf = (row) => {
    const entry = row.step === undefined ? undefined : model.steps[row.step - 1];
    return entry === undefined || !isOwn(model, entry) ? undefined : snapshot.rangeOf(entry.step).start.line;
  };
  const drawn = (form: 'wide' | 'narrow'): string =>
    'message' in plan
      ? ''
      : planSvg(plan, { title, form, bare: true, lineOf }).replace('<svg ', `<svg class="${form}" `);
  const shown =
    'message' in plan
      ? `<p>${escapeMarkup(plan.message)}</p>`
      : `<div class="drawing" data-zooms="fit" role="region" aria-label="Bar chart" tabindex="0">${drawn('wide')}${drawn('narrow')}</div>
<h2 id="in-words">In words</h2>
${inWords(plan, lineOf).markup}`;
  return { title, style, body: `<main><h1>${own(title).markup}: plan</h1>\n${shown}</main>`, codes: model.codes };
}

export const planView = feature<FileParams, Page>(requests.plan, {}, planPage);
