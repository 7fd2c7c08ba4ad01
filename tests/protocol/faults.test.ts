import { describe, expect, it } from 'vitest';
import { CancellationTokenSource } from 'vscode-jsonrpc';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { brief, Client } from './client.ts';

const uri = 'file:///bench/pump.fettle';
const text = `part cover "Cover"
teardown
  step open
    remove cover
`;

async function started(): Promise<Client> {
  const client = new Client();
  await client.initialize();
  return client;
}
const ends = async (client: Client): Promise<void> => {
  expect(await client.end()).toBe(0);
  expect(client.stderr).toBe('');
};

describe('faults of the protocol', () => {
  it('a version that is older than the last is not taken', async () => {
    const client = await started();
    await client.open(uri, text, 5);
    await client.change(uri, 7, [{ text: '' }]);
    await client.change(uri, 6, [{ text }]);
    await client.change(uri, 8, [{ text: `${text}reassembly\n  step close\n    fit cover\n` }]);
    expect(await client.findings(uri, 8)).toEqual([]);
    expect(client.pushed.map(({ version }) => version)).not.toContain(6);
    await ends(client);
  });

  it('an edit outside the text is drawn to its nearest place', async () => {
    const client = await started();
    await client.open(uri, text);
    await client.change(uri, 2, [
      {
        range: { start: { line: 500, character: 3 }, end: { line: 600, character: 0 } },
        text: 'reassembly\n  step close\n',
      },
      { range: { start: { line: 900, character: 0 }, end: { line: 900, character: 9 } }, text: '    fit cover\n' },
    ]);
    expect(await client.findings(uri, 2)).toEqual([]);
    await ends(client);
  });

  it('a change or a close of a document that is not open does nothing', async () => {
    const client = await started();
    await client.change(uri, 2, [{ text }]);
    await client.close(uri);
    await client.open(uri, text);
    expect(brief(await client.findings(uri, 1))).toEqual(['4:11-16 left-off']);
    await ends(client);
  });

  it('an unknown request is refused by name, an unknown notification is passed over', async () => {
    const client = await started();
    await client.connection.sendNotification('bench/unknown', { a: 1 });
    await expect(client.request('bench/unknown', {})).rejects.toMatchObject({ code: -32601 });
    await ends(client);
  });

  it('params of the wrong shape give an error and leave the server running', async () => {
    const client = await started();
    await expect(client.request('textDocument/hover', {})).rejects.toMatchObject({ code: -32602 });
    await client.open(uri, text);
    await expect(client.request('textDocument/hover', { textDocument: { uri } })).rejects.toBeDefined();
    expect(brief(await client.findings(uri, 1))).toEqual(['4:11-16 left-off']);
    await client.connection.sendRequest('shutdown');
    await client.connection.sendNotification('exit');
    expect(await client.exit).toBe(0);
  });

  it('requests before initialize and after shutdown are refused', async () => {
    const client = new Client();
    const hover = { textDocument: { uri }, position: { line: 0, character: 0 } };
    await expect(client.request('textDocument/hover', hover)).rejects.toMatchObject({ code: -32002 });
    await client.initialize();
    await client.connection.sendRequest('shutdown');
    await expect(client.request('textDocument/hover', hover)).rejects.toMatchObject({ code: -32600 });
    await client.connection.sendNotification('exit');
    expect(await client.exit).toBe(0);
  });

  it('an exit without shutdown, and an end of the stream, give exit code 1', async () => {
    const client = await started();
    await client.connection.sendNotification('exit');
    expect(await client.exit).toBe(1);
    const other = await started();
    other.connection.end();
    other.process.stdin!.end();
    expect(await other.exit).toBe(1);
    expect(other.stderr).toBe('');
  });

  it('half a message and then its rest is one message', async () => {
    const client = await started();
    const body = JSON.stringify({
      jsonrpc: '2.0',
      method: 'textDocument/didOpen',
      params: { textDocument: { uri, languageId: 'fettle', version: 1, text } },
    });
    const message = Buffer.from(`Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${body}`);
    const stdin = client.process.stdin!;
    for (const cut of [[0, 9], [9, 40], [40, message.length - 1], [message.length - 1]])
      await new Promise((resolve) => stdin.write(message.subarray(...cut), resolve));
    expect(brief(await client.findings(uri, 1))).toEqual(['4:11-16 left-off']);
    await ends(client);
  });

  it('a storm of cancelled requests leaves every request answered', async () => {
    const client = await started();
    await client.open(uri, text.repeat(1));
    const answers = await Promise.allSettled(
      Array.from({ length: 300 }, (_, i) => {
        const source = new CancellationTokenSource();
        const params = { textDocument: { uri }, position: { line: 3, character: 11 } };
        const answer = client.connection.sendRequest('textDocument/completion', params, source.token);
        if (i % 3 !== 0) source.cancel();
        return answer;
      }),
    );
    answers.forEach((answer, i) => {
      if (i % 3 === 0) expect(answer.status).toBe('fulfilled');
      else if (answer.status === 'rejected') expect(answer.reason).toMatchObject({ code: -32800 });
    });
    await ends(client);
  });

  it('a document that is closed while it is judged keeps no findings', async () => {
    const client = await started();
    for (let version = 1; version <= 20; version++) {
      await client.open(uri, text, version);
      await client.close(uri);
    }
    await client.open('file:///bench/last.fettle', text, 1);
    await client.findings('file:///bench/last.fettle', 1);
    const last = client.pushed.findLast((params) => params.uri === uri);
    expect(last?.diagnostics ?? []).toEqual([]);
    await ends(client);
  });

  it('after a burst of edits the findings are those of a fresh check', async () => {
    const client = await started();
    await client.open(uri, text);
    let now = text;
    let seed = 7;
    const random = (below: number): number => {
      seed = (seed * 48271) % 2147483647;
      return seed % below;
    };
    const pieces = ['\n', ' ', '    fit cover\n', 'remove', '"', 'x2', '    remove cover\n', '', 'part bolt "Bolt"\n'];
    const rounds = 2000;
    for (let version = 2; version <= rounds; version++) {
      const lines = now.split('\n');
      const line = random(lines.length);
      const start = random(lines[line]!.length + 1);
      const end = Math.min(lines[line]!.length, start + random(4));
      const put = now.length > 4000 ? '' : pieces[random(pieces.length)]!;
      await client.change(uri, version, [
        { range: { start: { line, character: start }, end: { line, character: end } }, text: put },
      ]);
      lines[line] = lines[line]!.slice(0, start) + put + lines[line]!.slice(end);
      now = lines.join('\n');
    }
    const found = await client.findings(uri, rounds);
    const fresh = judge(bind(parse(uri, now))).findings;
    expect(found.map(({ message }) => message)).toEqual(fresh.map(({ message }) => message));
    const versions = client.pushed.map(({ version }) => version!);
    expect(versions).toEqual([...versions].sort((a, b) => a - b));
    await ends(client);
  });
});
