import type { RenameFilesParams, WorkspaceEdit } from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { keyOf } from '../addresses.ts';
import type { TextPatch } from '../checks/mend.ts';
import type { Snapshot } from '../snapshot.ts';
import { type FileEdits, textEditsOf, workspaceEditOf } from './edits.ts';
import { wideFeature } from './feature.ts';
import { usePath, writtenPath } from './use-path.ts';

/** Where files are about to lie. */
type Move = (key: string) => string;

/** Of files and folders. */
function moveOf({ files }: RenameFilesParams): Move {
  const moves = files.map(({ oldUri, newUri }) => [keyOf(oldUri), keyOf(newUri)] as const);
  return (key) => {
    for (const [from, to] of moves) {
      if (key === from) return to;
      if (key.startsWith(`${from}/`)) return to + key.slice(from.length);
    }
    return key;
  };
}

/** The `use` lines of the snapshot's own file, led to where files will lie. */
function followed(snapshot: Snapshot, move: Move): TextPatch[] {
  const { file, tree } = snapshot;
  const from = move(file.key);
  const { scheme, authority } = URI.parse(from);
  const patches: TextPatch[] = [];
  for (const [c, { item }] of tree.chunks.entries()) {
    if (item?.kind !== 'use' || item.path === undefined) continue;
    const { value, start, end } = item.path;
    const target = snapshot.resolve(value, file.key);
    if ('missing' in target) continue;
    const to = move(target.uri);
    const place = URI.parse(to);
    // A path cannot lead into another file system.
    if (place.scheme !== scheme || place.authority !== authority) continue;
    const path = usePath(from, to);
    if (path === usePath(file.key, target.uri)) continue;
    const text = writtenPath(value.startsWith('./') && !path.startsWith('../') ? `./${path}` : path);
    patches.push({ start: tree.starts[c]! + start, end: tree.starts[c]! + end, text });
  }
  return patches;
}

export const renameFiles = wideFeature<RenameFilesParams, WorkspaceEdit>(
  'workspace/willRenameFiles',
  {
    workspace: {
      fileOperations: {
        willRename: {
          filters: [
            { pattern: { glob: '**/*.fettle', matches: 'file' } },
            { pattern: { glob: '**/*', matches: 'folder' } },
          ],
        },
      },
    },
  },
  async (params, { client, workspace, token }) => {
    const move = moveOf(params);
    const changes: FileEdits[] = [];
    for await (const snapshot of workspace.everySnapshot()) {
      // Half of the places would be worse than none.
      if (token.isCancellationRequested) return null;
      const { file } = snapshot;
      if (![...snapshot.files.keys()].some((key) => move(key) !== key)) continue;
      const patches = followed(snapshot, move);
      if (patches.length > 0) changes.push({ file, edits: textEditsOf(file, patches) });
    }
    return changes.length === 0 ? null : workspaceEditOf(changes, client);
  },
);
