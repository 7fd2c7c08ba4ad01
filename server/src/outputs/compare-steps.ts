import type { Statement } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import { type Model, placeOfStep } from '../model/model.ts';
import { isSafety } from '../model/statements.ts';
import type { Changes, Version } from './compare-changes.ts';
import { Guards } from './compare-guards.ts';
import {
  bestPairs,
  type Item,
  likeness,
  matchAcross,
  matchItems,
  mostLikeness,
  movesIn,
  type StepInfo,
} from './compare-match.ts';
import { asNow, type Renames } from './compare-names.ts';
import { StatementComparison, toReview } from './compare-statements.ts';
import {
  type Fact,
  type FactKind,
  type Facts,
  factsOfStatement,
  piecesActedOn,
  quantityFact,
  type Renamed,
} from './facts.ts';

/** What differs in the steps: which are new, gone, renamed or moved, and what in them. */
export class StepComparison {
  private readonly changes: Changes;
  private readonly names: Renames;
  private readonly statements: StatementComparison;

  constructor(changes: Changes, names: Renames) {
    this.changes = changes;
    this.names = names;
    this.statements = new StatementComparison(changes);
  }

  tell(): void {
    const olds = this.stepsOf(this.changes.old, this.names.renamed);
    const nows = this.stepsOf(this.changes.now, asNow);
    const pairs = this.matchSteps(olds, nows);
    const matched = pairs.map(({ old, now }) => matchItems(old.items, now.items));
    const [oldSteps, nowSteps] = [new Set(pairs.map(({ old }) => old)), new Set(pairs.map(({ now }) => now))];
    const itemsBut = (steps: readonly StepInfo[], known: ReadonlySet<StepInfo>): readonly Item[] =>
      steps.filter((step) => !known.has(step)).flatMap(({ items }) => items);
    const across = matchAcross(
      [...matched.flatMap(({ old }) => old), ...itemsBut(olds, oldSteps)],
      [...matched.flatMap(({ now }) => now), ...itemsBut(nows, nowSteps)],
    );

    // A safety message keeps its identity through all of this, so that what stands behind it can be told.
    const identity = new Map<Item, string>();
    for (const { old, now } of [...matched.flatMap((step) => step.pairs), ...across.pairs])
      if (now.key === 'safety') for (const item of [old, now]) identity.set(item, now.whole);
    const guards = new Guards(identity);
    const [lost, added] = [byStep(across.old), byStep(across.now)];

    for (const step of olds.filter((each) => !oldSteps.has(each))) this.step(step, 'gone', lost.get(step) ?? []);
    this.movedSteps(pairs);
    for (const [i, { old, now }] of pairs.entries()) {
      this.stepFacts(old, now);
      this.statements.movedItems(matched[i]!.pairs, guards);
      for (const pair of matched[i]!.pairs) this.statements.item(pair);
      for (const item of lost.get(old) ?? []) this.statements.single(item, 'gone', now.label);
      for (const item of added.get(now) ?? []) this.statements.single(item, 'new', now.label);
    }
    for (const step of nows.filter((each) => !nowSteps.has(each))) this.step(step, 'new', added.get(step) ?? []);
    for (const pair of across.pairs) {
      this.statements.movedAcross(pair, guards);
      this.statements.item(pair);
    }
  }

  /** Steps of the same name, then those of a new name with the same title or most of the same statements. */
  private matchSteps(olds: readonly StepInfo[], nows: readonly StepInfo[]): { old: StepInfo; now: StepInfo }[] {
    const byKey = new Map(nows.map((step) => [step.key, step]));
    const partner = new Map<StepInfo, StepInfo>();
    for (const old of olds) {
      const now = byKey.get(old.key);
      if (now !== undefined) partner.set(now, old);
    }
    const gone = olds.filter((old) => !byKey.has(old.key));
    const added = nows.filter((now) => !partner.has(now));
    const titles = ({ entry }: StepInfo): string | undefined => entry.step.title?.value;
    const least = 0.6;
    const alike = (old: StepInfo, now: StepInfo): number => {
      if (titles(old) !== undefined && titles(old) === titles(now)) return 1 + likeness(old, now);
      return mostLikeness(old, now) < least ? 0 : likeness(old, now);
    };
    for (const [old, now] of bestPairs(gone, added, alike, least)) {
      partner.set(now, old);
      this.names.stepIsNow(old.entry.step.name?.text, now.entry.step.name?.text);
    }
    return nows.filter((now) => partner.has(now)).map((now) => ({ old: partner.get(now)!, now }));
  }

  private stepFacts(old: StepInfo, now: StepInfo): void {
    const place = this.changes.placeOf('new', now.entry.step.name ?? now.entry.step);
    const about = { subject: now.key, step: now.label, about: `step ${now.label}`, place };
    if (old.label !== now.label)
      this.changes.add({
        kind: 'step',
        subject: now.key,
        step: now.label,
        before: old.label,
        after: now.label,
        text: `step ${old.label} is now called ${now.label}`,
        review: false,
        place,
      });
    const factsOf = ({ entry: { step, phase } }: StepInfo, after: readonly string[]): Facts => {
      const facts = new Map<string, Fact>();
      const set = (kind: FactKind, label: string, value: string | undefined): void => {
        if (value !== undefined) facts.set(label, { kind, said: value, same: value });
      };
      set('step', 'phase', phase);
      set('note', 'title', step.title && `"${step.title.value}"`);
      if (step.takes !== undefined) facts.set('takes', quantityFact('time', step.takes));
      set('step', 'after', after.length === 0 ? undefined : [...after].sort().join(', '));
      return facts;
    };
    const afterOf = ({ entry }: StepInfo, side: Renamed): string[] =>
      entry.step.after.map(({ text }) => side('step', text));
    this.changes.facts(factsOf(old, afterOf(old, this.names.renamed)), factsOf(now, afterOf(now, asNow)), about);
  }

  private step(step: StepInfo, what: 'new' | 'gone', left: readonly Item[]): void {
    const { entry, label, items, key } = step;
    const title = entry.step.title === undefined || label.startsWith('"') ? '' : ` "${entry.step.title.value}"`;
    const moved = items.length - left.length;
    const rest = moved === 0 ? '' : `, ${moved} of them ${what === 'new' ? 'from' : 'now in'} other steps`;
    const text = `${label}${title}, ${items.length === 1 ? '1 statement' : `${items.length} statements`}${rest}`;
    this.changes.add({
      kind: 'step',
      subject: key,
      step: label,
      ...(what === 'new' ? { after: text } : { before: text }),
      text: `step ${what === 'new' ? 'added' : 'gone'}: ${text}`,
      review: false,
      place: this.changes.placeOf(what === 'new' ? 'new' : 'old', entry.step.name ?? entry.step),
    });
    for (const item of left) if (toReview(item)) this.statements.single(item, what, label);
  }

  private movedSteps(pairs: readonly { old: StepInfo; now: StepInfo }[]): void {
    const samePhase = pairs.filter(({ old, now }) => old.entry.phase === now.entry.phase);
    const order = samePhase.map(({ old }) => placeOfStep(this.changes.old.model, old.entry));
    for (const { moved, anchor, side } of movesIn(order)) {
      const { now } = samePhase[moved]!;
      const other = samePhase[anchor]!.now;
      this.changes.add({
        kind: 'sequence',
        subject: now.key,
        step: now.label,
        after: `${side} ${other.label}`,
        text: `step ${now.label} now comes ${side} step ${other.label}`,
        review: false,
        place: this.changes.placeOf('new', now.entry.step.name ?? now.entry.step),
      });
    }
  }

  private stepsOf({ model, judged }: Version, side: Renamed): StepInfo[] {
    const acted = piecesActedOn(judged.ledger);
    const used = new Map<string, number>();
    return model.steps
      .filter(({ step }) => step.keyword !== undefined || step.statements.length > 0)
      .map((entry) => {
        const { step, phase } = entry;
        const name = step.name?.text ?? step.title?.value ?? `${phase ?? 'no phase'}, no step`;
        const count = used.get(name) ?? 0;
        used.set(name, count + 1);
        const info: StepInfo = {
          entry,
          key: count === 0 ? name : `${name} (${count + 1})`,
          label: step.name?.text ?? (step.title === undefined ? name : `"${step.title.value}"`),
          items: [],
        };
        this.collect(info, model, step.statements, acted, side, '');
        return info;
      });
  }

  private collect(
    step: StepInfo,
    model: Model,
    statements: readonly Statement[],
    acted: ReadonlyMap<Statement, number>,
    side: Renamed,
    branches: string,
  ): void {
    for (const statement of statements) {
      const { kind } = statement;
      const object = this.objectOf(statement, model, side);
      const key = isSafety(statement) ? 'safety' : [kind, object ?? ''].join(' ');
      const facts = factsOfStatement(model, statement, acted, side);
      const stated = [...facts].map(([label, { same, implied }]) => [label, implied ? '' : same]);
      step.items.push({
        statement,
        step,
        key,
        object,
        facts,
        branches,
        whole: JSON.stringify([kind, key, branches, ...stated.sort()]),
        index: step.items.length,
      });
      for (const [i, branch] of (statement.branches ?? []).entries()) {
        const condition = kind === 'for' ? `for ${object}` : kind === 'if' ? ['if', 'else'][i]! : `branch ${i + 1}`;
        this.collect(
          step,
          model,
          branch.statements,
          acted,
          side,
          branches === '' ? condition : `${branches}, ${condition}`,
        );
      }
    }
  }

  /** What a statement acts on, by the name that it has now. */
  private objectOf({ kind, name, targets, codes }: Statement, model: Model, side: Renamed): string | undefined {
    if (kind === 'for')
      return (codes ?? [])
        .map(({ text }) => text)
        .sort()
        .join(', ');
    if (name === undefined) return undefined;
    const supply =
      kind === 'drain' || kind === 'fill' || kind === 'apply' || (kind === 'omit' && !model.parts.has(name.text));
    const own = kind === 'measure' ? name.text : side(supply ? 'supply' : 'part', name.text);
    return kind === 'swap' ? `${own} for ${(targets ?? []).map(({ text }) => side('part', text)).join(', ')}` : own;
  }
}

function byStep(items: readonly Item[]): ReadonlyMap<StepInfo, readonly Item[]> {
  const found = new Map<StepInfo, Item[]>();
  for (const item of items) {
    addTo(found, item.step, item);
  }
  return found;
}
