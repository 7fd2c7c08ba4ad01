import { expect, test, vi } from 'vitest';
import { filesOf } from '../../server/src/cli/files.ts';
import { folder } from './run.ts';

const asked = vi.hoisted(() => [] as string[]);
vi.mock('node:fs', async (original) => {
  const fs = await original<typeof import('node:fs')>();
  const counted =
    <T>(question: (path: string) => T) =>
    (path: string): T => {
      asked.push(path);
      return question(path);
    };
  return {
    ...fs,
    accessSync: counted(fs.accessSync),
    lstatSync: counted(fs.lstatSync),
    statSync: counted(fs.statSync),
  };
});

test('a pattern asks about folders and about what it fits, not about every name that it goes by', () => {
  const others = Array.from({ length: 200 }, (_, i): [string, string] => [`jobs/deep/picture-${i}.png`, '']);
  const root = folder({ 'jobs/a.fettle': '', 'jobs/deep/b.fettle': '', ...Object.fromEntries(others) });
  asked.length = 0;
  expect(filesOf(`${root}/**/*.fettle`)).toEqual([`${root}/jobs/a.fettle`, `${root}/jobs/deep/b.fettle`]);
  expect(asked.filter((path) => path.endsWith('.png'))).toEqual([]);
  expect(asked).toContain(`${root}/jobs/deep`);
});
