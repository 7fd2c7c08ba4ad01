import type { Name, Statement } from '../../../grammar/syntax.ts';
import { namesChanged } from '../model/amended.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';

type Parts = Model['parts'];

/**
 * What `reckon` tells of a list of statements and of how the parts that `namesIn` finds in each are declared: kept on the list
 * as long as they are declared so, whatever an edit does to others.
 */
export function keptAsDeclared<Value>(
  namesIn: (statement: Statement) => readonly (Name | undefined)[],
  reckon: (statements: readonly Statement[], parts: Parts) => Value,
): (statements: readonly Statement[], parts: Parts) => Value {
  const known = new Beside<
    readonly Statement[],
    { parts: Parts; readonly names: ReadonlySet<string>; readonly value: Value }
  >();
  return (statements, parts) => {
    const kept = known.get(statements);
    if (kept !== undefined && !namesChanged(kept.parts, parts).some((name) => kept.names.has(name))) {
      // An edit is told from the one before it at a glance, from an earlier one by going over all parts.
      kept.parts = parts;
      return kept.value;
    }
    const names = new Set<string>();
    for (const statement of statements)
      for (const name of namesIn(statement)) if (name !== undefined) names.add(name.text);
    const value = reckon(statements, parts);
    known.set(statements, { parts, names, value });
    return value;
  };
}
