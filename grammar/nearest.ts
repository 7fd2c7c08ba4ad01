import { distance } from 'fastest-levenshtein';

/** The candidate that `word` was most likely meant to be, or nothing where none is near (a third of its letters, rounded up). */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  let best: string | undefined;
  let least = Math.max(1, Math.ceil(word.length / 3)) + 1;
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - word.length) >= least) continue;
    const apart = distance(word.toLowerCase(), candidate.toLowerCase());
    if (apart < least) {
      least = apart;
      best = candidate;
    }
  }
  return best;
}
