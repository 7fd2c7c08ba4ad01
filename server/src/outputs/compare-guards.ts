import type { Item, StepInfo } from './compare-match.ts';

/** The safety messages that stand before an item in its step, as a number: the same for the same row of messages. */
export class Guards {
  private readonly identity: ReadonlyMap<Item, string>;
  private readonly rows = new Map<string, number>();
  private readonly known = new Map<StepInfo, readonly number[]>();

  /** `identity` is the same for a message and the one that it has become. */
  constructor(identity: ReadonlyMap<Item, string>) {
    this.identity = identity;
  }

  before({ step, index }: Item): number {
    let known = this.known.get(step);
    if (known === undefined) {
      known = this.rowsIn(step);
      this.known.set(step, known);
    }
    return known[index]!;
  }

  private rowsIn({ items }: StepInfo): number[] {
    let row = 0;
    return items.map((item) => {
      const before = row;
      if (item.key === 'safety') {
        const longer = `${row} ${this.identity.get(item) ?? `only ${item.whole}`}`;
        row = this.rows.get(longer) ?? this.rows.size + 1;
        this.rows.set(longer, row);
      }
      return before;
    });
  }
}
