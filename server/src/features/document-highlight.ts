import { type DocumentHighlight, DocumentHighlightKind, type DocumentHighlightParams } from 'vscode-languageserver';
import { nameOfDefinition } from '../model/model.ts';
import type { Snapshot } from '../snapshot.ts';
import { namingAt, occurrencesOf } from './at.ts';
import { feature } from './feature.ts';

/** Every place of the name at `offset` in this file. */
export function highlightsAt(snapshot: Snapshot, offset: number): DocumentHighlight[] {
  const definition = namingAt(snapshot, offset)?.definition;
  if (definition === undefined) return [];
  const own = nameOfDefinition(definition);
  return occurrencesOf(snapshot, definition)
    .filter((name) => snapshot.isOwn(name))
    .map((name) => ({
      range: snapshot.rangeOf(name),
      kind: name === own ? DocumentHighlightKind.Write : DocumentHighlightKind.Read,
    }));
}

export const documentHighlight = feature<DocumentHighlightParams, DocumentHighlight[]>(
  'textDocument/documentHighlight',
  { documentHighlightProvider: true },
  (snapshot, { position }) => highlightsAt(snapshot, snapshot.offsetAt(position)),
);
