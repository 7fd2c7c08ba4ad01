/**
 * Shim stacks, chosen exactly. All lengths in µm; computed as whole nanometres, so that both 0.05 mm and 0.002 in shims
 * are exact. End play subtracts the target from the gap, preload adds it.
 */

export interface Shim {
  /** Thickness, µm, at least 1 nm. */
  readonly thickness: number;
  /** How many there are; any number if absent. */
  readonly count?: number;
}

export interface ShimTarget {
  /** End play: the stack is thinner than the gap. Preload: it is thicker. */
  readonly kind: 'endplay' | 'preload';
  /** µm, at least 0. */
  readonly low: number;
  readonly high: number;
}

export interface Stack {
  /** Thicknesses from the thickest, µm, one for each piece. */
  readonly pieces: readonly number[];
  /** µm. */
  readonly total: number;
  /** End play or preload that results, µm. */
  readonly result: number;
}

export interface ShimChoice {
  /** Whether the stack lands in the target; otherwise it is the nearest there is. */
  readonly reached: boolean;
  readonly stack: Stack;
}

/** Why nothing could be computed, in plain words. */
export interface ShimProblem {
  readonly problem: string;
}

/** Steps a computation may have, so that hostile figures cost neither time nor memory. */
const MOST_CELLS = 2_000_000;
const MOST_STEPS = 120_000_000;
const MOST_SHIMS = 200;
/** 10 m. */
const GREATEST = 1e7;

const NANO = 1000;
const FAR = 0xffff_ffff;

const toNano = (micrometres: number): number => Math.round(micrometres * NANO);
const isLength = (micrometres: number): boolean => micrometres >= 0 && micrometres <= GREATEST;

interface Stock {
  /** Greatest common divisor of all thicknesses, nm: every stack is a multiple of it. */
  readonly step: number;
  /** In steps, thickest first, each once. */
  readonly shims: readonly { readonly size: number; readonly count: number | undefined }[];
  /** Total of everything, in steps; Infinity where a count is open. */
  readonly whole: number;
}

function stockOf(shims: readonly Shim[]): Stock | ShimProblem {
  if (shims.length > MOST_SHIMS) return { problem: `more than ${MOST_SHIMS} shim thicknesses` };
  const counts = new Map<number, number | undefined>();
  for (const { thickness, count } of shims) {
    const size = toNano(thickness);
    if (!isLength(thickness) || size < 1) return { problem: 'a shim needs a thickness above zero, up to 10 m' };
    if (count !== undefined && !(Number.isInteger(count) && count >= 0))
      return { problem: 'a count of shims is a whole number' };
    if (count === 0) continue;
    const before = counts.has(size) ? counts.get(size) : 0;
    counts.set(size, count === undefined || before === undefined ? undefined : before + count);
  }
  const sizes = [...counts.keys()].sort((a, b) => b - a);
  if (sizes.length === 0) return { problem: 'no shims to choose from' };
  const step = sizes.reduce((a, b) => gcd(a, b));
  const stock = sizes.map((size) => ({ size: size / step, count: counts.get(size) }));
  return {
    step,
    shims: stock,
    whole: stock.reduce((sum, { size, count }) => sum + size * (count ?? Number.POSITIVE_INFINITY), 0),
  };
}

function gcd(a: number, b: number): number {
  let [x, y] = [a, b];
  while (y > 0) [x, y] = [y, x % y];
  return x;
}

type Sized = Stock['shims'][number];

/** Whether every total up to a limit can be tabled in bounded time and memory. */
const isTooFine = ({ shims }: Stock, limit: number): boolean =>
  limit >= MOST_CELLS || (limit + 1) * shims.length > MOST_STEPS;

const TOO_FINE: ShimProblem = { problem: 'the thicknesses are too fine for a gap this large' };

/** Fewest pieces for every total from 0 to a limit, in steps; FAR where no stack has that total. */
function fewestPieces(shims: readonly Sized[], limit: number): Uint32Array {
  const fewest = new Uint32Array(limit + 1).fill(FAR);
  fewest[0] = 0;
  for (const { size, count } of shims) {
    if (count !== undefined) addCounted(fewest, size, count);
    else {
      for (let total = size; total <= limit; total++) {
        const before = fewest[total - size]!;
        if (before !== FAR && before + 1 < fewest[total]!) fewest[total] = before + 1;
      }
    }
  }
  return fewest;
}

/**
 * Adds up to `count` pieces of one size to every total. For each remainder a queue keeps the best start among the last
 * `count` + 1 totals, so that time does not depend on the count.
 */
function addCounted(fewest: Uint32Array, size: number, count: number): void {
  const cells = fewest.length;
  const rows = Math.ceil(cells / size);
  const start = new Uint32Array(rows);
  const worth = new Int32Array(rows);
  for (let remainder = 0; remainder < Math.min(size, cells); remainder++) {
    let head = 0;
    let tail = 0;
    for (let row = 0, total = remainder; total < cells; row++, total += size) {
      const pieces = fewest[total]!;
      if (pieces !== FAR) {
        while (tail > head && worth[tail - 1]! >= pieces - row) tail--;
        start[tail] = row;
        worth[tail++] = pieces - row;
      }
      while (head < tail && row - start[head]! > count) head++;
      if (head < tail) fewest[total] = worth[head]! + row;
    }
  }
}

/**
 * Sizes, from the thickest, of a stack of fewest pieces with a total that has one. Halves the stock and finds how the
 * total divides between the halves: twice the time of one table, without keeping one table for each thickness.
 */
function stackFor(shims: readonly Sized[], total: number): number[] {
  if (total === 0) return [];
  if (shims.length === 1) return new Array<number>(total / shims[0]!.size).fill(shims[0]!.size);
  const half = shims.length >> 1;
  const [thick, thin] = [shims.slice(0, half), shims.slice(half)];
  const [a, b] = [fewestPieces(thick, total), fewestPieces(thin, total)];
  let split = 0;
  for (let part = 0, least = Infinity; part <= total; part++) {
    const pieces = a[part] === FAR || b[total - part] === FAR ? Infinity : a[part]! + b[total - part]!;
    if (pieces < least) [split, least] = [part, pieces];
  }
  return [...stackFor(thick, split), ...stackFor(thin, total - split)];
}

/** Bounds of stack minus gap, nm. */
function offsets({ kind, low, high }: ShimTarget): [least: number, most: number] | ShimProblem {
  if (!isLength(low) || !isLength(high) || low > high)
    return { problem: 'the target needs a low and a high end, from zero up' };
  return kind === 'endplay' ? [-toNano(high), -toNano(low)] : [toNano(low), toNano(high)];
}

const resultOf = (kind: ShimTarget['kind'], gap: number, total: number): number =>
  (kind === 'endplay' ? gap - total : total - gap) / NANO;

/**
 * The stack for a measured gap, µm: of those that land in the target, the one of fewest pieces, then nearest to the
 * middle of the target, then thinnest. Where none lands, the nearest one, then of fewest pieces, then thinnest.
 */
export function chooseShims(gap: number, target: ShimTarget, shims: readonly Shim[]): ShimChoice | ShimProblem {
  const stock = stockOf(shims);
  if ('problem' in stock) return stock;
  const bounds = offsets(target);
  if ('problem' in bounds) return bounds;
  if (!isLength(gap)) return { problem: 'the gap must be from zero to 10 m' };
  const nano = toNano(gap);
  return choose(nano, [nano + bounds[0], nano + bounds[1]], target.kind, stock);
}

function choose(
  gap: number,
  [least, most]: [number, number],
  kind: ShimTarget['kind'],
  stock: Stock,
): ShimChoice | ShimProblem {
  const { step, shims, whole } = stock;
  // The first total past the target is at most one thickest shim beyond it.
  const limit = Math.min(whole, Math.max(0, Math.floor(most / step)) + shims[0]!.size);
  if (isTooFine(stock, limit)) return TOO_FINE;
  const fewest = fewestPieces(shims, limit);
  const outside = (total: number) => Math.max(0, least - total * step, total * step - most);
  const offMiddle = (total: number) => Math.abs(2 * total * step - least - most);
  let best = 0;
  for (let total = 1; total <= limit; total++) {
    const pieces = fewest[total]!;
    if (pieces === FAR) continue;
    const nearer = outside(total) - outside(best) || pieces - fewest[best]! || offMiddle(total) - offMiddle(best);
    if (nearer < 0) best = total;
  }
  const sizes = stackFor(shims, best);
  const total = best * step;
  return {
    reached: outside(best) === 0,
    stack: {
      pieces: sizes.map((size) => (size * step) / NANO),
      total: total / NANO,
      result: resultOf(kind, gap, total),
    },
  };
}

export interface WorstReading {
  /** The reading farthest from any stack that would do, µm. */
  readonly reading: number;
  /** The nearest stack for it. */
  readonly nearest: Stack;
  /** Intervals of readings without a stack, within the limits, µm; the first {@link MOST_GAPS} of them. */
  readonly gaps: readonly (readonly [from: number, to: number])[];
}

/** Most intervals that {@link worstReading} lists. */
const MOST_GAPS = 100;

/**
 * The reading within limits (µm) for which no stack lands in the target, and that lies farthest from one that would;
 * undefined if every reading has a stack. Complete, not sampled: a stack of total s serves exactly the readings from
 * s − most to s − least, and the limits are searched for what those intervals leave open.
 */
export function worstReading(
  limits: { readonly low: number; readonly high: number },
  target: ShimTarget,
  shims: readonly Shim[],
): WorstReading | ShimProblem | undefined {
  const stock = stockOf(shims);
  if ('problem' in stock) return stock;
  const bounds = offsets(target);
  if ('problem' in bounds) return bounds;
  if (!isLength(limits.low) || !isLength(limits.high) || limits.low > limits.high) {
    return { problem: 'the limits need a low and a high end, from zero up' };
  }
  const [least, most] = bounds;
  const [from, to] = [toNano(limits.low), toNano(limits.high)];
  const { step, shims: sizes, whole } = stock;
  const limit = Math.min(whole, Math.max(0, Math.floor((to + most) / step)) + sizes[0]!.size);
  if (isTooFine(stock, limit)) return TOO_FINE;
  const fewest = fewestPieces(sizes, limit);

  const gaps: [number, number][] = [];
  let worst: { reading: number; off: number } | undefined;
  /** Notes the readings between one stack's last and the next one's first; none of 1 nm, which is only rounding. */
  const leave = (before: number, next: number) => {
    const [startOpen, endOpen] = [before >= from, next <= to];
    const [start, end] = [startOpen ? before : from, endOpen ? next : to];
    const width = end - start;
    if (startOpen && endOpen ? width <= 1 : startOpen || endOpen ? width <= 0 : width < 0) return;
    if (gaps.length < MOST_GAPS) gaps.push([start / NANO, end / NANO]);
    const reading =
      before === -Infinity ? start : next === Infinity ? end : Math.min(end, Math.max(start, (before + next) / 2));
    const off = Math.min(reading - before, next - reading);
    if (!worst || off > worst.off) worst = { reading, off };
  };
  // Totals rise, and with them both ends of what they serve: one sweep finds every gap.
  let served = -Infinity;
  for (let total = 0; total <= limit && served < to; total++) {
    if (fewest[total] === FAR) continue;
    const first = total * step - most;
    if (first > served) leave(served, first);
    served = first > to ? to : total * step - least;
  }
  if (served < to) leave(served, Infinity);
  return finish();

  function finish(): WorstReading | ShimProblem | undefined {
    if (!worst) return undefined;
    const choice = choose(worst.reading, [worst.reading + least, worst.reading + most], target.kind, stock as Stock);
    if ('problem' in choice) return choice;
    return { reading: worst.reading / NANO, nearest: choice.stack, gaps };
  }
}
