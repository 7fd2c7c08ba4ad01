import type { Location, ReferenceParams } from 'vscode-languageserver';
import type { Name } from '../../../grammar/syntax.ts';
import { type Definition, nameOfDefinition } from '../model/model.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import type { Workspace } from '../workspace.ts';
import { namingAt, occurrencesOf } from './at.ts';
import { feature, type Site } from './feature.ts';

/** Places of `definition` that this snapshot knows, in its file and in those that it uses. */
const locationsIn = (snapshot: Snapshot, definition: Definition, withDefinition: boolean): Location[] =>
  occurrencesOf(snapshot, definition, withDefinition).map((name) => snapshot.locationOf(name));

/**
 * Uses of what other files define, by the place of the name there: number of the file in `files`, line, character and length
 * of each, one behind the other. Plain data, as it is kept of closed files.
 */
interface UsesOfOthers {
  readonly files: readonly string[];
  readonly uses: Readonly<Record<string, readonly number[]>>;
}
const width = 4;

/** By the file's key: the client of the next run may spell its URI otherwise. */
const placeOf = (snapshot: Snapshot, name: Name): string => {
  const { line, character } = snapshot.locationOf(name).range.start;
  return `${name.chunk.uri}:${line}:${character}`;
};

const usesOfOthers = (snapshot: Snapshot): UsesOfOthers =>
  snapshot.note('uses', () => {
    const files = [...snapshot.files.keys()];
    const uses: Record<string, number[]> = {};
    for (const [definition, names] of snapshot.model.references.all) {
      const own = nameOfDefinition(definition);
      if (own === undefined || snapshot.isOwn(own) || !snapshot.files.has(own.chunk.uri)) continue;
      const list: number[] = [];
      for (const name of names) {
        if (!snapshot.files.has(name.chunk.uri)) continue;
        const { line, character } = snapshot.locationOf(name).range.start;
        list.push(files.indexOf(name.chunk.uri), line, character, name.text.length);
      }
      uses[placeOf(snapshot, own)] = list;
    }
    return { files, uses };
  });

/** As `locationsIn`, of a definition in another file whose name stands at `place`; nothing is read for it a second time. */
function locationsInOther(snapshot: Snapshot, place: string): Location[] {
  const { files, uses } = usesOfOthers(snapshot);
  const list = uses[place] ?? [];
  const found: Location[] = [];
  for (let i = 0; i < list.length; i += width) {
    const [file, line, character, length] = list.slice(i, i + width) as [number, number, number, number];
    found.push({
      uri: snapshot.files.get(files[file]!)!.uri,
      range: { start: { line, character }, end: { line, character: character + length } },
    });
  }
  return found;
}

const compare = (a: Location, b: Location): number =>
  (a.uri < b.uri ? -1 : a.uri > b.uri ? 1 : 0) ||
  a.range.start.line - b.range.start.line ||
  a.range.start.character - b.range.start.character;

/** Each place once, in the order of the files and of the text. */
const inOrder = (locations: readonly Location[]): Location[] =>
  [...locations].sort(compare).filter((each, i, all) => i === 0 || compare(all[i - 1]!, each) !== 0);

/** A code is known in its own file only; a step or a reading also where the step is taken in. */
const isKnownElsewhere = (definition: Definition): boolean =>
  'heldBy' in definition || 'statements' in definition || 'kind' in definition;

/** Places of `definition` in this file and in all of the workspace that use the file it stands in. */
async function locationsOf(
  snapshot: Snapshot,
  definition: Definition,
  withDefinition: boolean,
  { workspace, token }: Pick<Site, 'workspace' | 'token'>,
): Promise<Location[]> {
  const found = locationsIn(snapshot, definition, withDefinition);
  const name = nameOfDefinition(definition);
  if (!isKnownElsewhere(definition) || name === undefined) return inOrder(found);
  const home = homeOf(definition);
  const place = placeOf(snapshot, name);
  const add = (other: Snapshot): void => {
    if (other.file.key === snapshot.file.key || !other.files.has(home)) return;
    found.push(
      ...(other.file.key === home ? locationsIn(other, definition, withDefinition) : locationsInOther(other, place)),
    );
  };
  // Those that this one uses, wherever they lie: names in steps that it does not take in.
  for (const key of snapshot.files.keys()) {
    const used = key === snapshot.file.key ? undefined : await workspace.snapshot(key);
    if (used !== undefined) add(used);
  }
  for await (const other of workspace.everySnapshot()) {
    if (token.isCancellationRequested) break;
    add(other);
  }
  return inOrder(found);
}

/**
 * This snapshot and those of the workspace in which `definition` is known too and one of `names` stands, be it in a file
 * that they use. In the definition's own file each would find what the snapshot of that file finds, which is among them.
 */
export async function snapshotsNaming(
  names: readonly string[],
  snapshot: Snapshot,
  definition: Definition,
  workspace: Workspace,
  isCancelled: () => boolean = () => false,
): Promise<Snapshot[]> {
  const found = [snapshot];
  const home = homeOf(definition);
  if (!isKnownElsewhere(definition)) return found;
  const says = new Map<SourceFile, boolean>();
  const isSaidIn = (file: SourceFile): boolean => {
    let said = says.get(file);
    if (said === undefined) {
      said = file.key !== home && names.some((name) => file.text.includes(name));
      says.set(file, said);
    }
    return said;
  };
  // Those that this one uses, wherever they lie: names in steps that it does not take in.
  for (const key of snapshot.files.keys()) {
    const used = key === snapshot.file.key ? undefined : await workspace.snapshot(key);
    if (used?.files.has(home)) found.push(used);
  }
  for await (const other of workspace.everySnapshot()) {
    if (isCancelled()) break;
    if (!other.files.has(home) || ![...other.files.values()].some(isSaidIn)) continue;
    if (!found.some(({ file }) => file.key === other.file.key)) found.push(other);
  }
  return found;
}

const homeOf = (definition: Definition): string => definition.chunk.uri;

export const references = feature<ReferenceParams, Location[]>(
  'textDocument/references',
  { referencesProvider: true },
  async (snapshot, { position, context }, site) => {
    const definition = namingAt(snapshot, snapshot.offsetAt(position))?.definition;
    return definition === undefined ? null : locationsOf(snapshot, definition, context.includeDeclaration, site);
  },
);
