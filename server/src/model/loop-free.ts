import type { Chunk, Declaration, Name, SyntaxTree } from '../../../grammar/syntax.ts';
import { isDeclaration } from './mentions.ts';
import type { Model } from './model.ts';
import { Beside } from './noted.ts';
import { chunksNaming } from './occurrences.ts';
import type { Tables } from './survey.ts';

/**
 * Models of which it is known that no parts wait for, or sit on, each other in a loop: what a part refers to is declared
 * above it, or refers to nothing.
 */
export const loopFree = new Beside<Model, true>();

/** True for a part that a declaration waits for, or sits on, and that itself does. */
export function leadsOn(name: Name, { part }: Tables): boolean {
  const target = part.get(name.text);
  if (target === undefined) return false;
  const isSeat = (name.chunk.item as Declaration).carriedBy === name;
  return isSeat ? target.carriedBy !== undefined : target.heldBy.length + target.behind.length > 0;
}

/** True where `declared`, put into a file that was free of loops, have brought in none, as far as can be told from what stands near. */
export function stayFree(declared: readonly Declaration[], tree: SyntaxTree, tables: Tables): boolean {
  const placesOf = (name: string, of: (chunk: Chunk) => boolean): number[] =>
    chunksNaming(tree, name).filter((place) => of(tree.chunks[place]!));
  return declared.every((part) => {
    if (part.kind !== 'part') return true;
    const { chunk, name } = part;
    const waitsFor = waitedFor(part).filter((each) => leadsOn(each, tables));
    const isLeaf = waitedFor(part).length === 0;
    if (waitsFor.length === 0 && (isLeaf || name === undefined)) return true;
    const at = tree.chunks.indexOf(chunk);
    const isAbove = (each: Name): boolean =>
      placesOf(each.text, ({ item }) => item === tables.part.get(each.text)).some((place) => place < at);
    if (!waitsFor.every(isAbove)) return false;
    return (
      name === undefined ||
      placesOf(
        name.text,
        ({ item }) => isDeclaration(item) && waitedFor(item).some(({ text }) => text === name.text),
      ).every((place) => place > at)
    );
  });
}

const waitedFor = ({ heldBy, behind, carriedBy }: Declaration): readonly Name[] => [
  ...heldBy,
  ...behind,
  ...(carriedBy === undefined ? [] : [carriedBy]),
];
