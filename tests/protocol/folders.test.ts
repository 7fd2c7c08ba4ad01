import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { expect, it, onTestFinished } from 'vitest';
import type { InitializeResult, WorkspaceDiagnosticReport } from 'vscode-languageserver';
import { Client, pulling } from './client.ts';

function folder(): string {
  const path = mkdtempSync(join(tmpdir(), 'fettle-folder-'));
  onTestFinished(() => rmSync(path, { recursive: true, force: true }));
  writeFileSync(join(path, 'unit.fettle'), 'part cover "Cover"\nteardown\n  step open\n    remove cover\n');
  return pathToFileURL(path).toString();
}

// Clients that announce folders make the protocol library listen to their changes too; both must hear of them.
it.each([true, false])('folders come and go with their findings, announced: %s', async (announced) => {
  const [first, second] = [folder(), folder()];
  const client = new Client();
  const capabilities = { ...pulling, workspace: { ...pulling.workspace, workspaceFolders: announced } };
  await client.initialize(capabilities, [first]);
  const files = async () => {
    const { items } = await client.request<WorkspaceDiagnosticReport>('workspace/diagnostic', {
      previousResultIds: [],
    });
    return items.map(({ uri }) => uri);
  };
  const change = (added: string[], removed: string[]) => {
    const named = (uris: string[]) => uris.map((uri) => ({ uri, name: uri }));
    return client.connection.sendNotification('workspace/didChangeWorkspaceFolders', {
      event: { added: named(added), removed: named(removed) },
    });
  };
  expect(await files()).toEqual([`${first}/unit.fettle`]);
  await change([second], []);
  expect(await files()).toEqual([`${first}/unit.fettle`, `${second}/unit.fettle`]);
  await change([], [first]);
  expect(await files()).toEqual([`${second}/unit.fettle`]);
  expect(await client.end()).toBe(0);
});

it('files that are renamed take the `use` lines along that lead to them', async () => {
  const home = folder();
  writeFileSync(join(fileURLToPath(home), 'user.fettle'), '# Uses it\nuse "unit.fettle"\n');
  const client = new Client();
  const { capabilities } = (await client.initialize(pulling, [home])) as InitializeResult;
  expect(capabilities.workspace).toEqual({
    workspaceFolders: { supported: true, changeNotifications: true },
    fileOperations: { willRename: { filters: expect.any(Array) } },
  });
  const files = [{ oldUri: `${home}/unit.fettle`, newUri: `${home}/deep/one.fettle` }];
  const start = { line: 1, character: 4 };
  expect(await client.request('workspace/willRenameFiles', { files })).toEqual({
    documentChanges: [
      {
        textDocument: { uri: `${home}/user.fettle`, version: null },
        edits: [{ range: { start, end: { line: 1, character: 17 } }, newText: '"deep/one.fettle"' }],
      },
    ],
  });
  expect(await client.end()).toBe(0);
});
