import { countFirst } from '../../../grammar/sorted.ts';
import type { Statement } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import type { StepEntry } from '../model/model.ts';
import type { Facts } from './facts.ts';

/** A statement as it is compared. */
export interface Item {
  readonly statement: Statement;
  readonly step: StepInfo;
  /** Verb and object; of a safety message only that it is one. */
  readonly key: string;
  readonly object: string | undefined;
  readonly facts: Facts;
  /** The branches it stands in, outermost first. */
  readonly branches: string;
  /** Equal where two statements say the same in the same branch. */
  readonly whole: string;
  /** Place among the statements of its step. */
  readonly index: number;
}

export interface StepInfo {
  readonly entry: StepEntry;
  /** By which the steps of both versions are matched. */
  readonly key: string;
  readonly label: string;
  readonly items: Item[];
}

export interface Pair {
  readonly old: Item;
  readonly now: Item;
}

/** Statements of a step that are in both versions, and what is left on either side. */
interface Matched {
  readonly pairs: Pair[];
  readonly old: Item[];
  readonly now: Item[];
}

/** Pairs what has the same key, in the order of the text. */
function pairBy(from: Matched, keyOf: (item: Item) => string | undefined): Matched {
  const waiting = new Map<string, Item[]>();
  for (const item of from.old) {
    const key = keyOf(item);
    if (key === undefined) continue;
    addTo(waiting, key, item);
  }
  const pairs = [...from.pairs];
  const taken = new Set<Item>();
  const now = from.now.filter((item) => {
    const old = waiting.get(keyOf(item) ?? '')?.shift();
    if (old === undefined) return true;
    taken.add(old);
    pairs.push({ old, now: item });
    return false;
  });
  return { pairs, old: from.old.filter((item) => !taken.has(item)), now };
}

/** Statements that act on something are known by it; of those that are only a text, like texts belong together. */
export function matchItems(old: Item[], now: Item[]): Matched {
  const acting = ({ object, statement, key }: Item): string | undefined =>
    object === undefined && statement.kind !== 'wait' && statement.branches === undefined ? undefined : key;
  const equal = pairBy({ pairs: [], old, now }, ({ whole }) => whole);
  const inBranch = pairBy(equal, (item) => acting(item) && `${item.branches}\n${acting(item)}`);
  const { pairs, old: olds, now: nows } = pairBy(inBranch, acting);
  const onlyText = (items: readonly Item[]): Item[] => items.filter((item) => acting(item) === undefined);
  const like = (a: Item, b: Item): number => (a.key === b.key ? sharedWords(a, b) : 0);
  const taken = new Set<Item>();
  for (const [was, is] of bestPairs(onlyText(olds), onlyText(nows), like, 0.4)) {
    pairs.push({ old: was, now: is });
    taken.add(was).add(is);
  }
  const free = (items: readonly Item[]): Item[] => items.filter((item) => !taken.has(item));
  return { pairs, old: free(olds), now: free(nows) };
}

/** Between steps: what says exactly the same, then what is the only one of its kind left on both sides. */
export function matchAcross(old: Item[], now: Item[]): Matched {
  const equal = pairBy({ pairs: [], old, now }, ({ whole }) => whole);
  const counts = new Map<string, number>();
  for (const { key } of [...equal.old, ...equal.now]) counts.set(key, (counts.get(key) ?? 0) + 1);
  return pairBy(equal, ({ key, object }) => (object !== undefined && counts.get(key) === 2 ? key : undefined));
}

/** Beyond this many possible pairs, likeness is not looked for: so much changed that nobody would read it. */
const mostPairs = 40_000;

/** Pairs from both lists, the likest first, none below `least`. */
export function bestPairs<T>(
  olds: readonly T[],
  nows: readonly T[],
  alike: (old: T, now: T) => number,
  least: number,
): [T, T][] {
  if (olds.length * nows.length > mostPairs) return [];
  const candidates = olds.flatMap((old, i) => nows.map((now, j) => ({ old, now, like: alike(old, now), far: i + j })));
  const taken = new Set<T>();
  const pairs: [T, T][] = [];
  for (const { old, now, like } of candidates.sort((a, b) => b.like - a.like || a.far - b.far)) {
    if (like < least) break;
    if (taken.has(old) || taken.has(now)) continue;
    taken.add(old).add(now);
    pairs.push([old, now]);
  }
  return pairs;
}

/** Words that two texts share, from 0 to 1 (the Sørensen–Dice coefficient). */
function sharedWords(a: Item, b: Item): number {
  const words = ({ facts }: Item): Set<string> =>
    new Set((facts.get('text') ?? facts.get('words'))?.said.toLowerCase().match(/[\p{L}\d]+/gu) ?? []);
  const [left, right] = [words(a), words(b)];
  const shared = [...left].filter((word) => right.has(word)).length;
  return left.size + right.size === 0 ? 1 : (2 * shared) / (left.size + right.size);
}

/** What the likeness of two steps of so many statements cannot exceed: a step of thousands is not looked through for each short one. */
export function mostLikeness({ items: a }: StepInfo, { items: b }: StepInfo): number {
  const all = a.length + b.length;
  return all === 0 ? 0 : (2 * Math.min(a.length, b.length)) / all;
}

/** Statements that two steps share, from 0 to 1. */
export function likeness(a: StepInfo, b: StepInfo): number {
  const { pairs } = pairBy({ pairs: [], old: a.items, now: b.items }, ({ whole }) => whole);
  const all = a.items.length + b.items.length;
  return all === 0 ? 0 : (2 * pairs.length) / all;
}

/**
 * The fewest moves that make `order` (old places, in the new order) rise, each told by a neighbour that stays:
 * the entry at `moved` has come `side` the one at `anchor`.
 */
export function movesIn(order: readonly number[]): { moved: number; anchor: number; side: 'before' | 'after' }[] {
  const ends: number[] = [];
  const previous: number[] = [];
  for (const [i, place] of order.entries()) {
    const length = countFirst(ends, (end) => order[end]! < place);
    previous[i] = ends[length - 1] ?? -1;
    ends[length] = i;
  }
  const stays = new Set<number>();
  for (let i = ends.at(-1) ?? -1; i >= 0; i = previous[i]!) stays.add(i);
  const kept = [...stays].sort((a, b) => a - b);
  const moves: { moved: number; anchor: number; side: 'before' | 'after' }[] = [];
  let next = 0;
  for (let i = 0; i < order.length; i++) {
    while (next < kept.length && kept[next]! < i) next++;
    if (stays.has(i)) continue;
    const ahead = kept[next];
    if (ahead !== undefined && order[i]! > order[ahead]!) moves.push({ moved: i, anchor: ahead, side: 'before' });
    else moves.push({ moved: i, anchor: kept[next - 1]!, side: 'after' });
  }
  return moves;
}
