import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readProject } from '../../server/src/project/settings.ts';
import { Repository } from './repository.ts';
import { bad, folder, good, root } from './run.ts';

const readme = readFileSync(join(root, 'README.md'), 'utf8');
const review = /^## In review\n([\s\S]*?)^## /m.exec(readme)![1]!;
const blocks = (language: string): string[] =>
  [...review.matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\``, 'gm'))].map(([, text]) => text!);
/** Runs a line of shell in `cwd`, where `fettle` is this clone's. */
const shell = (line: string, cwd: string) => {
  const { status, stdout, stderr } = spawnSync('sh', ['-c', `fettle() { "${root}/.ci/fettle" "$@"; }; ${line}`], {
    cwd,
    encoding: 'utf8',
    env: { ...process.env, npm_lifecycle_event: undefined },
  });
  return { status, out: stdout, err: stderr };
};

describe('the README on review', () => {
  const repository = () => new Repository({ 'pump.fettle': good, 'jobs/pump.fettle': good });

  test('shows commands that run', () => {
    const { path } = repository();
    const lines = blocks('sh')[0]!.trim().split('\n');
    expect(lines.length).toBe(7);
    for (const line of lines) expect(shell(line, path), line).toMatchObject({ status: 0 });
  });

  test('shows a project file that can be used', () => {
    const [text] = blocks('json');
    expect(readProject(text!).problems).toEqual([]);
  });

  test('shows hooks that there are, and CI steps that run', () => {
    const [hooks, ci] = blocks('yaml');
    const defined = readFileSync(join(root, '.pre-commit-hooks.yaml'), 'utf8');
    const ids = [...hooks!.matchAll(/- id: (\S+)/g)].map(([, id]) => id);
    expect([...defined.matchAll(/^- id: (\S+)/gm)].map(([, id]) => id).sort()).toEqual(ids.sort());
    const { path } = repository();
    const steps = [...ci!.matchAll(/- run: (.*)/g)].map(([, line]) =>
      line!.replace('fettle/.ci/fettle', 'fettle').replace(/origin\/\$\{\{.*?\}\}/, 'main'),
    );
    expect(steps.length).toBe(2);
    for (const line of steps) expect(shell(line, path), line).toMatchObject({ status: 0 });
  });
});

describe('a hook', () => {
  const hooks = readFileSync(join(root, '.pre-commit-hooks.yaml'), 'utf8');
  /** The hook as the tool runs it: words of the entry, the program from the clone, no shell. */
  const run = (id: string, cwd: string, files: readonly string[] = []) => {
    const [, entry] = new RegExp(`^- id: ${id}\\n(?:  .*\\n)*?  entry: (.*)\\n`, 'm').exec(hooks)!;
    const [program, ...args] = entry!.split(' ');
    const { status, stdout, stderr } = spawnSync(join(root, program!), [...args, ...files], { cwd, encoding: 'utf8' });
    return { status, out: stdout, err: stderr };
  };

  test('fails where what is to be committed, or what uses it, has an error, and says nothing else', () => {
    const user = `use "sub/shared.fettle"\n${good.replace(/.*\n/, '')}`;
    const repo = new Repository({
      'old.fettle': bad,
      'user.fettle': user,
      'sub/shared.fettle': 'part cover "Cover"\n',
    });
    expect(run('fettle-check', repo.path)).toEqual({ status: 0, out: '', err: '' });
    repo.write({ 'sub/shared.fettle': 'part lid "Lid"\n' });
    repo.git('add', '--all');
    const { status, out } = run('fettle-check', repo.path);
    expect(status).toBe(1);
    expect(out).toContain('user.fettle:4:12 error unknown-name');
    expect(out).not.toContain('old.fettle');
  });

  test('lets the first commit of a repository through, or not', () => {
    const cwd = folder({ 'a.fettle': good });
    spawnSync('git', ['init', '--quiet', cwd]);
    expect(run('fettle-check', cwd)).toEqual({ status: 0, out: '', err: '' });
    writeFileSync(join(cwd, 'a.fettle'), bad);
    expect(run('fettle-check', cwd)).toMatchObject({
      status: 1,
      out: expect.stringContaining('a.fettle:4:12 error left-off'),
    });
  });

  test('lays files out', () => {
    const repo = new Repository({ 'a b.fettle': good.replaceAll('    ', '\t') });
    expect(run('fettle-fmt', repo.path, ['a b.fettle']).status).toBe(0);
    expect(readFileSync(join(repo.path, 'a b.fettle'), 'utf8')).toContain('\n    remove cover\n');
  });
});
