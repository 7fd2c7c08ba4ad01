import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { columns, hanging } from '../../server/src/outputs/columns.ts';

describe('columns', () => {
  const rows = [
    ['Vessel for 4.2 L', 'to catch Gear oil', 'step 3'],
    ['Shims 0.05 mm, 0.10 mm, 0.20 mm, 0.40 mm', 'to choose Idler shim stack from', 'steps 31, 32'],
  ];

  test('run as wide as their texts where nothing says how wide the line is', () => {
    expect(columns(rows)).toEqual([
      '  Vessel for 4.2 L                          to catch Gear oil                step 3',
      '  Shims 0.05 mm, 0.10 mm, 0.20 mm, 0.40 mm  to choose Idler shim stack from  steps 31, 32',
    ]);
  });

  test('share a narrow line, with numbers and their units in one piece', () => {
    expect(columns(rows, 60)).toEqual([
      '  Vessel for 4.2 L   to catch Gear oil     step 3',
      '  Shims 0.05 mm,     to choose Idler shim  steps 31, 32',
      '  0.10 mm, 0.20 mm,  stack from',
      '  0.40 mm',
    ]);
  });

  test('may have more rows than a call takes arguments', () => {
    const many = Array.from({ length: 150_000 }, (_, i) => [`${i}`, 'step']);
    expect(columns(many, 60).at(-1)).toBe('  149999  step');
  });

  test('lose nothing, and are never wider than the line where each text can have twelve columns', () => {
    const text = fc.stringMatching(/^[a-z0-9×,.]{1,20}( [a-z0-9×,.]{1,20}){0,8}$/);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(text, text, text), { minLength: 1, maxLength: 5 }),
        fc.integer({ min: 42, max: 120 }),
        (table, width) => {
          const lines = columns(table, width);
          for (const line of lines) expect(line.length).toBeLessThanOrEqual(width);
          const signs = (all: string): string => [...all.replaceAll(' ', '')].sort().join('');
          expect(signs(lines.join(''))).toBe(signs(table.flat().join('')));
        },
      ),
    );
  });
});

describe('a text that hangs behind its head', () => {
  test('goes on in lines below, set in as far', () => {
    expect(hanging('Note: ', 'a b c d e f g h i j k l m n', 26)).toBe('Note: a b c d e f g h i j\n      k l m n');
    expect(hanging('', 'finished after 5 d', 16)).toBe('finished after\n5 d');
    expect(hanging('', 'finished after 1 bag 2', 20)).toBe('finished after\n1 bag 2');
  });

  test('goes on below a head that leaves no room', () => {
    expect(hanging('x'.repeat(20), 'Make sure of the unit', 36)).toBe(`${'x'.repeat(20)}Make sure of the\n    unit`);
  });

  test('wide signs take two columns', () => {
    expect(hanging('', '油封 油封 油封 油封', 13)).toBe('油封 油封\n油封 油封');
  });
});
