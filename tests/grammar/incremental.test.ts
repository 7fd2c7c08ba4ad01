import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parseChunks } from '../../grammar/parser.ts';
import type { SyntaxTree } from '../../grammar/syntax.ts';
import { anyLayout, applied, edit, mutated, placed, procedureText } from '../fuzz/generate.ts';
import { contract } from './contract.ts';
import { plain, read } from './tree.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);

function expectFresh(tree: SyntaxTree): void {
  const fresh = read(tree.text);
  expect(tree.starts).toEqual(fresh.starts);
  expect(tree.chunks.map((chunk) => chunk.text)).toEqual(fresh.chunks.map((chunk) => chunk.text));
  expect(plain(tree.chunks)).toEqual(plain(fresh.chunks));
}

/** Replaces the one place where `old` stands. */
const change = (text: string, old: string, by: string): Change => {
  const start = text.indexOf(old);
  expect([old, start >= 0, text.indexOf(old, start + 1)]).toEqual([old, true, -1]);
  return { start, end: start + old.length, text: by };
};

describe('an edit', () => {
  const tree = read(contract);
  const kept = (result: SyntaxTree): number => result.chunks.filter((chunk) => tree.chunks.includes(chunk)).length;

  test.each([
    ['in a statement', 'remove top-housing', 'remove bore-plug'],
    ['in a comment that leads a chunk', '# equal spacing', '# x'],
    ['that parts a chunk', 'remove housing-bolt x8', 'step more remove housing-bolt x8'],
    ['that joins two chunks', '\n  step split "Split the housing" takes 30 min', ''],
    ['that opens a quote', '"Drain the oil"', '"Drain the oil'],
    ['that opens a quote before a line of declarations', 'Five-pin bit"', 'Five-pin bit'],
    ['that makes a comment of a line', 'supply sealant', '# supply sealant'],
    ['that names a step by a keyword', 'step close "Close', 'step reassembly "Close'],
    ['that takes the head', 'procedure winch', 'winch'],
    ['at the end', 'fill gear-oil', 'fill'],
  ])('%s', (_, old, by) => {
    const result = reparse(tree, change(contract, old, by));
    expectFresh(result);
    expect(kept(result)).toBeGreaterThanOrEqual(tree.chunks.length - 9);
  });

  test('far from a chunk leaves it the same object', () => {
    const result = reparse(tree, change(contract, 'fill gear-oil', 'drain gear-oil'));
    for (let c = 0; c < 15; c++) expect(result.chunks[c]).toBe(tree.chunks[c]);
  });

  test('that ends a text on a line of several declarations', () => {
    const line = 'part a part b part c part d part e Cover of the drain';
    const before = read(`part z\n${line}\npart y\n`);
    const result = reparse(before, { start: 7 + line.length, end: 7 + line.length, text: '"' });
    expectFresh(result);
    expect([before.chunks.length, result.chunks.length]).toEqual([7, 3]);
    expectFresh(reparse(result, { start: 7 + line.length, end: 8 + line.length, text: '' }));
  });

  test('that tears a text at the begin of a line whose last text is open', () => {
    const line = 'part a "A" part b part c part d part e part f "Cover';
    for (const behind of ['', '\npart y\n']) {
      const result = reparse(read(`${line}${behind}`), { start: 6, end: 7, text: '' });
      expectFresh(result);
      expectFresh(reparse(result, { start: 6, end: 6, text: ' ' }));
    }
  });

  test('that moves text moves no chunk behind it', () => {
    const result = reparse(tree, { start: 0, end: 0, text: '# one more line\n' });
    expectFresh(result);
    expect(result.chunks.at(-1)).toBe(tree.chunks.at(-1));
    expect(result.starts.at(-1)).toBe(tree.starts.at(-1)! + 16);
  });

  test('of all the text, and to nothing', () => {
    expectFresh(reparse(tree, { start: 0, end: contract.length, text: 'part a\n' }));
    expectFresh(reparse(tree, { start: 0, end: contract.length, text: '' }));
    expectFresh(reparse(read(''), { start: 0, end: 0, text: contract }));
  });

  test.each([
    ['step a\nproving\n', 0, 'step\n'],
    ['part x\nstep\nproving\nstep b\nstep c\nstep d\n', 33, '\n'],
    ['step a "A"\r', 11, '\nstep b\n'],
    ['part a part b part c part d part e part f', 7, '# '],
    ['part a part b part c part d part e part f', 7, '"'],
    ['procedure eld tool a tool b tool c tool d tool e supply o spec "Oil"', 0, '\nstep '],
    ['part a behind b tool c tool d tool e tool f tool g step t fit b x1 and', 13, 'x'],
  ])('%j at %i: %j', (text, at, by) => expectFresh(reparse(read(text), { start: at, end: at, text: by })));
});

const size = { parts: 6, steps: 8, statements: 3 };
const source = fc.oneof(procedureText(size), procedureText(size), anyLayout(size), mutated(size));

test('any script of edits leads to what a fresh parse gives', () => {
  fc.assert(
    fc.property(source, fc.array(edit, { minLength: 1, maxLength: 12 }), (text, edits) => {
      let tree = read(text);
      for (const each of edits) {
        const now = placed(tree.text, each);
        const result = reparse(tree, now);
        expect(result.text).toBe(applied(tree.text, now));
        const kept = new Set(result.chunks);
        const { starts, chunks } = tree;
        const behind = starts.findIndex((start) => start > now.end && /[\r\n]/.test(tree.text[start - 1]!));
        const lost = chunks.filter(
          (chunk, c) => (starts[c + 4]! < now.start || (behind >= 0 && c > behind + 1)) && !kept.has(chunk),
        );
        expect(lost).toEqual([]);
        tree = result;
      }
      expectFresh(tree);
    }),
    { numRuns: effort * 400 },
  );
});

test('the text from any chunk on gives the rest of the chunks', () => {
  fc.assert(
    fc.property(source, (text) => {
      const tree = read(text);
      const all = plain(tree.chunks) as object[];
      tree.starts.forEach((start, c) => {
        const tail = parseChunks('test.fettle', text.slice(start));
        expect(tail.starts.map((each) => each + start)).toEqual(tree.starts.slice(c));
        expect(plain(tail.chunks)).toEqual(all.slice(c));
      });
    }),
    { numRuns: effort * 60 },
  );
});
