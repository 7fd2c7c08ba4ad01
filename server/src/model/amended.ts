import { Beside } from './noted.ts';

type Table = ReadonlyMap<string, unknown>;

/** Stands for a table, and leads nowhere: to keep the one before would be to keep all that came before it. */
type Token = object;
const tokens = new Beside<Table, Token>();
interface Amendment {
  readonly of: Token;
  /** Those whose entries are others, or that stand in one of the two only. */
  readonly names: readonly string[];
  /** Both list the same names in the same order. */
  readonly inPlace: boolean;
}
const amendments = new Beside<Table, Amendment>();

/** `table` with other `entries` for some of its names, which all stand in it. */
export function amended<Value>(
  table: ReadonlyMap<string, Value>,
  entries: ReadonlyMap<string, Value>,
): ReadonlyMap<string, Value> {
  const now = new Map(table);
  for (const [name, value] of entries) now.set(name, value);
  amendments.set(now, { of: tokenOf(table), names: [...entries.keys()], inPlace: true });
  return now;
}

/**
 * `table` with `entries` in the place of those called `outgoing`, which stand side by side in it; where none go, in front of
 * the one called `next`, or at the end. No name comes twice.
 */
export function retabled<Value>(
  table: ReadonlyMap<string, Value>,
  outgoing: readonly string[],
  entries: readonly (readonly [name: string, value: Value])[],
  next?: string,
): ReadonlyMap<string, Value> {
  const now = new Map<string, Value>();
  const place = outgoing[0] ?? next;
  const gone = new Set(outgoing);
  for (const [name, value] of table) {
    if (name === place) for (const [incoming, its] of entries) now.set(incoming, its);
    if (!gone.has(name)) now.set(name, value);
  }
  if (place === undefined) for (const [incoming, its] of entries) now.set(incoming, its);
  const names = [...gone].filter((name) => !now.has(name));
  for (const [name, value] of entries) if (table.get(name) !== value) names.push(name);
  amendments.set(now, { of: tokenOf(table), names, inPlace: false });
  return now;
}

function tokenOf(table: Table): Token {
  let token = tokens.get(table);
  if (token === undefined) {
    token = {};
    tokens.set(table, token);
  }
  return token;
}

/** Names whose entries in `now` are others than in `before`, or that are in one of the two only. */
export const namesChanged = (before: Table, now: Table): readonly string[] =>
  before === now ? none : (amendmentOf(before, now)?.names ?? namesDiffering(before, now));

/** The same where `now` is `before`, or was made of it by {@link amended}: both list the same names in the same order. Else nothing. */
export function namesAmended(before: Table, now: Table): readonly string[] | undefined {
  if (before === now) return none;
  const known = amendmentOf(before, now);
  return known?.inPlace ? known.names : undefined;
}
const none: readonly string[] = [];

function amendmentOf(before: Table, now: Table): Amendment | undefined {
  const known = amendments.get(now);
  return known !== undefined && known.of === tokens.get(before) ? known : undefined;
}

function namesDiffering(before: Table, now: Table): string[] {
  const names: string[] = [];
  for (const [name, value] of before) if (now.get(name) !== value) names.push(name);
  for (const name of now.keys()) if (!before.has(name)) names.push(name);
  return names;
}
