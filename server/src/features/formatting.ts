import type {
  DocumentFormattingParams,
  DocumentOnTypeFormattingParams,
  DocumentRangeFormattingParams,
  TextEdit,
} from 'vscode-languageserver';
import configuration from '../../../grammar/language-configuration.json' with { type: 'json' };
import { formatEdits } from '../../../grammar/printer.ts';
import { patched } from '../checks/mend.ts';
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

const { pattern, flags } = configuration.indentationRules.increaseIndentPattern;
const opensBlock = new RegExp(pattern, flags);

/** Edits for the line that a line break has just ended; of the line of the cursor, where nothing stands in it, for its indentation. */
export function onTypeEdits(snapshot: Snapshot, offset: number): TextEdit[] {
  const { document, text } = snapshot.file;
  const { line } = document.positionAt(offset);
  if (line === 0) return [];
  const start = document.offsetAt({ line: line - 1, character: 0 });
  const end = document.offsetAt({ line, character: 0 });
  // What a comment stands above, and is set in with, is still to be written.
  if (text.slice(start, end).trimStart().startsWith('#')) return [];
  const patches = formatEdits(snapshot.tree, { start, end }).filter((edit) => edit.start >= start && edit.end < end);
  const indentation = /[ \t]*/y;
  indentation.lastIndex = end;
  const [blank] = indentation.exec(text)!;
  const behind = end + blank.length;
  const isEmpty = behind === text.length || /[\r\n]/.test(text[behind]!);
  const ended = patches.map((edit) => ({ ...edit, start: edit.start - start, end: edit.end - start }));
  const above = patched(text.slice(start, end), ended)
    .trimEnd()
    .split(/[\r\n]/)
    .at(-1)!;
  if (isEmpty && above !== '') {
    const wanted = /^ */.exec(above)![0] + (opensBlock.test(above) ? '  ' : '');
    if (blank !== wanted) patches.push({ start: end, end: behind, text: wanted });
  }
  return textEditsOf(snapshot.file, patches);
}

export const onTypeFormatting = feature<DocumentOnTypeFormattingParams, TextEdit[]>(
  'textDocument/onTypeFormatting',
  { documentOnTypeFormattingProvider: { firstTriggerCharacter: '\n' } },
  (snapshot, { position }) => onTypeEdits(snapshot, snapshot.offsetAt(position)),
);
