import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { fettle, folder, root } from '../cli/run.ts';

const open = 'part cover "Cover"\n\nteardown\n  step open "Open it"\n    remove cover\n';
const closed = `${open}\nreassembly\n  step refit-open "Reverse of: Open it"\n    fit cover\n`;
const note = 'note: The times of drafted steps are those of the teardown: estimate them anew.\n';

test('prints the drafted file and says on the standard error what it cannot know', () => {
  const cwd = folder({ 'a.fettle': open });
  expect(fettle(['draft', 'a.fettle'], { cwd })).toEqual({ status: 0, out: closed, err: note });
  expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(open);
});

test('writes into the file, which then has nothing left to draft', () => {
  const cwd = folder({ 'a.fettle': `\ufeff${open}` });
  expect(fettle(['draft', '--write', 'a.fettle'], { cwd })).toEqual({
    status: 0,
    out: 'a.fettle: drafted at 1 place\n',
    err: note,
  });
  expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe(`\ufeff${closed}`);
  expect(fettle(['draft', 'a.fettle', '--write'], { cwd })).toEqual({
    status: 0,
    out: 'a.fettle: nothing to draft, the reassembly answers everything\n',
    err: '',
  });
  expect(readdirSync(cwd)).toEqual(['a.fettle']);
});

test('writes to a new file and overwrites none', () => {
  const cwd = folder({ 'a.fettle': open, 'b.fettle': 'part other "Other"\n' });
  expect(fettle(['draft', 'a.fettle', '-o', 'c.fettle'], { cwd })).toMatchObject({ status: 0 });
  expect(readFileSync(join(cwd, 'c.fettle'), 'utf8')).toBe(closed);
  expect(fettle(['draft', 'a.fettle', '-o', 'b.fettle'], { cwd })).toEqual({
    status: 2,
    out: '',
    err: 'fettle: b.fettle: exists already: name a new file, or write into the procedure with --write\n',
  });
  expect(readFileSync(join(cwd, 'b.fettle'), 'utf8')).toBe('part other "Other"\n');
  expect(fettle(['draft', 'a.fettle', '-o', 'gone/c.fettle'], { cwd }).err).toMatch(
    /^fettle: gone\/c\.fettle: cannot be made/,
  );
});

test.each([
  [[], 'no file named: write `fettle draft pump.fettle`'],
  [['a.fettle', 'a.fettle'], 'one file at a time: run `fettle draft` once for each'],
  [['a.fettle', '--write', '-o', 'c.fettle'], '--write and --output are given: the draft goes to one place'],
  [['gone.fettle'], 'gone.fettle: no such file: check the name, and the folder that it counts from'],
  [['shared.fettle'], 'shared.fettle holds declarations only: name a file with a `procedure`'],
])('%j is refused', (args, message) => {
  const cwd = folder({ 'a.fettle': open, 'shared.fettle': 'part other "Other"\n' });
  expect(fettle(['draft', ...args], { cwd })).toEqual({ status: 2, out: '', err: `fettle: ${message}\n` });
});

test.each(['irrigation-pump', 'winch-reducer'])(
  'the sample %s without its reassembly drafts to a file that checks without errors and is laid out',
  (name) => {
    const sample = readFileSync(join(root, 'samples', `${name}.fettle`), 'utf8');
    const shared = ['fasteners', 'inch-fasteners'].map((each) => `common/${each}.fettle`);
    const cwd = folder({
      'unit.fettle': sample.replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, ''),
      ...Object.fromEntries(shared.map((each) => [each, readFileSync(join(root, 'samples', each), 'utf8')])),
    });
    expect(fettle(['check', 'unit.fettle', '--quiet'], { cwd }).status).toBe(1);
    expect(fettle(['draft', 'unit.fettle', '--write'], { cwd }).status).toBe(0);
    expect(fettle(['check', 'unit.fettle', '--quiet'], { cwd })).toMatchObject({ status: 0, out: '' });
    expect(fettle(['fmt', '--check', 'unit.fettle'], { cwd }).status).toBe(0);
  },
);
