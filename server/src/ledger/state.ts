import type { Name, Statement } from '../../../grammar/syntax.ts';

const nobody: readonly never[] = [];

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

/** Pieces that leave the unit for good, and those that come for them from stock: most parts have none. */
export interface Turnover {
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
  readonly lastScrap: Mark | undefined;
  /** The statement that scrapped the carrier of the stranded pieces. */
  readonly strandedBy: Mark | undefined;
}

export const noTurnover: Turnover = {
  scrap: 0,
  scrapOnCarrier: 0,
  scrapSpoiled: 0,
  stranded: 0,
  settled: 0,
  swappedOut: 0,
  omitted: 0,
  stock: false,
  inStock: 0,
  lastScrap: undefined,
  strandedBy: undefined,
};

/**
 * Where the pieces of one part are. Counts are whole numbers. On and off are relative to the carrier. Thousands of these
 * are kept, one for each action: what nearly all have alike is shared.
 */
export class Pieces {
  tight = 0;
  /** Tightened by hand, still to be torqued. */
  snug = 0;
  loose = 0;
  /** Off and fit to go back. */
  off = 0;
  /** Off, from stock or swapped in, fit to go on. */
  fresh = 0;
  /** Off and not to go back: single-use, or damaged by removal. */
  spoiled = 0;
  carried: readonly Carried[] = nobody;
  /** Taken off, and put back, since all were last on. */
  taken = 0;
  back = 0;
  cameOff = false;
  marked = false;
  /** Holes tightened by number since the part was last loosened, each as often as there are pieces in holes of that number. */
  tightHoles: readonly number[] = nobody;
  lastOff: Mark | undefined = undefined;
  lastBack: Mark | undefined = undefined;
  lastLoose: Mark | undefined = undefined;
  turnover = noTurnover;

  copy(): Pieces {
    const copy = new Pieces();
    copy.tight = this.tight;
    copy.snug = this.snug;
    copy.loose = this.loose;
    copy.off = this.off;
    copy.fresh = this.fresh;
    copy.spoiled = this.spoiled;
    copy.carried = this.carried;
    copy.taken = this.taken;
    copy.back = this.back;
    copy.cameOff = this.cameOff;
    copy.marked = this.marked;
    copy.tightHoles = this.tightHoles;
    copy.lastOff = this.lastOff;
    copy.lastBack = this.lastBack;
    copy.lastLoose = this.lastLoose;
    copy.turnover = this.turnover;
    return copy;
  }

  /** Takes `pieces` of those on away, loose ones first. */
  lift(pieces: number): void {
    const loose = Math.min(this.loose, pieces);
    const snug = Math.min(this.snug, pieces - loose);
    this.loose -= loose;
    this.snug -= snug;
    this.tight -= pieces - loose - snug;
  }

  get scrap(): number {
    return this.turnover.scrap;
  }
  get scrapOnCarrier(): number {
    return this.turnover.scrapOnCarrier;
  }
  get scrapSpoiled(): number {
    return this.turnover.scrapSpoiled;
  }
  get stranded(): number {
    return this.turnover.stranded;
  }
  get settled(): number {
    return this.turnover.settled;
  }
  get swappedOut(): number {
    return this.turnover.swappedOut;
  }
  get omitted(): number {
    return this.turnover.omitted;
  }
  get stock(): boolean {
    return this.turnover.stock;
  }
  get inStock(): number {
    return this.turnover.inStock;
  }
  get lastScrap(): Mark | undefined {
    return this.turnover.lastScrap;
  }
  get strandedBy(): Mark | undefined {
    return this.turnover.strandedBy;
  }
}

/** Only the statement that brings it about sets what is in it; then it stays as it is. */
export type PartState = Readonly<Pieces>;

export const on = (state: PartState): number => state.tight + state.snug + state.loose;
/** Off in any way, and owed to the unit. Pieces that were never fitted are not. */
export const missing = (state: PartState): number => state.off + state.fresh + state.spoiled + state.scrap;
/** Off, and on the bench. */
export const onBench = (state: PartState): number => state.off + state.fresh + state.spoiled;

/** The `holes` that are no `others`: one that stands twice in the first and once in the second stands once. */
export function without(holes: readonly number[], others: readonly number[]): readonly number[] {
  const left = [...others];
  return holes.filter((hole) => {
    const at = left.indexOf(hole);
    if (at >= 0) left.splice(at, 1);
    return at < 0;
  });
}

/** Lets no share be more than the whole that it is a share of. */
export function limitShares(state: Pieces): void {
  const { scrap, scrapOnCarrier, scrapSpoiled, stranded } = state.turnover;
  if (scrapOnCarrier <= scrap && scrapSpoiled <= scrap && stranded <= on(state)) return;
  state.turnover = {
    ...state.turnover,
    scrapOnCarrier: Math.min(scrapOnCarrier, scrap),
    scrapSpoiled: Math.min(scrapSpoiled, scrap),
    stranded: Math.min(stranded, on(state)),
  };
}

export interface Fill {
  readonly statement: Statement;
  readonly earlier: Fill | undefined;
  /** It was drained since the earlier one. */
  readonly drained: boolean;
  /** SI sum of what was drained before, with a quantity. */
  readonly out: number;
}

export interface FluidState {
  readonly drained: boolean;
  readonly filled: boolean;
  /** SI sum of what was drained with a quantity. */
  readonly out: number;
  /** Every `fill`, the last one first. */
  readonly fills?: Fill;
  readonly lastDrain?: Mark;
  readonly lastFill?: Mark;
}

/** Alike in every field; marks are the same where they name the same nodes of the tree. */
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

/**
 * Tells whether two states of a fluid are alike in every field. Rows of fills that it has told apart it does not follow
 * again: of a long one, every fill is asked about.
 */
export function fluidComparer(): (a: FluidState | undefined, b: FluidState | undefined) => boolean {
  const toldApart = new Map<Fill, Fill>();
  const sameFills = (a: Fill | undefined, b: Fill | undefined): boolean => {
    let one = a;
    let other = b;
    while (one !== other) {
      if (!one || !other || !isSameFill(one, other) || toldApart.get(one) === other) {
        if (a && b) toldApart.set(a, b);
        return false;
      }
      one = one.earlier;
      other = other.earlier;
    }
    return true;
  };
  return (a, b) => {
    if (a === undefined || b === undefined) return a === b;
    return sameFields({ ...a, fills: undefined }, { ...b, fills: undefined }) && sameFills(a.fills, b.fills);
  };
}

const isSameFill = (a: Fill, b: Fill): boolean =>
  a.statement === b.statement && a.drained === b.drained && a.out === b.out;

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
