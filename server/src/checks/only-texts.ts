import type { Chunk } from '../../../grammar/syntax.ts';
import { changedChunks, type Model } from '../model/model.ts';

/** Clauses of a statement that a reader takes in, and nothing is reckoned from. */
const texts: ReadonlySet<string> = new Set(['text', 'keep', 'see']);
/** Where a node stands. */
const places: ReadonlySet<string> = new Set(['chunk', 'start', 'end']);

/**
 * True where an edit from `before` to `now` has done no more than change words in texts of statements, and where things
 * stand in their steps: all that is declared, done and counted is as it was.
 */
export function onlyTextsDiffer(before: Model, now: Model): boolean {
  if (before.useTroubles.length + now.useTroubles.length > 0) return false;
  if (before.files.length !== now.files.length) return false;
  if (before.files.some((file, i) => i > 0 && file !== now.files[i])) return false;
  const { from, to, until } = changedChunks(before.tree, now.tree);
  if (to !== until) return false;
  for (let c = from; c < to; c++) if (!alikeSteps(before.tree.chunks[c]!, now.tree.chunks[c]!)) return false;
  return true;
}

const alikeSteps = (a: Chunk, b: Chunk): boolean =>
  a.item?.kind === 'step' &&
  (a.strayStep ?? b.strayStep) === undefined &&
  a.issues.length + b.issues.length + a.lostWords.length + b.lostWords.length === 0 &&
  alike(a.item, b.item);

function alike(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (Array.isArray(a)) return Array.isArray(b) && a.length === b.length && a.every((each, i) => alike(each, b[i]));
  const left = a as Record<string, unknown>;
  const right = b as Record<string, unknown>;
  const keys = Object.keys(left);
  if (keys.length !== Object.keys(right).length) return false;
  // The text of a block tells its branches apart, that of a name is the name.
  const isStatement = 'broken' in left && !('branches' in left) && left['kind'] !== 'step';
  return keys.every(
    (key) => places.has(key) || (isStatement && texts.has(key) && key in right ? true : alike(left[key], right[key])),
  );
}
