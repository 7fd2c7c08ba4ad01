import { afterEach, beforeEach, expect, it } from 'vitest';
import type { ClientCapabilities } from 'vscode-languageserver';
import { changed } from '../../server/src/requests.ts';
import { Client, pulling } from './client.ts';

const shared = 'file:///bench/bolts.fettle';
const user = 'file:///bench/lid.fettle';
const refreshing: ClientCapabilities = {
  ...pulling,
  workspace: {
    ...pulling.workspace,
    inlayHint: { refreshSupport: true },
    codeLens: { refreshSupport: true },
    semanticTokens: { refreshSupport: true },
  },
};
const views = ['workspace/inlayHint/refresh', 'workspace/codeLens/refresh', 'workspace/semanticTokens/refresh'];
const line = { start: { line: 0, character: 0 }, end: { line: 1, character: 0 } };

let client: Client;
let told = 0;
beforeEach(() => {
  client = new Client();
  told = 0;
  client.connection.onNotification(changed, () => {
    told++;
  });
});
afterEach(async () => {
  expect(await client.end()).toBe(0);
  expect(client.stderr).toBe('');
});

async function openBoth(): Promise<void> {
  await client.open(shared, 'part bolt x4 "Bolt" torque 9 N·m\n');
  await client.open(user, 'use "bolts.fettle"\npart lid "Lid" held by bolt\nteardown\n  step open\n    remove bolt\n');
  await client.request('textDocument/codeLens', { textDocument: { uri: user } });
}
/** Until the server, with nothing left to do, was silent for longer than it waits. */
async function rest(): Promise<void> {
  for (let heard = -1; heard !== told + client.asked.length; ) {
    heard = told + client.asked.length;
    await client.request('textDocument/codeLens', { textDocument: { uri: user } });
    await new Promise((resolve) => setTimeout(resolve, 700));
    await client.request('textDocument/codeLens', { textDocument: { uri: user } });
  }
}

it('an edit in a used file has hints, lenses, colours and views of its users asked for anew', async () => {
  await client.initialize(refreshing, [], { changes: true });
  await openBoth();
  await rest();
  client.asked.length = 0;
  const before = told;
  for (const [i, count] of [5, 6, 7].entries())
    await client.change(shared, 2 + i, [{ range: line, text: `part bolt x${count} "Bolt" torque 8 N·m\n` }]);
  while (!views.every((view) => client.asked.includes(view))) await client.next();
  await rest();
  // Once, however many letters were typed.
  expect(client.asked.filter((method) => method !== 'workspace/diagnostic/refresh').sort()).toEqual([...views].sort());
  expect(told).toBe(before + 1);
});

it('an edit in a file that none uses has nothing asked for', async () => {
  await client.initialize(refreshing, [], { changes: true });
  await openBoth();
  await rest();
  client.asked.length = 0;
  const before = told;
  await client.change(user, 2, [{ range: line, text: 'use "bolts.fettle" # those of the lid\n' }]);
  await client.request('textDocument/codeLens', { textDocument: { uri: user } });
  await rest();
  expect(client.asked).toEqual([]);
  expect(told).toBe(before);
});

it('a client that can do neither is asked and told nothing', async () => {
  await client.initialize(pulling);
  await openBoth();
  await client.change(shared, 2, [{ range: line, text: 'part bolt x5 "Bolt"\n' }]);
  while (!client.asked.includes('workspace/diagnostic/refresh')) await client.next();
  await rest();
  expect(client.asked.filter((method) => method !== 'workspace/diagnostic/refresh')).toEqual([]);
  expect(told).toBe(0);
});
