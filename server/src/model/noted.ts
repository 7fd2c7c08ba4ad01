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

  static add(of: object, key: number, value: unknown): void {
    if (!(#last in of)) new Notes(of);
    const notes = of as Notes;
    notes.#last = { key, value, earlier: notes.#last };
  }
}

/** A chain, as most objects have one or two notes: a list would have room for many. */
interface Note {
  readonly key: number;
  value: unknown;
  readonly earlier: Note | undefined;
}

let keys = 0;

/**
 * What is known of objects that live as long as one text, kept on them. A weak map that is old itself holds its values over
 * every small garbage collection, and with a value all that it leads to: trees and ledgers of files that nobody has in hand
 * any more would be copied twice and wait for the next full one.
 */
export class Beside<Of extends object, Value> {
  private readonly key = keys++;

  get(of: Of): Value | undefined {
    return this.note(of)?.value as Value | undefined;
  }
  set(of: Of, value: Value): void {
    const note = this.note(of);
    if (note === undefined) Notes.add(of, this.key, value);
    else note.value = value;
  }

  /** What is known of `before` is known of `now`, and of that one no longer. Gives it. */
  handOn(before: Of, now: Of): Value | undefined {
    const note = this.note(before);
    const value = note?.value as Value | undefined;
    if (note === undefined || value === undefined) return undefined;
    note.value = undefined;
    this.set(now, value);
    return value;
  }

  private note(of: Of): Note | undefined {
    let note = Notes.of(of);
    while (note !== undefined && note.key !== this.key) note = note.earlier;
    return note;
  }
}

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
