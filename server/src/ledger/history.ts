import { Beside } from '../model/noted.ts';
import type { Variant } from './records.ts';
import type { PartState } from './state.ts';

/** The state of `part` before the entry at `index` (after it, with `index + 1`). */
export function stateBefore(variant: Variant, part: string, index: number): PartState | undefined {
  const history = historyOf(variant).get(part);
  if (history === undefined) return variant.initial.get(part);
  let low = 0;
  let high = history.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (history[middle]!.index < index) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? variant.initial.get(part) : history[low - 1]!.after;
}

const histories = new Beside<Variant['entries'], Map<string, { index: number; after: PartState }[]>>();
function historyOf(variant: Variant): Map<string, { index: number; after: PartState }[]> {
  let history = histories.get(variant.entries);
  if (history === undefined) {
    history = new Map();
    for (const [index, { changes }] of variant.entries.entries()) {
      for (const { part, after } of changes) {
        const list = history.get(part);
        if (list === undefined) history.set(part, [{ index, after }]);
        else list.push({ index, after });
      }
    }
    histories.set(variant.entries, history);
  }
  return history;
}
