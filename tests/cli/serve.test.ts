import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { createMessageConnection, StreamMessageReader, StreamMessageWriter } from 'vscode-jsonrpc/node';
import type { FullDocumentDiagnosticReport } from 'vscode-languageserver';
import { brief, pulling } from '../protocol/client.ts';
import { bad, fettle, root } from './run.ts';

const start = (...args: string[]) =>
  spawn(process.execPath, [join(root, 'server/src/cli/main.ts'), 'serve', ...args], { stdio: 'pipe' });

test('serves an editor over its standard streams until the editor ends it', async () => {
  const server = start('--stdio', `--clientProcessId=${process.pid}`);
  const ended = once(server, 'exit');
  let err = '';
  server.stderr.on('data', (data) => {
    err += data;
  });
  const editor = createMessageConnection(new StreamMessageReader(server.stdout), new StreamMessageWriter(server.stdin));
  editor.listen();
  await editor.sendRequest('initialize', { processId: process.pid, rootUri: null, capabilities: pulling });
  await editor.sendNotification('initialized', {});
  const uri = 'untitled:job';
  await editor.sendNotification('textDocument/didOpen', {
    textDocument: { uri, languageId: 'fettle', version: 1, text: bad },
  });
  const report = await editor.sendRequest<FullDocumentDiagnosticReport>('textDocument/diagnostic', {
    textDocument: { uri },
  });
  expect(brief(report.items)).toEqual(['4:11-16 left-off']);
  await editor.sendRequest('shutdown');
  await editor.sendNotification('exit');
  expect(await ended).toEqual([0, null]);
  expect(err).toBe('');
});

test('ends when the editor goes away without a word', async () => {
  const server = start('--stdio');
  server.stdin.end();
  expect(await once(server, 'exit')).toEqual([1, null]);
});

test.each([
  [[], 'no way to talk to the editor: add --stdio'],
  [['--stdio', 'pump.fettle'], 'the editor names the files, not the command line: leave pump.fettle out'],
  [['--port', '80'], 'there is no option --port: `fettle help serve` lists what there is'],
])('%j is refused with the remedy', (args, message) => {
  expect(fettle(['serve', ...args])).toEqual({ status: 2, out: '', err: `fettle: ${message}\n` });
});
