import assert from 'node:assert/strict';
import * as vscode from 'vscode';
import type { LanguageClient } from 'vscode-languageclient/node';

/** A finding as a fixture states it: its code and the text under the squiggle, in `line:from-to`, counted from 0. */
export type Marked = string;

/** The extension under test; fails where it is not the packed one. */
export async function activated(): Promise<vscode.Extension<{ client: LanguageClient; started: Promise<void> }>> {
  const extension = vscode.extensions.getExtension<{ client: LanguageClient; started: Promise<void> }>('fettle.fettle');
  assert(extension, 'The extension is not installed.');
  const { started } = await extension.activate();
  await started;
  return extension;
}

/** Opens a file of the workspace folder in an editor of its own: a preview would close the one before. */
export async function open(path: string): Promise<vscode.TextEditor> {
  const folder = vscode.workspace.workspaceFolders?.[0];
  assert(folder, 'No folder is open.');
  return vscode.window.showTextDocument(vscode.Uri.joinPath(folder.uri, path), { preview: false });
}

/**
 * What the fixture says it finds. A comment `# ~~~~ code` marks the text right above its signs:
 * ```
 *     remove bore-plug
 *     #      ~~~~~~~~~ left-off
 * ```
 */
export function marked(document: vscode.TextDocument): Marked[] {
  const findings: Marked[] = [];
  let above = 0;
  for (let line = 0; line < document.lineCount; line++) {
    const signs = /^(\s*# *)(~+) ([a-z-]+)$/.exec(document.lineAt(line).text);
    if (!signs) {
      above = line;
      continue;
    }
    const [, lead = '', tildes = '', code = ''] = signs;
    findings.push(`${above}:${lead.length}-${lead.length + tildes.length} ${code}`);
  }
  return findings.sort();
}

/** What the editor shows for a document, in the same words as `marked`. */
export function shown(uri: vscode.Uri): Marked[] {
  return vscode.languages
    .getDiagnostics(uri)
    .map(({ range: { start, end }, code }) => {
      const name = typeof code === 'object' ? code.value : code;
      return start.line === end.line
        ? `${start.line}:${start.character}-${end.character} ${name}`
        : `${start.line}:${start.character}-${end.line}:${end.character} ${name}`;
    })
    .sort();
}

/** The place of `text` in a document, `nth` from 1; fails where it is not there. */
export function rangeOf(document: vscode.TextDocument, text: string, nth = 1): vscode.Range {
  let at = -1;
  for (let i = 0; i < nth; i++) {
    at = document.getText().indexOf(text, at + 1);
    assert(at >= 0, `${document.uri.path} has no ${nth} times ${text}`);
  }
  return new vscode.Range(document.positionAt(at), document.positionAt(at + text.length));
}

/** Asks until the answer equals what is expected; fails with the difference when it never does. */
export async function eventually<T>(ask: () => T | PromiseLike<T>, expected: T): Promise<void> {
  const end = Date.now() + 20_000;
  for (;;) {
    const answer = await ask();
    try {
      assert.deepEqual(answer, expected);
      return;
    } catch (difference) {
      if (Date.now() > end) throw difference;
    }
    await new Promise((again) => setTimeout(again, 50));
  }
}
