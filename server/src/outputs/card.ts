import type { PhaseWord } from '../../../grammar/tokens.ts';
import type { Finding } from '../checks/check.ts';
import type { Ledger } from '../ledger/ledger.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { Bench } from './card-bench.ts';
import { findingsSection, kitSection, safetySection, timeOf, unitSection } from './card-front.ts';
import { signature, stepCard } from './card-steps.ts';
import { type Paper, styleOf } from './card-style.ts';
import { trayMap } from './card-trays.ts';
import { onOneLine, own } from './directed-text.ts';
import { type Html, html } from './html.ts';
import { kit } from './kit.ts';
import { escapeMarkup } from './markup.ts';
import { counted } from './wording.ts';

export type { Paper } from './card-style.ts';

export interface CardOptions {
  /** What the checks found in the procedure: a card with errors says that it is not to be used. */
  readonly findings: readonly Finding[];
  readonly paper?: Paper;
  /** For this code only. */
  readonly code?: string;
  /** Day on which the work begins, `YYYY-MM-DD`, for order dates. */
  readonly start?: string;
  /** Name of the source, for the foot of the card. */
  readonly file?: string;
}

/** What a page is put together from; a view of its own adds its script and its content policy. */
export interface CardParts {
  readonly title: string;
  readonly style: string;
  /**
   * Steps and statements carry `data-line`, the findings on the front `data-finding-line`: lines of the source, from 0.
   * There are no `style` attributes and no event handlers in it.
   */
  readonly body: string;
}

const phaseTitles: Readonly<Record<PhaseWord, string>> = {
  teardown: 'Teardown',
  inspection: 'Inspection',
  reassembly: 'Reassembly',
  proving: 'Proving',
};

/** The job card in pieces. All text of the author is escaped; nothing in it runs, and nothing is fetched. */
export function cardParts(model: Model, ledger: Ledger, options: CardOptions): CardParts {
  const bench = new Bench(model, ledger, options.code);
  const { head } = model;
  const title = head?.title?.value ?? head?.name?.text ?? 'Procedure without a title';
  const list = kit(model, ledger, { start: options.start, code: options.code });
  const codes = options.code === undefined ? model.codes : [options.code];
  const time = timeOf(bench);
  const body = html`<div class="job-card">
<header><h1>${own(title)}</h1>
<p>Job card${codes.length > 0 && html` for <b>${own(codes.join(', '))}</b>`}${model.steps.length > 0 && `: ${counted(model.steps.length, 'step')}`}${time !== undefined && html`, ${onOneLine(time)} of work`}</p></header>
<main>
${findingsSection(bench, options.findings)}${unitSection(bench)}${safetySection()}${kitSection(bench, list)}${trayMap(bench)}${phases(bench)}<section class="closing"><div><h2>Hand over</h2>
<p>Every box is ticked, or struck out with the reason beside it. All readings are filled in.</p>
${signature()}
<footer><p><b>The maker’s data, local codes and licensed practice prevail</b> over this card and over every figure computed on it. It does not replace training for the work.</p>${
    options.file !== undefined &&
    html`
<p>Made from ${own(options.file)}.</p>`
  }</footer></div></section>
</main>
</div>`;
  return {
    title,
    style: styleOf(options.paper ?? 'a4', runningHead(head?.name?.text ?? '', codes)),
    body: body.markup,
  };
}

/** What each sheet says at its top: no code cut short, as another one may begin alike. */
function runningHead(name: string, codes: readonly string[]): string {
  const most = 70;
  const short = name.length > most ? `${[...name].slice(0, most - 1).join('')}…` : name;
  for (let shown = codes.length; shown > 0; shown--) {
    const more = shown < codes.length ? ` and ${codes.length - shown} more` : '';
    const text = [name, codes.slice(0, shown).join(', ') + more].filter((each) => each !== '').join(' – ');
    if (text.length <= most) return text;
  }
  return codes.length === 0 ? short : `${short} – ${counted(codes.length, 'code')}`;
}

function phases(bench: Bench): Html {
  const runs: { phase: PhaseWord | undefined; steps: StepEntry[] }[] = [];
  for (const entry of bench.model.steps) {
    const last = runs.at(-1);
    if (last !== undefined && last.phase === entry.phase) last.steps.push(entry);
    else runs.push({ phase: entry.phase, steps: [entry] });
  }
  if (runs.length === 0)
    return html`<p class="empty">This procedure has no steps.</p>
`;
  return html`${runs.map(
    ({ phase, steps }) => html`<section class="phase"><h2>${phase === undefined ? 'Work' : phaseTitles[phase]}</h2>
${steps.map((entry) => stepCard(bench, entry))}</section>
`,
  )}`;
}

/** One printable page for the bench, complete in itself: no script, no picture or font from elsewhere. */
export function card(model: Model, ledger: Ledger, options: CardOptions): string {
  const { title, style, body } = cardParts(model, ledger, options);
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escapeMarkup(title)}: job card</title>
<style>body { margin: 0; }${style}</style>
</head>
<body>
${body}
</body>
</html>
`;
}
