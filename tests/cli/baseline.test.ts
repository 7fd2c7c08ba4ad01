import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { Repository } from './repository.ts';
import { bad, fettle, folder, mixed } from './run.ts';

const check = (cwd: string, ...args: string[]) => {
  const { status, out, err } = fettle(['check', '--format', 'json', ...args], { cwd });
  const files: { findings: { code: string }[] }[] = out === '' ? [] : JSON.parse(out).files;
  return { status, err, codes: files.map(({ findings }) => findings.map(({ code }) => code)) };
};

test('known findings stay known when lines move, names change and files are laid out anew; new ones are told', () => {
  const repo = new Repository({ 'jobs/a.fettle': mixed, 'jobs/b.fettle': bad });
  const files = ['jobs/a.fettle', 'jobs/b.fettle'];
  expect(check(repo.path, ...files)).toMatchObject({ status: 1, codes: [['never-used', 'left-off'], ['left-off']] });
  expect(check(repo.path, '--write-baseline', 'known.json', ...files)).toEqual({
    status: 0,
    err: 'fettle: 3 findings written to known.json as known\n',
    codes: [[], []],
  });
  repo.commit({});
  expect(check(repo.path, '--baseline', 'known.json', ...files)).toEqual({
    status: 0,
    err: 'fettle: 3 known findings left out\n',
    codes: [[], []],
  });

  const moved = `# one\n\n# two\n${mixed.replaceAll('    ', '\t').replace('"Spare"', '"Spare"\npart extra "Extra"')}`;
  repo.write({ 'jobs/a.fettle': moved });
  expect(check(join(repo.path, 'jobs'), '--baseline', '../known.json', './a.fettle', 'b.fettle')).toEqual({
    status: 0,
    err: 'fettle: 3 known findings left out\n',
    codes: [['never-used'], []],
  });

  repo.write({ 'jobs/b.fettle': `${bad}    remove cover\n` });
  expect(check(repo.path, '--baseline', 'known.json', 'jobs/b.fettle')).toMatchObject({
    status: 1,
    codes: [['already-off']],
  });
});

test('the closing line does not say that nothing was found where what is known was left out', () => {
  const cwd = folder({ 'a.fettle': bad, 'good.fettle': 'part lid "Lid"\n' });
  const closing = (...args: string[]) => /^1 file checked: (.*)$/m.exec(fettle(['check', ...args], { cwd }).out)?.[1];
  expect(closing('--write-baseline', 'known.json', 'a.fettle')).toBe('nothing but what is known');
  expect(closing('--baseline', 'known.json', 'a.fettle')).toBe('nothing but what is known');
  expect(closing('--baseline', 'known.json', 'good.fettle')).toBe('nothing found');
});

test('known findings that are gone are told', () => {
  const cwd = folder({ 'a.fettle': mixed });
  check(cwd, '--write-baseline', 'known.json', 'a.fettle');
  writeFileSync(join(cwd, 'a.fettle'), bad);
  expect(check(cwd, '--baseline', 'known.json', 'a.fettle')).toEqual({
    status: 0,
    err: 'fettle: 1 known finding left out\nfettle: 1 known finding gone: write the baseline anew\n',
    codes: [[]],
  });
  expect(check(cwd, '--quiet', '--baseline', 'known.json', 'a.fettle').err).toBe('');
});

test('writing it anew for some files keeps what it knows of others, unless they are gone', () => {
  const cwd = folder({ 'a.fettle': bad, 'b.fettle': bad, 'c.fettle': bad });
  check(cwd, '--write-baseline', 'known.json', 'a.fettle', 'b.fettle', 'c.fettle');
  const known = () => Object.keys(JSON.parse(readFileSync(join(cwd, 'known.json'), 'utf8')).files);
  expect(known()).toEqual(['a.fettle', 'b.fettle', 'c.fettle']);
  writeFileSync(join(cwd, 'a.fettle'), '');
  expect(fettle(['check', '--write-baseline', 'known.json', 'a.fettle'], { cwd }).status).toBe(0);
  expect(known()).toEqual(['b.fettle', 'c.fettle']);
});

test('other choices are heeded: --off, SARIF, --max-warnings', () => {
  const cwd = folder({ 'a.fettle': mixed });
  check(cwd, '--off', 'never-used', '--write-baseline', 'known.json', 'a.fettle');
  expect(check(cwd, '--baseline', 'known.json', 'a.fettle')).toMatchObject({ status: 0, codes: [['never-used']] });
  const { out } = fettle(['check', '--format', 'sarif', '--baseline', 'known.json', 'a.fettle'], { cwd });
  expect(JSON.parse(out).runs[0].results.map(({ ruleId }: { ruleId: string }) => ruleId)).toEqual(['never-used']);
});

describe('what cannot be used is refused with its remedy', () => {
  test.each([
    [['--baseline', 'gone.json'], 'gone.json: no such file'],
    [['--baseline', 'other.json'], 'other.json: is no baseline of Fettle: write it anew with --write-baseline'],
    [['--write-baseline', 'other.json'], 'other.json is there and no baseline of Fettle: name another file'],
    [['--write-baseline', 'a.fettle'], 'a.fettle is there and no baseline of Fettle: name another file'],
    [['--baseline', 'x', '--write-baseline', 'x'], '--baseline reads and --write-baseline writes: give one of them'],
  ])('%j', (args, message) => {
    const cwd = folder({ 'a.fettle': bad, 'other.json': '{ "name": "other" }\n' });
    const { status, out, err } = fettle(['check', ...args, 'a.fettle'], { cwd });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toContain(`fettle: ${message}`);
    expect(readFileSync(join(cwd, 'other.json'), 'utf8')).toBe('{ "name": "other" }\n');
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(bad);
  });

  test('a folder that is not there', () => {
    const cwd = folder({ 'a.fettle': bad });
    const { status, err } = fettle(['check', '--write-baseline', 'no/known.json', 'a.fettle'], { cwd });
    expect(status).toBe(2);
    expect(err).toContain('fettle: no/known.json: cannot be made: its folder does not exist');
  });
});
