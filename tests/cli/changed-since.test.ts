import { execFileSync } from 'node:child_process';
import { symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { Repository } from './repository.ts';
import { bad, fettle, folder, good } from './run.ts';

const use = (path: string) => `use "${path}"\n`;
/** `a` uses `shared`, which uses `deep/more`; `b` stands alone; `sub/c` uses `deep/more` alone. */
const repository = () =>
  new Repository({
    'a.fettle': use('shared.fettle'),
    'shared.fettle': use('deep/more.fettle'),
    'deep/more.fettle': 'part bolt "Bolt"\n',
    'b.fettle': good,
    'sub/c.fettle': use('../deep/more.fettle'),
    '.gitignore': 'ignored/\n',
  });
const checked = (repo: Repository, files: readonly string[], since = 'HEAD', cwd = repo.path): string[] => {
  const { status, out, err } = fettle(['check', '--format', 'json', '--changed-since', since, ...files], { cwd });
  expect({ status, err }).toEqual({ status: 0, err: '' });
  return JSON.parse(out).files.map(({ file }: { file: string }) => file);
};
const all = ['a.fettle', 'b.fettle', 'sub/c.fettle', 'deep/more.fettle', 'shared.fettle'];

describe('only files whose findings may differ are checked', () => {
  test('none where nothing changed', () => expect(checked(repository(), all)).toEqual([]));

  test('the file itself, changed, staged, committed or new', () => {
    const repo = repository();
    repo.write({ 'b.fettle': `# new\n${good}` });
    expect(checked(repo, all)).toEqual(['b.fettle']);
    repo.git('add', '--all');
    expect(checked(repo, all)).toEqual(['b.fettle']);
    repo.git('tag', 'before');
    repo.commit({});
    expect(checked(repo, all)).toEqual([]);
    expect(checked(repo, all, 'HEAD~1')).toEqual(['b.fettle']);
    expect(checked(repo, all, 'before')).toEqual(['b.fettle']);
    repo.write({ 'new one.fettle': good });
    expect(checked(repo, ['b.fettle', './new one.fettle'])).toEqual(['./new one.fettle']);
  });

  test('and what uses a changed file, directly or through others', () => {
    const repo = repository();
    repo.write({ 'deep/more.fettle': 'part bolt "Long bolt"\n' });
    expect(checked(repo, all)).toEqual(['a.fettle', 'sub/c.fettle', 'deep/more.fettle', 'shared.fettle']);
    expect(checked(repo, ['c.fettle', '../b.fettle'], 'HEAD', join(repo.path, 'sub'))).toEqual(['c.fettle']);
    repo.git('checkout', '--quiet', '.');
    repo.write({ 'shared.fettle': '# Nothing is declared any more.\n' });
    expect(checked(repo, all)).toEqual(['a.fettle', 'shared.fettle']);
  });

  test('and what uses a file that is gone', () => {
    const repo = repository();
    repo.write({ 'deep/more.fettle': undefined });
    const { out } = fettle(
      ['check', '--format', 'json', '--changed-since', 'HEAD', 'a.fettle', 'b.fettle', 'sub/c.fettle'],
      { cwd: repo.path },
    );
    expect(JSON.parse(out).files.map(({ file }: { file: string }) => file)).toEqual(['a.fettle', 'sub/c.fettle']);
  });

  test('and what a changed project file holds for', () => {
    const repo = repository();
    repo.write({ 'sub/fettle.json': '{}' });
    expect(checked(repo, all)).toEqual(['sub/c.fettle']);
    repo.commit({ 'fettle.json': '{}' });
    expect(checked(repo, all)).toEqual([]);
    repo.write({ 'fettle.json': '{ "off": [] }' });
    expect(checked(repo, all)).toEqual(['a.fettle', 'b.fettle', 'deep/more.fettle', 'shared.fettle']);
    repo.write({ 'sub/fettle.json': undefined });
    expect(checked(repo, all)).toEqual(all);
  });

  test('through links to folders and files', () => {
    const repo = repository();
    symlinkSync('sub', join(repo.path, 'link'));
    symlinkSync('b.fettle', join(repo.path, 'd.fettle'));
    repo.commit({});
    const names = ['link/c.fettle', 'd.fettle'];
    expect(checked(repo, names)).toEqual([]);
    repo.write({ 'b.fettle': `# new\n${good}`, 'sub/c.fettle': '# Nothing is declared any more.\n' });
    expect(checked(repo, names)).toEqual(names);
  });
});

describe('what cannot be asked of git is refused with its remedy', () => {
  test.each([
    [['--changed-since', 'nosuch', 'b.fettle'], 'git knows no revision nosuch: name a commit, branch or tag'],
    [['--changed-since', 'HEAD', '-'], '--changed-since asks git about files, and `-` is none: name files'],
    [['--changed-since', 'HEAD', '/etc/x.fettle'], '/etc/x.fettle lies outside of the git repository'],
  ])('%j', (args, message) => {
    const { status, out, err } = fettle(['check', ...args], { cwd: repository().path });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toContain(`fettle: ${message}`);
  });

  test.each([
    ['check', '--changed-since', 'main', 'b.fettle'],
    ['compare', 'HEAD:b.fettle', 'b.fettle'],
  ])('in a repository without a commit: %s', (...args) => {
    const cwd = folder({ 'b.fettle': good });
    execFileSync('git', ['init', '--quiet', cwd]);
    const { status, out, err } = fettle(args, { cwd });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toMatch(
      /^fettle: \S+ has no commit yet, so there is no (?:HEAD|main): commit first, or name files alone\n$/,
    );
  });

  // As a clone that CI made with `filter: tree:0` has none: nothing was found to have changed, and all ended well.
  test('in a clone that lacks what git needs to tell', () => {
    const origin = repository();
    origin.write({ 'b.fettle': bad });
    origin.git('commit', '--all', '--message', 'spoil');
    origin.git('config', 'uploadpack.allowFilter', 'true');
    const cwd = folder();
    execFileSync('git', ['clone', '--quiet', '--filter=tree:0', `file://${origin.path}`, cwd]);
    const { status, out, err } = fettle(['check', '--changed-since', 'HEAD~1', 'b.fettle'], { cwd });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toMatch(
      /^fettle: git cannot tell what changed since HEAD~1 \(fatal: .*\): clone without a filter, or name files alone\n$/,
    );
    const compared = fettle(['compare', 'HEAD~1:b.fettle', 'b.fettle'], { cwd });
    expect(compared.status).toBe(2);
    expect(compared.err).toMatch(
      /^fettle: HEAD~1:b\.fettle: git cannot tell \(.*\): clone without a filter, or fetch it/,
    );
  });

  test('in clones without the texts of the past, or without the past', () => {
    const origin = repository();
    origin.write({ 'b.fettle': bad });
    origin.git('commit', '--all', '--message', 'spoil');
    origin.git('config', 'uploadpack.allowFilter', 'true');
    const clone = (how: string): string => {
      const cwd = folder();
      execFileSync('git', ['clone', '--quiet', how, `file://${origin.path}`, cwd]);
      return cwd;
    };
    const blobless = clone('--filter=blob:none');
    expect(fettle(['check', '--changed-since', 'HEAD~1', 'b.fettle'], { cwd: blobless }).status).toBe(1);
    expect(fettle(['compare', 'HEAD~1:b.fettle', 'b.fettle'], { cwd: blobless }).err).toMatch(
      /^fettle: HEAD~1:b\.fettle: git cannot tell \(fatal: .*\): clone without a filter, or fetch it with `git fetch --refetch`\n$/,
    );
    expect(fettle(['compare', 'HEAD~1:gone.fettle', 'b.fettle'], { cwd: blobless }).err).toContain(
      'no such file in HEAD~1',
    );
    expect(fettle(['check', '--changed-since', 'HEAD~1', 'b.fettle'], { cwd: clone('--depth=1') }).err).toBe(
      'fettle: git knows no revision HEAD~1 in this clone, which is shallow: fetch more of the history, as with `git fetch --unshallow`\n',
    );
  });

  // What changed in one, the outer repository does not know.
  test('counts all files of a repository within, as of a submodule', () => {
    const outer = repository();
    outer.commit({ 'uses.fettle': 'use "module/sub/x.fettle"\n' });
    outer.write({ 'module/sub/x.fettle': bad });
    execFileSync('git', ['init', '--quiet', join(outer.path, 'module')]);
    const { status, out } = fettle(['check', '--changed-since', 'HEAD', '**/*.fettle'], { cwd: outer.path });
    expect(out).toContain('module/sub/x.fettle:4:12 error left-off');
    expect(out).toContain('2 files checked');
    expect(status).toBe(1);
  });

  test('outside of a repository', () => {
    const cwd = folder({ 'b.fettle': good });
    const { status, err } = fettle(['check', '--changed-since', 'HEAD', 'b.fettle'], {
      cwd,
      env: { GIT_CEILING_DIRECTORIES: join(cwd, '..') },
    });
    expect(status).toBe(2);
    expect(err).toContain('lies in no git repository: run this in a clone, or name files');
  });
});
