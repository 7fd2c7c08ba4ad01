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
  /** Still sitting on a carrier that went to scrap. */
  readonly stranded: number;
  /** Left off on purpose. */
  readonly omitted: number;
  /** In stock: not part of the unit until fitted. */
  readonly stock: boolean;
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
/** Off in any way, and owed to the unit. */
export const missing = (state: PartState): number => state.off + state.fresh + state.spoiled + state.scrap;
/** Off, and on the bench. */
export const onBench = (state: PartState): number => state.off + state.fresh + state.spoiled;

export interface FluidState {
  readonly drained: boolean;
  readonly filled: boolean;
  /** SI sum of what was drained with a quantity. */
  readonly out: number;
  readonly in: number;
  readonly lastDrain?: Mark;
  readonly lastFill?: Mark;
}

/** Alike for the author: a replaced part equals one that is off and good. */
export const samePart = (a: PartState, b: PartState): boolean =>
  a.tight === b.tight &&
  a.snug === b.snug &&
  a.loose === b.loose &&
  a.off + a.fresh === b.off + b.fresh &&
  a.spoiled === b.spoiled &&
  a.scrap === b.scrap &&
  a.stranded === b.stranded &&
  a.omitted === b.omitted;

export const sameFluid = (a: FluidState, b: FluidState): boolean => a.drained === b.drained && a.filled === b.filled;

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
    [state.stranded, 'on a scrapped carrier'],
    [state.omitted, 'left off on purpose'],
  ];
  const said = pieces.filter(([count]) => count > 0).map(([count, words]) => `${count} ${words}`);
  if (said.length > 0) return said.join('; ');
  return state.stock ? 'in stock' : 'none';
}
