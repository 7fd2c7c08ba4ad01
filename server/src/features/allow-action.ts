import { type CodeAction, CodeActionKind } from 'vscode-languageserver';
import { offsetsOf } from '../../../grammar/syntax.ts';
import { checkOf } from '../checks/all.ts';
import type { Finding } from '../checks/check.ts';
import { newlineOf } from '../checks/edits.ts';
import { idleAllow } from '../checks/idle-allow.ts';
import { wouldHold } from '../checks/run.ts';
import { syntax } from '../checks/syntax.ts';
import { isDeclaration } from '../model/mentions.ts';
import type { Snapshot } from '../snapshot.ts';
import { statementAt } from './at.ts';
import { diagnosticOf } from './diagnostics.ts';
import { workspaceEditOf } from './edits.ts';
import type { Client } from './feature.ts';

/**
 * Writes `# fettle-allow CODE: ` above what a finding is about. The reason is the author's: until it stands there, nothing is silent.
 * Nothing where no line above would silence it.
 */
export function allowAction(snapshot: Snapshot, finding: Finding, client: Client): CodeAction | undefined {
  const { code, span } = finding;
  if (checkOf(code) === undefined || code === syntax.code || code === idleAllow.code) return undefined;
  const { model, tree, text, file } = snapshot;
  const { start } = offsetsOf(tree, span);
  const base = start - span.start;
  const { item } = span.chunk;
  const about = statementAt(span.chunk, span.start) ?? (isDeclaration(item) ? item : span);
  const line = text.lastIndexOf('\n', base + about.start - 1) + 1;
  if (!wouldHold(tree, span.chunk, line, start, model)) return undefined;
  const place = file.document.positionAt(line);
  const range = { start: place, end: place };
  const margin = /^[ \t]*/.exec(text.slice(line))![0];
  const opening = `${margin}# fettle-allow ${code}: `;
  const newline = newlineOf(tree);
  return {
    title: `Allow \`${code}\` here, with a reason`,
    kind: CodeActionKind.QuickFix,
    diagnostics: [diagnosticOf(snapshot, finding, client)],
    edit: client.snippetEdits
      ? {
          documentChanges: [
            {
              textDocument: { uri: file.uri, version: file.version ?? null },
              edits: [{ range, snippet: { kind: 'snippet', value: `${opening}$0${newline}` } }],
            },
          ],
        }
      : workspaceEditOf([{ file, edits: [{ range, newText: `${opening}${newline}` }] }], client),
  };
}
