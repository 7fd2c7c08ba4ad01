import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import { type Obstacles, obstaclesAt } from '../ledger/obstacles-at.ts';
import type { PartState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';

/** Index of the first entry of the replay that lies behind a place in the text. */
export interface Moment {
  readonly variant: Variant;
  readonly index: number;
}

/** Indexes of the first and last entry of each statement. */
const firsts = new WeakMap<Variant['entries'], Map<Statement, { first: number; last: number }>>();
export function entriesOf(variant: Variant): Map<Statement, { first: number; last: number }> {
  let map = firsts.get(variant.entries);
  if (map === undefined) {
    map = new Map();
    for (const [index, { statement }] of variant.entries.entries()) {
      const known = map.get(statement);
      if (known === undefined) map.set(statement, { first: index, last: index });
      else known.last = index;
    }
    firsts.set(variant.entries, map);
  }
  return map;
}

/**
 * The moment before the statement that is being written at `offset`, in each variant that comes by there. What a
 * half-written statement does itself is left out.
 */
export function momentsAt(snapshot: Snapshot, offset: number): Moment[] {
  return snapshot.ledger.variants.map((variant) => {
    const entries = entriesOf(variant);
    for (const [statement, edge] of statementsBefore(snapshot, offset)) {
      const found = entries.get(statement);
      if (found !== undefined) return { variant, index: edge === 'start' ? found.first : found.last + 1 };
    }
    return { variant, index: 0 };
  });
}

/**
 * Statements by which the place can be found in the replay, the nearest first: of the one being written its start, of
 * one before it its end.
 */
function* statementsBefore(snapshot: Snapshot, offset: number): Generator<[Statement, 'start' | 'end']> {
  const { tree } = snapshot;
  for (let c = tree.chunks.length - 1; c >= 0; c--) {
    const base = tree.starts[c]!;
    if (base > offset) continue;
    for (const step of stepsOfChunk(tree.chunks[c]!).reverse())
      yield* nearest(step.statements, offset - base, snapshot);
  }
}

function* nearest(
  statements: readonly Statement[],
  at: number,
  snapshot: Snapshot,
): Generator<[Statement, 'start' | 'end']> {
  for (let s = statements.length - 1; s >= 0; s--) {
    const statement = statements[s]!;
    if (statement.start > at) continue;
    const closed =
      statement.closing?.end ?? (statement.branches === undefined ? statement.end : Number.POSITIVE_INFINITY);
    const { branches } = statement;
    if (branches !== undefined && at < closed) {
      // Within a block only its own branch has happened; the others are as if they had not been.
      const b = branches.findLastIndex((branch) => branch.keyword.start <= at);
      yield* nearest(branches[Math.max(0, b)]!.statements, at, snapshot);
      const first = branches.flatMap((branch) => walk(branch.statements))[0];
      if (first !== undefined && b > 0) yield [first, 'start'];
      continue;
    }
    const sameLine = !/[\r\n]/.test(statement.chunk.text.slice(statement.end, at));
    if (branches === undefined && sameLine) yield [statement, 'start'];
    else {
      yield [statement, 'end'];
      for (const inner of walk([statement]).reverse()) yield [inner, 'end'];
    }
  }
}

const unread = new WeakMap<Model, ReadonlySet<string>>();
/** Parts named in statements that could not be read: where they are is not known. */
export function partsInUnreadLines(model: Model): ReadonlySet<string> {
  let names = unread.get(model);
  if (names === undefined) {
    const found = new Set<string>();
    for (const { step } of model.steps)
      for (const { words, lost } of walk(step.statements))
        for (const { text } of words ?? lost ?? []) if (model.parts.has(text)) found.add(text);
    names = found;
    unread.set(model, names);
  }
  return names;
}

/** States of `part` at the moments, one a variant. */
export const statesOf = (moments: readonly Moment[], part: string): PartState[] =>
  moments.flatMap(({ variant, index }) => stateBefore(variant, part, index) ?? []);

/** What is in the way of parts at the moments, one a variant. */
export const obstaclesOf = (model: Model, moments: readonly Moment[]): Obstacles[] =>
  moments.map(({ variant, index }) => obstaclesAt(model, variant, index));

/** The step that `offset` stands in. */
export function stepAt(snapshot: Snapshot, offset: number): Step | undefined {
  const { tree } = snapshot;
  let found: Step | undefined;
  for (let c = 0; c < tree.chunks.length; c++) {
    if (tree.starts[c]! + (tree.chunks[c]!.item?.start ?? 0) > offset) break;
    found = stepsOfChunk(tree.chunks[c]!).at(-1);
  }
  return found;
}
