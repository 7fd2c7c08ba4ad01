import { type CodeAction, CodeActionKind, type SymbolKind } from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { nearest } from '../../../grammar/nearest.ts';
import type { Finding } from '../checks/check.ts';
import { noFile } from '../checks/use-files.ts';
import type { NameKind } from '../model/references.ts';
import type { Snapshot } from '../snapshot.ts';
import { diagnosticOf } from './diagnostics.ts';
import { symbolKinds } from './document-symbol.ts';
import { textEditsOf, workspaceEditOf } from './edits.ts';
import type { Site } from './feature.ts';
import { usePath, writtenPath } from './use-path.ts';
import { symbolNamesOf } from './workspace-symbol.ts';

/** Files of one sort that are offered. */
const mostOffered = 3;

/**
 * Files of the workspace that a `use` of the snapshot's own file may mean whose own is not there: those of the same name, else
 * those that declare what this file lacks, and one that is spelled nearly alike. None for other findings.
 */
export async function lostFileActions(
  snapshot: Snapshot,
  finding: Finding,
  { client, workspace, token }: Site,
): Promise<CodeAction[]> {
  const { item } = finding.span.chunk;
  const path = item?.kind === 'use' ? item.path : undefined;
  if (finding.code !== noFile.code || !snapshot.isOwn(finding.span) || path === undefined) return [];
  const { file, tree } = snapshot;
  const { scheme, authority } = URI.parse(file.key);
  const others = new Map<string, string>();
  for (const key of await workspace.allKeys()) {
    const place = URI.parse(key);
    // What is used already would be used twice.
    if (place.scheme === scheme && place.authority === authority && !snapshot.files.has(key))
      others.set(key, usePath(file.key, key));
  }
  const name = nameIn(path.value);
  let meant = [...others.values()].filter((each) => nameIn(each) === name).sort(nearestFirst);
  let sure = meant.length === 1;
  if (meant.length === 0) {
    const lacked = namesLacked(snapshot);
    const declaring = new Map<string, number>();
    if (lacked.size > 0) {
      for await (const other of workspace.everySnapshot()) {
        if (token.isCancellationRequested) return [];
        const written = others.get(other.file.key);
        const count = written === undefined ? 0 : countDeclared(other, lacked);
        if (count > 0) declaring.set(written!, count);
      }
    }
    const near = nearest(path.value, others.values());
    meant = [...declaring.keys()].sort((a, b) => declaring.get(b)! - declaring.get(a)! || nearestFirst(a, b));
    const [first, second] = meant.map((each) => declaring.get(each)!);
    sure = first === undefined ? lacked.size === 0 : first !== second && 2 * first >= lacked.size;
    meant.splice(mostOffered);
    if (near !== undefined && !meant.includes(near)) meant.push(near);
  }
  const at = tree.starts[tree.chunks.indexOf(path.chunk)]!;
  return meant.slice(0, mostOffered + 1).map((each, i) => ({
    title: `Use \`${each}\``,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnosticOf(snapshot, finding, client)],
    ...(sure && i === 0 ? { isPreferred: true } : {}),
    edit: workspaceEditOf(
      [{ file, edits: textEditsOf(file, [{ start: at + path.start, end: at + path.end, text: writtenPath(each) }]) }],
      client,
    ),
  }));
}

/** Names that nothing declares, each behind its kind. */
const namesLacked = ({ model }: Snapshot): ReadonlySet<string> =>
  new Set(model.unknown.map(({ kind, name }) => `${kindOfSymbol(kind)} ${name.text}`));

const kindOfSymbol = (kind: NameKind): SymbolKind | undefined => (kind === 'code' ? undefined : symbolKinds[kind]);

/** How many of the names a shared file declares; none of a procedure. */
function countDeclared(snapshot: Snapshot, lacked: ReadonlySet<string>): number {
  let count = 0;
  for (const { name, kind } of symbolNamesOf(snapshot)) {
    if (kind === symbolKinds.procedure) return 0;
    if (lacked.has(`${kind} ${name}`)) count++;
  }
  return count;
}

const nameIn = (path: string): string => path.split('/').at(-1)!;

/** By the folders between. */
const nearestFirst = (a: string, b: string): number => a.split('/').length - b.split('/').length || (a < b ? -1 : 1);
