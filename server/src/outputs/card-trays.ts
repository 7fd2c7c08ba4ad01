import { walk } from '../../../grammar/syntax.ts';
import type { Bench } from './card-bench.ts';
import { type Html, html, own, tick } from './card-html.ts';
import { sizeOf } from './kit.ts';

interface Lying {
  readonly part: string;
  readonly pieces: number;
  readonly off: number;
  readonly back: number | undefined;
  readonly codes: string[];
}

/** What lies in each place named by `keep in`, from which step, and the step that takes it back; places as they come up. */
function traysOf(bench: Bench): Map<string, Lying[]> {
  const trays = new Map<string, Lying[]>();
  for (const { step, index } of bench.model.steps) {
    for (const statement of walk(step.statements)) {
      const place = statement.keep?.value;
      const part = statement.name?.text;
      if (place === undefined || part === undefined || !bench.model.parts.has(part)) continue;
      for (const { code, action } of bench.actionsOn(statement, part)) {
        if (action.acted === 0) continue;
        const tray = trays.get(place) ?? [];
        trays.set(place, tray);
        const line = { part, pieces: action.acted, off: index + 1, back: backIn(bench, code, part, index) };
        const known = tray.find(
          (each) =>
            each.part === line.part && each.pieces === line.pieces && each.off === line.off && each.back === line.back,
        );
        if (known === undefined) tray.push({ ...line, codes: code === undefined ? [] : [code] });
        else if (code !== undefined) known.codes.push(code);
      }
    }
  }
  return trays;
}

/** The first step behind another that fits the part, or scraps it. */
function backIn(bench: Bench, code: string | undefined, part: string, from: number): number | undefined {
  const variant = bench.ledger.variants.find((each) => each.code === code);
  const entry = variant?.entries.find(
    ({ step, actions }) =>
      step.index >= from && actions.some((action) => action.part === part && action.verb === 'fit' && action.acted > 0),
  );
  return entry === undefined ? undefined : entry.step.index + 1;
}

/** The map of trays and bags; nothing where none is named. */
export function trayMap(bench: Bench): Html | undefined {
  const trays = traysOf(bench);
  if (trays.size === 0) return undefined;
  const all = bench.code === undefined ? bench.model.codes.length : 1;
  return html`<section class="trays"><h2>What lies where</h2>
<p>Label the places before the work begins. At the end each of them is empty.</p>
<ul class="tray-map">${[...trays].map(
    ([place, lying]) => html`<li class="tray"><h3>${own(place)}</h3><ul>${lying.map(
      ({ part, pieces, off, back, codes }) => {
        const size = sizeOf(bench.model.parts.get(part));
        const only = codes.length > 0 && codes.length < all;
        return html`<li><b>${pieces} × ${own(bench.title(part))}</b>${size !== undefined && ` ${size}`}${only && html` (${own(codes.join(', '))})`}: off in step ${off}, ${back === undefined ? 'not put back here' : `back in step ${back}`}</li>`;
      },
    )}</ul>${tick('empty at the end', 'verdict')}</li>
`,
  )}</ul></section>
`;
}
