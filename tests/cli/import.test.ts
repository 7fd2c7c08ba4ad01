import { describe, expect, test } from 'vitest';
import { fettle, folder } from './run.ts';

const table = 'Item,Qty\nbolt,4\nnut,four\n';

test('a draft, and the rows that are left out with file, line and remedy', () => {
  const cwd = folder({ 'parts.csv': table });
  const { status, out, err } = fettle(['import', 'parts.csv', '--map', 'part=Item,quantity=Qty'], { cwd });
  expect(status).toBe(2);
  expect(out).toContain('part bolt x4\n# Line 3 is left out: ');
  expect(err).toBe('fettle: parts.csv:3: "four" is no quantity: write a whole number from 1 to 9999\n');
});

test('what it drafts checks without a finding', () => {
  const cwd = folder({ 'parts.csv': table.replace('four', '4') });
  const { status, out } = fettle(['import', 'parts.csv', '--map', 'part=1', '--map', 'quantity=2'], { cwd });
  expect(status).toBe(0);
  const checked = fettle(['check', '--format', 'json', '-'], { cwd, input: out });
  expect(JSON.parse(checked.out).files[0].findings).toEqual([]);
});

test('the standard input, and a separator that cannot be told', () => {
  const input = 'title|x;quantity\nA|x;3\n';
  expect(fettle(['import', '-', '--map', 'title=title|x'], { input }).out).toBe('part a-x x3 "A|x"\n');
  expect(fettle(['import', '-', '--separator', 'tab', '--map', 'title=1'], { input: 'a,b\tc\nx,y\tz\n' }).out).toBe(
    'part x-y "x,y"\n',
  );
});

describe('what cannot be used is told with its remedy', () => {
  test.each([
    [[], 'no table named: write `fettle import parts.csv`'],
    [['a.csv', 'b.csv'], 'one table at a time: run `fettle import` once for each'],
    [['gone.csv'], 'gone.csv: no such file'],
    [['parts.csv'], 'parts.csv:1: no column says what the parts are called: name it, as in --map title=Item'],
    [['parts.csv', '--map', 'part=Itm'], 'parts.csv:1: there is no column Itm for part: did you mean Item?'],
    [['parts.csv', '--map', 'prat=Item'], 'there is no field prat: did you mean part?'],
    [['parts.csv', '--map', 'part'], '--map takes pairs, as in --map part=Item, not part'],
    [['parts.csv', '--unit', 'torque='], '--unit takes pairs, as in --unit torque=N·m, not torque='],
  ])('%j', (args, message) => {
    const { status, out, err } = fettle(['import', ...args], { cwd: folder({ 'parts.csv': table }) });
    expect({ status, out }).toEqual({ status: 2, out: '' });
    expect(err).toContain(`fettle: ${message}`);
  });
});
