import type { CancellationToken } from 'vscode-languageserver';
import { type Client, fullClient, type Site } from '../../server/src/features/feature.ts';
import type { Position, Range } from '../../server/src/outputs/report.ts';
import { defaultPreferences } from '../../server/src/settings.ts';
import type { Snapshot } from '../../server/src/snapshot.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';

/** Marks the cursor in a text; two of them mark a selection. */
export const cursor = '¦';
export const folder = 'file:///bench/';

const never: CancellationToken = {
  isCancellationRequested: false,
  onCancellationRequested: () => ({ dispose: () => {} }),
};

/** Closed files out of memory. */
export const memory = (files: Readonly<Record<string, string>>): Files => ({
  read: (uri) => {
    const text = files[uri.slice(folder.length)];
    return text === undefined ? Promise.reject(new Error('there is no such file')) : Promise.resolve(text);
  },
  list: () =>
    Promise.resolve({
      uris: Object.keys(files)
        .filter((path) => path.endsWith('.fettle'))
        .map((path) => folder + path),
      isWhole: true,
    }),
});

export interface Scene {
  readonly workspace: Workspace;
  readonly snapshot: Snapshot;
  readonly site: Site;
  /** Of the first cursor, or of the end of the text. */
  readonly offset: number;
  readonly position: Position;
  readonly selection: Range;
  readonly uri: string;
  readonly textDocument: { readonly uri: string };
}

/**
 * Opens the file that holds a cursor (or the first one); the others stay closed. A plain text is one file.
 * Names of files count from one folder.
 */
export async function scene(
  files: string | Readonly<Record<string, string>>,
  client: Partial<Client> = {},
): Promise<Scene> {
  const all = typeof files === 'string' ? { 'unit.fettle': files } : files;
  const [path, marked] = Object.entries(all).find(([, text]) => text.includes(cursor)) ?? Object.entries(all)[0]!;
  const [before, ...rest] = marked.split(cursor);
  const text = marked.replaceAll(cursor, '');
  const workspace = new Workspace(memory({ ...all, [path]: text }), [folder]);
  const uri = folder + path;
  workspace.didOpen(uri, 1, text);
  const snapshot = (await workspace.snapshot(uri))!;
  const offset = rest.length === 0 ? text.length : before!.length;
  const end = rest.length < 2 ? offset : offset + rest[0]!.length;
  return {
    workspace,
    snapshot,
    site: { client: { ...fullClient, ...client }, preferences: defaultPreferences, workspace, token: never },
    offset,
    position: snapshot.file.document.positionAt(offset),
    selection: snapshot.rangeAt(offset, end),
    uri,
    textDocument: { uri },
  };
}

/** The text at `range` of an open or closed file. */
export async function textAt(workspace: Workspace, uri: string, range: Range): Promise<string> {
  const { document } = (await workspace.snapshot(uri))!.file;
  return document.getText(range);
}

/** `text` after `edits`, whose ranges all count in it as it is. */
export function applied(text: string, edits: readonly { range: Range; newText: string }[]): string {
  const starts = [0];
  for (let i = 0; i < text.length; i++) if (text[i] === '\n') starts.push(i + 1);
  const offset = ({ line, character }: Position): number => starts[line]! + character;
  let result = text;
  const placed = edits
    .map((edit, i) => ({ start: offset(edit.range.start), end: offset(edit.range.end), text: edit.newText, i }))
    .sort((a, b) => b.start - a.start || b.i - a.i);
  for (const { start, end, text: put } of placed) result = result.slice(0, start) + put + result.slice(end);
  return result;
}
