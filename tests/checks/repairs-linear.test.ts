import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { insertMirrored } from '../../server/src/checks/mirrored.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { operations } from '../operations.ts';

/** How often the replay's entries are looked at while every part is given its place in the reassembly. */
function looksFor(parts: number): number {
  const names = Array.from({ length: parts }, (_, i) => `p${i}`);
  const text = [
    ...names.map((name) => `part ${name} "P"`),
    'teardown',
    'step s',
    ...names.map((name) => `remove ${name}`),
    'reassembly',
    'step t',
    ...names.map((name) => `clean ${name}`),
  ].join('\n');
  const model = bind(parse('file:///unit.fettle', text));
  const variant = judge(model).ledger.variants[0]!;
  const { entries, looks } = watched(variant.entries);
  const { findings } = judge(model);
  for (const [i, name] of names.entries())
    insertMirrored(model, { ...variant, entries }, name, findings[i]!, [`fit ${name}`]);
  return looks();
}

/** The same entries, and how often they have been looked at. */
function watched<T extends object>(list: T): { entries: T; looks: () => number } {
  let looks = 0;
  const get = (all: T, key: PropertyKey): unknown => {
    looks++;
    return Reflect.get(all, key) as unknown;
  };
  return { entries: new Proxy(list, { get }), looks: () => looks };
}

test('the places of thousands of missing parts are found in one walk through the replay', () => {
  const looks = looksFor(200);
  expect(looks).toBeGreaterThan(200);
  expect(looksFor(400)).toBeLessThan(2.2 * looks);
});

test('an assembly of thousands that were stripped before, and went back, is put back in time by their number', () => {
  const cost = (n: number): number => {
    const parts = Array.from({ length: n }, (_, i) => `p${i}`);
    const text = [
      'part frame "Frame"',
      ...parts.map((part) => `part ${part} "P"`),
      'teardown',
      'step s',
      ...parts.flatMap((part) => [`remove ${part}`, `fit ${part}`]),
      `remove frame with ${parts.join(', ')}`,
      '',
    ].join('\n');
    const model = bind(parse('file:///unit.fettle', text));
    const { findings, ledger } = judge(model);
    const { entries, looks } = watched(ledger.variants[0]!.entries);
    const variants = [{ ...ledger.variants[0]!, entries }];
    const [repair] = repairsFor(findings[0]!, { model, ledger: { model, variants }, settings: defaultSettings });
    expect(repair!.edits[0]!.text).toContain('fit frame with p0, p1, p2');
    return looks();
  };
  const few = cost(100);
  expect(few).toBeGreaterThan(100);
  expect(cost(400) / few).toBeLessThan(4.4);
});

type Lines = (i: number) => string;
test.each<[what: string, declaration: Lines, steps: Lines]>([
  ['names that nothing uses', (i) => `part p${i} "P"`, () => ''],
  ['tools that are not declared', (i) => `part p${i} "P"`, (i) => `clean p${i} using no-tool-${i}`],
  [
    'wrenches that are named nowhere',
    (i) => `part p${i} "P" torque 10 N·m\ntool w${i} "W" range 1..${i + 20} N·m`,
    (i) => `tighten p${i}`,
  ],
  ['steps without a warning', (i) => `part p${i} "P" hazard heat`, (i) => `step s${i}\nmark p${i}`],
  ['work of one step without a warning', (i) => `part p${i} "P" hazard heat`, (i) => `mark p${i}`],
  ['branches', (i) => `part p${i} "P" hazard heat`, (i) => `if "it is worn"\nmark p${i}\nelse\nclean p${i}\nend`],
])('all repairs of thousands of findings take time by their number: %s', (_, declaration, steps) => {
  const cost = (n: number): number => {
    const each = (line: Lines): string[] => Array.from({ length: n }, (_, i) => line(i));
    const text = ['procedure p', ...each(declaration), 'teardown', 'step s', ...each(steps), ''].join('\n');
    const model = bind(parse('file:///unit.fettle', text));
    const { findings, ledger } = judge(model);
    return operations(() => {
      const repairs = findings.flatMap((finding) => repairsFor(finding, { model, ledger, settings: defaultSettings }));
      expect(repairs.length).toBeGreaterThan(0);
    });
  };
  expect(cost(400) / cost(100)).toBeLessThan(4.4);
});

test('drain plugs and fills by the thousand, each plug back where it came off, and their repairs', () => {
  const cost = (n: number): number => {
    const each = (line: Lines): string[] => Array.from({ length: n }, (_, i) => line(i));
    const text = [
      'supply oil',
      ...each((i) => `part p${i} "Drain plug"`),
      'teardown',
      ...each((i) => `step s${i}\nremove p${i}\ndrain oil\n${i % 2 === 0 ? `fit p${i}\n` : ''}fill oil 1 L`),
      '',
    ].join('\n');
    const model = bind(parse('file:///unit.fettle', text));
    const { findings, ledger } = judge(model);
    return operations(() => {
      judge(model, defaultSettings, ledger);
      for (const finding of findings.filter(({ code }) => code === 'left-off'))
        expect(repairsFor(finding, { model, ledger, settings: defaultSettings })).not.toEqual([]);
    });
  };
  expect(cost(400) / cost(100)).toBeLessThan(4.4);
});
