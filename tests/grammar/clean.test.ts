import { isDeepStrictEqual } from 'node:util';
import fc from 'fast-check';
import { describe, expect, test, vi } from 'vitest';
import { readClean } from '../../grammar/clean.ts';
import { parse, parseByGrammar } from '../../grammar/parser.ts';
import type { SyntaxTree } from '../../grammar/syntax.ts';
import { procedureOf } from '../bench/procedures.ts';
import { anyLayout, mutated, procedureText, snippet } from '../fuzz/generate.ts';
import { filesIn, textOf } from '../samples/samples.ts';
import { contract, everything } from './contract.ts';
import { plain } from './tree.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);
const uri = 'test.fettle';

/** The grammar is the oracle: whatever way a text was read, the tree is the one that the grammar gives. */
function expectAsByGrammar(text: string): void {
  const { chunks, starts } = parse(uri, text);
  const oracle = parseByGrammar(uri, text);
  if (isDeepStrictEqual(chunks, oracle.chunks) && isDeepStrictEqual(starts, oracle.starts)) return;
  // A difference is easier to read in these.
  expect(starts).toEqual(oracle.starts);
  expect(plain(chunks)).toEqual(plain(oracle.chunks));
  expect(chunks).toStrictEqual(oracle.chunks);
}

/** Chunks of `text` that are read without the grammar. */
function cleanChunks(text: string): number {
  const { chunks, starts } = parseByGrammar(uri, text);
  return chunks.filter((_, c) => readClean(uri, text, starts[c]!) !== undefined).length;
}

test('the grammar is prepared for the first text that is not clean, and not before', async () => {
  vi.resetModules();
  const anew = await import('../../grammar/parser.ts');
  const { Rules: rules } = await import('../../grammar/rules.ts');
  const analysis = vi.spyOn(rules.prototype as unknown as { performSelfAnalysis(): void }, 'performSelfAnalysis');
  const told = ({ chunks }: SyntaxTree): string[] =>
    chunks.flatMap(({ issues }) => issues.map(({ message }) => message));
  expect(told(anew.parse(uri, procedureOf({ lines: 100 })))).toEqual([]);
  expect(analysis).toHaveBeenCalledTimes(0);
  const broken = 'step s\n  fit a x\n  fit b to\n';
  const [first, second] = [told(anew.parse(uri, broken)), told(anew.parse(uri, broken))];
  expect(first).toEqual(told(parse(uri, broken)));
  expect(first.length).toBeGreaterThan(1);
  expect(second).toEqual(first);
  expect(analysis).toHaveBeenCalledTimes(1);
  anew.prepareGrammar();
  expect(analysis).toHaveBeenCalledTimes(1);
});

describe('what is clean comes out as by the grammar', () => {
  test.each([
    ['the contract', contract],
    ['every statement', everything],
    ['a long procedure', procedureOf({ lines: 2000 })],
    ...filesIn('.').map((name): [string, string] => [name, textOf(name)]),
  ] as const)('%s', (_, text) => {
    expectAsByGrammar(text);
    expectAsByGrammar(text.replaceAll('\n', '\r\n'));
  });

  test.each([
    ['procedures', fc.oneof(procedureText(), anyLayout()), 400],
    ['broken procedures', mutated(), 600],
    ['noise', fc.array(snippet, { maxLength: 60 }).map((all) => all.join('')), 400],
    [
      'long procedures with few troubles',
      fc
        .array(fc.oneof(procedureText(), anyLayout(), mutated()), { minLength: 4, maxLength: 12 })
        .map((all) => all.join('\n')),
      60,
    ],
  ])('%s', (_, texts, numRuns) => {
    fc.assert(fc.property(texts, expectAsByGrammar), { numRuns: numRuns * effort });
  });
});

describe('a clean text is read without the grammar', () => {
  test('all of the long procedure', () => {
    const text = procedureOf({ lines: 1000 });
    expect(cleanChunks(text)).toBe(parse(uri, text).chunks.length);
  });
  test.each(filesIn('.'))('nearly all of %s', (name) => {
    const text = textOf(name);
    expect(cleanChunks(text) / parse(uri, text).chunks.length).toBeGreaterThan(0.95);
  });
});
