import { walk } from '../../../grammar/syntax.ts';
import { placeOfStep } from '../model/model.ts';
import { sizeOf } from './amounts.ts';
import type { Bench } from './card-bench.ts';
import { tick } from './card-form.ts';
import { own, withFigures } from './directed-text.ts';
import { type Html, html } from './html.ts';

interface Lying {
  readonly part: string;
  pieces: number;
  /** The step that takes it off, or lays it here from another place. */
  readonly off: number;
  readonly isFromElsewhere: boolean;
  readonly back: number | undefined;
  readonly codes: string[];
  /** Where it is laid next, and in which step. */
  next?: undefined | { readonly place: string; readonly step: number };
}

/** What lies in each place named by `keep in`, from which step, and the step that takes it back; places as they come up. */
function traysOf(bench: Bench): Map<string, Lying[]> {
  const trays = new Map<string, Map<string, Lying>>();
  const fits = fitsOf(bench);
  /** By part, its lines that nothing has laid elsewhere since, each with its place. */
  const lying = new Map<string, Map<Lying, string>>();
  for (const [index, { step }] of bench.model.steps.entries()) {
    for (const statement of walk(step.statements)) {
      const place = statement.keep?.value;
      const part = statement.name?.text;
      if (place === undefined || part === undefined || !bench.model.parts.has(part)) continue;
      const tray = trays.get(place) ?? new Map<string, Lying>();
      if (statement.kind === 'mark' || bench.actionsOn(statement, part).length === 0) {
        lying.set(part, moved(lying.get(part) ?? new Map(), place, tray, index));
        if (tray.size > 0) trays.set(place, tray);
        continue;
      }
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
          isFromElsewhere: false,
          back: back === undefined ? undefined : back + 1,
          codes: [],
        };
        if (code !== undefined) line.codes.push(code);
        trays.set(place, tray.set(key, line));
        lying.set(part, (lying.get(part) ?? new Map<Lying, string>()).set(line, place));
      }
    }
  }
  return new Map([...trays].map(([place, tray]) => [place, [...tray.values()]]));
}

/** Lays what lies elsewhere into `tray`, in the step at `index`; gives the place of each line then. */
function moved(
  lying: ReadonlyMap<Lying, string>,
  place: string,
  tray: Map<string, Lying>,
  index: number,
): Map<Lying, string> {
  const now = new Map<Lying, string>();
  for (const [line, from] of lying) {
    if (from === place || (line.back ?? Infinity) <= index) {
      now.set(line, from);
      continue;
    }
    line.next = { place, step: index + 1 };
    const key = JSON.stringify([line.part, index, line.back, line.codes]);
    const known = tray.get(key);
    const laid = known ?? { ...line, off: index + 1, isFromElsewhere: true, next: undefined };
    if (known !== undefined) known.pieces += line.pieces;
    now.set(laid, place);
    tray.set(key, laid);
  }
  return now;
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
      ({ part, pieces, off, isFromElsewhere, back, codes, next }) => {
        const size = sizeOf(bench.model.parts.get(part));
        const only = codes.length > 0 && codes.length < all;
        return html`<li><b>${pieces} × ${own(bench.title(part))}</b>${size !== undefined && withFigures(` ${size}`)}${only && html` (${own(codes.join(', '))})`}: ${isFromElsewhere ? 'laid here' : 'off'} in step ${off}, ${next !== undefined ? html`to ${own(next.place)} in step ${next.step}` : back === undefined ? 'not put back here' : `back in step ${back}`}</li>`;
      },
    )}</ul>${tick('empty at the end', 'verdict')}</li>
`,
  )}</ul></section>
`;
}
