import { PassThrough } from 'node:stream';
import { expect, it, vi } from 'vitest';
import { createMessageConnection, StreamMessageReader, StreamMessageWriter } from 'vscode-jsonrpc/node';
import type { Diagnostic, PublishDiagnosticsParams } from 'vscode-languageserver';
import { createConnection } from 'vscode-languageserver/node';
import { serve } from '../../server/src/connection.ts';
import { pulling, pushing } from './client.ts';

vi.mock('../../server/src/ledger/ledger.ts', async (original) => {
  const real = await original<typeof import('../../server/src/ledger/ledger.ts')>();
  return {
    ...real,
    replay: (...args: Parameters<typeof real.replay>) => {
      if (args[0].tree.text.includes('explodes')) throw new Error('the ledger broke');
      return real.replay(...args);
    },
  };
});

const text = `part cover "Cover"
teardown
  step open
    remove cover
`;
const files = { 'file:///bench/bad.fettle': `# explodes\n${text}`, 'file:///bench/good.fettle': text };

/** A server in this process, so that a fault can be put into it. */
async function started(capabilities: object) {
  const up = new PassThrough();
  const down = new PassThrough();
  serve(createConnection(new StreamMessageReader(up), new StreamMessageWriter(down)));
  const client = createMessageConnection(new StreamMessageReader(down), new StreamMessageWriter(up));
  const pushed = new Map<string, Diagnostic[]>();
  let wake = (): void => {};
  client.onNotification('textDocument/publishDiagnostics', ({ uri, diagnostics }: PublishDiagnosticsParams) => {
    pushed.set(uri, diagnostics);
    wake();
  });
  client.onRequest(() => null);
  client.listen();
  await client.sendRequest('initialize', { processId: null, rootUri: null, capabilities, workspaceFolders: null });
  await client.sendNotification('initialized', {});
  for (const [uri, content] of Object.entries(files))
    await client.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'fettle', version: 1, text: content },
    });
  const told = async (uri: string): Promise<Diagnostic[]> => {
    while (!pushed.has(uri))
      await new Promise<void>((resolve) => {
        wake = resolve;
      });
    return pushed.get(uri)!;
  };
  return { client, told };
}
const codes = (diagnostics: readonly Diagnostic[]): unknown[] => diagnostics.map(({ code }) => code);

it('a file whose replay throws is told of as such, and the files beside it are judged', async () => {
  const { client, told } = await started(pushing);
  expect(codes(await told('file:///bench/bad.fettle'))).toEqual(['fault']);
  expect((await told('file:///bench/bad.fettle'))[0]!.message).toContain('the ledger broke');
  expect(codes(await told('file:///bench/good.fettle'))).toEqual(['left-off']);
  client.dispose();
});

it('the same for a client that pulls, file by file', async () => {
  const { client } = await started(pulling);
  const pull = (uri: string) =>
    client.sendRequest<{ items: Diagnostic[] }>('textDocument/diagnostic', { textDocument: { uri } });
  expect(codes((await pull('file:///bench/bad.fettle')).items)).toEqual(['fault']);
  expect(codes((await pull('file:///bench/good.fettle')).items)).toEqual(['left-off']);
  const { items } = await client.sendRequest<{ items: { uri: string; items: Diagnostic[] }[] }>(
    'workspace/diagnostic',
    {
      previousResultIds: [],
    },
  );
  expect(Object.fromEntries(items.map((each) => [each.uri, codes(each.items)]))).toEqual({
    'file:///bench/bad.fettle': ['fault'],
    'file:///bench/good.fettle': ['left-off'],
  });
  // What needs no replay is answered all the same; what does is refused, and the server goes on.
  const textDocument = { uri: 'file:///bench/bad.fettle' };
  expect(await client.sendRequest('textDocument/foldingRange', { textDocument })).not.toEqual([]);
  client.dispose();
});
