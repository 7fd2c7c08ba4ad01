/**
 * A map by names that never changes. To make one with another entry copies a list, as both share where each name stands: to
 * copy a `Map` takes a hundred times as long, since it asks for the hash of every name again.
 */
export class Table<Value> implements ReadonlyMap<string, Value> {
  readonly #places: ReadonlyMap<string, number>;
  readonly #entries: readonly Value[];

  private constructor(places: ReadonlyMap<string, number>, entries: readonly Value[]) {
    this.#places = places;
    this.#entries = entries;
  }

  static from<Value>(entries: Iterable<readonly [name: string, entry: Value]>): Table<Value> {
    const places = new Map<string, number>();
    const listed: Value[] = [];
    for (const [name, entry] of entries) {
      const place = places.get(name);
      if (place === undefined) {
        places.set(name, listed.length);
        listed.push(entry);
      } else listed[place] = entry;
    }
    return new Table(places, listed);
  }

  /** The same with other `entries` for some of its names, which all stand in it. */
  with(entries: ReadonlyMap<string, Value>): Table<Value> {
    const now = this.#entries.slice();
    for (const [name, entry] of entries) now[this.#places.get(name)!] = entry;
    return new Table(this.#places, now);
  }

  get size(): number {
    return this.#entries.length;
  }
  get(name: string): Value | undefined {
    const place = this.#places.get(name);
    return place === undefined ? undefined : this.#entries[place];
  }
  has(name: string): boolean {
    return this.#places.has(name);
  }
  forEach(tell: (entry: Value, name: string, table: ReadonlyMap<string, Value>) => void): void {
    let place = 0;
    for (const name of this.#places.keys()) tell(this.#entries[place++]!, name, this);
  }
  keys(): MapIterator<string> {
    return this.#places.keys();
  }
  values(): ArrayIterator<Value> {
    return this.#entries.values();
  }
  *entries(): Generator<[string, Value], undefined> {
    let place = 0;
    for (const name of this.#places.keys()) yield [name, this.#entries[place++]!];
  }
  [Symbol.iterator](): Generator<[string, Value], undefined> {
    return this.entries();
  }
}
