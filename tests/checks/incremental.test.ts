import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, type Span, type SyntaxTree } from '../../grammar/syntax.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, type Model } from '../../server/src/model/model.ts';
import { procedureOf } from '../bench/procedures.ts';
import { edit, mutated, placed, procedureText } from '../fuzz/generate.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);
const uri = 'file:///unit.fettle';

/** All that follows from a text. */
interface Result {
  readonly tree: SyntaxTree;
  readonly model: Model;
  readonly judged: Judged;
}

function fresh(text: string): Result {
  const tree = parse(uri, text);
  const model = bind(tree);
  return { tree, model, judged: judge(model) };
}

function after(before: Result, change: Change): Result {
  const tree = reparse(before.tree, change);
  const model = bind(tree, undefined, before.model);
  const ledger = replay(model, before.judged.ledger);
  return { tree, model, judged: judge(model, defaultSettings, ledger, before.judged.ledger) };
}

/** `value` as plain data: each node of the tree by its place in the text, maps and sets sorted. */
function plain(value: unknown, tree: SyntaxTree): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (value instanceof Map)
    return [...value].map((pair) => plain(pair, tree)).sort((a, b) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1));
  if (value instanceof Set) return [...value].sort();
  if (Array.isArray(value)) return value.map((each) => plain(each, tree));
  if ('chunk' in value) {
    const { start, end } = offsetsOf(tree, value as Span);
    const { kind = '' } = value as { kind?: string };
    return `${kind} ${start}-${end}`;
  }
  return Object.fromEntries(
    Object.entries(value)
      .filter(([key, each]) => each !== undefined && !['model', 'records', 'tree', 'files'].includes(key))
      .map(([key, each]) => [key, plain(each, tree)]),
  );
}

function expectSame(now: Result): void {
  const again = fresh(now.tree.text);
  const whole = ({ tree, model, judged }: Result) => {
    const [, ...rest] = [tree.starts, ...tree.chunks.map(({ text, issues }) => plain({ text, issues }, tree))];
    return {
      starts: tree.starts,
      chunks: rest,
      model: plain(model, tree),
      ledger: plain(judged.ledger, tree),
      findings: plain(judged.findings, tree),
      allowed: plain(judged.allowed, tree),
    };
  };
  const mine = whole(now);
  const should = whole(again);
  if (JSON.stringify(mine) !== JSON.stringify(should)) expect(mine).toEqual(should);
}

const edits = fc.array(edit, { minLength: 1, maxLength: 5 });
/** Edits as they are typed: a letter, a word, a digit, or a few taken away. */
const typed = fc.array(
  fc.record({
    start: fc.double({ min: 0, max: 1, noNaN: true }),
    length: fc.constantFrom(0, 0, 0, 1, 2, 8),
    text: fc.constantFrom('', 'a', '1', '0', ' ', '\n', '"', '-1', ' x2', ' new', '# ', ' N·m', 'cover-1', 'bolt'),
  }),
  { minLength: 1, maxLength: 5 },
);

function runScript(text: string, script: readonly { start: number; length: number; text: string }[]): void {
  let now = fresh(text);
  for (const each of script) {
    now = after(now, placed(now.tree.text, each));
    expectSame(now);
  }
}

const bench = procedureOf({ lines: 130, seed: 3 });

describe('after any edits, tree, model, ledger and findings are those of a fresh reading', () => {
  test.each([
    ['of a procedure', procedureText(), edits, 150],
    ['of a broken procedure', mutated(), edits, 100],
    ['typed into a procedure', procedureText(), typed, 150],
    ['typed into a clean procedure of two units', fc.constant(bench), typed, 40],
    ['typed into one for several codes', fc.constant(bench.replace('to BU-1', 'to BU-1, BU-2, BU-3')), typed, 20],
  ] as const)('%s', (_, text, script, runs) => {
    fc.assert(
      fc.property(text, script, (source, steps) => runScript(source, steps)),
      { numRuns: runs * effort },
    );
  });

  test.each([
    ['the title of a part', 'Cover 1"', 'Cover one"'],
    ['the count of a part', 'part cover-bolt-1 x', 'part cover-bolt-1 x1'],
    ['what holds a part', 'held by cover-bolt-1', 'held by cover-bolt-2'],
    ['what carries a part', 'carried by shaft-1 behind', 'carried by shaft-2 behind'],
    ['a step to one that swaps', '    clean shaft-1', '    swap shaft-1 for shaft-2\n    clean shaft-1'],
    ['a part taken off', '    remove cover-1', ''],
    ['a part fitted', '    fit cover-1\n', ''],
    ['time that passes', '    wait 60 min "The sealant cures."\n    fill oil-1', '    wait 6 min\n    fill oil-1'],
    ['a line that cannot be read', '    remove gasket-1', '    remvoe gasket-1'],
    ['a new declaration', 'supply oil-1', 'part strap-1 "Strap"\nsupply oil-1'],
    ['a new statement in an early step', '    drain oil-1 1.8 L', '    do "Look."\n    drain oil-1 1.8 L'],
    ['the name of a step', 'step close-1', 'step shut-1'],
    ['the codes', 'to BU-1', 'to BU-1, BU-2'],
    ['the system of units', 'measures metric', 'measures imperial'],
    ['the range of a tool', 'range 5..100', 'range 50..100'],
  ])('%s', (_, old, by) => {
    const start = bench.indexOf(old);
    expect(start).toBeGreaterThan(0);
    const before = fresh(bench);
    const there = after(before, { start, end: start + old.length, text: by });
    expectSame(there);
    const back = after(there, { start, end: start + by.length, text: old });
    expectSame(back);
    // An older state can be gone on from again.
    expectSame(after(before, { start, end: start + old.length, text: `${by} ` }));
  });
});
