import type { Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';

const relations = new Beside<Model['parts'], ReadonlyMap<string, readonly string[]>>();

/** By part, what it holds or covers, and what those carry. */
function coveredBy({ parts }: Model): ReadonlyMap<string, readonly string[]> {
  let found = relations.get(parts);
  if (found === undefined) {
    const table = new Map<string, string[]>();
    parts.forEach(({ heldBy, behind, carriedBy }, name) => {
      for (const { text } of [...heldBy, ...behind, ...(parts.get(carriedBy?.text ?? '')?.behind ?? [])])
        addTo(table, text, name);
    });
    found = table;
    relations.set(parts, found);
  }
  return found;
}

/** What `part`, or what it was swapped in for, holds or covers, and what holds or covers it. */
export function aroundIt(
  model: Model,
  { swaps }: Variant,
  part: string,
): { readonly covered: ReadonlySet<string>; readonly covers: ReadonlySet<string> } {
  const names = [part];
  swaps.forEach((now, old) => {
    if (now === part) names.push(old);
  });
  const today = (name: string): string[] => {
    const now = swaps.get(name);
    return now === undefined ? [name] : [name, now];
  };
  return {
    covered: new Set(names.flatMap((name) => coveredBy(model).get(name) ?? []).flatMap(today)),
    covers: new Set(
      names
        .map((name) => model.parts.get(name))
        .flatMap((each) => [...(each?.heldBy ?? []), ...(each?.behind ?? [])])
        .flatMap(({ text }) => today(text)),
    ),
  };
}
