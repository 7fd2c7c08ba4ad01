import type { Chunk, SyntaxTree } from '../../../grammar/syntax.ts';
import { changedChunks } from './changed-chunks.ts';
import { isDeclaration, visitMentions } from './mentions.ts';
import { mostChanged, NameIndex } from './name-index.ts';
import { Beside } from './noted.ts';

const known = new Beside<SyntaxTree, NameIndex<Chunk>>();

/** Places in `tree.chunks` of the chunks that declare or mention `name`, in no order. */
export function chunksNaming(tree: SyntaxTree, name: string): readonly number[] {
  let index = known.get(tree);
  if (index === undefined) {
    index = new NameIndex(eachName, tree.chunks);
    known.set(tree, index);
  }
  return index.placesOf(name);
}

/** What is known of the tree before an edit is known of `now`, and of that one no longer. */
export function carryOccurrences(before: SyntaxTree, now: SyntaxTree): void {
  if (before === now || known.get(before) === undefined) return;
  const { from, to, until } = changedChunks(before, now);
  if (Math.max(to, until) - from > mostChanged) return;
  const index = known.handOn(before, now)!;
  for (let place = from; place < to; place++) index.takeOut(before.chunks[place]!, place);
  index.shift(to, until - to);
  for (let place = from; place < until; place++) index.add(now.chunks[place]!, place);
}

function eachName(chunk: Chunk, tell: (name: string) => void): void {
  const { item } = chunk;
  if (isDeclaration(item) && item.name !== undefined) tell(item.name.text);
  visitMentions(
    chunk,
    ({ text }) => tell(text),
    () => {},
  );
}
