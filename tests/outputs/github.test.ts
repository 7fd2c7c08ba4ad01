import { expect, test } from 'vitest';
import { githubWriter } from '../../server/src/outputs/github.ts';
import { fettle, folder, mixed } from '../cli/run.ts';

// The form: `::command name=value,…::message`, `%`, CR and LF escaped, in values `:` and `,` too (GitHub's documentation of workflow commands, from memory).
test('one line a finding', () => {
  const cwd = folder({ 'a, b: 100%.fettle': mixed });
  const { status, out, err } = fettle(['check', '--format', 'github', 'a, b: 100%.fettle', 'gone'], { cwd });
  expect(status).toBe(2);
  expect(err).toMatch(/^fettle: gone: /);
  const [neverUsed, leftOff, gone, ...others] = out.trimEnd().split('\n');
  expect(leftOff).toMatch(
    /^::error file=a%2C b%3A 100%25\.fettle,line=6,endLine=6,title=left-off,col=12,endColumn=17::`cover` comes off here/,
  );
  expect(neverUsed).toMatch(/^::notice file=.*,line=3,endLine=3,title=never-used,col=6,endColumn=11::/);
  expect(gone).toMatch(/^::error file=gone,title=unusable::no such file/);
  expect(others).toEqual([]);
});

test('a message cannot begin a command of its own, and several lines have no columns', () => {
  const range = { start: { line: 1, character: 2 }, end: { line: 3, character: 4 } };
  const finding = {
    code: 'syntax',
    severity: 'warning',
    range,
    message: '1\n::error::2\r%0A',
    related: [],
    repairs: [],
  } as const;
  expect(githubWriter().file({ file: 'f', findings: [finding] }, '')).toBe(
    '::warning file=f,line=2,endLine=4,title=syntax::1␊::error::2␍%250A\n',
  );
});
