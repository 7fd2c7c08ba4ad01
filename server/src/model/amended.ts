import { Beside } from './noted.ts';

type Table = ReadonlyMap<string, unknown>;

/** Stands for a table, and leads nowhere: to keep the one before would be to keep all that came before it. */
type Token = object;
const tokens = new Beside<Table, Token>();
const amendments = new Beside<Table, { readonly of: Token; readonly names: readonly string[] }>();

/** `table` with other `entries` for some of its names, which all stand in it. */
export function amended<Value>(
  table: ReadonlyMap<string, Value>,
  entries: ReadonlyMap<string, Value>,
): ReadonlyMap<string, Value> {
  const now = new Map(table);
  for (const [name, value] of entries) now.set(name, value);
  let of = tokens.get(table);
  if (of === undefined) {
    of = {};
    tokens.set(table, of);
  }
  amendments.set(now, { of, names: [...entries.keys()] });
  return now;
}

/** Names whose entries in `now` are others than in `before`, or that are in one of the two only. */
export const namesChanged = (before: Table, now: Table): readonly string[] =>
  namesAmended(before, now) ?? namesDiffering(before, now);

/** The same where `now` is `before`, or was made of it by {@link amended}: both list the same names in the same order. Else nothing. */
export function namesAmended(before: Table, now: Table): readonly string[] | undefined {
  if (before === now) return none;
  const known = amendments.get(now);
  return known !== undefined && known.of === tokens.get(before) ? known.names : undefined;
}
const none: readonly string[] = [];

function namesDiffering(before: Table, now: Table): string[] {
  const names: string[] = [];
  for (const [name, value] of before) if (now.get(name) !== value) names.push(name);
  for (const name of now.keys()) if (!before.has(name)) names.push(name);
  return names;
}
