import type { Variant } from '../ledger/ledger.ts';
import { noted } from '../model/noted.ts';
import { firstPast } from './entries.ts';

interface Scrapped {
  /** Last entry that puts old pieces back. */
  readonly lastBack: number;
  /** Entries that scrap some, in order, and how many they and those before them did. */
  readonly places: readonly number[];
  readonly sums: readonly number[];
}

const scrapped = noted((entries: Variant['entries']): ReadonlyMap<string, Scrapped> => {
  const found = new Map<string, { lastBack: number; places: number[]; sums: number[] }>();
  const of = (part: string): { lastBack: number; places: number[]; sums: number[] } => {
    const known = found.get(part) ?? { lastBack: -1, places: [], sums: [] };
    found.set(part, known);
    return known;
  };
  entries.forEach(({ actions }, place) => {
    for (const { part, verb, fresh, acted, before } of actions) {
      if (verb === 'fit' && !fresh && acted > before.fresh) of(part).lastBack = place;
      if (verb !== 'discard' && verb !== 'replace' && verb !== 'swap-out') continue;
      const { places, sums } = of(part);
      places.push(place);
      sums.push((sums.at(-1) ?? 0) + acted);
    }
  });
  return found;
});

/** Whether, behind the entry at `place`, at least `count` pieces of `part` go to scrap, and none goes back. */
export function goesToScrap({ entries }: Variant, part: string, place: number, count: number): boolean {
  const known = scrapped(entries).get(part);
  if (known === undefined || known.lastBack > place) return false;
  const before = known.sums[firstPast(known.places, place) - 1] ?? 0;
  return (known.sums.at(-1) ?? 0) - before >= count;
}
