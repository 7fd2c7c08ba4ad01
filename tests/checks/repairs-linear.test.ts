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
  let looks = 0;
  const entries = new Proxy(variant.entries, {
    get: (all, key) => {
      looks++;
      return Reflect.get(all, key) as unknown;
    },
  });
  const { findings } = judge(model);
  for (const [i, name] of names.entries())
    insertMirrored(model, { ...variant, entries }, name, findings[i]!, [`fit ${name}`]);
  return looks;
}

test('the places of thousands of missing parts are found in one walk through the replay', () => {
  const looks = looksFor(200);
  expect(looks).toBeGreaterThan(200);
  expect(looksFor(400)).toBeLessThan(2.2 * looks);
});

type Lines = (i: number) => string;
test.each<[what: string, declaration: Lines, steps: Lines]>([
  ['names that nothing uses', (i) => `part p${i} "P"`, () => ''],
  ['tools that are not declared', (i) => `part p${i} "P"`, (i) => `clean p${i} using no-tool-${i}`],
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
