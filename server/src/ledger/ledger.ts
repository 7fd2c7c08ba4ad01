import { namesChanged } from '../model/amended.ts';
import { areStepsNear } from '../model/changed-chunks.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import type { Variant } from './records.ts';
import { Replay } from './replay.ts';
import { rerun } from './rerun.ts';

export type { EarlyLoad } from './cures.ts';
export { stateBefore } from './history.ts';
export type { Action, Blocker, Disagreement, Entry, StepRecord, Variant, Verb } from './records.ts';

export interface Ledger {
  readonly model: Model;
  readonly variants: readonly Variant[];
}

/**
 * Replays the procedure once for each code. Linear in statements. Of an `earlier` ledger of the same file, steps are kept
 * that an edit has not touched and that find all they ask about as it was; the outcome is the same.
 */
export function replay(model: Model, earlier?: Ledger): Ledger {
  const codes = model.codes.length > 0 ? model.codes : [undefined];
  const alike = earlier !== undefined && areStepsNear(earlier.model, model) ? earlier : undefined;
  const changed = alike === undefined ? new Set<string>() : changedNames(alike.model, model);
  const isForAll = !singlesOut(model) && (alike === undefined || !singlesOut(alike.model));
  const runFor = (code: string | undefined): Variant => {
    // Where no step is for some codes only, it is no matter which they are.
    const known = isForAll ? alike?.variants[0] : alike?.variants.find((variant) => variant.code === code);
    return known === undefined ? new Replay(model, code).run() : rerun(model, code, alike!.model, known, changed);
  };
  const singled = new Set<string>();
  for (const block of statementsOf(model, 'for')) for (const { text } of block.codes ?? []) singled.add(text);
  // Codes that no `for` names see the same procedure.
  let plain: Variant | undefined;
  return {
    model,
    variants: codes.map((code) => {
      if (code !== undefined && singled.has(code)) return runFor(code);
      plain ??= runFor(code);
      return plain.code === code ? plain : { ...plain, code };
    }),
  };
}

/** The ledger where no step is replayed: every part stays on. */
export function unplayed(model: Model): Ledger {
  return { model, variants: [new Replay({ ...model, steps: [] }, undefined).run()] };
}

/** True where some statements are for some codes only. */
export const singlesOut = (model: Model): boolean => statementsOf(model, 'for').length > 0;

/** Names of parts and supplies that are declared otherwise than before, or became fasteners, or ceased to be. */
function changedNames(before: Model, now: Model): Set<string> {
  const changed = new Set<string>();
  for (const table of ['parts', 'supplies'] as const)
    for (const name of namesChanged(before[table], now[table])) changed.add(name);
  if (before.fasteners !== now.fasteners) {
    for (const name of before.fasteners) if (!now.fasteners.has(name)) changed.add(name);
    for (const name of now.fasteners) if (!before.fasteners.has(name)) changed.add(name);
  }
  return changed;
}

/**
 * Where no `for` parts the codes they share one replay: then it stands for all of them, under no code. Otherwise the
 * variants as they are.
 */
export function toldApart(variants: readonly Variant[]): readonly Variant[] {
  if (variants.length < 2 || !variants.every(({ entries }) => entries === variants[0]!.entries)) return variants;
  let one = ones.get(variants);
  if (one === undefined) {
    one = [{ ...variants[0]!, code: undefined }];
    ones.set(variants, one);
  }
  return one;
}
const ones = new Beside<readonly Variant[], readonly Variant[]>();
