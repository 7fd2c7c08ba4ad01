import type { Model } from '../model/model.ts';
import { stateBefore } from './history.ts';
import { coversOf, holdersOf } from './obstacles.ts';
import type { Blocker, Variant } from './records.ts';
import { Unit } from './unit.ts';

export interface Obstacles {
  /** What holds `part` and is on. */
  readonly holdersOf: (part: string) => readonly Blocker[];
  /** What `part` sits behind and is on. */
  readonly coversOf: (part: string) => readonly Blocker[];
}

const nobody: ReadonlySet<string> = new Set();

/** What is in the way before the entry at `index`. */
export function obstaclesAt(model: Model, variant: Variant, index: number): Obstacles {
  const unit = new Unit(model);
  unit.seat();
  unit.fetch = (part) => stateBefore(variant, part, index);
  let from = 0;
  for (const record of variant.records) {
    const { entries, aside } = record;
    if (from + entries.length <= index) unit.take(record);
    else {
      for (const name of aside.doubted) unit.unsure.add(name);
      for (const { actions } of entries.slice(0, index - from))
        for (const [i, { verb, part }] of actions.entries()) {
          const into = verb === 'swap-out' ? actions[i + 1]?.part : undefined;
          if (into === undefined) continue;
          unit.swaps.set(part, into);
          unit.swappedFor.set(into, [...(unit.swappedFor.now.get(into) ?? []), part]);
        }
      break;
    }
    from += entries.length;
  }
  return {
    holdersOf: (part) => holdersOf(unit, part, nobody),
    coversOf: (part) => coversOf(unit, part, nobody, part),
  };
}
