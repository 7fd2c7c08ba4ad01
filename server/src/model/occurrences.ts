import type { Chunk, SyntaxTree } from '../../../grammar/syntax.ts';
import { changedChunks } from './changed-chunks.ts';
import { isDeclaration, visitMentions } from './mentions.ts';
import { Beside } from './noted.ts';

/** By name, the places in `tree.chunks` of the chunks that declare or mention it, each once. */
type Occurrences = Map<string, number[]>;

const known = new Beside<SyntaxTree, Occurrences>();
const nowhere: readonly number[] = [];

/** Places in `tree.chunks` of the chunks that declare or mention `name`, in no order. */
export function chunksNaming(tree: SyntaxTree, name: string): readonly number[] {
  let occurrences = known.get(tree);
  if (occurrences === undefined) {
    occurrences = new Map();
    for (const [place, chunk] of tree.chunks.entries()) add(occurrences, chunk, place);
    known.set(tree, occurrences);
  }
  return occurrences.get(name) ?? nowhere;
}

/** Chunks that an edit may go over: each is looked for in a list of all that name the same, so that of more it is quicker to look anew. */
const mostChanged = 64;

/** What is known of the tree before an edit is known of `now`, and of that one no longer. */
export function carryOccurrences(before: SyntaxTree, now: SyntaxTree): void {
  const occurrences = known.get(before);
  if (occurrences === undefined || before === now) return;
  const { from, to, until } = changedChunks(before, now);
  if (Math.max(to, until) - from > mostChanged) return;
  known.delete(before);
  known.set(now, occurrences);
  for (let place = from; place < to; place++) takeOut(occurrences, before.chunks[place]!, place);
  const moved = until - to;
  if (moved !== 0)
    for (const places of occurrences.values())
      for (let i = 0; i < places.length; i++) if (places[i]! >= to) places[i]! += moved;
  for (let place = from; place < until; place++) add(occurrences, now.chunks[place]!, place);
}

function add(occurrences: Occurrences, chunk: Chunk, place: number): void {
  eachName(chunk, (name) => {
    const places = occurrences.get(name);
    if (places === undefined) occurrences.set(name, [place]);
    // Places are added one chunk after the other.
    else if (places.at(-1) !== place) places.push(place);
  });
}

function takeOut(occurrences: Occurrences, chunk: Chunk, place: number): void {
  eachName(chunk, (name) => {
    const places = occurrences.get(name);
    const at = places?.indexOf(place) ?? -1;
    if (at < 0) return;
    if (places!.length === 1) occurrences.delete(name);
    else places!.splice(at, 1);
  });
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
