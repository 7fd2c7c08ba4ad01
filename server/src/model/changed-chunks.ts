import type { SyntaxTree } from '../../../grammar/syntax.ts';

/** Where two trees of one file differ: chunks `from` to `to` of the one, to `until` of the other. */
export function changedChunks(before: SyntaxTree, now: SyntaxTree): { from: number; to: number; until: number } {
  const shorter = Math.min(before.chunks.length, now.chunks.length);
  let from = 0;
  while (from < shorter && before.chunks[from] === now.chunks[from]) from++;
  let to = before.chunks.length;
  let until = now.chunks.length;
  while (to > from && until > from && before.chunks[to - 1] === now.chunks[until - 1]) {
    to--;
    until--;
  }
  return { from, to, until };
}
