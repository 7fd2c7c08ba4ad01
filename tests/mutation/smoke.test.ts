import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { reasonFor } from './equivalent.ts';
import { masked, mutantsOf } from './mutants.ts';
import { attempt, sample, shown, testsFor } from './run.ts';
import * as shim from './shim.ts';

test('texts, comments, patterns and types are no place for a mutant', () => {
  const source = `import { a } from 'b - c';
interface A { readonly b: 1 | 2 }
// a && b
const c = /x && y/.test(\`\${d + 1} < e\`) && f('g + h');
`;
  expect(masked(source).replace(/\s+/g, ' ').trim()).toBe('const c = .test( ) && f( );');
  expect(mutantsOf('x.ts', source).map(({ text }) => text.trim())).toEqual(['||']);
});

test('a slack is made great, not twice as small; a mark that only saves time is left alone', () => {
  expect(
    mutantsOf('x.ts', 'const a = 1e-9;\nconst b = 12.5e-6;\nconst c = { local: true, safe: true };\n').map(
      ({ text }) => text,
    ),
  ).toEqual(['1', '0.000025', 'false']);
});

test('the number of a type is no place for a mutant', () => {
  expect(mutantsOf('x.ts', 'const a = (b: Parameters<F>[0]) => b[1];\n').map(({ text }) => text)).toEqual(['2']);
});

test('a mutant that changes nothing is known by its file and its line', () => {
  const line = 'server/src/ledger/cures.ts:141: private now = ⟦0 → 1⟧;';
  expect(reasonFor(line)).toContain('differences');
  expect(reasonFor(line.replace('cures', 'state'))).toBeUndefined();
  expect(reasonFor(line.replace('0 → 1', '1 → 2'))).toBeUndefined();
});

test('the sample is the same for the same seed', () => {
  expect(sample(5, 1).map(shown)).toEqual(sample(5, 1).map(shown));
  expect(sample(5, 1).map(shown)).not.toEqual(sample(5, 2).map(shown));
});

test('what the tests that judge mutants take from vitest stands in for it', () => {
  const files = ['checks', 'ledger', 'mechanics', 'model'].flatMap((folder) => testsFor(`server/src/${folder}/`));
  expect(files.length).toBeGreaterThan(20);
  const asked = Object.keys(shim.expect(0));
  const spied = Object.keys(shim.vi.spyOn({ method: () => {} }, 'method'));
  for (const file of new Set(files)) {
    const text = readFileSync(join(import.meta.dirname, '../..', file), 'utf8');
    const [, names = ''] = /import \{([^}]*)\} from 'vitest'/.exec(text) ?? [];
    for (const name of names.split(',')) expect(Object.keys(shim), file).toContain(name.trim());
    for (const [, name] of text.matchAll(/\.(to[A-Z]\w+)\(/g))
      if (name! in expect(0) && !(name! in {})) expect(asked, file).toContain(name);
    for (const [, name] of text.matchAll(/\.(mock[A-Z]\w+)\(/g)) expect(spied, file).toContain(name);
  }
});

test('values that lead back to themselves are compared, as vitest compares them', () => {
  const ring = (name: string): object => {
    const first: Record<string, unknown> = { name };
    first['next'] = [{ back: first }];
    return first;
  };
  const compare = (one: object, other: object): void => (shim.expect(one)['toEqual'] as (other: object) => void)(other);
  expect(ring('a')).toEqual(ring('a'));
  compare(ring('a'), ring('a'));
  expect(() => compare(ring('a'), ring('b'))).toThrow('toEqual');
});

test('a mutant that changes what a check says is caught, and the code as it stands is not', async () => {
  const files = ['tests/mechanics/wrench.test.ts', 'tests/reference/wrench.test.ts'];
  expect(await attempt({ files })).toBeUndefined();
  const mutants = sample(1e6, 1, 'mechanics/wrench.ts').filter(({ text }) => text.trim() === '-');
  expect(mutants.length).toBeGreaterThan(0);
  for (const mutant of mutants) expect(await attempt({ mutant, files }), shown(mutant)).toContain('wrench.test.ts');
});
