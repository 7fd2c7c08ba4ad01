import type { Ledger, Variant } from '../ledger/ledger.ts';
import { type Mark, missing, on, type PartState } from '../ledger/state.ts';
import { namesAmended } from '../model/amended.ts';
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

/** What was owed before an edit is owed in `now`, where the edit bears on nothing that was or is. */
export function carryOwed(before: Ledger, now: Ledger): void {
  for (const [v, variant] of now.variants.entries()) {
    const old = before.variants[v];
    const owed = old && known.get(old);
    if (owed === undefined || !isSameSet(old!.unsure, variant.unsure)) continue;
    const names = namesAmended(old!.final, variant.final);
    const bears = (name: string): boolean =>
      owed.some(({ part }) => part === name) || owedOf(variant, name, variant.final.get(name)!) !== undefined;
    if (names !== undefined && !names.some(bears)) known.set(variant, owed);
  }
}

const isSameSet = (a: ReadonlySet<string>, b: ReadonlySet<string>): boolean =>
  a === b || (a.size === b.size && [...a].every((each) => b.has(each)));

function reckon(variant: Variant): readonly Owed[] {
  const owed: Owed[] = [];
  variant.final.forEach((state, part) => {
    const shortage = owedOf(variant, part, state);
    if (shortage !== undefined) owed.push(shortage);
  });
  return owed;
}

function owedOf({ unsure }: Variant, part: string, state: PartState): Owed | undefined {
  if (missing(state) === 0 || unsure.has(part)) return undefined;
  const mark = state.lastOff ?? state.lastScrap;
  return mark && { part, state, shortage: shortageOf(state, mark), mark };
}

function shortageOf(state: PartState, mark: Mark): Shortage {
  if (state.scrap === missing(state)) return 'not-replaced';
  if (state.back > 0 && on(state) > 0) return 'count-short';
  return mark.statement.kind === 'disconnect' ? 'left-open' : 'left-off';
}
