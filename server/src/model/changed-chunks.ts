import type { SyntaxTree } from '../../../grammar/syntax.ts';
import type { Model } from './model.ts';
import { Beside } from './noted.ts';

/** Where two lists differ: items `from` to `to` of the one, to `until` of the other. */
export interface Changed {
  readonly from: number;
  readonly to: number;
  readonly until: number;
}

function changedIn<T>(before: readonly T[], now: readonly T[]): Changed {
  const shorter = Math.min(before.length, now.length);
  let from = 0;
  while (from < shorter && before[from] === now[from]) from++;
  let to = before.length;
  let until = now.length;
  while (to > from && until > from && before[to - 1] === now[until - 1]) {
    to--;
    until--;
  }
  return { from, to, until };
}

/** Where the item at `place` now stood before; below zero for one that came. One that stands in the stead of another counts as that. */
export function placeBefore({ from, to, until }: Changed, place: number): number {
  if (place >= until) return place - (until - to);
  return place < from || to === until ? place : -1;
}

/** Stand for lists, and lead to none: of two lists of which one led to the other, both would wait for a full garbage collection. */
const tokens = new Beside<readonly unknown[], object>();
const lastChanges = new Beside<readonly unknown[], { readonly since: object; readonly changed: Changed }>();

/** The same, kept on the list now for the last that it was compared with: an edit asks many times. */
function changeOf<T>(before: readonly T[], now: readonly T[]): Changed {
  const { length } = now;
  if (before === now) return { from: length, to: length, until: length };
  let token = tokens.get(before);
  if (token === undefined) {
    token = {};
    tokens.set(before, token);
  }
  let last = lastChanges.get(now);
  if (last?.since !== token) {
    last = { since: token, changed: changedIn(before, now) };
    lastChanges.set(now, last);
  }
  return last.changed;
}

/** Where the chunks of two trees of one file differ. */
export const changedChunks = (before: SyntaxTree, now: SyntaxTree): Changed => changeOf(before.chunks, now.chunks);

/** Where the steps of two models of one file differ. */
export const changedSteps = (before: Model, now: Model): Changed => changeOf(before.steps, now.steps);

/** Steps beyond which it is quicker to replay all than to tell which stand where, where some came or went. */
const mostChanged = 64;

/** True where the steps of the one can be told again in the other. */
export function areStepsNear(before: Model, now: Model): boolean {
  if (before.steps.length === now.steps.length) return true;
  const { from, to, until } = changedSteps(before, now);
  return Math.max(to, until) - from <= mostChanged;
}
