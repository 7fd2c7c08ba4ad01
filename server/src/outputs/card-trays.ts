import type { Statement } from '../../../grammar/syntax.ts';
import { areRivals, branchPaths } from '../model/branches.ts';
import { addTo } from '../model/grouped.ts';
import { placeOfStep } from '../model/model.ts';
import { sizeOf } from './amounts.ts';
import type { Bench } from './card-bench.ts';
import { tick } from './card-form.ts';
import { onOneLine, own } from './directed-text.ts';
import { type Html, html } from './html.ts';

interface Lying {
  readonly part: string;
  pieces: number;
  /** The step that takes it off, or lays it here from another place. */
  readonly off: number;
  readonly isFromElsewhere: boolean;
  readonly back: number | undefined;
  readonly codes: string[];
  /** In no alternative: more of the same comes on top of it. */
  readonly sure: boolean;
  /** Where it is laid next, and in which step. */
  next?: undefined | { readonly place: string; readonly step: number };
}

/** What lies in each place named by `keep in`, from which step, and the step that takes it back; places as they come up. */
function traysOf(bench: Bench): Map<string, Lying[]> {
  const trays = new Map<string, Map<string, Lying>>();
  const fits = fitsOf(bench);
  /** By part, its lines that nothing has laid elsewhere since, each with its place. */
  const lying = new Map<string, Map<Lying, string>>();
  const laidBy = new Map<Lying, Statement>();
  for (const [index, { step }] of bench.model.steps.entries()) {
    for (const [statement, path] of branchPaths(step.statements)) {
      const place = statement.keep?.value;
      const part = statement.name?.text;
      if (place === undefined || part === undefined || !bench.model.parts.has(part)) continue;
      const tray = trays.get(place) ?? new Map<string, Lying>();
      if (statement.kind === 'mark' || bench.actionsOn(statement, part).length === 0) {
        trays.set(place, tray);
        lying.set(part, moved(lying.get(part) ?? new Map(), place, trays, index, statement.count?.value));
        if (tray.size === 0) trays.delete(place);
        continue;
      }
      for (const { code, action } of bench.actionsOn(statement, part)) {
        if (action.acted === 0) continue;
        const back = fits
          .get(code)
          ?.get(part)
          ?.find((each) => each >= index);
        // One line for what all codes, or either of two ways, lay down alike.
        const isAlike = (line: Lying): boolean => {
          const other = laidBy.get(line)!;
          return (
            other === statement || areRivals(other, statement) || (code !== undefined && !line.codes.includes(code))
          );
        };
        const keyOf = (turn: number): string => JSON.stringify([part, action.acted, index, back, turn]);
        let turn = 0;
        while (tray.has(keyOf(turn)) && !isAlike(tray.get(keyOf(turn))!)) turn++;
        const key = keyOf(turn);
        const line = tray.get(key) ?? {
          part,
          pieces: action.acted,
          off: index + 1,
          isFromElsewhere: false,
          back: back === undefined ? undefined : back + 1,
          codes: [],
          sure: path.every(({ block }) => block.kind === 'for'),
        };
        if (!laidBy.has(line)) laidBy.set(line, statement);
        if (code !== undefined && !line.codes.includes(code)) line.codes.push(code);
        trays.set(place, tray.set(key, line));
        lying.set(part, (lying.get(part) ?? new Map<Lying, string>()).set(line, place));
      }
    }
  }
  return new Map(
    [...trays].map(([place, tray]) => [place, summed([...tray.values()].filter(({ pieces }) => pieces > 0))]),
  );
}

/** What is laid down and taken up alike on one line, with its sum for each code; of alternatives each stays by itself. */
function summed(lines: readonly Lying[]): Lying[] {
  const groups = new Map<string | Lying, Lying[]>();
  for (const line of lines) {
    const { part, off, isFromElsewhere, back, next } = line;
    addTo(groups, line.sure ? JSON.stringify([part, off, isFromElsewhere, back, next]) : line, line);
  }
  return [...groups.values()].flatMap((alike) => {
    const [first] = alike;
    if (alike.length === 1) return alike;
    const byCode = new Map<string | undefined, number>();
    for (const { pieces, codes } of alike)
      for (const code of codes.length === 0 ? [undefined] : codes) byCode.set(code, (byCode.get(code) ?? 0) + pieces);
    const byPieces = new Map<number, (string | undefined)[]>();
    for (const [code, pieces] of byCode) addTo(byPieces, pieces, code);
    return [...byPieces].map(([pieces, codes]) => ({
      ...first!,
      pieces,
      codes: codes.filter((code) => code !== undefined),
    }));
  });
}

/**
 * Lays what lies elsewhere, or so many pieces of it (for each code), into the tray at `place`, in the step at `index`; gives the place of
 * each line then.
 */
function moved(
  lying: ReadonlyMap<Lying, string>,
  place: string,
  trays: ReadonlyMap<string, Map<string, Lying>>,
  index: number,
  pieces = Infinity,
): Map<Lying, string> {
  const tray = trays.get(place)!;
  const now = new Map<Lying, string>();
  const elsewhere = [...lying].filter(([line, from]) => from !== place && (line.back ?? Infinity) > index);
  const taken = takenOf(
    elsewhere.map(([line]) => line),
    pieces,
  );
  for (const [line, from] of lying) {
    const count = taken.get(line) ?? 0;
    const laid = { ...line, pieces: count, off: index + 1, isFromElsewhere: true, next: undefined };
    if (count < line.pieces) now.set(line, from);
    if (count === 0) continue;
    const next = { place, step: index + 1 };
    const gone = JSON.stringify([line.part, line.off, line.back, line.codes, next]);
    const others = trays.get(from)!.get(gone);
    if (others === undefined && count === line.pieces) line.next = next;
    else {
      line.pieces -= count;
      if (others === undefined) trays.get(from)!.set(gone, { ...line, pieces: count, next });
      else others.pieces += count;
    }
    const key = JSON.stringify([line.part, index, line.back, line.codes]);
    const known = tray.get(key);
    if (known !== undefined) known.pieces += count;
    now.set(known ?? laid, place);
    tray.set(key, known ?? laid);
  }
  return now;
}

/** How many of `pieces`, for each code, come from which line: from one of just as many, else from the one laid down last. */
function takenOf(lines: readonly Lying[], pieces: number): ReadonlyMap<Lying, number> {
  const taken = new Map<Lying, number>();
  const byCodes = new Map<string, Lying[]>();
  for (const line of lines) addTo(byCodes, line.codes.join(' '), line);
  for (const alike of byCodes.values()) {
    const whole = alike.find((line) => line.pieces === pieces);
    let rest = pieces;
    for (const line of whole === undefined ? alike.toReversed() : [whole]) {
      const count = Math.min(rest, line.pieces);
      rest -= count;
      taken.set(line, count);
    }
  }
  return taken;
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
        return html`<li><b>${pieces} × ${own(bench.title(part))}</b>${size !== undefined && html` ${onOneLine(size)}`}${only && html` (${own(codes.join(', '))})`}: ${isFromElsewhere ? 'laid here' : 'off'} in step ${off}, ${next !== undefined ? html`to ${own(next.place)} in step ${next.step}` : back === undefined ? 'not put back here' : `back in step ${back}`}</li>`;
      },
    )}</ul>${tick('empty at the end', 'verdict')}</li>
`,
  )}</ul></section>
`;
}
