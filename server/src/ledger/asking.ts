import type { Changed } from '../model/changed-chunks.ts';
import { mostChanged, NameIndex } from '../model/name-index.ts';
import { Beside } from '../model/noted.ts';
import type { StepRecord, Variant } from './ledger.ts';

const known = new Beside<Variant, NameIndex<StepRecord>>();

/** Places in `variant.records` of the steps that asked about `name`, in no order. */
export function stepsAsking(variant: Variant, name: string): readonly number[] {
  let index = known.get(variant);
  if (index === undefined) {
    index = new NameIndex(eachName, variant.records);
    known.set(variant, index);
  }
  return index.placesOf(name);
}

/**
 * What is known of `before` is known of `now`, and of that one no longer. Only the steps at the places `replayed` differ, where
 * those that came or went have places, too.
 */
export function carryAsking(before: Variant, now: Variant, replayed: readonly number[], { to, until }: Changed): void {
  if (replayed.length > mostChanged) return;
  const index = known.handOn(before, now);
  if (index === undefined) return;
  const [came, went] = [Math.max(0, until - to), Math.max(0, to - until)];
  for (const place of replayed) {
    if (place < to) index.takeOut(before.records[place]!, place);
    else if (place >= to + came) index.takeOut(before.records[place - came]!, place - came);
  }
  index.shift(to, until - to);
  for (const place of replayed) {
    if (place < until) index.add(now.records[place]!, place);
    else if (place >= until + went) index.add(now.records[place - went]!, place - went);
  }
}

function eachName({ names }: StepRecord, tell: (name: string) => void): void {
  names.forEach(tell);
}
