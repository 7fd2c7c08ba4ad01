/** Gives back the object it is handed, so that a derived class puts its private fields on it. */
const onto = class {
  constructor(of: object) {
    // biome-ignore lint/correctness/noConstructorReturn: the object that exists is the one to put notes on
    return of;
  }
} as new (
  of: object,
) => object;

/**
 * Notes on an object that no copy, comparison or listing of it sees. Ten thousands of entries in a weak map would slow
 * every garbage collection; a private field costs as much as any other.
 */
class Notes extends onto {
  #last: Note | undefined = undefined;

  static of(of: object): Note | undefined {
    return #last in of ? (of as Notes).#last : undefined;
  }

  static add(of: object, key: number, value: object): void {
    if (!(#last in of)) new Notes(of);
    const notes = of as Notes;
    notes.#last = { key, value, earlier: notes.#last };
  }
}

/** A chain, as most objects have one or two notes: a list would have room for many. */
interface Note {
  readonly key: number;
  readonly value: object;
  readonly earlier: Note | undefined;
}

let keys = 0;

/** `reckon`, reckoned once for each object and kept on it. */
export function noted<Of extends object, Value extends object>(reckon: (of: Of) => Value): (of: Of) => Value {
  const key = keys++;
  return (of) => {
    for (let note = Notes.of(of); note !== undefined; note = note.earlier)
      if (note.key === key) return note.value as Value;
    const value = reckon(of);
    Notes.add(of, key, value);
    return value;
  };
}
