import type { Unit } from '../../../grammar/units.ts';
import type { Shimming } from '../checks/shimming.ts';
import { chooseShims } from '../mechanics/index.ts';
import { fromSI } from '../model/quantity.ts';

/** Readings (µm) from one to the next that one stack serves; no stack where none reaches the target. */
export interface ShimRow {
  readonly from: number;
  readonly to: number;
  /** Thicknesses, µm, thickest first; absent where no stack does. */
  readonly pieces?: readonly number[];
  /** µm. */
  readonly total?: number;
}

/** Bounds the work: totals to try, times cells of the table that each of them takes. */
const mostWork = 2e7;
/** Rows that a person can search. */
const mostRows = 40;
const nano = 1000;

/**
 * Which stack for which reading, over all readings within the limits. A stack serves the readings for which its result
 * lies in the target; rows meet where two of them serve, at a round figure of `unit`. Undefined where the limits are open,
 * the figures are unusable, or the table would be too long.
 */
export function shimTable(shimming: Shimming, unit: Unit): readonly ShimRow[] | undefined {
  const { limits, target, shims } = shimming;
  if (limits === undefined || limits.high < limits.low || target.high < target.low) return undefined;
  const step = shims.reduce((divisor, { thickness }) => gcd(divisor, Math.round(thickness * nano)), 0) / nano;
  if (!(step > 0)) return undefined;
  const endplay = target.kind === 'endplay';
  const band = target.high - target.low;
  const middle = (target.high + target.low) / 2;
  // Readings that a total serves.
  const serves = (total: number): { from: number; to: number } =>
    endplay
      ? { from: total + target.low, to: total + target.high }
      : { from: total - target.high, to: total - target.low };
  const toTotal = (reading: number): number => (endplay ? reading - middle : reading + middle);
  const first = Math.max(0, Math.ceil((toTotal(limits.low) - band / 2) / step - 1e-6));
  const last = Math.floor((toTotal(limits.high) + band / 2) / step + 1e-6);
  const thickest = shims.reduce((most, { thickness }) => Math.max(most, thickness), 0);
  if ((last - first + 1) * (last + thickest / step) * shims.length > mostWork) return undefined;

  // A total that can be had is one that answers a target of no width.
  const stacks: { total: number; pieces: readonly number[] }[] = [];
  for (let i = first; i <= last; i++) {
    const total = i * step;
    const reading = endplay ? total + middle : total - middle;
    const choice =
      reading < 0
        ? chooseShims(total, { kind: 'endplay', low: 0, high: 0 }, shims)
        : chooseShims(reading, { kind: target.kind, low: middle, high: middle }, shims);
    if ('problem' in choice) return undefined;
    if (choice.reached) stacks.push({ total, pieces: choice.stack.pieces });
  }

  // Of many, those that keep the result in the middle three fifths of the target, as few as that takes.
  const kept: typeof stacks = [];
  for (let i = 0; i < stacks.length; ) {
    const last = kept.at(-1)?.total;
    const reach = last === undefined ? toTotal(limits.low) + 0.4 * band : last + 0.6 * band;
    let next = i;
    while (next + 1 < stacks.length && stacks[next + 1]!.total <= reach + 1e-6) next++;
    kept.push(stacks[next]!);
    if (serves(stacks[next]!.total).to >= limits.high - 1e-6) break;
    i = next + 1;
  }

  const rows: ShimRow[] = [];
  let at = limits.low;
  for (const [i, { total, pieces }] of kept.entries()) {
    const own = serves(total);
    if (own.to < at - 1e-6 || own.from > limits.high + 1e-6) continue;
    if (own.from > at + 1e-6) {
      rows.push({ from: at, to: own.from });
      at = own.from;
    }
    const next = kept[i + 1];
    const limit = Math.min(own.to, limits.high);
    const meets = next === undefined ? undefined : serves(next.total).from;
    const to = meets === undefined || meets >= limit - 1e-6 ? limit : round(Math.max(meets, at), limit, unit);
    const isServed = rows.length > 0 || (next !== undefined && serves(next.total).from <= at + 1e-6);
    if (to <= at + 1e-6 && isServed) continue;
    rows.push({ from: at, to, pieces, total });
    at = to;
  }
  if (at < limits.high - 1e-6 || rows.length === 0) rows.push({ from: at, to: limits.high });
  return rows.length > mostRows ? undefined : rows;
}

function gcd(a: number, b: number): number {
  let [x, y] = [a, b];
  while (y > 0) [x, y] = [y, x % y];
  return x;
}

/** The figure near the middle between two (µm) that has the fewest decimals in `unit`. */
function round(low: number, high: number, unit: Unit): number {
  const one = fromSI(1e-6, unit);
  const middle = ((low + high) / 2) * one;
  const slack = ((high - low) / 4) * one + 1e-9;
  for (let decimals = 0; decimals <= 6; decimals++) {
    const scale = 10 ** decimals;
    const figure = Math.round(middle * scale) / scale;
    if (Math.abs(figure - middle) <= slack) return figure / one;
  }
  return middle / one;
}
