import type { Model } from '../model/model.ts';
import { type Change, Changes, type Version } from './compare-changes.ts';
import { DeclarationComparison } from './compare-declarations.ts';
import { type FindingsBetween, findingsBetween } from './compare-findings.ts';
import { Renames } from './compare-names.ts';
import { StepComparison } from './compare-steps.ts';
import { planOf } from './plan.ts';

export interface Comparison {
  readonly changes: readonly Change[];
  /** In seconds, with one pair of hands and everything in stock; nothing where a version cannot be planned. */
  readonly plan: { readonly before: number; readonly after: number } | undefined;
  readonly findings: FindingsBetween;
  /** The same of what `fettle-allow` silences. */
  readonly allowed: FindingsBetween;
  readonly review: boolean;
}

/**
 * What changed in the job itself between two versions of a procedure, not in the text: layout, comments, the order of
 * declarations, and counts or torques written out that held anyway, are no change.
 */
export function compare(old: Version, now: Version): Comparison {
  const changes = new Changes(old, now);
  const names = new Renames(old.model, now.model);
  new DeclarationComparison(changes, names).tell();
  new StepComparison(changes, names).tell();
  return {
    changes: changes.found,
    plan: plansOf(old.model, now.model),
    findings: findingsBetween(old, now, 'findings', names.nameNow),
    allowed: findingsBetween(old, now, 'allowed', names.nameNow),
    review: changes.found.some(({ review }) => review),
  };
}

function plansOf(old: Model, now: Model): Comparison['plan'] {
  const [before, after] = [old, now].map((model) => planOf(model, { inStock: true }));
  return before === undefined || after === undefined || 'message' in before || 'message' in after
    ? undefined
    : { before: before.duration, after: after.duration };
}
