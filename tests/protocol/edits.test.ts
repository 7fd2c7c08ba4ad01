import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { expect, it } from 'vitest';
import type { CodeAction, WorkspaceEdit } from 'vscode-languageserver';
import { folder } from '../cli/run.ts';
import { Client, pushing } from './client.ts';

const shared = 'part bolt x4 "Bolt"\n';
const text = 'use "shared.fettle"\nteardown\n  step open\n    remove bolt\nreassembly\n  step close\n    fit bolt\n';

/** Versions in an edit, by file name; a client refuses the whole where one of them is not that of its text (LSP 3.17). */
const versionsOf = (edit: WorkspaceEdit): unknown =>
  Object.fromEntries(
    (edit.documentChanges ?? []).map((change) =>
      'textDocument' in change ? [change.textDocument.uri.split('/').at(-1), change.textDocument.version] : [],
    ),
  );

it('a rename names the version of each open file, and writes nothing itself', async () => {
  const path = folder({ 'unit.fettle': text, 'shared.fettle': shared });
  const uri = pathToFileURL(join(path, 'unit.fettle')).href;
  const client = new Client();
  await client.initialize(pushing, [pathToFileURL(path).href]);
  await client.open(uri, text, 7);
  const rename = (line: number): Promise<WorkspaceEdit> =>
    client.request('textDocument/rename', {
      textDocument: { uri },
      position: { line, character: 12 },
      newName: 'screw',
    });
  const edit = await rename(3);
  expect(edit.changes).toBeUndefined();
  expect(versionsOf(edit)).toEqual({ 'unit.fettle': 7, 'shared.fettle': null });
  await client.open(pathToFileURL(join(path, 'shared.fettle')).href, shared, 3);
  await client.change(uri, 8, [
    { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, text: '\n' },
  ]);
  expect(versionsOf(await rename(4))).toEqual({ 'unit.fettle': 8, 'shared.fettle': 3 });
  expect(readFileSync(join(path, 'shared.fettle'), 'utf8')).toBe(shared);
  await client.end();
});

it('a repair offered for a text that has changed since has no edit', async () => {
  const uri = 'file:///bench/unit.fettle';
  const faulty = 'part a "A"\npart b "B"\nteardown\n  step s\n    remove a\n    remove b\n';
  const client = new Client();
  await client.initialize({
    ...pushing,
    textDocument: { ...pushing.textDocument, codeAction: { resolveSupport: { properties: ['edit'] } } },
  });
  await client.open(uri, faulty, 1);
  const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
    textDocument: { uri },
    range: { start: { line: 4, character: 11 }, end: { line: 4, character: 12 } },
    context: { diagnostics: [] },
  });
  const all = actions.find(({ title }) => title.startsWith('Mend all 2'))!;
  const resolved = await client.request<CodeAction>('codeAction/resolve', all);
  expect(versionsOf(resolved.edit!)).toEqual({ 'unit.fettle': 1 });
  await client.change(uri, 2, [{ text: `# new\n${faulty}` }]);
  expect((await client.request<CodeAction>('codeAction/resolve', all)).edit).toBeUndefined();
  await client.end();
});
