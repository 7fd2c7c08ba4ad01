import { distance } from 'fastest-levenshtein';

/**
 * The candidate that `word` was most likely meant to be, or nothing where none is near: less than half of its letters and
 * no more than a third, rounded up, or a single one where they begin unlike (`ring` is not `using`). Two that changed
 * places count as one, and neighbours that did as less: `drivne` is `driven` rather than `drive`.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  let best: string | undefined;
  let least = Math.max(1, Math.ceil(word.length / 3)) + 1;
  const is = word.toLowerCase();
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - word.length) >= least) continue;
    const meant = candidate.toLowerCase();
    // Of thousands few are to be reckoned with: what begins unlike is near by a letter at its beginning alone, and ends alike.
    if (least < 1 ? is !== meant : is[0] !== meant[0] && !endAlike(is, meant)) continue;
    if (least === 1 && is !== meant && !areNeighboursTurned(is, meant)) continue;
    const apart = lettersApart(is, meant);
    if (apart < least && (apart <= 1 || (is[0] === meant[0] && 2 * apart < is.length))) {
      least = apart;
      best = candidate;
    }
  }
  return best;
}

/** Letters to write otherwise, take out or put in; two that changed places count as one, and neighbours that did as less. */
function lettersApart(a: string, b: string): number {
  const apart = distance(a, b);
  if (apart !== 2 || !haveSameLetters(a, b)) return apart;
  return areNeighboursTurned(a, b) ? 0.9 : 1;
}

function areNeighboursTurned(a: string, b: string): boolean {
  if (a.length !== b.length) return false;
  let at = 0;
  while (at < a.length && a[at] === b[at]) at++;
  return a[at] === b[at + 1] && a[at + 1] === b[at] && a.slice(at + 2) === b.slice(at + 2);
}

/** Words with so many letters may be misspelt in two. */
const longWord = 8;

/** Comparisons of short words that take some tenths of a second; long ones cost as many as the square of their length. */
const mostCompared = 1_000_000;
const shortWord = 32;

/**
 * Finds the nearest for one word after the other, with an effort in all that has an end: where a stranger's file puts
 * thousands of words beside thousands of candidates, the last of them have none near.
 */
export class NearestSearch {
  private left = mostCompared;
  private readonly found: Found = new Map();
  private readonly plain: Found = new Map();
  private readonly asNear: Found<readonly string[]> = new Map();

  /** Of `candidates` without `except`. */
  nearest(word: string, candidates: readonly string[], except?: string): string | undefined {
    const near = remembered(this.found, word, candidates, () => this.search(word, candidates));
    const isExcepted = near !== undefined && near === except;
    return isExcepted ? this.search(word, candidates, except) : near;
  }

  /** The one of `candidates` that `word` plainly is, but for a letter, or two in a long word; nothing where it may be another. */
  misspelt(word: string, candidates: readonly string[]): string | undefined {
    return remembered(this.plain, word, candidates, () => {
      const near = this.nearest(word, candidates);
      if (near === undefined || isNumberedOtherwise(word, near)) return undefined;
      const apart = lettersApart(word.toLowerCase(), near.toLowerCase());
      if (apart > (word.length < longWord ? 1 : 2) || !this.canAfford(word, candidates)) return undefined;
      return candidates.some(isAsNear(word, near)) ? undefined : near;
    });
  }

  /** Those of `candidates`, without `except`, that are as near to `word` as `near`, the nearest. */
  others(word: string, near: string, candidates: readonly string[], except?: string): readonly string[] {
    const all = remembered(this.asNear, `${word} ${near}`, candidates, () => this.allAsNear(word, near, candidates));
    return except !== undefined && all.includes(except) ? all.filter((each) => each !== except) : all;
  }

  private allAsNear(word: string, near: string, candidates: readonly string[]): readonly string[] {
    if (!this.canAfford(word, candidates)) return [];
    const isOne = isAsNear(word, near);
    const begin = word[0]?.toLowerCase();
    // What begins unlike is near by its first letter alone, as for `nearest`.
    const beginsSo = near[0]?.toLowerCase() === begin;
    return candidates.filter((each) => isOne(each) && (each[0]?.toLowerCase() === begin) === beginsSo);
  }

  private search(word: string, candidates: readonly string[], except?: string): string | undefined {
    if (!this.canAfford(word, candidates)) return undefined;
    return nearest(word, except === undefined ? candidates : candidates.filter((each) => each !== except));
  }

  private canAfford(word: string, candidates: readonly string[]): boolean {
    const cost = candidates.length * (1 + (word.length / shortWord) ** 2);
    if (cost > this.left) return false;
    this.left -= cost;
    return true;
  }
}

/** Whether another is as near to `word` as `near`. */
function isAsNear(word: string, near: string): (other: string) => boolean {
  const is = word.toLowerCase();
  const apart = lettersApart(is, near.toLowerCase());
  return (other) =>
    other !== near && Math.abs(other.length - word.length) <= apart && lettersApart(is, other.toLowerCase()) <= apart;
}

type Found<Value = string | undefined> = Map<readonly string[], Map<string, Value>>;

function remembered<Value>(all: Found<Value>, word: string, candidates: readonly string[], find: () => Value): Value {
  let found = all.get(candidates);
  if (found === undefined) {
    found = new Map();
    all.set(candidates, found);
  }
  if (!found.has(word)) found.set(word, find());
  return found.get(word) as Value;
}

/** `seal-2` beside `seal-1` or `seal`, `gear-lh` beside `gear-rh`, `M8-nut` beside `M6-nut`: names of other parts, not misspelt. */
const isNumberedOtherwise = (a: string, b: string): boolean =>
  withoutMarks(a) === withoutMarks(b) && withoutHyphens(a) !== withoutHyphens(b);

/** Without the numbers and the words of a letter or two that tell one piece from another. */
const withoutMarks = (name: string): string =>
  name
    .toLowerCase()
    .replace(/\d+/g, '')
    .split('-')
    .filter((word) => word.length > 2)
    .join('-');

const withoutHyphens = (name: string): string => name.toLowerCase().replaceAll('-', '');

/** True for words of two letters, too: these may differ in both, changed places. */
const endAlike = (a: string, b: string): boolean => Math.min(a.length, b.length) < 3 || a.at(-1) === b.at(-1);

/** True for words of the same letters, in any order. */
export const haveSameLetters = (a: string, b: string): boolean => sorted(a) === sorted(b);

const sorted = (word: string): string => [...word].sort().join('');
