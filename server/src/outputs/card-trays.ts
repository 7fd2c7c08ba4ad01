import { walk } from '../../../grammar/syntax.ts';
import { placeOfStep } from '../model/model.ts';
import { sizeOf } from './amounts.ts';
import type { Bench } from './card-bench.ts';
import { tick } from './card-form.ts';
import { own, withFigures } from './directed-text.ts';
import { type Html, html } from './html.ts';

interface Lying {
  readonly part: string;
  readonly pieces: number;
  readonly off: number;
  readonly back: number | undefined;
  readonly codes: string[];
}

/** What lies in each place named by `keep in`, from which step, and the step that takes it back; places as they come up. */
function traysOf(bench: Bench): Map<string, Lying[]> {
  const trays = new Map<string, Map<string, Lying>>();
  const fits = fitsOf(bench);
  for (const [index, { step }] of bench.model.steps.entries()) {
    for (const statement of walk(step.statements)) {
      const place = statement.keep?.value;
      const part = statement.name?.text;
      if (place === undefined || part === undefined || !bench.model.parts.has(part)) continue;
      const tray = trays.get(place) ?? new Map<string, Lying>();
      for (const { code, action } of bench.actionsOn(statement, part)) {
        if (action.acted === 0) continue;
        const back = fits
          .get(code)
          ?.get(part)
          ?.find((each) => each >= index);
        const key = JSON.stringify([part, action.acted, index, back]);
        const line = tray.get(key) ?? {
          part,
          pieces: action.acted,
          off: index + 1,
          back: back === undefined ? undefined : back + 1,
          codes: [],
        };
        if (code !== undefined) line.codes.push(code);
        trays.set(place, tray.set(key, line));
      }
    }
  }
  return new Map([...trays].map(([place, tray]) => [place, [...tray.values()]]));
}

/** Steps that fit each part, in order, by code. */
function fitsOf(bench: Bench): Map<string | undefined, Map<string, number[]>> {
  const fits = new Map<string | undefined, Map<string, number[]>>();
  for (const { code, entries } of bench.ledger.variants) {
    const own = new Map<string, number[]>();
    fits.set(code, own);
    for (const { step, actions } of entries) {
      for (const { part, verb, acted } of actions) {
        if (verb !== 'fit' || acted === 0) continue;
        const steps = own.get(part);
        const place = placeOfStep(bench.model, step);
        if (steps === undefined) own.set(part, [place]);
        else steps.push(place);
      }
    }
  }
  return fits;
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
        return html`<li><b>${pieces} × ${own(bench.title(part))}</b>${size !== undefined && withFigures(` ${size}`)}${only && html` (${own(codes.join(', '))})`}: off in step ${off}, ${back === undefined ? 'not put back here' : `back in step ${back}`}</li>`;
      },
    )}</ul>${tick('empty at the end', 'verdict')}</li>
`,
  )}</ul></section>
`;
}
