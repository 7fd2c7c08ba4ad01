const nothing: ReadonlyMap<string, never> = new Map<string, never>();
const nobody: readonly never[] = [];

/** A map that can go back to an earlier state; what a branch costs is what it changed. */
export class Journal<V> {
  readonly now = new Map<string, V>();
  private readonly log: { key: string; before: V | undefined }[] = [];

  get length(): number {
    return this.log.length;
  }

  /** What has been set since `settle` was last called, as it is now. */
  settle(): readonly (readonly [string, V])[] {
    if (this.log.length === 0) return nobody;
    const set = this.log.map(({ key }) => [key, this.now.get(key)!] as const);
    this.log.length = 0;
    return set;
  }

  set(key: string, value: V): void {
    this.log.push({ key, before: this.now.get(key) });
    this.now.set(key, value);
  }

  /** Goes back to when the journal had `length` lines; gives what had been set since. */
  rewind(length: number): ReadonlyMap<string, V> {
    if (this.log.length === length) return nothing;
    const undone = new Map<string, V>();
    while (this.log.length > length) {
      const { key, before } = this.log.pop()!;
      if (!undone.has(key)) undone.set(key, this.now.get(key)!);
      if (before === undefined) this.now.delete(key);
      else this.now.set(key, before);
    }
    return undone;
  }
}

/** A list that is filled again and again. What was put in is taken out as a list that is no longer than it needs to be. */
export class Batch<T> {
  private readonly items: T[] = [];
  private count = 0;

  get length(): number {
    return this.count;
  }

  at(index: number): T {
    return this.items[index]!;
  }

  add(item: T): void {
    this.items[this.count++] = item;
  }

  /** `alike` where that holds the same. */
  take(alike: readonly T[] = nobody): readonly T[] {
    const { items, count } = this;
    this.count = 0;
    let same = 0;
    while (same < count && items[same] === alike[same]) same++;
    if (same === count && same === alike.length) return alike;
    if (count === 0) return nobody;
    // What an earlier filling left behind the last item.
    if (items.length > count) items.length = count;
    return items.slice();
  }
}
