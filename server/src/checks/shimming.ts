import type { Statement } from '../../../grammar/syntax.ts';
import type { Shim, ShimTarget } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { extentOf } from '../model/quantity.ts';

/** A `shim` in µm: the readings it must answer, its target, its stock. */
export interface Shimming {
  /** Absent where the reading states no limits on both sides. */
  readonly limits: { readonly low: number; readonly high: number } | undefined;
  readonly target: ShimTarget;
  readonly shims: readonly Shim[];
}

const micro = 1e6;
const round = (metres: number): number => Math.round(metres * micro * 1000) / 1000;

export function shimmingOf(model: Model, statement: Statement): Shimming | undefined {
  const aim = extentOf(statement.aim?.quantity);
  if (
    statement.kind !== 'shim' ||
    statement.aim === undefined ||
    aim?.kind !== 'length' ||
    statement.stock === undefined ||
    statement.stock.length === 0
  )
    return undefined;
  const shims: Shim[] = [];
  for (const { thickness, count } of statement.stock) {
    const extent = extentOf(thickness);
    if (extent?.kind !== 'length') return undefined;
    shims.push({ thickness: round((extent.low + extent.high) / 2), count: count?.value });
  }
  const reading = model.readings.get(statement.gap?.text ?? '');
  const limit = extentOf(reading?.limit);
  const max = extentOf(reading?.max);
  const min = extentOf(reading?.min);
  const low = limit?.low ?? min?.low ?? (max === undefined ? undefined : 0);
  const high = limit?.high ?? max?.high;
  const kind = limit?.kind ?? max?.kind;
  return {
    limits:
      low === undefined || high === undefined || kind !== 'length' ? undefined : { low: round(low), high: round(high) },
    target: { kind: statement.aim.kind, low: round(aim.low), high: round(aim.high) },
    shims,
  };
}
