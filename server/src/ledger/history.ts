import { countFirst } from '../../../grammar/sorted.ts';
import { addTo } from '../model/grouped.ts';
import { noted } from '../model/noted.ts';
import type { Variant } from './records.ts';
import type { PartState } from './state.ts';

/** The state of `part` before the entry at `index` (after it, with `index + 1`). */
export function stateBefore(variant: Variant, part: string, index: number): PartState | undefined {
  const history = historyOf(variant.entries).get(part);
  if (history === undefined) return variant.initial.get(part);
  const last = history[countFirst(history, (change) => change.index < index) - 1];
  return last === undefined ? variant.initial.get(part) : last.after;
}

interface Moment {
  readonly index: number;
  readonly after: PartState;
}

/** By part, where it came to in each entry that changed it. */
const historyOf = noted((entries: Variant['entries']): ReadonlyMap<string, readonly Moment[]> => {
  const history = new Map<string, Moment[]>();
  for (const [index, { changes }] of entries.entries())
    for (const { part, after } of changes) addTo(history, part, { index, after });
  return history;
});
