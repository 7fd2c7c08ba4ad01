import { type DocumentHighlight, DocumentHighlightKind, type DocumentHighlightParams } from 'vscode-languageserver';
import { chunkAt, contains, type Span } from '../../../grammar/syntax.ts';
import { nameOfDefinition } from '../model/model.ts';
import { statementsIn, stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';
import { namingAt, occurrencesOf } from './at.ts';
import { feature } from './feature.ts';

/** Every place of the name at `offset` in this file; of `either`, `if`, `for` and what goes with them, the words of that block. */
export function highlightsAt(snapshot: Snapshot, offset: number): DocumentHighlight[] {
  const definition = namingAt(snapshot, offset)?.definition;
  if (definition === undefined)
    return blockWordsAt(snapshot, offset).map((word) => ({
      range: snapshot.rangeOf(word),
      kind: DocumentHighlightKind.Text,
    }));
  const own = nameOfDefinition(definition);
  return occurrencesOf(snapshot, definition)
    .filter((name) => snapshot.isOwn(name))
    .map((name) => ({
      range: snapshot.rangeOf(name),
      kind: name === own ? DocumentHighlightKind.Write : DocumentHighlightKind.Read,
    }));
}

function blockWordsAt({ tree }: Snapshot, offset: number): readonly Span[] {
  const index = chunkAt(tree, offset);
  const at = offset - tree.starts[index]!;
  for (const step of stepsOfChunk(tree.chunks[index]!)) {
    for (const { branches, closing } of statementsIn(step)) {
      if (branches === undefined) continue;
      const words = [...branches.map(({ keyword }) => keyword), ...(closing === undefined ? [] : [closing])];
      if (words.some((word) => contains(word, at))) return words;
    }
  }
  return [];
}

export const documentHighlight = feature<DocumentHighlightParams, DocumentHighlight[]>(
  'textDocument/documentHighlight',
  { documentHighlightProvider: true },
  (snapshot, { position }) => highlightsAt(snapshot, snapshot.offsetAt(position)),
);
