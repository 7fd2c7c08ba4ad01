import { countFirst } from '../../../grammar/sorted.ts';
import type { Chunk, Span, Statement } from '../../../grammar/syntax.ts';
import type { Entry, Ledger, Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import { noted } from '../model/noted.ts';

// Repairs are asked for by the thousand: each looks its statement up.

/** Values by where a span begins: keywords, too, which are made anew each time they are asked for. */
export class ByPlace<Value> {
  private readonly chunks = new Map<Chunk, Map<number, Value>>();

  constructor(values: Iterable<readonly [Span, Value]> = []) {
    for (const [span, value] of values) this.set(span, value);
  }
  get({ chunk, start }: Span): Value | undefined {
    return this.chunks.get(chunk)?.get(start);
  }
  set({ chunk, start }: Span, value: Value): void {
    const known = this.chunks.get(chunk);
    if (known === undefined) this.chunks.set(chunk, new Map([[start, value]]));
    else known.set(start, value);
  }
}

/** Whether two spans begin at one place. */
export const beginAlike = (a: Span, b: Span): boolean => a.chunk === b.chunk && a.start === b.start;

interface Places {
  /** First entry that acts on a name of the text. */
  readonly byName: ReadonlyMap<Span, number>;
  /** Entries that act on a part, in order. */
  readonly byPart: ReadonlyMap<string, readonly number[]>;
}

const placesIn = noted((entries: Variant['entries']): Places => {
  const byName = new Map<Span, number>();
  const byPart = new Map<string, number[]>();
  entries.forEach(({ actions }, place) => {
    for (const { name, part } of actions) {
      if (!byName.has(name)) byName.set(name, place);
      const others = byPart.get(part);
      if (others === undefined) byPart.set(part, [place]);
      else if (others.at(-1) !== place) others.push(place);
    }
  });
  return { byName, byPart };
});

/** Place of the first entry of `variant` that acts on `name`, the very one in the text. */
export const placeNaming = ({ entries }: Pick<Variant, 'entries'>, name: Span): number | undefined =>
  placesIn(entries).byName.get(name);

/** The first entry of any code that acts on `name`, the very one in the text. */
export function entryNaming({ variants }: Ledger, name: Span): Entry | undefined {
  for (const variant of variants) {
    const place = placeNaming(variant, name);
    if (place !== undefined) return variant.entries[place];
  }
  return undefined;
}

const lastPlaces = noted(
  (entries: Variant['entries']): ReadonlyMap<Statement, number> =>
    new Map(entries.map(({ statement }, place) => [statement, place])),
);

/** Place of the last entry of `statement`; -1 where there is none. */
export const lastPlaceOf = ({ entries }: Pick<Variant, 'entries'>, statement: Statement): number =>
  lastPlaces(entries).get(statement) ?? -1;

/** Places of the entries of `variant` that act on `part`, in order. */
export const placesOn = ({ entries }: Pick<Variant, 'entries'>, part: string): readonly number[] =>
  placesIn(entries).byPart.get(part) ?? [];

const flows = noted((entries: Variant['entries']): ReadonlyMap<string, readonly number[]> => {
  const found = new Map<string, number[]>();
  entries.forEach(({ role, statement: { kind, name } }, place) => {
    if (role !== 'statement' || (kind !== 'drain' && kind !== 'fill') || name === undefined) return;
    const key = `${kind} ${name.text}`;
    addTo(found, key, place);
  });
  return found;
});
const nowhere: readonly number[] = [];

/** Places of the entries of `variant` that drain or fill `fluid`, in order. */
export const flowsOf = (
  { entries }: Pick<Variant, 'entries'>,
  kind: 'drain' | 'fill',
  fluid: string,
): readonly number[] => flows(entries).get(`${kind} ${fluid}`) ?? nowhere;

/** Where in `places`, which rise, those behind `place` begin. */
export const firstPast = (places: readonly number[], place: number): number =>
  countFirst(places, (each) => each <= place);
