import type {
  DocumentFormattingParams,
  DocumentOnTypeFormattingParams,
  DocumentRangeFormattingParams,
  TextEdit,
} from 'vscode-languageserver';
import { formatEdits } from '../../../grammar/printer.ts';
import type { Snapshot } from '../snapshot.ts';
import { textEditsOf } from './edits.ts';
import { feature } from './feature.ts';

const edited = (snapshot: Snapshot, range?: { start: number; end: number }): TextEdit[] =>
  textEditsOf(snapshot.file, formatEdits(snapshot.tree, range));

/** The language has one layout: the client's tab size does not count. */
export const formatting = feature<DocumentFormattingParams, TextEdit[]>(
  'textDocument/formatting',
  { documentFormattingProvider: true },
  (snapshot) => edited(snapshot),
);

export const rangeFormatting = feature<DocumentRangeFormattingParams, TextEdit[]>(
  'textDocument/rangeFormatting',
  { documentRangeFormattingProvider: true },
  (snapshot, { range }) =>
    edited(snapshot, { start: snapshot.offsetAt(range.start), end: snapshot.offsetAt(range.end) }),
);

/** Edits for the line that a line break has just ended; the line of the cursor is left alone. */
export function onTypeEdits(snapshot: Snapshot, offset: number): TextEdit[] {
  const { document } = snapshot.file;
  const { line } = document.positionAt(offset);
  if (line === 0) return [];
  const start = document.offsetAt({ line: line - 1, character: 0 });
  const end = document.offsetAt({ line, character: 0 });
  const patches = formatEdits(snapshot.tree, { start, end }).filter((edit) => edit.start >= start && edit.end < end);
  return textEditsOf(snapshot.file, patches);
}

export const onTypeFormatting = feature<DocumentOnTypeFormattingParams, TextEdit[]>(
  'textDocument/onTypeFormatting',
  { documentOnTypeFormattingProvider: { firstTriggerCharacter: '\n' } },
  (snapshot, { position }) => onTypeEdits(snapshot, snapshot.offsetAt(position)),
);
