import type { Name, Statement } from '../../../grammar/syntax.ts';
import { namesChanged } from '../model/amended.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';

type Parts = Model['parts'];

interface Kept<Value> {
  parts: Parts;
  /** Looked for when an edit first asks. */
  names: ReadonlySet<string | undefined> | undefined;
  readonly value: Value;
}

/**
 * What `reckon` tells of a list of statements and of how the parts that `namesIn` finds in each are declared: kept on the list
 * as long as they are declared so, whatever an edit does to others.
 */
export function keptAsDeclared<Value>(
  namesIn: (statement: Statement) => readonly (Name | undefined)[],
  reckon: (statements: readonly Statement[], parts: Parts) => Value,
): (statements: readonly Statement[], parts: Parts) => Value {
  const known = new Beside<readonly Statement[], Kept<Value>>();
  return (statements, parts) => {
    const kept = known.get(statements);
    if (kept?.parts === parts) return kept.value;
    if (kept !== undefined) {
      kept.names ??= new Set(statements.flatMap((statement) => namesIn(statement).map((name) => name?.text)));
      const { names } = kept;
      if (!namesChanged(kept.parts, parts).some((name) => names.has(name))) {
        // An edit is told from the one before it at a glance, from an earlier one by going over all parts.
        kept.parts = parts;
        return kept.value;
      }
    }
    const value = reckon(statements, parts);
    known.set(statements, { parts, names: undefined, value });
    return value;
  };
}
