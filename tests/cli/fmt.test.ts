import { spawnSync } from 'node:child_process';
import { chmodSync, lstatSync, mkdirSync, readdirSync, readFileSync, statSync, symlinkSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { replaceFile } from '../../server/src/cli/replace.ts';
import { fettle, folder, good, ordinary, root } from './run.ts';

const tidy = good.replace('teardown', '\nteardown').replace('reassembly', '\nreassembly');
const untidy = tidy.replaceAll('  ', '\t').replace('part cover "Cover"', 'part   cover    "Cover"');

describe('fmt', () => {
  test('lays a file out, keeps its mode and leaves nothing beside it', () => {
    const cwd = folder({ 'a.fettle': untidy, 'b.fettle': tidy });
    chmodSync(join(cwd, 'a.fettle'), 0o640);
    utimesSync(join(cwd, 'b.fettle'), 1, 1);
    expect(fettle(['fmt', 'a.fettle', 'b.fettle'], { cwd })).toEqual({
      status: 0,
      out: 'a.fettle\n1 of 2 files laid out anew\n',
      err: '',
    });
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(tidy);
    expect(statSync(join(cwd, 'a.fettle')).mode & 0o777).toBe(0o640);
    expect(statSync(join(cwd, 'b.fettle')).mtimeMs).toBe(1000);
    expect(readdirSync(cwd).sort()).toEqual(['a.fettle', 'b.fettle']);
  });

  test('--check lists what is laid out otherwise and writes nothing', () => {
    const cwd = folder({ 'a.fettle': untidy, 'b.fettle': tidy });
    expect(fettle(['fmt', '--check', 'a.fettle', 'b.fettle'], { cwd })).toEqual({
      status: 1,
      out: 'a.fettle\n1 of 2 files would be laid out anew: run `fettle fmt` without --check\n',
      err: '',
    });
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(untidy);
    expect(fettle(['fmt', '--check', '--quiet', 'b.fettle'], { cwd })).toEqual({ status: 0, out: '', err: '' });
  });

  test('says that all is well where it is, and nothing of files where none could be used', () => {
    const cwd = folder({ 'x/a.fettle': tidy, 'x/b.fettle': tidy });
    const said = (...args: string[]) => fettle(['fmt', ...args], { cwd }).out;
    expect(said('--check', 'x/a.fettle')).toBe('1 file is laid out as it should be\n');
    expect(said('--check', 'x')).toBe('2 files are laid out as they should be\n');
    expect(said('x/a.fettle')).toBe('1 file is laid out as it should be\n');
    expect(said('gone.fettle')).toBe('');
  });

  test('leaves a file that is no procedure alone', () => {
    const prose = '# Pumps\n\nThis is prose, a page\nabout a pump and `remove   cover`.\n';
    const cwd = folder({ 'page.md': prose, 'job.txt': `${untidy}procdure x\n` });
    const { status, err } = fettle(['fmt', 'page.md', 'job.txt'], { cwd });
    expect(status).toBe(2);
    expect(err).toBe(
      'fettle: page.md: is no procedure: 2 of its 2 lines cannot be read, from line 3 on (expected a declaration, phase or step, found `This`); name files that end in .fettle\n',
    );
    expect(readFileSync(join(cwd, 'page.md'), 'utf8')).toBe(prose);
    expect(readFileSync(join(cwd, 'job.txt'), 'utf8')).toContain('\n    remove cover\n');
  });

  test('leaves lines that cannot be read as they are', () => {
    const text = 'part cover "Cover"\n\nteardown\n  step open\n      remvoe    cover\n';
    const cwd = folder({ 'a.fettle': text });
    expect(fettle(['fmt', 'a.fettle'], { cwd }).status).toBe(0);
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toContain('remvoe    cover');
  });

  test('keeps the byte order mark and the line endings', () => {
    const cwd = folder({ 'a.fettle': `\ufeff${untidy.replaceAll('\n', '\r\n')}` });
    expect(fettle(['fmt', 'a.fettle'], { cwd }).status).toBe(0);
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(`\ufeff${tidy.replaceAll('\n', '\r\n')}`);
  });

  test('passes the standard input on', () => {
    expect(fettle(['fmt', '-'], { input: untidy })).toEqual({ status: 0, out: tidy, err: '' });
    expect(fettle(['fmt', '--check', '-'], { input: untidy }).status).toBe(1);
    expect(fettle(['fmt', '-', 'a.fettle'])).toMatchObject({
      status: 2,
      err: expect.stringContaining('`-` stands alone'),
    });
  });

  test('goes on behind a file that it cannot use', () => {
    const cwd = folder({ 'a.fettle': untidy });
    const { status, out, err } = fettle(['fmt', 'gone.fettle', 'y/*.fettle', 'a.fettle'], { cwd });
    expect(status).toBe(2);
    expect(err).toMatch(/^fettle: gone\.fettle: no such file.*\nfettle: y\/\*\.fettle: no file fits.*\n$/);
    expect(out).toBe('a.fettle\n1 of 1 file laid out anew\n');
  });
});

describe('a file is replaced whole or not at all', () => {
  const old = Buffer.from('old');
  const wanted = Buffer.from('new');

  test('a link stays a link', () => {
    const cwd = folder({ 'real/a.fettle': old });
    symlinkSync('real/a.fettle', join(cwd, 'link.fettle'));
    expect(replaceFile(join(cwd, 'link.fettle'), old, wanted)).toBeUndefined();
    expect(lstatSync(join(cwd, 'link.fettle')).isSymbolicLink()).toBe(true);
    expect(readFileSync(join(cwd, 'real/a.fettle'), 'utf8')).toBe('new');
  });

  test('one that was changed meanwhile stays as it is', () => {
    const cwd = folder({ 'a.fettle': 'theirs' });
    expect(replaceFile(join(cwd, 'a.fettle'), old, wanted)?.reason).toContain('changed by somebody else meanwhile');
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe('theirs');
    expect(readdirSync(cwd)).toEqual(['a.fettle']);
  });

  test('one that became a folder, or went away, is told of', () => {
    const cwd = folder();
    mkdirSync(join(cwd, 'a.fettle'));
    expect(replaceFile(join(cwd, 'a.fettle'), old, wanted)).toBeDefined();
    expect(replaceFile(join(cwd, 'b.fettle'), old, wanted)?.reason).toContain('is gone');
    expect(readdirSync(cwd)).toEqual(['a.fettle']);
  });

  test('with a long name leaves nothing beside it', () => {
    const name = `${'n'.repeat(248)}.fettle`;
    const cwd = folder({ [name]: old });
    expect(replaceFile(join(cwd, name), old, wanted)).toBeUndefined();
    expect(readdirSync(cwd)).toEqual([name]);
  });

  test.skipIf(ordinary === undefined)('in a read-only folder, or itself read-only, nothing is lost', () => {
    const cwd = folder({ 'sub/a.fettle': untidy, 'open/b.fettle': untidy });
    chmodSync(join(cwd, 'sub'), 0o555);
    chmodSync(join(cwd, 'sub/a.fettle'), 0o666);
    chmodSync(join(cwd, 'open'), 0o777);
    chmodSync(join(cwd, 'open/b.fettle'), 0o444);
    const { status, err } = fettle(['fmt', 'sub/a.fettle', 'open/b.fettle'], { cwd, as: ordinary });
    expect(status).toBe(2);
    expect(
      err.match(/may not be written: check the permissions of the file and of its folder; it is as it was/g),
    ).toHaveLength(2);
    expect(readFileSync(join(cwd, 'sub/a.fettle'), 'utf8')).toBe(untidy);
    expect(readFileSync(join(cwd, 'open/b.fettle'), 'utf8')).toBe(untidy);
    expect(readdirSync(join(cwd, 'open'))).toEqual(['b.fettle']);
  });

  test.skipIf(process.getuid?.() !== 0 || ordinary === undefined)('one of somebody else is not taken from them', () => {
    const cwd = folder({ 'open/a.fettle': untidy });
    chmodSync(join(cwd, 'open'), 0o777);
    chmodSync(join(cwd, 'open/a.fettle'), 0o666);
    const { status, err } = fettle(['fmt', 'open/a.fettle'], { cwd, as: ordinary });
    expect(status).toBe(2);
    expect(err).toContain('belongs to somebody else: run this as its owner; it is as it was');
    expect(readdirSync(join(cwd, 'open'))).toEqual(['a.fettle']);
    expect(readFileSync(join(cwd, 'open/a.fettle'), 'utf8')).toBe(untidy);
  });

  // A limit on the size of files fails in the middle of the write, as a full disk does.
  test.skipIf(process.platform === 'win32')('when the disk takes no more, nothing is lost', () => {
    const text = `${untidy}${'# a long comment\n'.repeat(1000)}`;
    const cwd = folder({ 'a.fettle': text });
    const { status, stderr } = spawnSync(
      'bash',
      ['-c', `ulimit -f 2; exec "${process.execPath}" "${root}/server/src/cli/main.ts" fmt a.fettle`],
      { cwd, encoding: 'utf8' },
    );
    expect(status).toBe(2);
    expect(stderr).toMatch(/^fettle: a\.fettle: is larger than this disk takes: .*; it is as it was\n$/);
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(text);
    expect(readdirSync(cwd)).toEqual(['a.fettle']);
  });
});
