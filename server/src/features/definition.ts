import type { DefinitionParams, Location, LocationLink } from 'vscode-languageserver';
import { contains, type Span } from '../../../grammar/syntax.ts';
import { nameOfDefinition } from '../model/model.ts';
import type { Snapshot } from '../snapshot.ts';
import { chunksAt, namingAt } from './at.ts';
import { feature } from './feature.ts';

/** The `use` path at `offset`, with the file that it leads to. */
function usedFileAt(snapshot: Snapshot, offset: number): { path: Span; uri: string } | undefined {
  for (const { chunk, at } of chunksAt(snapshot, offset)) {
    const { item } = chunk;
    if (item?.kind !== 'use' || item.path === undefined || !contains(item.path, at)) continue;
    const target = snapshot.resolve(item.path.value, snapshot.file.key);
    if ('missing' in target) continue;
    return { path: item.path, uri: snapshot.files.get(target.uri)?.uri ?? target.uri };
  }
  return undefined;
}

const top = { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } };

/** Where the name at `offset` is declared, or the file that a `use` names. */
export function definitionsAt(snapshot: Snapshot, offset: number): LocationLink[] {
  const naming = namingAt(snapshot, offset);
  if (naming?.definition !== undefined) {
    const name = nameOfDefinition(naming.definition);
    if (name === undefined) return [];
    const selection = snapshot.locationOf(name);
    const whole = snapshot.locationOf('statements' in naming.definition ? name : naming.definition);
    return [
      {
        originSelectionRange: snapshot.rangeOf(naming.name),
        targetUri: selection.uri,
        targetRange: whole.range,
        targetSelectionRange: selection.range,
      },
    ];
  }
  const used = usedFileAt(snapshot, offset);
  return used === undefined
    ? []
    : [
        {
          originSelectionRange: snapshot.rangeOf(used.path),
          targetUri: used.uri,
          targetRange: top,
          targetSelectionRange: top,
        },
      ];
}

const answer = (
  snapshot: Snapshot,
  { position }: DefinitionParams,
  links: boolean,
): LocationLink[] | Location[] | null => {
  const found = definitionsAt(snapshot, snapshot.offsetAt(position));
  if (found.length === 0) return null;
  return links
    ? found
    : found.map(({ targetUri, targetSelectionRange }) => ({ uri: targetUri, range: targetSelectionRange }));
};

export const definition = feature<DefinitionParams, LocationLink[] | Location[]>(
  'textDocument/definition',
  { definitionProvider: true },
  (snapshot, params, { client }) => answer(snapshot, params, client.definitionLinks),
);

/** In this language every name is declared where it is defined. */
export const declaration = feature<DefinitionParams, LocationLink[] | Location[]>(
  'textDocument/declaration',
  { declarationProvider: true },
  (snapshot, params, { client }) => answer(snapshot, params, client.definitionLinks),
);
