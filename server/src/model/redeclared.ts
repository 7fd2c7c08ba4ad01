import { Beside } from './noted.ts';

type Table = ReadonlyMap<string, unknown>;

/** Stands for a table, and leads nowhere: to name the one before by itself would keep all that came before it. */
type Token = object;
const tokens = new Beside<Table, Token>();
const edits = new Beside<Table, { readonly of: Token; readonly names: readonly string[] }>();

/** `table` with other meanings for some of its names. */
export function redeclaring<Meaning>(
  table: ReadonlyMap<string, Meaning>,
  meanings: ReadonlyMap<string, Meaning>,
): ReadonlyMap<string, Meaning> {
  const now = new Map(table);
  for (const [name, meaning] of meanings) now.set(name, meaning);
  let of = tokens.get(table);
  if (of === undefined) {
    of = {};
    tokens.set(table, of);
  }
  edits.set(now, { of, names: [...meanings.keys()] });
  return now;
}

/** Names that mean something else in `now` than in `before`, or are in one of the two only. */
export function redeclared(before: Table, now: Table): readonly string[] {
  if (before === now) return [];
  return redeclaredInPlace(before, now) ?? changed(before, now);
}

/** The same where `now` was made of `before` by `redeclaring`: both list the same names in the same order. */
export function redeclaredInPlace(before: Table, now: Table): readonly string[] | undefined {
  if (before === now) return [];
  const edit = edits.get(now);
  return edit !== undefined && edit.of === tokens.get(before) ? edit.names : undefined;
}

function changed(before: Table, now: Table): string[] {
  const names: string[] = [];
  for (const [name, meaning] of before) if (now.get(name) !== meaning) names.push(name);
  for (const name of now.keys()) if (!before.has(name)) names.push(name);
  return names;
}
