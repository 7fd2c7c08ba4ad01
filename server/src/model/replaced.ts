/** `list` with `items` for those from `from` to `to`. `toSpliced` breaks off where items are more than the engine's stack has room for. */
export const replaced = <T>(list: readonly T[], from: number, to: number, items: readonly T[]): T[] =>
  list.slice(0, from).concat(items, list.slice(to));
