import type { Name, Statement } from '../../../grammar/syntax.ts';

/** A statement that changed a part, and the name in it that says which. */
export interface Mark {
  readonly statement: Statement;
  readonly name: Name;
}

/** Pieces of a part that sit on another part. */
export interface Carried {
  readonly by: string;
  readonly count: number;
  /** Since a `remove … with` or `fit … with`. */
  readonly along?: boolean;
}

/** Where the pieces of one part are. Immutable; counts are whole numbers. On and off are relative to the carrier. */
export interface PartState {
  readonly tight: number;
  /** Tightened by hand, still to be torqued. */
  readonly snug: number;
  readonly loose: number;
  /** Off and fit to go back. */
  readonly off: number;
  /** Off, from stock or swapped in, fit to go on. */
  readonly fresh: number;
  /** Off and not to go back: single-use, or damaged by removal. */
  readonly spoiled: number;
  /** Scrapped and not yet replaced. */
  readonly scrap: number;
  /** Of the scrapped: those thrown away while they hung on a carrier. */
  readonly scrapOnCarrier: number;
  /** Of the scrapped: single-use ones, and those that removal had damaged. */
  readonly scrapSpoiled: number;
  /** Of those on: what sits on a carrier that went to scrap. */
  readonly stranded: number;
  /** Scrapped along with a carrier that was: nothing is owed, but a new one may be fitted. */
  readonly settled: number;
  /** Scrapped for another part that was swapped in. */
  readonly swappedOut: number;
  /** Left off on purpose. */
  readonly omitted: number;
  /** In stock: not part of the unit until fitted. */
  readonly stock: boolean;
  /** Pieces of such a part that have not been fitted yet. */
  readonly inStock: number;
  readonly carried: readonly Carried[];
  /** Taken off, and put back, since all were last on. */
  readonly taken: number;
  readonly back: number;
  readonly cameOff: boolean;
  readonly marked: boolean;
  /** Holes tightened by number since the part was last loosened. */
  readonly tightHoles: readonly number[];
  readonly lastOff?: Mark;
  readonly lastBack?: Mark;
  readonly lastScrap?: Mark;
  readonly lastLoose?: Mark;
  /** The statement that scrapped the carrier of the stranded pieces. */
  readonly strandedBy?: Mark;
}

export const on = (state: PartState): number => state.tight + state.snug + state.loose;
/** Off in any way, and owed to the unit. Pieces that were never fitted are not. */
export const missing = (state: PartState): number => state.off + state.fresh + state.spoiled + state.scrap;
/** Off, and on the bench. */
export const onBench = (state: PartState): number => state.off + state.fresh + state.spoiled;

/** The same, with no more in a share than in the whole that it is a share of. */
export function withShares(state: PartState): PartState {
  const { scrap, scrapOnCarrier, scrapSpoiled, stranded } = state;
  if (scrapOnCarrier <= scrap && scrapSpoiled <= scrap && stranded <= on(state)) return state;
  return {
    ...state,
    scrapOnCarrier: Math.min(scrapOnCarrier, scrap),
    scrapSpoiled: Math.min(scrapSpoiled, scrap),
    stranded: Math.min(stranded, on(state)),
  };
}

export interface Fill {
  readonly statement: Statement;
  readonly earlier: Fill | undefined;
}

export interface FluidState {
  readonly drained: boolean;
  readonly filled: boolean;
  /** SI sum of what was drained with a quantity. */
  readonly out: number;
  readonly in: number;
  /** Every `fill`, the last one first. */
  readonly fills?: Fill;
  readonly lastDrain?: Mark;
  readonly lastFill?: Mark;
}

/** Alike in every field; marks and fills are the same where they name the same nodes of the tree. */
export function sameFields(a: object | undefined, b: object | undefined): boolean {
  if (a === b) return true;
  if (a === undefined || b === undefined) return false;
  const left = a as Record<string, unknown>;
  const right = b as Record<string, unknown>;
  for (const key of new Set([...Object.keys(left), ...Object.keys(right)])) {
    const one = left[key];
    const other = right[key];
    if (one === other) continue;
    if (typeof one !== 'object' || typeof other !== 'object' || one === null || other === null) return false;
    if ('chunk' in one || !sameFields(one, other)) return false;
  }
  return true;
}

/** Alike for the author: a replaced part equals one that is off and good. */
export const samePart = (a: PartState, b: PartState): boolean =>
  sameCarriers(a, b) &&
  a.tight === b.tight &&
  a.snug === b.snug &&
  a.loose === b.loose &&
  a.off + a.fresh === b.off + b.fresh &&
  a.spoiled === b.spoiled &&
  a.scrap === b.scrap &&
  a.stranded === b.stranded &&
  a.omitted === b.omitted &&
  a.settled === b.settled;

/** What one branch merely tops up is no difference; what it leaves drained is one. */
export const sameFluid = (a: FluidState, b: FluidState): boolean => a.drained === b.drained;

/** A part that was lifted out along with an assembly stays where it is; only a transfer moves it for good. */
function sameCarriers(a: PartState, b: PartState): boolean {
  if (a.carried === b.carried || [...a.carried, ...b.carried].some((carried) => carried.along === true)) return true;
  const counts = new Map<string, number>();
  for (const { by, count } of a.carried) counts.set(by, (counts.get(by) ?? 0) + count);
  for (const { by, count } of b.carried) counts.set(by, (counts.get(by) ?? 0) - count);
  return [...counts.values()].every((count) => count === 0);
}

/** `3 on, 1 loose, 2 off` for messages and the parts trail. */
export function describe(state: PartState): string {
  const pieces: [number, string][] = [
    [state.tight, 'on'],
    [state.snug, 'on, hand-tight'],
    [state.loose, 'on, loose'],
    [state.off, 'off'],
    [state.fresh, 'new, off'],
    [state.spoiled, 'off, not to go back'],
    [state.scrap, 'scrapped'],
    [state.settled, 'scrapped with its carrier'],
    [state.swappedOut, 'swapped out'],
    [state.omitted, 'left off on purpose'],
  ];
  const said = pieces.filter(([count]) => count > 0).map(([count, words]) => `${count} ${words}`);
  if (state.stranded > 0) said.push(`${state.stranded} of them on a scrapped carrier`);
  if (said.length > 0) return said.join('; ');
  return state.stock ? 'in stock' : 'none';
}
