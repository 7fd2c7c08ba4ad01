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

/** What is known of `before` is known of `now`, and of that one no longer; only the steps at the places `replayed` differ. */
export function carryAsking(before: Variant, now: Variant, replayed: readonly number[]): void {
  if (replayed.length > mostChanged) return;
  const index = known.handOn(before, now);
  if (index === undefined) return;
  for (const place of replayed) {
    index.takeOut(before.records[place]!, place);
    index.add(now.records[place]!, place);
  }
}

function eachName({ names }: StepRecord, tell: (name: string) => void): void {
  names.forEach(tell);
}
