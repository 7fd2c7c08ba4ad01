import { symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { Repository } from './repository.ts';
import { fettle, folder, good } from './run.ts';

const job = (torque: string, waits = '5 min') => `use "common/parts.fettle"
part cover "Cover" held by bolt
teardown
  step open takes ${waits}
    warning "The cover is sharp. Wear gloves."
    remove bolt
    remove cover
reassembly
  step close takes 10 min
    fit cover
    fit bolt
    tighten bolt to ${torque}
`;
const parts = (torque: string) => `part bolt "Bolt" thread M8 class 8.8 torque ${torque}\n`;
const repository = () =>
  new Repository({ 'sub/job.fettle': job('24 N·m'), 'sub/common/parts.fettle': parts('24 N·m'), 'other.fettle': good });
const compared = (cwd: string, ...args: string[]) => {
  const { status, out, err } = fettle(['compare', '--format', 'json', ...args], { cwd });
  expect(err).toBe('');
  return { status, report: JSON.parse(out) };
};
const texts = (report: { changes: { text: string }[] }): string[] => report.changes.map(({ text }) => text);

describe('against a revision', () => {
  test('tells a torque of the job and of the file that it used then, and ends with 1', () => {
    const repo = repository();
    repo.write({ 'sub/job.fettle': job('20 N·m'), 'sub/common/parts.fettle': parts('20 N·m') });
    const { status, report } = compared(repo.path, 'HEAD:sub/job.fettle', 'sub/job.fettle');
    expect(texts(report)).toEqual([
      '`bolt`: torque 24 N·m → 20 N·m',
      'step close, tighten `bolt`: torque 24 N·m → 20 N·m',
    ]);
    expect(report.changes.map(({ place }: { place: object }) => place)).toEqual([
      { version: 'new', file: 'sub/common/parts.fettle', line: 1 },
      { version: 'new', file: 'sub/job.fettle', line: 12 },
    ]);
    expect(report).toMatchObject({ old: 'HEAD:sub/job.fettle', new: 'sub/job.fettle', review: true });
    expect(status).toBe(1);
  });

  test('counts the file from the working folder, finds it gone since, and compares two revisions', () => {
    const repo = repository();
    repo.git('tag', 'first');
    repo.commit({ 'sub/job.fettle': job('24 N·m', '45 min') });
    repo.commit({ 'sub/job.fettle': undefined });
    const { status, report } = compared(join(repo.path, 'sub'), 'first:job.fettle', 'HEAD~1:./job.fettle');
    expect(texts(report)).toEqual(['step open: takes 5 min → 45 min']);
    expect(report.plan).toEqual({ before: 15 * 60, after: 55 * 60 });
    expect(status).toBe(0);
    const text = fettle(['compare', 'first:job.fettle', 'HEAD~1:job.fettle'], { cwd: join(repo.path, 'sub') });
    expect(text.out).toContain('  40 min longer: 15 min → 55 min');
    expect(text.out).toContain('1 change, none to a safety message or a torque.');
  });

  test('tells nothing of a layout, and follows links within the revision', () => {
    const repo = repository();
    symlinkSync('sub/job.fettle', join(repo.path, 'link.fettle'));
    symlinkSync('sub/common', join(repo.path, 'common'));
    repo.commit({});
    repo.write({ 'sub/job.fettle': `# Laid out otherwise\n${job('24  N.m').replaceAll('\n    ', '\n')}` });
    const { status, report } = compared(repo.path, 'HEAD:link.fettle', 'sub/job.fettle');
    expect(report).toMatchObject({ changes: [], review: false, findings: { added: [], gone: [] } });
    expect(status).toBe(0);
  });

  test('comes to an end where files use each other through links', () => {
    const repo = new Repository({ 'a.fettle': 'use "l/a.fettle"\nuse "m/a.fettle"\n' });
    symlinkSync('.', join(repo.path, 'l'));
    symlinkSync('.', join(repo.path, 'm'));
    repo.commit({});
    expect(compared(repo.path, 'HEAD:a.fettle', 'a.fettle').report.changes).toEqual([]);
  });

  test('judges both versions by the settings of today', () => {
    const repo = repository();
    repo.write({ 'fettle.json': '{ "friction": { "unstated": [0.05, 0.06, 0.07] } }' });
    expect(compared(repo.path, 'HEAD:sub/job.fettle', 'sub/job.fettle').report.findings).toEqual({
      added: [],
      gone: [],
    });
  });
});

test('a safety message ends with 1, --exit-zero or not at all with 0', () => {
  const cwd = folder({
    'old.fettle': job('24 N·m'),
    'new.fettle': job('24 N·m').replace('is sharp', 'cuts'),
    'common/parts.fettle': parts('24 N·m'),
  });
  const { status, report } = compared(cwd, 'old.fettle', 'new.fettle');
  expect([status, report.review, report.changes[0].kind]).toEqual([1, true, 'safety']);
  expect(compared(cwd, '--exit-zero', 'old.fettle', 'new.fettle').status).toBe(0);
  expect(compared(cwd, 'old.fettle', 'old.fettle').status).toBe(0);
  expect(fettle(['compare', 'old.fettle', 'old.fettle'], { cwd }).out).toContain('Nothing changed in the job.');
});

describe('what cannot be compared is told with its remedy', () => {
  test.each([
    [['a.fettle'], 'two versions are compared: `fettle compare HEAD:pump.fettle pump.fettle`'],
    [['a.fettle', 'b.fettle', 'c.fettle'], 'two versions are compared'],
    [['HEAD:gone.fettle', 'other.fettle'], 'HEAD:gone.fettle: no such file in HEAD: check its name'],
    [['HEAD:sub', 'other.fettle'], 'HEAD:sub: is a folder: name a file in it'],
    [['-', 'other.fettle'], '-: is the standard input, which is not compared: name a file, or one at a revision'],
    [['HEAD:../x.fettle', 'other.fettle'], 'HEAD:../x.fettle: lies outside of the git repository'],
    [['nosuch:other.fettle', 'other.fettle'], 'git knows no revision nosuch: name a commit, branch or tag'],
    [['--exit-zero', '--', '--output=x:other.fettle', 'other.fettle'], 'git knows no revision --output=x'],
    [['gone.fettle', 'other.fettle'], 'gone.fettle: no such file: check the name'],
  ])('%j', (args, message) => {
    const { status, out, err } = fettle(['compare', ...args], { cwd: repository().path });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toContain(`fettle: ${message}`);
  });

  test('outside of a repository, and without git', () => {
    const cwd = folder({ 'a.fettle': good });
    const run = (env: object) => fettle(['compare', 'HEAD:a.fettle', 'a.fettle'], { cwd, env }).err;
    expect(run({ GIT_CEILING_DIRECTORIES: join(cwd, '..') })).toMatch(/lies in no git repository: run this in a clone/);
    expect(run({ PATH: cwd })).toBe('fettle: git cannot be run: install it, or name files instead of a revision\n');
  });

  test('a file whose name holds a colon is a file', () => {
    const cwd = folder({ 'HEAD:a.fettle': good, 'a.fettle': good });
    expect(fettle(['compare', 'HEAD:a.fettle', 'a.fettle'], { cwd }).status).toBe(0);
  });
});
