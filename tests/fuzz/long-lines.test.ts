import { describe, expect, test } from 'vitest';
import { after, fresh } from '../bench/core.ts';
import { hostile } from './hostile.ts';
import { judgedSafely } from './path.ts';

// `npm run fuzz` has them at 64 KiB and all the way; here they are read, judged and laid out, each in some seconds.
describe('one line of a megabyte', () => {
  test.each([
    ['one line', 0],
    ['one text', 1],
    ['one comment', 1],
    ['one name', 0],
    ['one number', 1],
    ['backslashes in an open text', 2],
    ['quotes only', 1],
    ['hyphens only', 1],
    ['digits and commas', 2],
    ['blanks in one line', 0],
    ['combining marks', 0],
    ['many stages', 149_798],
    ['surrogates in a text', 2],
    ['hidden characters between letters', 2],
  ])('%s', { timeout: 300_000 }, (kind, findings) => {
    const { model, judged } = judgedSafely(hostile[kind]!(2 ** 20));
    expect(model.tree.text.length).toBeGreaterThan(2 ** 20 - 100);
    expect(judged.findings).toHaveLength(findings);
  });
});

test('a hundred thousand parts, of a million pieces each', { timeout: 300_000 }, () => {
  const text = Array.from({ length: 100_000 }, (_, i) => `part p${i} x1000000 "P"\n`).join('');
  const { model, judged } = judgedSafely(text);
  expect(model.parts.size).toBe(100_000);
  expect(judged.ledger.variants[0]!.initial.get('p99999')?.tight).toBe(1_000_000);
});

test.each([
  [
    'declarations',
    'procedure "P"\nteardown\n  step see "See"\n    do "Look."\n',
    'teardown',
    (i: number) => `part p${i} "P"\n`,
  ],
  [
    'tightenings in one step',
    'part a "A"\nreassembly\n  step close "Close"\n    fit a\n',
    '    fit',
    () => '    tighten a\n',
  ],
  [
    'readings in one step',
    'teardown\n  step see "See"\n    do "Look."\n',
    '    do',
    (i: number) => `    measure r${i}\n`,
  ],
])(
  'a hundred and fifty thousand %s that are pasted, and a letter among them',
  { timeout: 300_000 },
  (_, text, place, line) => {
    const pasted = Array.from({ length: 150_000 }, (_, i) => line(i)).join('');
    const at = text.indexOf(place);
    const before = fresh(text);
    const now = after(before, { start: at, end: at, text: pasted });
    expect(now.ledger.model.tree.text).toHaveLength(text.length + pasted.length);
    const end = at + pasted.length - 1;
    const later = after(now, { start: end, end, text: ' ' });
    expect(later.findings).toHaveLength(now.findings.length);
  },
);
