import type { Ledger, Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import type { Raw } from './check.ts';
import { joinedInShort } from './wording.ts';

/** The variants of a ledger; codes that see the same procedure share what it did. */
function alikeIn({ variants }: Ledger): Iterable<readonly Variant[]> {
  if (variants.length === 1) return [variants];
  const alike = new Map<unknown, Variant[]>();
  for (const variant of variants) addTo(alike, variant.entries, variant);
  return alike.values();
}

/**
 * Judges each variant (one a code) and reports what several agree on once; what holds for some codes only says so.
 * Findings are the same when they stand at the same place about the same thing. `judge` must be no generator made anew for
 * each file: the engine keeps such a one, with all it sees, in its table of shapes until the next full garbage collection.
 */
export function* eachVariant(ledger: Ledger, judge: (variant: Variant) => Iterable<Raw>): Generator<Raw> {
  // Nearly every check finds nothing: room is made for the first finding only.
  let found: Map<string, { raw: Raw; variants: Set<Variant> }> | undefined;
  let chunkIds: Map<object, number> | undefined;
  for (const variants of alikeIn(ledger)) {
    let seen: Set<string> | undefined;
    for (const raw of judge(variants[0]!)) {
      chunkIds ??= new Map();
      found ??= new Map();
      seen ??= new Set();
      let id = chunkIds.get(raw.span.chunk);
      if (id === undefined) {
        id = chunkIds.size;
        chunkIds.set(raw.span.chunk, id);
      }
      const key = `${id}:${raw.span.start}:${raw.span.end}:${raw.data?.['subject'] ?? ''}`;
      if (seen.has(key)) continue;
      seen.add(key);
      const known = found.get(key);
      if (known === undefined) found.set(key, { raw, variants: new Set(variants) });
      // Told of once, with the figures of the code that comes first.
      else if (known.raw.message === raw.message) for (const each of variants) known.variants.add(each);
    }
  }
  if (found === undefined) return;
  for (const { raw, variants } of found.values()) {
    const { inSomeCodes, ...finding } = raw;
    if (variants.size === ledger.variants.length) yield finding;
    else {
      const codes = ledger.variants.filter((each) => variants.has(each)).map(({ code }) => code!);
      const message = inSomeCodes === undefined ? raw.message : raw.message.replace(/\.$/, `${inSomeCodes}.`);
      yield { ...finding, message: `for ${joinedInShort(codes)}: ${message}`, data: { ...raw.data, codes } };
    }
  }
}
