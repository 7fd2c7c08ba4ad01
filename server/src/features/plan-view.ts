import { own } from '../outputs/directed-text.ts';
import { type Content, type Html, html } from '../outputs/html.ts';
import { escapeMarkup } from '../outputs/markup.ts';
import { planOf, type WorkPlan } from '../outputs/plan.ts';
import { planSvg } from '../outputs/plan-chart.ts';
import { noSteps, planLines, planSummary } from '../outputs/plan-text.ts';
import { type FileParams, type Page, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** The chart is drawn black on white: its greys and hatchings mean something. In a narrow pane its titles stand above the bars. */
const style = `
.drawing { overflow: auto; border: 1px solid var(--vscode-widget-border, currentColor); background: #fff; }
.drawing svg { display: block; }
.drawing svg.narrow { display: none; }
@media (max-width: 760px) {
.drawing svg.wide { display: none; }
.drawing svg.narrow { display: block; }
}
pre { overflow: auto; font-family: var(--vscode-editor-font-family, monospace); }
.summary { white-space: pre-line; line-height: 1.5; }
`;

const inWords = (plan: WorkPlan): Html =>
  plan.rows.length === 0
    ? html`<p>${noSteps}</p>`
    : html`<pre tabindex="0">${planLines(plan).map(({ before, title, after }): Content => [before, own(title), after, '\n'])}</pre>
<p class="summary">${planSummary(plan)}</p>`;

/** The bar chart above, the same as text below. */
export function planPage(snapshot: Snapshot): Page {
  const { model } = snapshot;
  const title = model.head?.title?.value ?? model.head?.name?.text ?? 'Plan';
  const plan = planOf(model);
  const drawn = (form: 'wide' | 'narrow'): string =>
    'message' in plan ? '' : planSvg(plan, { title, form, bare: true }).replace('<svg ', `<svg class="${form}" `);
  const shown =
    'message' in plan
      ? `<p>${escapeMarkup(plan.message)}</p>`
      : `<div class="drawing" data-zooms="fit" role="region" aria-label="Bar chart" tabindex="0">${drawn('wide')}${drawn('narrow')}</div>
<h2>In words</h2>
${inWords(plan).markup}`;
  return { title, style, body: `<main><h1>${own(title).markup}: plan</h1>\n${shown}</main>`, codes: model.codes };
}

export const planView = feature<FileParams, Page>(requests.plan, {}, planPage);
