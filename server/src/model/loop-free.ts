import type { Declaration, Name, SyntaxTree } from '../../../grammar/syntax.ts';
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

/** True where parts that the shared files declare wait for, or sit on, only such as do not themselves. */
export const endInShared = (shared: readonly SyntaxTree[], tables: Tables): boolean =>
  shared.every(({ chunks }) =>
    chunks.every(({ item }) => !isDeclaration(item) || !waitedFor(item).some((name) => leadsOn(name, tables))),
  );

/** True where `declared`, put into the first of `files`, of which none held a loop, have brought in none, as far as can be told from what stands near. */
export function stayFree(declared: readonly Declaration[], files: readonly SyntaxTree[], tables: Tables): boolean {
  const [tree, ...shared] = files;
  return declared.every((part) => {
    if (part.kind !== 'part') return true;
    const { chunk, name } = part;
    const waitsFor = waitedFor(part).filter((each) => leadsOn(each, tables));
    const isLeaf = waitedFor(part).length === 0;
    if (waitsFor.length === 0 && (isLeaf || name === undefined)) return true;
    const at = tree!.chunks.indexOf(chunk);
    const isAbove = ({ text }: Name): boolean =>
      chunksNaming(tree!, text).some((place) => place < at && tree!.chunks[place]!.item === tables.part.get(text));
    if (!waitsFor.every(isAbove)) return false;
    return (
      name === undefined ||
      (waitingFor(name.text, tree!).every((place) => place > at) &&
        shared.every((file) => waitingFor(name.text, file).length === 0))
    );
  });
}

/** Places in `tree.chunks` of declarations of what waits for, or sits on, the part `name`. */
const waitingFor = (name: string, tree: SyntaxTree): readonly number[] =>
  chunksNaming(tree, name).filter((place) => {
    const { item } = tree.chunks[place]!;
    return isDeclaration(item) && waitedFor(item).some(({ text }) => text === name);
  });

const waitedFor = ({ heldBy, behind, carriedBy }: Declaration): readonly Name[] => [
  ...heldBy,
  ...behind,
  ...(carriedBy === undefined ? [] : [carriedBy]),
];
