import { Beside } from './noted.ts';

type Table = ReadonlyMap<string, unknown>;

/** Stands for a table, and leads nowhere: to keep the one before would be to keep all that came before it. */
type Token = object;
const tokens = new Beside<Table, Token>();
/** Names in the place of others. */
interface Exchange {
  /** They stand side by side. */
  readonly outgoing: readonly string[];
  readonly incoming: readonly string[];
  /** Where none go, the name in front of which the incoming stand; without one, at the end. */
  readonly next: string | undefined;
}

interface Amendment {
  readonly of: Token;
  /** Those whose entries are others, or that stand in one of the two only. */
  readonly names: readonly string[];
  /** Absent where both list the same names in the same order. */
  readonly exchange?: Exchange;
}
const amendments = new Beside<Table, Amendment>();

/** `table` with other `entries` for some of its names, which all stand in it. */
export function amended<Value>(
  table: ReadonlyMap<string, Value>,
  entries: ReadonlyMap<string, Value>,
): ReadonlyMap<string, Value> {
  const now = new Map(table);
  for (const [name, value] of entries) now.set(name, value);
  amendments.set(now, { of: tokenOf(table), names: [...entries.keys()] });
  return now;
}

/** `table` with the names of `exchange`, and other entries for those in `others`, which all stay; `entryOf` gives those of incoming names. */
export function exchanged<Value>(
  table: ReadonlyMap<string, Value>,
  exchange: Exchange,
  entryOf: (name: string) => Value,
  others: ReadonlyMap<string, Value> = new Map(),
): ReadonlyMap<string, Value> {
  const { outgoing, incoming, next } = exchange;
  const now = new Map<string, Value>();
  const place = outgoing[0] ?? next;
  const gone = new Set(outgoing);
  const putIn = (): void => {
    for (const name of incoming) now.set(name, entryOf(name));
  };
  for (const [name, value] of table) {
    if (name === place) putIn();
    if (!gone.has(name)) now.set(name, value);
  }
  if (place === undefined) putIn();
  for (const [name, value] of others) now.set(name, value);
  const names = outgoing.filter((name) => !now.has(name));
  for (const name of [...incoming, ...others.keys()]) if (table.get(name) !== now.get(name)) names.push(name);
  amendments.set(now, { of: tokenOf(table), names, exchange });
  return now;
}

/** The exchange of names by which `now` was made of `before`. */
export const exchangeBetween = (before: Table, now: Table): Exchange | undefined => amendmentOf(before, now)?.exchange;

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
  return known?.exchange === undefined ? known?.names : undefined;
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
