import { escapeMarkup } from '../outputs/markup.ts';
import { planOf, planSvg, planText } from '../outputs/plan.ts';
import { type FileParams, type Page, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** The chart is drawn black on white: its greys and hatchings mean something. */
const style = `
.drawing { overflow: auto; border: 1px solid var(--vscode-widget-border, currentColor); }
.drawing svg { display: block; }
pre { overflow: auto; font-family: var(--vscode-editor-font-family, monospace); }
`;

/** The bar chart above, the same as text below. */
export function planPage(snapshot: Snapshot): Page {
  const { model } = snapshot;
  const title = model.head?.title?.value ?? model.head?.name?.text ?? 'Plan';
  const plan = planOf(model);
  const shown =
    'message' in plan
      ? `<p>${escapeMarkup(plan.message)}</p>`
      : `<div class="drawing" data-zooms role="region" aria-label="Bar chart" tabindex="0">${planSvg(plan, undefined, title)}</div>
<h2>In words</h2>
<pre tabindex="0">${escapeMarkup(planText(plan))}</pre>`;
  return { title, style, body: `<main><h1>${escapeMarkup(title)}: plan</h1>\n${shown}</main>`, codes: model.codes };
}

export const planView = feature<FileParams, Page>(requests.plan, {}, planPage);
