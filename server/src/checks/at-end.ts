import type { Variant } from '../ledger/ledger.ts';
import { type Mark, missing, on, type PartState } from '../ledger/state.ts';
import { namesWhere } from '../model/amended.ts';
import { Beside } from '../model/noted.ts';

export type Shortage = 'left-off' | 'count-short' | 'not-replaced' | 'left-open';

export interface Owed {
  readonly part: string;
  readonly state: PartState;
  readonly shortage: Shortage;
  /** The last statement that took it off. */
  readonly mark: Mark;
}

/** What the unit is still owed at the end, one shortage a part. Parts that nothing can be concluded about are left out. */
export function owedAtEnd(variant: Variant): readonly Owed[] {
  let owed = known.get(variant);
  if (owed === undefined) {
    owed = reckon(variant);
    known.set(variant, owed);
  }
  return owed;
}

const known = new Beside<Variant, readonly Owed[]>();

const isShort = (state: PartState): boolean => missing(state) !== 0;

function reckon({ final, unsure }: Variant): readonly Owed[] {
  const owed: Owed[] = [];
  for (const part of namesWhere(final, isShort)) {
    const state = final.get(part)!;
    const mark = state.lastOff ?? state.lastScrap;
    if (mark !== undefined && !unsure.has(part)) owed.push({ part, state, shortage: shortageOf(state, mark), mark });
  }
  return owed;
}

function shortageOf(state: PartState, mark: Mark): Shortage {
  if (state.scrap === missing(state)) return 'not-replaced';
  if (state.back > 0 && on(state) > 0) return 'count-short';
  return mark.statement.kind === 'disconnect' ? 'left-open' : 'left-off';
}
