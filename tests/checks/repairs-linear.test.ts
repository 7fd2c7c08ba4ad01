import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { insertMirrored } from '../../server/src/checks/mirrored.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';

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
