import { alike } from '../../../grammar/alike.ts';
import { type Chunk, Statement } from '../../../grammar/syntax.ts';
import { changedChunks } from '../model/changed-chunks.ts';
import type { Model } from '../model/model.ts';

/** Clauses of a statement that a reader takes in, and nothing is reckoned from. Where parts are kept is. */
const texts: ReadonlySet<string> = new Set(['text', 'see']);

/**
 * True where an edit from `before` to `now` has done no more than change words in texts of statements that no check of the
 * whole reckons with, and where things stand in their steps: all that is declared, done and counted is as it was.
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
  alike(a.item, b.item, isPassedOver);

/** The text of a block is none of them, as it tells branches apart; nor that of a name, which is the name. */
const isPassedOver = (node: object, field: string): boolean =>
  field === 'start' ||
  field === 'end' ||
  (texts.has(field) && node instanceof Statement && node.branches === undefined && !isReckonedWith(node));

/** Checks of a whole procedure go by what a fill is poured into, and by what tells apart that which is kept in one place. */
const isReckonedWith = ({ kind, keep }: Statement): boolean => kind === 'fill' || keep !== undefined;
