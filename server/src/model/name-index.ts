/** By name, the places in a list of the items that name it. Items tell their names by `eachName`, and may tell one again. */
export class NameIndex<Item> {
  private readonly byName = new Map<string, number[]>();
  private readonly eachName: (item: Item, tell: (name: string) => void) => void;

  constructor(eachName: (item: Item, tell: (name: string) => void) => void, items: readonly Item[]) {
    this.eachName = eachName;
    for (const [place, item] of items.entries()) this.add(item, place);
  }

  /** Each place once, in no order. */
  placesOf(name: string): readonly number[] {
    return this.byName.get(name) ?? nowhere;
  }

  add(item: Item, place: number): void {
    this.eachName(item, (name) => {
      const places = this.byName.get(name);
      if (places === undefined) this.byName.set(name, [place]);
      // Places are added one item after the other.
      else if (places.at(-1) !== place) places.push(place);
    });
  }

  takeOut(item: Item, place: number): void {
    this.eachName(item, (name) => {
      const places = this.byName.get(name);
      const at = places?.indexOf(place) ?? -1;
      if (at < 0) return;
      if (places!.length === 1) this.byName.delete(name);
      else places!.splice(at, 1);
    });
  }

  /** The items that stood at `from` and behind it stand `by` places further on. */
  shift(from: number, by: number): void {
    if (by === 0) return;
    for (const places of this.byName.values())
      for (let i = 0; i < places.length; i++) if (places[i]! >= from) places[i]! += by;
  }
}
const nowhere: readonly number[] = [];

/** Items that an edit may change: each is looked for in a list of all that name the same, so that of more it is quicker to look anew. */
export const mostChanged = 64;
