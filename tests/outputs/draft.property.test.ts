import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { format } from '../../grammar/printer.ts';
import { lineOf } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { Loader } from '../../server/src/cli/load.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, type Model } from '../../server/src/model/model.ts';
import { type Draft, draft } from '../../server/src/outputs/draft.ts';
import { root } from '../cli/run.ts';
import { anyLayout, mutated, procedureText } from '../fuzz/generate.ts';
import { random, teardownOf } from './draft-generate.ts';

type Open = (text: string) => Model;
const alone: Open = (text) => bind(parse('file:///drafted.fettle', text));
const draftOf = (model: Model): Draft => draft(model, judge(model).ledger);

/** What the end of a teardown owes the unit: nothing that a draft may leave. */
const owed = new Set(['left-off', 'count-short', 'not-replaced', 'left-open', 'left-behind', 'left-loose']);
/** Findings about the declarations and the teardown themselves, which no draft mends. */
const authors = new Set(['no-torque', 'lost-mark', 'over-proof', 'unit-unread']);

const troubles = (model: Model): string[] =>
  judge(model)
    .findings.filter(({ severity }) => severity === 'error' || severity === 'warning')
    .filter(({ code }) => !authors.has(code))
    .map(
      ({ code, message, span }) =>
        `${lineOf(model.tree, model.tree.starts[model.tree.chunks.indexOf(span.chunk)]! + span.start)} ${code}: ${message}`,
    );

/** A teardown of 5 to 300 parts that has no errors of its own, laid out as the formatter would. */
const seeds = { min: 0, max: 2 ** 31 - 1 };
const teardown = (most: number): fc.Arbitrary<string> =>
  fc
    .tuple(fc.integer({ min: 5, max: most }), fc.integer(seeds))
    .map(([parts, seed]) => format(teardownOf(parts, seed)));

/** What the drafted file has to be, whatever it was drafted from. */
function expectComplete(open: Open, text: string): void {
  const whole = open(text);
  expect(troubles(whole), text).toEqual([]);
  expect(draftOf(whole).edits, text).toEqual([]);
  expect(format(text)).toBe(text);
}

/** Nothing is changed or moved: the edits are insertions, in order, and give the text. Blank lines may make room. */
function expectOnlyGrown(before: string, { edits, text }: Draft, blanks = false): void {
  let grown = '';
  let at = 0;
  for (const { start, end, text: inserted } of edits) {
    expect(blanks ? before.slice(start, end).trim() : end - start).toBe(blanks ? '' : 0);
    expect(start).toBeGreaterThanOrEqual(at);
    grown += before.slice(at, start) + inserted;
    at = end;
  }
  expect(grown + before.slice(at)).toBe(text);
}

/**
 * Reads the relations and the drafted lines as plain text and checks the order without the replay: each part is fitted
 * and tightened before what holds or covers it is fitted. Swapped parts, which change the relations, are left out.
 */
function expectPhysical(text: string): void {
  const swapped = new Set([...text.matchAll(/^ *swap (\S+) for (\S+)/gm)].flatMap(([, a, b]) => [a!, b!]));
  const [, reassembly] = text.split(/^reassembly$/m);
  const lines = (reassembly ?? '').split(/^proving$/m)[0]!.split('\n');
  const first = new Map<string, number>();
  const last = new Map<string, number>();
  lines.forEach((line, i) => {
    const [, verb, , part] = /^ *(fit|connect|tighten) (new )?(\S+)/.exec(line) ?? [];
    if (part === undefined) return;
    if (verb !== 'tighten' && !first.has(part)) first.set(part, i);
    last.set(part, i);
  });
  for (const [, part, clauses] of text.matchAll(/^part (\S+)(.*)$/gm)) {
    const blockers = [...clauses!.matchAll(/(?:held by|behind) ([^ ]+(?:, [^ ]+)*)/g)].flatMap(([, names]) =>
      names!.split(', '),
    );
    for (const blocker of blockers) {
      if (swapped.has(part!) || swapped.has(blocker) || !last.has(part!) || !first.has(blocker)) continue;
      expect(last.get(part!)!, `${part} before ${blocker} in\n${text}`).toBeLessThan(first.get(blocker)!);
    }
  }
}

describe('from a teardown alone', () => {
  const holds = (text: string): void => {
    const model = alone(text);
    const { findings } = judge(model);
    const own = findings.filter(({ code, severity }) => severity === 'error' && !owed.has(code));
    expect(
      own.map(({ code, message }) => `${code}: ${message}`),
      text,
    ).toEqual([]);
    const result = draftOf(model);
    expectOnlyGrown(text, result);
    expectComplete(alone, result.text);
    expectPhysical(result.text);
  };
  test('of 5 to 60 parts, the draft leaves nothing to find and is stable', () => {
    fc.assert(fc.property(teardown(60), holds), { numRuns: 60 });
  });
  test('of up to 300 parts', () => {
    fc.assert(fc.property(teardown(300), holds), { numRuns: 8 });
    holds(format(teardownOf(300, 1)));
  });
  test('the teardowns are no easy ones: they owe parts in every way', () => {
    const codes = new Set<string>();
    for (let seed = 0; seed < 60; seed++)
      for (const { code } of judge(alone(format(teardownOf(40, seed)))).findings) codes.add(code);
    expect([...owed].filter((code) => !codes.has(code))).toEqual(['count-short']);
  });
});

/** What a draft writes, and so may be missing. */
const restorable = /^ +(?:fit|connect|tighten|fill|wait|apply|transfer|support|danger|warning|caution|notice)\b/;

/** The text with some lines of its reassembly left out, and its steps renamed and run together. */
function partial(text: string, seed: number, rework: boolean): string {
  const next = random(seed);
  const share = next();
  const lines = text.split('\n');
  const from = lines.indexOf('reassembly');
  const to = lines.includes('proving') ? lines.indexOf('proving') : lines.length;
  let steps = 0;
  const kept = lines.flatMap((line, i): string[] => {
    if (i <= from || i >= to) return [line];
    if (rework && line.startsWith('  step ')) {
      steps++;
      return steps > 1 && next() < 0.4 ? [] : [`  step own-${steps} "Own work"`];
    }
    if (restorable.test(line) && next() < share) return [];
    if (!rework || !restorable.test(line)) return [line];
    const noise = next();
    if (noise < 0.1) return ['    do "Something else"', line];
    if (noise < 0.2) return ['    # a remark', line];
    return [noise < 0.3 ? `${line}  # a remark` : line];
  });
  return rework ? format(kept.join('\n')) : kept.join('\n');
}

describe('from a reassembly with gaps', () => {
  const holds = (rework: boolean) => (text: string, seed: number) => {
    const gaps = partial(draftOf(alone(text)).text, seed, rework);
    fc.pre(!/# a remark\n$/.test(gaps));
    const result = draftOf(alone(gaps));
    expectOnlyGrown(gaps, result);
    expectComplete(alone, result.text);
  };
  test('in the drafted steps', () => {
    fc.assert(fc.property(teardown(60), fc.integer(seeds), holds(false)), { numRuns: 50 });
  });
  test('in steps, with remarks and work of the author’s own', () => {
    fc.assert(fc.property(teardown(60), fc.integer(seeds), holds(true)), { numRuns: 50 });
  });
  test('of up to 300 parts', () => {
    fc.assert(fc.property(teardown(300), fc.integer(seeds), holds(false)), { numRuns: 8 });
  });

  test.each(['winch-reducer', 'gear-pump', 'centrifugal-clutch', 'chain-hoist-brake'])('in the sample %s', (name) => {
    const path = join(root, 'samples', `${name}.fettle`);
    const loader = new Loader();
    const open: Open = (text) => {
      const { tree, resolve } = loader.open(path, text);
      return bind(tree, resolve);
    };
    const text = readFileSync(path, 'utf8');
    fc.assert(
      fc.property(fc.integer(seeds), (seed) => {
        const gaps = partial(text, seed, false);
        const result = draftOf(open(gaps));
        expectOnlyGrown(gaps, result);
        expectComplete(open, result.text);
      }),
      { numRuns: 12 },
    );
  });
});

test('from any text: only grows, and drafting again changes nothing', () => {
  const size = { parts: 6, steps: 6, statements: 8 };
  fc.assert(
    fc.property(fc.oneof(mutated(), procedureText(size), anyLayout(size)), (text) => {
      const model = alone(text);
      const result = draft(model, replay(model));
      expectOnlyGrown(text, result, true);
      const again = alone(result.text);
      expect(draft(again, replay(again)).edits).toEqual([]);
    }),
    { numRuns: 250 },
  );
});
