import type { Location, ReferenceParams } from 'vscode-languageserver';
import type { Definition } from '../model/model.ts';
import type { Snapshot, Workspace } from '../workspace.ts';
import { namingAt, occurrencesOf } from './at.ts';
import { feature } from './feature.ts';

/** Places of `definition` in the files of `snapshots`, each once, in the order of the files and of the text. */
export function locationsOf(
  snapshots: readonly Snapshot[],
  definition: Definition,
  withDefinition: boolean,
): Location[] {
  const found = new Map<string, Location>();
  for (const snapshot of snapshots) {
    for (const name of occurrencesOf(snapshot, definition, withDefinition)) {
      const location = snapshot.locationOf(name);
      const { start } = location.range;
      found.set(`${location.uri}:${start.line}:${start.character}`, location);
    }
  }
  return [...found.values()].sort(
    (a, b) =>
      (a.uri < b.uri ? -1 : a.uri > b.uri ? 1 : 0) ||
      a.range.start.line - b.range.start.line ||
      a.range.start.character - b.range.start.character,
  );
}

/** This snapshot and those of the workspace in which `definition` is known too. */
export async function snapshotsWith(
  snapshot: Snapshot,
  definition: Definition,
  workspace: Workspace,
  isCancelled: () => boolean = () => false,
): Promise<Snapshot[]> {
  const found = [snapshot];
  const home = homeOf(definition);
  // A code is known in its own file only; a step or a reading also where the step is taken in.
  if (!('heldBy' in definition || 'statements' in definition || 'kind' in definition)) return found;
  // Those that this one uses, wherever they lie: names in steps that it does not take in.
  for (const key of snapshot.files.keys()) {
    const used = key === snapshot.file.key ? undefined : await workspace.snapshot(key);
    if (used?.files.has(home)) found.push(used);
  }
  for await (const other of workspace.everySnapshot()) {
    if (isCancelled()) break;
    if (!found.some(({ file }) => file.key === other.file.key) && other.files.has(home)) found.push(other);
  }
  return found;
}

export const homeOf = (definition: Definition): string => definition.chunk.uri;

export const references = feature<ReferenceParams, Location[]>(
  'textDocument/references',
  { referencesProvider: true },
  async (snapshot, { position, context }, { workspace, token }) => {
    const definition = namingAt(snapshot, snapshot.offsetAt(position))?.definition;
    if (definition === undefined) return null;
    const snapshots = await snapshotsWith(snapshot, definition, workspace, () => token.isCancellationRequested);
    return locationsOf(snapshots, definition, context.includeDeclaration);
  },
);
