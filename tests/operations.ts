/** Runs `work` and counts what it does to maps, sets and arrays: one for each look-up, one for each element gone through. */
export function operations(work: () => void): number {
  let count = 0;
  const undo: (() => void)[] = [];
  const watch = (
    owner: object,
    key: string | symbol,
    cost: (target: { size?: number; length?: number }) => number,
  ): void => {
    const descriptor = Object.getOwnPropertyDescriptor(owner, key)!;
    const original = descriptor.value as (...args: unknown[]) => unknown;
    undo.push(() => Object.defineProperty(owner, key, descriptor));
    Object.defineProperty(owner, key, {
      ...descriptor,
      value(this: { size?: number; length?: number }, ...args: unknown[]) {
        count += cost(this);
        return original.apply(this, args);
      },
    });
  };
  const one = (): number => 1;
  const size = (target: { size?: number }): number => target.size ?? 0;
  const length = (target: { length?: number }): number => target.length ?? 0;
  for (const key of ['get', 'set', 'has', 'delete']) watch(Map.prototype, key, one);
  for (const key of ['add', 'has', 'delete']) watch(Set.prototype, key, one);
  for (const key of [Symbol.iterator, 'keys', 'values', 'entries', 'forEach']) watch(Map.prototype, key, size);
  for (const key of [Symbol.iterator, 'forEach']) watch(Set.prototype, key, size);
  watch(Array.prototype, 'push', one);
  const through = [
    'map',
    'filter',
    'find',
    'findIndex',
    'findLast',
    'some',
    'every',
    'reduce',
    'slice',
    'flatMap',
    'includes',
  ];
  for (const key of [...through, 'indexOf', 'concat', 'forEach', Symbol.iterator]) watch(Array.prototype, key, length);
  try {
    work();
  } finally {
    for (const back of undo) back();
  }
  return count;
}
