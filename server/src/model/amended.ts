import { Beside } from './noted.ts';
import { type Exchange, Table } from './table.ts';

type Named = ReadonlyMap<string, unknown>;

/** Stands for a table, and leads to no entry of it: to keep the one before would be to keep all that came before it. */
interface Token {
  /** Names that were picked of it. */
  readonly picked: Map<Picker, readonly string[]>;
}
type Picker = (entry: never) => boolean;
const tokens = new Beside<Named, Token>();

interface Amendment {
  readonly of: Token;
  /** Those whose entries are others, or that stand in one of the two only. */
  readonly names: readonly string[];
  /** Absent where both list the same names in the same order. */
  readonly exchange?: Exchange;
}
const amendments = new Beside<Named, Amendment>();

/** `table` with other `entries` for some of its names, which all stand in it. */
export function amended<Value>(
  table: ReadonlyMap<string, Value>,
  entries: ReadonlyMap<string, Value>,
): ReadonlyMap<string, Value> {
  const now = tableOf(table).with(entries);
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
  const { outgoing, incoming } = exchange;
  const renamed = tableOf(table).exchanged(exchange, incoming.map(entryOf));
  const now = others.size === 0 ? renamed : renamed.with(others);
  const names = outgoing.filter((name) => !now.has(name));
  for (const name of incoming) if (table.get(name) !== now.get(name)) names.push(name);
  for (const [name, entry] of others) if (table.get(name) !== entry) names.push(name);
  amendments.set(now, { of: tokenOf(table), names, exchange });
  return now;
}

const tableOf = <Value>(map: ReadonlyMap<string, Value>): Table<Value> =>
  map instanceof Table ? map : Table.from(map);

/** The exchange of names by which `now` was made of `before`. */
export const exchangeBetween = (before: Named, now: Named): Exchange | undefined => amendmentOf(before, now)?.exchange;

function tokenOf(table: Named): Token {
  let token = tokens.get(table);
  if (token === undefined) {
    token = { picked: new Map() };
    tokens.set(table, token);
  }
  return token;
}

/** Names whose entries in `now` are others than in `before`, or that are in one of the two only. */
export const namesChanged = (before: Named, now: Named): readonly string[] =>
  before === now ? none : (amendmentOf(before, now)?.names ?? namesDiffering(before, now));

/** The same where `now` is `before`, or was made of it by {@link amended}: both list the same names in the same order. Else nothing. */
export function namesAmended(before: Named, now: Named): readonly string[] | undefined {
  if (before === now) return none;
  const known = amendmentOf(before, now);
  return known?.exchange === undefined ? known?.names : undefined;
}
const none: readonly string[] = [];

function amendmentOf(before: Named, now: Named): Amendment | undefined {
  const known = amendments.get(now);
  return known !== undefined && known.of === tokens.get(before) ? known : undefined;
}

function namesDiffering(before: Named, now: Named): string[] {
  const names: string[] = [];
  for (const [name, value] of before) if (now.get(name) !== value) names.push(name);
  for (const name of now.keys()) if (!before.has(name)) names.push(name);
  return names;
}

/**
 * Names whose entries `pick` takes, in the order of `table`. What it takes is kept under it, over edits, too: let it be the same
 * function each time, and ask of nothing but the entry.
 */
export function namesWhere<Value>(
  table: ReadonlyMap<string, Value>,
  pick: (entry: Value) => boolean,
): readonly string[] {
  const { picked } = tokenOf(table);
  let names = picked.get(pick);
  if (names === undefined) {
    names = pickedBefore(table, pick) ?? pickedAnew(table, pick);
    picked.set(pick, names);
  }
  return names;
}

/**
 * What `reckon` tells of the names of a table. Of one that came of an edit it is kept, and `revise` makes it of what is known of
 * the one before, which it may change, and of the names that went and that came; where it gives nothing, it is reckoned anew.
 */
export function carriedByNames<Value extends object>(
  reckon: (names: Named) => Value,
  revise: (known: Value, outgoing: readonly string[], incoming: readonly string[]) => Value | undefined,
): (table: Named) => Value {
  const known = new Beside<Token, Value>();
  return (table) => {
    const amendment = amendments.get(table);
    if (amendment === undefined) return reckon(table);
    const token = tokenOf(table);
    let value = known.get(token);
    if (value === undefined) {
      const before = known.handOn(amendment.of, token);
      const { outgoing = none, incoming = none } = amendment.exchange ?? {};
      value = (before && revise(before, outgoing, incoming)) ?? reckon(table);
      known.set(token, value);
    }
    return value;
  };
}

/** What was picked before the amendment, where that bears on none of it. */
function pickedBefore<Value>(
  table: ReadonlyMap<string, Value>,
  pick: (entry: Value) => boolean,
): readonly string[] | undefined {
  const amendment = amendments.get(table);
  const before = amendment?.of.picked.get(pick);
  const bears = (name: string): boolean => {
    const entry = table.get(name);
    return before!.includes(name) || (entry !== undefined && pick(entry));
  };
  return before === undefined || amendment!.names.some(bears) ? undefined : before;
}

function pickedAnew<Value>(table: ReadonlyMap<string, Value>, pick: (entry: Value) => boolean): readonly string[] {
  const names: string[] = [];
  table.forEach((entry, name) => {
    if (pick(entry)) names.push(name);
  });
  return names;
}
