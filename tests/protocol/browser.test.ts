import { createContext, runInContext } from 'node:vm';
import { build } from 'esbuild';
import { describe, expect, it } from 'vitest';
import { server } from '../../esbuild.config.ts';
import { brief, pulling } from './client.ts';

/** A worker's global scope: messages go in by `onmessage` and come out by `postMessage`. */
async function worker(): Promise<{
  send: (message: object) => void;
  answer: (id: number) => Promise<{ result: unknown }>;
}> {
  const { outputFiles } = await build({ ...server, sourcemap: false, write: false });
  const [bundle] = outputFiles!;
  const answers = new Map<number, (message: { result: unknown }) => void>();
  const scope: Record<string, unknown> = {
    WorkerGlobalScope: class {},
    postMessage(message: { id?: number; method?: string; result: unknown }) {
      const data = structuredClone(message);
      if (data.method === undefined) answers.get(data.id!)?.(data);
    },
    addEventListener: () => {},
    TextDecoder,
    TextEncoder,
    setTimeout,
    clearTimeout,
    queueMicrotask,
    console,
    performance,
    URL,
  };
  scope['self'] = scope;
  scope['globalThis'] = scope;
  runInContext(bundle!.text, createContext(scope));
  // No message reaches a worker before its script and what that has put off are done.
  await new Promise(setImmediate);
  return {
    send: (message) => {
      (scope['onmessage'] as (event: object) => void)({ data: { jsonrpc: '2.0', ...message } });
    },
    answer: (id) => new Promise((resolve) => answers.set(id, resolve)),
  };
}

describe('the server in a browser', () => {
  it('needs nothing of Node and gives the same findings', async () => {
    const { send, answer } = await worker();
    const initialized = answer(1);
    send({ id: 1, method: 'initialize', params: { processId: null, rootUri: null, capabilities: pulling } });
    expect((await initialized).result).toMatchObject({ serverInfo: { name: 'fettle' } });
    send({ method: 'initialized', params: {} });
    const uri = 'memfs:/bench/unit.fettle';
    const text = 'part cover "Cover"\nteardown\n  step open\n    remove cover\n';
    send({ method: 'textDocument/didOpen', params: { textDocument: { uri, languageId: 'fettle', version: 1, text } } });
    const pulled = answer(2);
    send({ id: 2, method: 'textDocument/diagnostic', params: { textDocument: { uri } } });
    expect(brief(((await pulled).result as { items: never[] }).items)).toEqual(['4:11-16 left-off']);
    // What a check looks for goes with it: it is shown where a `fettle-allow` is written.
    const allow = { uri: 'memfs:/bench/allow.fettle', languageId: 'fettle', version: 1, text: '# fettle-allow ' };
    send({ method: 'textDocument/didOpen', params: { textDocument: allow } });
    const completed = answer(3);
    const position = { line: 0, character: 15 };
    send({ id: 3, method: 'textDocument/completion', params: { textDocument: { uri: allow.uri }, position } });
    const { items } = (await completed).result as { items: { documentation: { value: string } }[] };
    expect(items.length).toBeGreaterThan(40);
    for (const { documentation } of items) expect(documentation.value).toMatch(/^Fires when \S.*\.$/);
  });
});
