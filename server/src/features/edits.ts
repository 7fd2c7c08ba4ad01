import type { TextEdit, WorkspaceEdit } from 'vscode-languageserver';
import type { Edit } from '../checks/check.ts';
import type { TextPatch } from '../checks/mend.ts';
import { addTo } from '../model/grouped.ts';
import type { Range } from '../outputs/report.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import type { Client } from './feature.ts';

/** What turns `before` into `after`, line by line where lines were only added, changed or taken in few places. */
export function difference(before: string, after: string): TextPatch[] {
  const old = linesOf(before);
  const now = linesOf(after);
  const patches: TextPatch[] = [];
  let i = 0;
  let j = 0;
  let offset = 0;
  while (i < old.length || j < now.length) {
    if (i < old.length && old[i] === now[j]) {
      offset += old[i]!.length;
      i++;
      j++;
      continue;
    }
    // The nearest place where both go on alike for two lines.
    const [skipOld, skipNow] = resume(old, now, i, j);
    if (skipOld === skipNow) {
      for (let k = 0; k < skipOld; k++) {
        patches.push(trimmed(offset, old[i + k]!, now[j + k]!));
        offset += old[i + k]!.length;
      }
    } else {
      const removed = old.slice(i, i + skipOld).join('');
      patches.push(trimmed(offset, removed, now.slice(j, j + skipNow).join('')));
      offset += removed.length;
    }
    i += skipOld;
    j += skipNow;
  }
  return patches;
}

const linesOf = (text: string): string[] => text.match(/[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$/g) ?? [];

const farthest = 60;
function resume(old: readonly string[], now: readonly string[], i: number, j: number): [number, number] {
  for (let distance = 1; distance <= 2 * farthest; distance++) {
    for (let a = Math.max(0, distance - farthest); a <= Math.min(distance, farthest); a++) {
      const b = distance - a;
      if (i + a > old.length || j + b > now.length) continue;
      const ends = i + a === old.length && j + b === now.length;
      const alike =
        i + a < old.length &&
        old[i + a] === now[j + b] &&
        (old[i + a + 1] === now[j + b + 1] || old[i + a]!.trim() !== '');
      if (ends || alike) return [a, b];
    }
  }
  return [old.length - i, now.length - j];
}

/** Without what both have in common at either end. */
function trimmed(start: number, removed: string, put: string): TextPatch {
  let head = 0;
  while (head < removed.length && head < put.length && removed[head] === put[head]) head++;
  let tail = 0;
  while (
    tail < removed.length - head &&
    tail < put.length - head &&
    removed[removed.length - 1 - tail] === put[put.length - 1 - tail]
  )
    tail++;
  return { start: start + head, end: start + removed.length - tail, text: put.slice(head, put.length - tail) };
}

/** Edits of one file as the protocol wants them. */
export const textEditsOf = (file: SourceFile, patches: readonly TextPatch[]): TextEdit[] =>
  patches.map(({ start, end, text }) => ({
    range: { start: file.document.positionAt(start), end: file.document.positionAt(end) },
    newText: text,
  }));

export interface FileEdits {
  readonly file: SourceFile;
  readonly edits: readonly { readonly range: Range; readonly newText: string }[];
}

/**
 * Edits of several files. With versions where the client takes them, so that it refuses the whole when a file has
 * changed meanwhile; a closed file has none.
 */
export function workspaceEditOf(changes: readonly FileEdits[], client: Client): WorkspaceEdit {
  if (client.documentChanges)
    return {
      documentChanges: changes.map(({ file, edits }) => ({
        textDocument: { uri: file.uri, version: file.version ?? null },
        edits: [...edits],
      })),
    };
  return { changes: Object.fromEntries(changes.map(({ file, edits }) => [file.uri, [...edits]])) };
}

/** A repair's edits, by file; nothing where one of them is in a file that is not at hand. */
export function fileEditsOf(snapshot: Snapshot, edits: readonly Edit[]): FileEdits[] | undefined {
  const byFile = new Map<SourceFile, TextPatch[]>();
  for (const edit of edits) {
    const file = snapshot.files.get(edit.uri);
    if (file === undefined) return undefined;
    addTo(byFile, file, edit);
  }
  return [...byFile].map(([file, patches]) => ({ file, edits: textEditsOf(file, patches) }));
}
