import { readdirSync } from 'node:fs';
import { expect, it } from 'vitest';
import { serverEnvironment } from '../../client/src/server-process.ts';
import { bad, folder } from '../cli/run.ts';
import { Client } from './client.ts';

const uri = 'file:///unit.fettle';

async function codesFound(storage: string): Promise<unknown> {
  const client = new Client(undefined, undefined, undefined, serverEnvironment(storage));
  await client.initialize();
  await client.open(uri, bad);
  while (client.pushed.length === 0) await client.next();
  expect(await client.end()).toBe(0);
  expect(client.stderr).toBe('');
  return client.pushed[0]!.diagnostics.map(({ code }) => code);
}

it('what Node made of the code is kept in the storage of the extension, and taken back by the next server', async () => {
  const storage = folder();
  const first = await codesFound(storage);
  const kept = readdirSync(storage, { recursive: true });
  expect(kept).toContain('compiled');
  expect(kept.length).toBeGreaterThan(2);
  expect(await codesFound(storage)).toEqual(first);
});
