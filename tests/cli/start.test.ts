import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, readFileSync, statSync, symlinkSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readToStart } from '../bundled.ts';
import { bad, folder, ordinary, root } from './run.ts';

/** A clone of the program alone. */
function clone(): string {
  const path = folder({ 'a.fettle': bad });
  for (const name of ['package.json', 'grammar', 'server/src'])
    cpSync(join(root, name), join(path, name), { recursive: true });
  symlinkSync(join(root, 'node_modules'), join(path, 'node_modules'));
  return path;
}

const run = (cwd: string, args: readonly string[], as = {}) => {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['server/src/cli/main.ts', ...args], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, npm_lifecycle_event: undefined, NODE_COMPILE_CACHE: undefined },
    ...as,
  });
  return { status, out: stdout, err: stderr };
};

describe('what Node made of the sources is kept', () => {
  test('beside them, and never taken for a source that has changed since', () => {
    const cwd = clone();
    const checked = run(cwd, ['check', 'a.fettle', '--threads', '2']);
    expect(checked.status).toBe(1);
    expect(existsSync(join(cwd, '.cache/compiled'))).toBe(true);
    expect(run(cwd, ['check', 'a.fettle', '--threads', '2'])).toEqual(checked);
    const path = join(cwd, 'server/src/checks/left-off.ts');
    const source = readFileSync(path, 'utf8');
    const { atime, mtime } = statSync(path);
    // As long as before, and as old: neither may be what tells.
    writeFileSync(path, source.replace("severity: 'error'", "severity: 'hint' "));
    utimesSync(path, atime, mtime);
    expect(statSync(path).size).toBe(Buffer.byteLength(source));
    expect(run(cwd, ['check', 'a.fettle', '--threads', '2'])).toMatchObject({ status: 0, err: '' });
  });

  test.skipIf(ordinary === undefined)('or not, where nothing may be written', () => {
    const cwd = clone();
    chmodSync(cwd, 0o555);
    expect(run(cwd, ['check', 'a.fettle', '--threads', '2'], ordinary)).toMatchObject({ status: 1, err: '' });
    expect(existsSync(join(cwd, '.cache'))).toBe(false);
  });
});

test.each(['server/src/cli/commands/check.ts', 'server/src/cli/program.ts'])(
  'the main thread starts %s without the language and its checks',
  async (entry) => {
    const files = await readToStart(entry);
    expect(files).toContain('server/src/cli/command.ts');
    const heavy = files.filter((file) =>
      /checks\/(?!check\.ts)|grammar\/(?!nearest\.ts|sorted\.ts|syntax\.ts)|node_modules\/chevrotain/.test(file),
    );
    expect(heavy).toEqual([]);
  },
);
