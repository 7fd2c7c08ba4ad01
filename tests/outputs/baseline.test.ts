import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { format } from '../../grammar/printer.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import {
  type Baseline,
  fingerprintOf,
  KnownFindings,
  knownOf,
  readBaseline,
  writeBaseline,
} from '../../server/src/outputs/baseline.ts';
import { anyLayout, procedureText } from '../fuzz/generate.ts';

const printsOf = (text: string) => {
  const model = bind(parse('file:///a.fettle', text));
  return judge(model).findings.map((finding) => fingerprintOf(model, finding));
};
const job = `part cover "Cover"
part bolt x6 "Bolt" thread M8 torque 25 N.m
teardown
  step open
    remove bolt x4  keep in "tray" # for now
    remove cover
`;

describe('a finding is known by code, subject and what it stands in', () => {
  test('whatever the layout', () => {
    expect(printsOf(job)).toEqual([
      { code: 'no-class', subject: 'bolt', at: 'part bolt x6 "Bolt" thread M8 torque 25 N·m' },
      { code: 'left-off', subject: 'bolt', at: 'remove bolt x4 keep in "tray"' },
      { code: 'left-off', subject: 'cover', at: 'remove cover' },
    ]);
  });

  test('of a block by its opening, of a step by its line, of a line that cannot be read by the line', () => {
    const text = `part cover
teardown
  step open takes 5 mm
    if "the ${'very '.repeat(21)}end"
      remove cover
    end
  remvoe cover
`;
    expect(printsOf(text).map(({ code, at }) => `${code}: ${at.replace(/(very )+/, '')}`)).toEqual([
      'wrong-kind: step open takes 5 mm',
      'branches-differ: if "the end"',
      'long-text: if "the end"',
      'syntax: remvoe cover',
    ]);
  });

  test('laid out anew it is the same, in any procedure', () => {
    fc.assert(
      fc.property(fc.oneof(procedureText(), anyLayout()), (text) => {
        expect(knownOf(printsOf(format(text)))).toEqual(knownOf(printsOf(text)));
      }),
    );
  });

  test('with lines and comments put in above it is the same', () => {
    fc.assert(
      fc.property(procedureText(), fc.nat({ max: 30 }), (text, n) => {
        const lines = text.split('\n');
        const at = lines.findIndex((line) => /^ {2}step/.test(line));
        const moved = [...lines.slice(0, at), ...Array<string>(n).fill('# new'), ...lines.slice(at)].join('\n');
        expect(knownOf(printsOf(moved))).toEqual(knownOf(printsOf(text)));
      }),
    );
  });
});

test('of findings alike, as many are known as were counted', () => {
  const print = { code: 'no-unit', subject: '', at: 'wait 5' };
  const known = new KnownFindings(knownOf([print, print, { ...print, at: 'wait 6' }]));
  expect([known.take(print), known.take(print), known.take(print)]).toEqual([true, true, false]);
  expect(known.take({ ...print, subject: 'other' })).toBe(false);
  expect(known.gone).toBe(1);
});

describe('a baseline file', () => {
  const known = fc.array(
    fc.record({ code: fc.string(), subject: fc.string(), at: fc.string(), count: fc.integer({ min: 1, max: 9 }) }),
    { minLength: 1 },
  );
  test('reads back as it was written', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.string({ minLength: 1 }), known), (files) => {
        const baseline: Baseline = new Map(Object.entries(files));
        const back = readBaseline(writeBaseline(baseline));
        expect(new Map(back as Baseline)).toEqual(baseline);
      }),
    );
    expect(readBaseline(writeBaseline(new Map()))).toEqual(new Map());
  });

  test('has one finding a line, sorted, so that a review of it reads well', () => {
    const text = writeBaseline(
      new Map([
        ['b', knownOf(printsOf(job))],
        ['a', knownOf(printsOf('remvoe x\n'))],
        ['c', []],
      ]),
    );
    expect(text.split('\n').map((line) => line.slice(0, 34))).toEqual(
      [
        '{',
        '  "fettle-baseline": 1,',
        '  "files": {',
        '    "a": [',
        '      { "code": "syntax", "subject"',
        '    ],',
        '    "b": [',
        '      { "code": "left-off", "subjec',
        '      { "code": "left-off", "subjec',
        '      { "code": "no-class", "subjec',
        '    ]',
        '  }',
        '}',
        '',
      ].map((line) => line.slice(0, 34)),
    );
  });

  test.each([
    ['{\n<<<<<<< mine\n}', 'is no JSON (line 2): settle the conflict in it'],
    ['', 'is no JSON (line 1)'],
    ['[]', 'is no baseline of Fettle: write it anew with --write-baseline'],
    ['{"files": {}}', 'is no baseline of Fettle'],
    ['{"fettle-baseline": 2, "files": {}}', 'is a baseline of another Fettle (2)'],
    ['{"fettle-baseline": 1}', 'has no "files"'],
    ['{"fettle-baseline": 1, "files": {"a": [{"code": "x"}]}}', 'has an entry of "a" that cannot be read'],
    ['{"fettle-baseline": 1, "files": {"a": {}}}', 'has an entry of "a" that cannot be read'],
  ])('%j is refused with its remedy', (text, reason) => {
    expect((readBaseline(text) as { reason: string }).reason).toContain(reason);
  });
});
