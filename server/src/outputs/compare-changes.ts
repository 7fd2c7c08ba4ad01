import type { Span } from '../../../grammar/syntax.ts';
import type { Judged } from '../checks/run.ts';
import type { Model } from '../model/model.ts';
import { type Place, placeOf } from './compare-place.ts';
import { type FactKind, type Facts, sameFact } from './facts.ts';

/** One version of a procedure. */
export interface Version {
  readonly model: Model;
  readonly judged: Judged;
}

export type ChangeKind = FactKind | 'sequence';

/** Something that the mechanic does otherwise, or with other things, than before. */
export interface Change {
  readonly kind: ChangeKind;
  /** Name of the part, tool, supply, pattern, reading or step; the verb where a statement names nothing. */
  readonly subject: string;
  /** Name or title of the step; absent for what is declared. */
  readonly step: string | undefined;
  /** Absent for what is new. */
  readonly before: string | undefined;
  /** Absent for what is gone. */
  readonly after: string | undefined;
  /** The whole change in words. */
  readonly text: string;
  /** A safety message or a torque changed: somebody has to look at it. */
  readonly review: boolean;
  readonly place: Place | undefined;
}

export const code = (name: string): string => `\`${name}\``;

/** What was found to differ between two versions, in the order in which it is told. */
export class Changes {
  readonly old: Version;
  readonly now: Version;
  readonly found: Change[] = [];
  /** Parts that were told of as renewed in one version only: their statements do not say it again. */
  readonly renewed = new Set<string>();

  constructor(old: Version, now: Version) {
    this.old = old;
    this.now = now;
  }

  add(change: Omit<Change, 'step' | 'before' | 'after' | 'place'> & Partial<Change>): void {
    this.found.push({ step: undefined, before: undefined, after: undefined, place: undefined, ...change });
  }

  placeOf(version: 'old' | 'new', span: Span): Place | undefined {
    return placeOf(version, (version === 'old' ? this.old : this.now).model, span);
  }

  /** Reports every fact that differs. */
  facts(
    old: Facts,
    now: Facts,
    about: { subject: string; step: string | undefined; about: string; place: Place | undefined },
  ): void {
    for (const label of new Set([...old.keys(), ...now.keys()])) {
      const [before, after] = [old.get(label), now.get(label)];
      if (sameFact(before, after)) continue;
      const { kind } = (after ?? before)!;
      if (kind === 'renewal' && about.step !== undefined && this.renewed.has(about.subject)) continue;
      this.add({
        kind,
        subject: about.subject,
        step: about.step,
        before: before?.said,
        after: after?.said,
        text: `${about.about}: ${said(label, before?.said, after?.said)}`,
        review: kind === 'safety' || kind === 'torque',
        place: about.place,
      });
    }
  }
}

/** `torque 24 N·m → 42 N·m`, `limit 120 °C, not stated before`, `limit 120 °C no longer stated`; of a flag, its name alone. */
export function said(label: string, before: string | undefined, after: string | undefined): string {
  if (before === 'yes' || after === 'yes') return after === undefined ? `no longer ${label}` : `now ${label}`;
  if (before === undefined) return `${label} ${after}, not stated before`;
  if (after === undefined) return `${label} ${before} no longer stated`;
  return `${label} ${before} → ${after}`;
}
