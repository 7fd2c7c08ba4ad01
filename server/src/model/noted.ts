/**
 * `reckon`, reckoned once for each object and kept on it, where nothing but garbage collection can see it: ten thousands of
 * entries in a weak map would slow every collection.
 */
export function noted<Of extends object, Value extends object>(reckon: (of: Of) => Value): (of: Of) => Value {
  const key = Symbol('noted');
  return (of) => {
    const known = (of as { [key]?: Value })[key];
    if (known !== undefined) return known;
    const value = reckon(of);
    // Not enumerable: a copy of the object is another one, and comparisons do not see it.
    Object.defineProperty(of, key, { value });
    return value;
  };
}
