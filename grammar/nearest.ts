import { distance } from 'fastest-levenshtein';

/**
 * The candidate that `word` was most likely meant to be, or nothing where none is near: less than half of its letters and
 * no more than a third, rounded up, or a single one where they begin unlike (`ring` is not `using`). Two that changed
 * places count as one.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  let best: string | undefined;
  let least = Math.max(1, Math.ceil(word.length / 3)) + 1;
  const is = word.toLowerCase();
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - word.length) >= least) continue;
    const meant = candidate.toLowerCase();
    // Of thousands few are to be reckoned with: what begins unlike is near by a letter at its beginning alone, and ends alike.
    if (least === 1 ? is !== meant : is[0] !== meant[0] && !endAlike(is, meant)) continue;
    let apart = distance(is, meant);
    if (apart === 2 && haveSameLetters(is, meant)) apart = 1;
    if (apart < least && (apart === 1 || (is[0] === meant[0] && 2 * apart < is.length))) {
      least = apart;
      best = candidate;
    }
  }
  return best;
}

/** Comparisons of short words that take some tenths of a second; long ones cost as many as the square of their length. */
const mostCompared = 1_000_000;
const shortWord = 32;

/**
 * Finds the nearest for one word after the other, with an effort in all that has an end: where a stranger's file puts
 * thousands of words beside thousands of candidates, the last of them have none near.
 */
export class NearestSearch {
  private left = mostCompared;
  private readonly found = new Map<readonly string[], Map<string, string | undefined>>();

  /** Of `candidates` without `except`. */
  nearest(word: string, candidates: readonly string[], except?: string): string | undefined {
    let found = this.found.get(candidates);
    if (found === undefined) {
      found = new Map();
      this.found.set(candidates, found);
    }
    if (!found.has(word)) found.set(word, this.search(word, candidates));
    const near = found.get(word);
    const isExcepted = near !== undefined && near === except;
    return isExcepted ? this.search(word, candidates, except) : near;
  }

  private search(word: string, candidates: readonly string[], except?: string): string | undefined {
    const cost = candidates.length * (1 + (word.length / shortWord) ** 2);
    if (cost > this.left) return undefined;
    this.left -= cost;
    return nearest(word, except === undefined ? candidates : candidates.filter((each) => each !== except));
  }
}

/** True for words of two letters, too: these may differ in both, changed places. */
const endAlike = (a: string, b: string): boolean => Math.min(a.length, b.length) < 3 || a.at(-1) === b.at(-1);

/** True for words of the same letters, in any order. */
export const haveSameLetters = (a: string, b: string): boolean => sorted(a) === sorted(b);

const sorted = (word: string): string => [...word].sort().join('');
