import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { expect, it } from 'vitest';
import { folder } from '../cli/run.ts';
import { brief, Client, pushing } from './client.ts';

const close = '# fettle-shared\npart cover "Cover"\nreassembly\n  step close "Close it"\n    fit cover\n';
const lid =
  'procedure lid "Lid"\nteardown\n  step open "Open it"\n    remove cover\nreassembly\n  use "common/close.fettle"\n';

it('an edit to an open shared file checks again what takes its steps in', async () => {
  const path = folder({ 'lid.fettle': lid, 'common/close.fettle': close });
  const uriOf = (name: string): string => pathToFileURL(join(path, name)).href;
  const client = new Client();
  await client.initialize(pushing, [pathToFileURL(path).href]);
  await client.open(uriOf('lid.fettle'), lid, 1);
  expect(brief(await client.findings(uriOf('lid.fettle'), 1))).toEqual([]);
  await client.open(uriOf('common/close.fettle'), close, 1);
  expect(brief(await client.findings(uriOf('common/close.fettle'), 1))).toEqual([]);
  client.pushed.length = 0;
  const line = { start: { line: 4, character: 0 }, end: { line: 5, character: 0 } };
  await client.change(uriOf('common/close.fettle'), 2, [{ range: line, text: '' }]);
  const lost = await client.findings(uriOf('lid.fettle'), 1);
  expect(lost.map(({ code }) => code)).toEqual(['left-off']);
  client.pushed.length = 0;
  const empty = { start: { line: 4, character: 0 }, end: { line: 4, character: 0 } };
  await client.change(uriOf('common/close.fettle'), 3, [{ range: empty, text: '    fit cover x2\n' }]);
  const [wrong] = await client.findings(uriOf('lid.fettle'), 1);
  expect(wrong!.message).toMatch(/^in common\/close\.fettle line 5, step close: /);
  expect(wrong!.range.start).toEqual({ line: 5, character: 6 });
  await client.end();
});
