import { type CodeAction, CodeActionKind } from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { nearest } from '../../../grammar/nearest.ts';
import type { Finding } from '../checks/check.ts';
import { noFile } from '../checks/use-files.ts';
import type { Snapshot } from '../snapshot.ts';
import type { Workspace } from '../workspace.ts';
import { diagnosticOf } from './diagnostics.ts';
import { textEditsOf, workspaceEditOf } from './edits.ts';
import type { Client } from './feature.ts';
import { usePath, writtenPath } from './use-path.ts';

/** Files of one name that are offered. */
const mostOffered = 3;

/**
 * Files of the workspace that a `use` of the snapshot's own file may mean whose own is not there: those of the same name, else one
 * that is spelled nearly alike. None for other findings.
 */
export async function lostFileActions(
  snapshot: Snapshot,
  finding: Finding,
  client: Client,
  workspace: Pick<Workspace, 'allKeys'>,
): Promise<CodeAction[]> {
  const { item } = finding.span.chunk;
  const path = item?.kind === 'use' ? item.path : undefined;
  if (finding.code !== noFile.code || !snapshot.isOwn(finding.span) || path === undefined) return [];
  const { file, tree } = snapshot;
  const { scheme, authority } = URI.parse(file.key);
  const others = new Set<string>();
  for (const key of await workspace.allKeys()) {
    const place = URI.parse(key);
    // What is used already would be used twice.
    if (place.scheme === scheme && place.authority === authority && !snapshot.files.has(key))
      others.add(usePath(file.key, key));
  }
  const name = nameIn(path.value);
  const called = [...others].filter((each) => nameIn(each) === name).sort(nearestFirst);
  const near = called.length > 0 ? undefined : nearest(path.value, others);
  const meant = near === undefined ? called.slice(0, mostOffered) : [near];
  const at = tree.starts[tree.chunks.indexOf(path.chunk)]!;
  return meant.map((each) => ({
    title: `Use \`${each}\``,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnosticOf(snapshot, finding, client)],
    ...(meant.length === 1 ? { isPreferred: true } : {}),
    edit: workspaceEditOf(
      [{ file, edits: textEditsOf(file, [{ start: at + path.start, end: at + path.end, text: writtenPath(each) }]) }],
      client,
    ),
  }));
}

const nameIn = (path: string): string => path.split('/').at(-1)!;

/** By the folders between. */
const nearestFirst = (a: string, b: string): number => a.split('/').length - b.split('/').length || (a < b ? -1 : 1);
