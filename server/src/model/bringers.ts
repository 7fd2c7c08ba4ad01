import type { Chunk, SyntaxTree, Use } from '../../../grammar/syntax.ts';
import { isPhaseLine } from './mentions.ts';
import type { Model } from './model.ts';

/**
 * Each `use` that takes in steps by way of `own`, one of this file: behind those that lead to it, `own` first. What a file
 * holds is gone through once, however often it is used.
 */
function* chainsFrom({ sequences, targets }: Model, own: Use): Generator<readonly Use[]> {
  const phase = sequences.get(own)?.phase;
  const entered = new Set<SyntaxTree | undefined>([undefined]);
  const chains: (readonly Use[])[] = phase === undefined ? [] : [[own]];
  for (let chain = chains.pop(); chain !== undefined; chain = chains.pop()) {
    yield chain;
    const target = targets.get(chain.at(-1)!);
    if (entered.has(target)) continue;
    entered.add(target);
    let within: string | undefined;
    const inner: (readonly Use[])[] = [];
    for (const { item } of target!.chunks) {
      if (isPhaseLine(item)) within = item.kind;
      else if (item?.kind === 'use' && within === phase && targets.has(item)) inner.push([...chain, item]);
    }
    // In the order of the text: of two lines that bring a step, the upper one does.
    chains.push(...inner.reverse());
  }
}

/** The `use` lines that lead to the chunk of a shared file that is taken in, that of this file first; none for its own chunks. */
export function bringersOf(model: Model, chunk: Chunk): readonly Use[] {
  const own = model.takenIn.get(chunk);
  if (own !== undefined)
    for (const chain of chainsFrom(model, own)) if (model.targets.get(chain.at(-1)!)?.uri === chunk.uri) return chain;
  return [];
}

/** Addresses of `file` and of all that it reaches through `use`. */
export function filesReached({ targets }: Model, file: SyntaxTree): ReadonlySet<string> {
  const reached = new Set([file]);
  for (const { chunks } of reached)
    for (const { item } of chunks) {
      const target = item?.kind === 'use' ? targets.get(item) : undefined;
      if (target !== undefined) reached.add(target);
    }
  return new Set([...reached].map(({ uri }) => uri));
}

/** The `use` of this file, in a phase or not, by which it has the file `uri`: the upper one of two. */
export function useThatReaches(model: Model, uri: string): Use | undefined {
  for (const { item } of model.tree.chunks) {
    const target = item?.kind === 'use' ? model.targets.get(item) : undefined;
    if (target !== undefined && filesReached(model, target).has(uri)) return item as Use;
  }
  return undefined;
}

/** Every `use`, here and in shared files, by which what `chunk` holds would be taken in for the phase of `own`. */
export function linesThatBring(model: Model, own: Use, chunk: Chunk): readonly Use[] {
  const phase = model.sequences.get(own)?.phase;
  const lines = new Set<Use>();
  for (const [use, sequence] of model.sequences) {
    if (sequence.phase !== phase) continue;
    for (const chain of chainsFrom(model, use)) {
      const line = chain.at(-1)!;
      if (model.targets.get(line)?.uri === chunk.uri) lines.add(line);
    }
  }
  return [...lines];
}
