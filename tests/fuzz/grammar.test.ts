import type { IToken } from 'chevrotain';
import fc from 'fast-check';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { parseByGrammar } from '../../grammar/parser.ts';
import { format } from '../../grammar/printer.ts';
import { Rules } from '../../grammar/rules.ts';
import { fieldsOf, type SyntaxTree } from '../../grammar/syntax.ts';
import { lex } from '../../grammar/tokens.ts';
import { issuesOf, read } from '../grammar/tree.ts';
import { anyLayout, mutated, procedureText, snippet } from './generate.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);

/** Every object with a place is in the chunk that it names, and lies within it. */
function expectPlaces(tree: SyntaxTree): void {
  expect(tree.chunks.map((chunk) => chunk.text).join('')).toBe(tree.text);
  let at = 0;
  tree.chunks.forEach((chunk, c) => {
    expect(tree.starts[c]).toBe(at);
    at += chunk.text.length;
    const { item, strayStep, comments, issues } = chunk;
    const bad: unknown[] = [];
    const visit = (value: unknown): void => {
      if (Array.isArray(value)) for (const each of value) visit(each);
      else if (typeof value === 'object' && value !== null && value !== chunk) {
        if ('start' in value && 'end' in value) {
          const { start, end } = value as { start: number; end: number };
          const inside = 0 <= start && start <= end && end <= chunk.text.length;
          if (!inside || (value as { chunk?: unknown }).chunk !== chunk) bad.push([start, end]);
        }
        for (const field of fieldsOf(value)) visit((value as Record<string, unknown>)[field]);
      }
    };
    visit([item, strayStep, comments, issues]);
    expect(bad).toEqual([]);
    for (const issue of issues) {
      expect(issue.message).toMatch(/^expected .+, found .+; reading went on .+$/s);
      expect(issue.end).toBeGreaterThan(issue.start);
    }
    for (let i = 1; i < issues.length; i++) expect(issues[i]!.start).toBeGreaterThanOrEqual(issues[i - 1]!.start);
  });
}

describe('any text gives a tree and a layout', () => {
  const noise = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 200 }),
    fc.array(snippet, { maxLength: 60 }).map((all) => all.join('')),
    fc.uint8Array({ maxLength: 300 }).map((bytes) => new TextDecoder('latin1').decode(bytes)),
  );
  test.each([
    ['noise', noise, 1200],
    ['broken procedures', mutated(), 900],
    ['badly broken procedures', mutated({ parts: 3, steps: 3, statements: 3 }, 40), 300],
    ['procedures', fc.oneof(procedureText(), anyLayout()), 200],
  ] as const)('%s', (_, texts, numRuns) => {
    fc.assert(
      fc.property(texts, (text) => {
        const tree = read(text);
        expectPlaces(tree);
        expectPlaces(read(format(text)));
      }),
      { numRuns: effort * numRuns },
    );
  });

  test('generated procedures are valid', () => {
    fc.assert(
      fc.property(procedureText({ parts: 20, steps: 12, statements: 10 }), (text) => {
        expect(issuesOf(read(text))).toEqual([]);
      }),
      { numRuns: 100 },
    );
  });
});

describe('the work grows with the text, and no faster', () => {
  afterEach(() => vi.restoreAllMocks());

  /** Tokens that the rules look at. */
  function workFor(text: string, parse: (text: string) => unknown = byGrammar): number {
    let work = 0;
    const engine = Rules.prototype as unknown as Record<'LA' | 'LA_FAST', (this: Rules, howMuch: number) => IToken>;
    for (const look of ['LA', 'LA_FAST'] as const) {
      const original = engine[look];
      vi.spyOn(engine, look).mockImplementation(function (this: Rules, howMuch: number) {
        work++;
        return original.call(this, howMuch);
      });
    }
    parse(text);
    vi.restoreAllMocks();
    return work;
  }
  const byGrammar = (text: string): unknown => parseByGrammar('test.fettle', text);

  test('it is counted', () => expect(workFor('step s\n  fit a x4 using b\n')).toBeGreaterThan(9));

  test.each([
    'foo\n',
    'foo ',
    'part a\n',
    'step s\n fit a\n',
    'step s\n fit\n',
    'fit a ! ',
    'fit a ! x1 ! x2 ',
    'fit a\nto 5 N·m\n',
    'fit a "b" "c"\n',
    'fit a\n"c"\n',
    'fit a with\nb,\nc,\n',
    'b,\n',
    'a,',
    'fit ',
    'remove\n',
    'either ',
    'either\nfit a\nend\n',
    'end ',
    'or "x" ',
    'if "x" else end ',
    'step ',
    'held by ',
    'using ',
    'using a ',
    'x1 ',
    '( ',
    '1,8 ',
    '25 ',
    '25 zorks ',
    '"',
    '"a" ',
    '"a\n',
    '# a\n',
    '° ',
    '\u0000',
    'part a torque 5 N·m torque\n',
    'swap a for ',
    'transfer a from b to c\nd\n',
    'for a, ',
    'order 1 2 3 ',
  ])('%j', (unit) => {
    for (const start of ['', 'step s\n remove b with\n', 'part b\n']) {
      const once = start + unit.repeat(400);
      const twice = start + unit.repeat(800);
      const work = workFor(once);
      const tokens = lex(once).tokens.length;
      expect(work).toBeLessThanOrEqual(200 * (tokens + 10));
      expect(workFor(twice)).toBeLessThanOrEqual(2.2 * work + 500);
      // What is not clean is read in stretches, each four times the last: in vain at most 1 + 1/4 + 1/16 … of the whole.
      expect(workFor(twice, read)).toBeLessThanOrEqual(2.34 * workFor(twice) + 500);
    }
  });
});
