import type { Finding } from '../checks/check.ts';
import type { Bench } from './card-bench.ts';
import { field, tick } from './card-form.ts';
import { signalWords } from './card-steps.ts';
import { own } from './directed-text.ts';
import { workDuration } from './durations.ts';
import { type Content, type Html, html, joined } from './html.ts';
import type { Kit, KitPlace } from './kit.ts';
import { hazardOf, markingOf, notesOf, partFacts, piecesOf, severalOf } from './kit-notes.ts';
import { workTime } from './step-time.ts';
import { counted } from './wording.ts';

/** How many findings a card lists; the rest is counted. */
const mostListed = 8;

/** Which unit this is: its codes first. */
export function unitSection(bench: Bench): Html {
  const { head, codes } = bench.model;
  const own_ = bench.code === undefined ? codes : [bench.code];
  const boxes =
    own_.length === 0
      ? html`<p>This procedure names no code. Make sure by other means that it is for this unit.</p>`
      : html`<p>${own_.length > 1 ? 'For units with one of these codes. Tick the one that you read on the plate:' : 'Only for units with this code. Tick what you read on the plate:'}</p>
<p class="codes">${own_.map((code) => tick(html`<b class="code">${own(code)}</b>`, 'verdict'))} ${tick('another, or none: stop, this card is not for it', 'verdict')}</p>`;
  const plate = head?.codePlate?.value;
  return html`<section class="unit"><h2>Make sure of the unit</h2>
${boxes}
${plate !== undefined && html`<p>The code stands here: <b>${own(plate)}</b></p>`}
<p class="fields">${field('Serial number', 7)} ${field('Job', 5)} ${field('Name', 8)} ${field('Date', 5)}</p>
</section>
`;
}

/** Errors that are open, and that the card is not to be used; nothing where there are none. */
export function findingsSection(bench: Bench, findings: readonly Finding[]): Html | undefined {
  const errors = findings.filter(({ severity }) => severity === 'error');
  const warnings = findings.filter(({ severity }) => severity === 'warning').length;
  if (errors.length === 0 && warnings === 0) return undefined;
  if (errors.length === 0)
    return html`<section class="findings"><p><b>${counted(warnings, 'warning')}</b> ${warnings === 1 ? 'is' : 'are'} open in this procedure: have its author look at ${warnings === 1 ? 'it' : 'them'}.</p></section>
`;
  return html`<section class="findings open"><h2>Do not use this card</h2>
<p>The procedure has <b>${counted(errors.length, 'error')}</b>${warnings > 0 && ` and ${counted(warnings, 'warning')}`} that nobody has mended. Work from a card without errors.</p>
<ul>${errors.slice(0, mostListed).map(
    (
      finding,
    ) => html`<li data-finding-line="${bench.lineOf(finding.span)}">Line ${bench.lineOf(finding.span) + 1}, <code>${finding.code}</code>: ${own(finding.message)}</li>
`,
  )}${errors.length > mostListed && html`<li>and ${errors.length - mostListed} more</li>`}</ul></section>
`;
}

/** ANSI Z535.4 and Z535.6, as read: what each signal word tells. */
const meanings: Readonly<Record<keyof typeof signalWords, string>> = {
  danger: 'will cause death or serious injury if it is not avoided.',
  warning: 'could cause death or serious injury if it is not avoided.',
  caution: 'could cause minor or moderate injury if it is not avoided.',
  notice: 'no injury, but damage.',
};

export const safetySection = (): Html => html`<section class="words"><h2>Safety words</h2>
<dl>${(Object.keys(signalWords) as (keyof typeof signalWords)[]).map(
  (word) => html`<div><dt>${signalWords[word]}</dt><dd>${meanings[word]}</dd></div>
`,
)}</dl>
<p>A safety message holds for all that follows it in its step. Lock off, release and prove dead before you reach in.</p></section>
`;

/** Hands-on time and waits, summed over all steps. */
export function timeOf(bench: Bench): string | undefined {
  const seconds = bench.model.steps.reduce((sum, { step }) => sum + (workTime(step, bench.code) ?? 0), 0);
  return seconds > 0 ? workDuration(seconds) : undefined;
}

/** The word stays with the first of its numbers. */
const stepsOf = (places: readonly KitPlace[]): Html => {
  const [first, ...others] = places.map(({ step }) => `${step}`);
  return html`<span class="figure">step${others.length === 0 ? '' : 's'} ${first ?? ''}</span>${others.map((step) => `, ${step}`)}`;
};

/** What to have at hand before the first step. */
export function kitSection(bench: Bench, kit: Kit): Html | undefined {
  const { start } = kit;
  const list = (title: string, items: readonly Html[]): Content =>
    items.length > 0 &&
    html`<h3>${title}</h3>
<ul class="have">${items.map(
      (item) => html`<li>${tick(item, 'item')}</li>
`,
    )}</ul>
`;
  const entry = (name: Content, facts: readonly string[], places: readonly KitPlace[]): Html =>
    html`<b>${name}</b> ${joined([...facts.filter((fact) => fact !== '').map(own), stepsOf(places)], ' · ')}`;
  const part = (line: Kit['parts'][number]): Html =>
    entry([`${piecesOf(line)} × `, own(bench.title(line.name))], partFacts(line, start), line.places);
  const tool = (line: Kit['tools'][number]): Html =>
    entry(
      [severalOf(line), own(bench.tellingRange(line.name) === undefined ? bench.title(line.name) : line.title)],
      [line.range ?? '', ...markingOf(line), ...hazardOf(line), ...notesOf(line, start)],
      line.places,
    );
  const lists = [
    list('Used once, easily forgotten', [
      ...kit.tools.filter((line) => line.once).map(tool),
      ...kit.extras.map((extra) => entry(own(extra.what), [extra.why, ...notesOf(extra, start)], extra.places)),
    ]),
    list('New parts', kit.parts.filter(({ onlyIf }) => !onlyIf).map(part)),
    list('New parts that may be needed', kit.parts.filter(({ onlyIf }) => onlyIf).map(part)),
    list('Tools', kit.tools.filter((line) => !line.once).map(tool)),
    list(
      'Supplies',
      kit.supplies.map((line) =>
        entry(
          [
            severalOf(line),
            own(bench.title(line.name)),
            line.amount !== undefined && html`, <span class="value">${line.amount.text}</span>`,
          ],
          [
            ...markingOf(line),
            line.spec ?? '',
            ...hazardOf(line),
            line.appliedTo.length === 0 ? '' : `on ${line.appliedTo.join(', ')}`,
            ...notesOf(line, start),
          ],
          line.places,
        ),
      ),
    ),
  ].filter((each) => each !== false);
  const sizes = kit.threads.map(
    ({ thread, heads }) =>
      html`<span class="figure">${thread}</span>${heads !== undefined && ` (${heads.join(', ')})`}`,
  );
  const unnamed = list(
    'The procedure names no tool for',
    kit.unnamed.map(({ need, places }) => entry(own(need), [], places)),
  );
  if (lists.length === 0 && sizes.length === 0 && unnamed === false) return undefined;
  return html`<section class="kit"><h2>Have at hand</h2>
${lists}${
  sizes.length > 0 &&
  html`<p>Sockets, keys and bits for the heads of these threads: <b>${joined(sizes, ', ')}</b></p>
`
}${unnamed}</section>
`;
}
