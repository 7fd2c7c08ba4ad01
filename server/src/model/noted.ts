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
  #values: unknown[] = [];

  static of(of: object): unknown[] {
    if (!(#values in of)) new Notes(of);
    return (of as Notes).#values;
  }
}

let keys = 0;

/** `reckon`, reckoned once for each object and kept on it. */
export function noted<Of extends object, Value extends object>(reckon: (of: Of) => Value): (of: Of) => Value {
  const key = keys++;
  return (of) => {
    const values = Notes.of(of);
    const known = values[key];
    if (known !== undefined) return known as Value;
    const value = reckon(of);
    values[key] = value;
    return value;
  };
}
