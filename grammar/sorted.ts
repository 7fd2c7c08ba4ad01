/** How many of `items` are as asked: all that are stand in front of all others. There may be thousands, and few are looked at. */
export function countFirst<T>(items: readonly T[], isAsAsked: (item: T) => boolean): number {
  let low = 0;
  let high = items.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (isAsAsked(items[middle]!)) low = middle + 1;
    else high = middle;
  }
  return low;
}
