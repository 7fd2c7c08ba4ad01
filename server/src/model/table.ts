import { replaced } from './replaced.ts';

/** Names that take the place of others. */
export interface Exchange {
  /** They stand side by side. */
  readonly outgoing: readonly string[];
  /** None of them stands elsewhere. */
  readonly incoming: readonly string[];
  /** Where none go, the name in front of which the incoming stand; without one, at the end. */
  readonly next: string | undefined;
}

/**
 * A map by names that never changes. To make one with another entry, or a few other names, copies lists: to copy a `Map`
 * takes a hundred times as long, since it asks for the hash of every name again.
 */
export class Table<Value> implements ReadonlyMap<string, Value> {
  /** A number for each name. Shared by all that are made of one another, and so has names that some of them do not list. */
  readonly #numbers: Map<string, number>;
  /** Where the name with each number stands; −1, or nothing, where it does not. */
  readonly #places: Int32Array;
  readonly #names: readonly string[];
  readonly #entries: readonly Value[];

  private constructor(
    numbers: Map<string, number>,
    places: Int32Array,
    names: readonly string[],
    entries: readonly Value[],
  ) {
    this.#numbers = numbers;
    this.#places = places;
    this.#names = names;
    this.#entries = entries;
  }

  static from<Value>(entries: Iterable<readonly [name: string, entry: Value]>): Table<Value> {
    const numbers = new Map<string, number>();
    const listed: Value[] = [];
    for (const [name, entry] of entries) {
      const place = numbers.get(name);
      if (place === undefined) {
        numbers.set(name, listed.length);
        listed.push(entry);
      } else listed[place] = entry;
    }
    return new Table(numbers, Int32Array.from(listed.keys()), [...numbers.keys()], listed);
  }

  /** The same with other `entries` for some of its names, which all stand in it. */
  with(entries: ReadonlyMap<string, Value>): Table<Value> {
    const now = this.#entries.slice();
    for (const [name, entry] of entries) now[this.#placeOf(name)] = entry;
    return new Table(this.#numbers, this.#places, this.#names, now);
  }

  /** The same with the names of an exchange, and their entries in the same order. */
  exchanged({ outgoing, incoming, next }: Exchange, entries: readonly Value[]): Table<Value> {
    const first = outgoing[0] ?? next;
    const from = first === undefined ? this.size : this.#placeOf(first);
    const to = from + outgoing.length;
    const names = replaced(this.#names, from, to, incoming);
    const listed = replaced(this.#entries, from, to, entries);
    const numbers = this.#numbers;
    // Letter by letter a name is many that nobody has any more.
    if (numbers.size > 2 * names.length + fewNames)
      return Table.from(names.map((name, place) => [name, listed[place]!] as const));
    for (const name of incoming) if (!numbers.has(name)) numbers.set(name, numbers.size);
    const places = new Int32Array(numbers.size).fill(-1);
    const moved = incoming.length - outgoing.length;
    for (let number = 0; number < this.#places.length; number++) {
      const place = this.#places[number]!;
      if (place < from) places[number] = place;
      else if (place >= to) places[number] = place + moved;
    }
    for (const [i, name] of incoming.entries()) places[numbers.get(name)!] = from + i;
    return new Table(numbers, places, names, listed);
  }

  #placeOf(name: string): number {
    const number = this.#numbers.get(name);
    return number === undefined ? -1 : (this.#places[number] ?? -1);
  }

  get size(): number {
    return this.#names.length;
  }
  get(name: string): Value | undefined {
    const place = this.#placeOf(name);
    return place < 0 ? undefined : this.#entries[place];
  }
  has(name: string): boolean {
    return this.#placeOf(name) >= 0;
  }
  forEach(tell: (entry: Value, name: string, table: ReadonlyMap<string, Value>) => void): void {
    for (const [place, name] of this.#names.entries()) tell(this.#entries[place]!, name, this);
  }
  keys(): ArrayIterator<string> {
    return this.#names.values();
  }
  values(): ArrayIterator<Value> {
    return this.#entries.values();
  }
  *entries(): Generator<[string, Value], undefined> {
    for (const [place, name] of this.#names.entries()) yield [name, this.#entries[place]!];
  }
  [Symbol.iterator](): Generator<[string, Value], undefined> {
    return this.entries();
  }
}

/** So many names that nobody has any more are kept beside any number of others. */
const fewNames = 64;
