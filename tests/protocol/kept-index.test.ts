import { chmodSync, existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it, vi } from 'vitest';
import type { ClientCapabilities, WorkspaceDiagnosticReport } from 'vscode-languageserver';
import { bad, folder, good } from '../cli/run.ts';
import { Client, pulling } from './client.ts';

const files = {
  'bad.fettle': bad,
  'good.fettle': good,
  'using.fettle': 'use "common/bolts.fettle"\nteardown\n  step open\n    remove bolt\n',
  'common/bolts.fettle': 'part bolt x4 "Bolt"\n',
};
const asking: ClientCapabilities = { ...pulling, workspace: { ...pulling.workspace, configuration: true } };

async function start(root: string, storage?: string, settings: unknown = { index: { cache: true } }): Promise<Client> {
  const client = new Client();
  client.settings = settings;
  const options = storage === undefined ? {} : { storage: pathToFileURL(storage).href };
  await client.initialize(asking, [pathToFileURL(root).href], options);
  while (!client.asked.includes('workspace/configuration')) await client.next();
  return client;
}
/** Findings by file; the ids of results are of one run only. */
async function pulled(client: Client): Promise<unknown[]> {
  const { items } = await client.request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] });
  return items.map(({ resultId, ...report }) => report);
}
async function ended(client: Client): Promise<void> {
  expect(await client.end()).toBe(0);
  expect(client.stderr).toBe('');
}
const run = async (root: string, storage?: string, settings?: unknown): Promise<unknown[]> => {
  const client = await start(root, storage, settings);
  const found = await pulled(client);
  await ended(client);
  return found;
};
const listed = (storage: string): Map<string, bigint> =>
  new Map(
    readdirSync(join(storage, 'index')).map((name) => [
      name,
      statSync(join(storage, 'index', name), { bigint: true }).mtimeNs,
    ]),
  );

it('what closed files came to is taken back by the next server, where nothing has changed', async () => {
  const root = folder(files);
  const storage = join(folder(), 'not/yet/there');
  const plain = await run(root);
  expect(await run(root, storage)).toEqual(plain);
  const kept = listed(storage);
  expect(kept.size).toBe(Object.keys(files).length + 1);
  expect(await run(root, storage)).toEqual(plain);
  expect(listed(storage)).toEqual(kept);

  writeFileSync(join(root, 'common/bolts.fettle'), 'part bolt x6 "Bolt"\n');
  const changed = await run(root);
  expect(changed).not.toEqual(plain);
  expect(await run(root, storage)).toEqual(changed);
  const entry = [...kept.keys()].find((name) => name.endsWith('.entry'))!;
  writeFileSync(join(storage, 'index', entry), readFileSync(join(storage, 'index', entry)).subarray(0, 90));
  expect(await run(root, storage)).toEqual(changed);
});

it('nothing is written where the settings do not say so, nor where the client names no folder of this machine', async () => {
  const root = folder(files);
  const storage = folder();
  for (const settings of [null, {}, { index: { cache: false } }, { index: { cache: 'yes' } }])
    await run(root, storage, settings);
  expect(readdirSync(storage)).toEqual([]);
  const client = new Client();
  client.settings = { index: { cache: true } };
  await client.initialize(asking, [pathToFileURL(root).href], { storage: 'vscode-userdata:/User/storage' });
  await pulled(client);
  await ended(client);
  expect(readdirSync(root).sort()).toEqual(['bad.fettle', 'common', 'good.fettle', 'using.fettle']);
});

it('two servers at a time do each other no harm', async () => {
  const root = folder(files);
  const storage = folder();
  const plain = await run(root);
  for (let round = 0; round < 2; round++) {
    const clients = await Promise.all([start(root, storage), start(root, storage)]);
    const found = await Promise.all(clients.map((client) => Promise.all([pulled(client), pulled(client)])));
    expect(found.flat()).toEqual([plain, plain, plain, plain]);
    await Promise.all(clients.map(ended));
    expect(listed(storage).size).toBe(Object.keys(files).length + 1);
  }
});

it.each<[string, (storage: string) => void]>([
  [
    'that others may write to',
    (storage) => {
      mkdirSync(join(storage, 'index'));
      chmodSync(join(storage, 'index'), 0o777);
    },
  ],
  ['that cannot be made', (storage) => writeFileSync(join(storage, 'index'), '')],
])('a folder %s is told of once, and the findings are as without', async (_, spoil) => {
  const root = folder(files);
  const storage = folder();
  spoil(storage);
  const client = new Client();
  const told: string[] = [];
  client.connection.onNotification('window/logMessage', ({ message }) => void told.push(message));
  client.settings = { index: { cache: true } };
  await client.initialize(asking, [pathToFileURL(root).href], { storage: pathToFileURL(storage).href });
  const found = [await pulled(client), await pulled(client)];
  await ended(client);
  const plain = await run(root);
  expect(found).toEqual([plain, plain]);
  expect(told).toEqual([expect.stringMatching(/^The index is not kept: .*: /)]);
});

describe('what was kept is removed', () => {
  const kept = (storage: string): string[] => (existsSync(storage) ? readdirSync(storage) : []);
  const set = (client: Client, settings: unknown): Promise<void> => {
    client.settings = settings;
    return client.connection.sendNotification('workspace/didChangeConfiguration', { settings: null });
  };
  /** The server asks for settings and takes them in when it comes to that. */
  const soon = (look: () => unknown) => vi.waitFor(look, { timeout: 30_000 });

  it('once the setting is off, and comes back with it', async () => {
    const root = folder(files);
    const storage = folder();
    const client = await start(root, storage);
    const found = await pulled(client);
    expect(kept(storage)).toEqual(['index']);
    await set(client, { index: { cache: false } });
    await soon(() => expect(kept(storage)).toEqual([]));
    expect(await pulled(client)).toEqual(found);
    await set(client, { index: { cache: true } });
    await soon(async () => {
      expect(await pulled(client)).toEqual(found);
      expect(listed(storage).size).toBe(Object.keys(files).length + 1);
    });
    await ended(client);
  });

  it('by the next server where the setting was turned off meanwhile', async () => {
    const root = folder(files);
    const storage = folder();
    await run(root, storage);
    await run(root, storage, { index: { cache: false } });
    expect(kept(storage)).toEqual([]);
  });

  it('but nothing else that lies there', async () => {
    const root = folder(files);
    const storage = folder();
    await run(root, storage);
    writeFileSync(join(storage, 'index/notes.txt'), 'mine');
    const likeAnEntry = `${'0'.repeat(64)}.entry`;
    mkdirSync(join(storage, 'index', likeAnEntry));
    await run(root, storage, { index: { cache: false } });
    expect(readdirSync(join(storage, 'index')).sort()).toEqual([likeAnEntry, 'notes.txt']);
  });

  it('not where the client does not tell its settings', async () => {
    const root = folder(files);
    const storage = folder();
    await run(root, storage);
    const before = listed(storage);
    await run(root, storage, null);
    expect(listed(storage)).toEqual(before);
  });
});
