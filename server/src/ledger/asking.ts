import { Beside } from '../model/noted.ts';
import type { StepRecord, Variant } from './ledger.ts';

/** By name, the places in `records` of the steps that asked about it, each once. */
type Asking = Map<string, number[]>;

const known = new Beside<Variant, Asking>();
const nowhere: readonly number[] = [];

/** Places in `variant.records` of the steps that asked about `name`, in no order. */
export function stepsAsking(variant: Variant, name: string): readonly number[] {
  let asking = known.get(variant);
  if (asking === undefined) {
    asking = new Map();
    for (const [place, record] of variant.records.entries()) add(asking, record, place);
    known.set(variant, asking);
  }
  return asking.get(name) ?? nowhere;
}

/** Steps that an edit may replay: each is looked for in a list of all that ask the same, so that of more it is quicker to ask anew. */
const mostReplayed = 64;

/** What is known of `before` is known of `now`, and of that one no longer; only the steps at the places `replayed` differ. */
export function carryAsking(before: Variant, now: Variant, replayed: readonly number[]): void {
  const asking = known.get(before);
  if (asking === undefined || replayed.length > mostReplayed) return;
  known.delete(before);
  known.set(now, asking);
  for (const place of replayed) {
    for (const name of before.records[place]!.names) {
      const places = asking.get(name)!;
      if (places.length === 1) asking.delete(name);
      else places.splice(places.indexOf(place), 1);
    }
    add(asking, now.records[place]!, place);
  }
}

function add(asking: Asking, { names }: StepRecord, place: number): void {
  for (const name of names) {
    const places = asking.get(name);
    if (places === undefined) asking.set(name, [place]);
    else places.push(place);
  }
}
