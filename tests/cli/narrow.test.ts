import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { fettle, root } from './run.ts';

const sample = (name: string): string => join(root, 'samples', `${name}.fettle`);
const winch = sample('winch-reducer');

describe('where COLUMNS says how wide a line is', () => {
  test.each([
    ['kit', winch, '--start', '2027-03-01'],
    ['kit', sample('wash-pump')],
    ['plan', winch, '--start', '2027-03-01T07:00'],
    ['diagram', winch, '--format', 'text'],
    ['stats', winch],
    ['explain'],
    ['help'],
    ['help', 'card'],
  ])('no line of `%s` is wider, and no word is lost', (...args) => {
    const narrow = fettle(args, { env: { COLUMNS: '80', NO_COLOR: '1' } });
    const wide = fettle(args, { env: { COLUMNS: undefined } });
    for (const line of narrow.out.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
    expect(Math.max(...wide.out.split('\n').map(({ length }) => length))).toBeGreaterThan(80);
    const words = (text: string): string[] => text.split(/\s+/).sort();
    expect(words(narrow.out)).toEqual(words(wide.out));
  });

  test('a width of 0, as some build servers have it, is none', () => {
    const args = ['kit', winch];
    expect(fettle(args, { env: { COLUMNS: '0' } }).out).toBe(fettle(args, { env: { COLUMNS: undefined } }).out);
  });
});
