import { type Declaration, type Span, type Statement, spanText } from '../../../grammar/syntax.ts';
import { type DeclarationWord, declarationWords } from '../../../grammar/tokens.ts';
import type { Severity } from '../checks/check.ts';
import type { Judged } from '../checks/run.ts';
import { addTo } from '../model/grouped.ts';
import { type Model, placeOfStep } from '../model/model.ts';
import { isSafety } from '../model/statements.ts';
import { findingsBetween, kindsNamed } from './compare-findings.ts';
import { Guards } from './compare-guards.ts';
import {
  bestPairs,
  type Item,
  likeness,
  matchAcross,
  matchItems,
  mostLikeness,
  movesIn,
  type Pair,
  type StepInfo,
} from './compare-match.ts';
import { type Place, placeOf } from './compare-place.ts';
import {
  declarationsOf,
  type Fact,
  type FactKind,
  type Facts,
  factsOfDeclaration,
  factsOfStatement,
  oneLine,
  piecesActedOn,
  quantityFact,
  type Renamed,
  sameFact,
} from './facts.ts';
import { planOf } from './plan.ts';

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

export interface ComparedFinding {
  readonly code: string;
  readonly severity: Severity;
  readonly subject: string;
  readonly message: string;
  readonly place: Place | undefined;
}

export interface Comparison {
  readonly changes: readonly Change[];
  /** In seconds, with one pair of hands and everything in stock; nothing where a version cannot be planned. */
  readonly plan: { readonly before: number; readonly after: number } | undefined;
  readonly findings: { readonly added: readonly ComparedFinding[]; readonly gone: readonly ComparedFinding[] };
  /** The same of what `fettle-allow` silences. */
  readonly allowed: { readonly added: readonly ComparedFinding[]; readonly gone: readonly ComparedFinding[] };
  readonly review: boolean;
}

/**
 * What changed in the job itself between two versions of a procedure, not in the text: layout, comments, the order of
 * declarations, and counts or torques written out that held anyway, are no change.
 */
export function compare(old: Version, now: Version): Comparison {
  const comparer = new Comparer(old, now);
  const changes = comparer.changes();
  return {
    changes,
    plan: plansOf(old.model, now.model),
    findings: findingsBetween(old, now, 'findings', comparer.nameNow),
    allowed: findingsBetween(old, now, 'allowed', comparer.nameNow),
    review: changes.some(({ review }) => review),
  };
}

function plansOf(old: Model, now: Model): Comparison['plan'] {
  const [before, after] = [old, now].map((model) => planOf(model, { inStock: true }));
  return before === undefined || after === undefined || 'message' in before || 'message' in after
    ? undefined
    : { before: before.duration, after: after.duration };
}

/** Names of the new version stay as they are. */
const asNow: Renamed = (_, name) => name;

const code = (name: string): string => `\`${name}\``;

class Comparer {
  private readonly old: Version;
  private readonly now: Version;
  private readonly found: Change[] = [];
  private readonly renames = new Map<string, string>();
  private readonly renewed = new Set<string>();

  constructor(old: Version, now: Version) {
    this.old = old;
    this.now = now;
  }

  changes(): Change[] {
    this.head();
    for (const kind of declarationWords) this.findRenamed(kind);
    for (const kind of declarationWords) this.declarations(kind);
    this.renewals();
    this.steps();
    return this.found;
  }

  /** What `name` is called now. Where no `kind` is given and it names things of several, or did, it stays: the same holds the other way round. */
  readonly nameNow = (name: string, kind?: DeclarationWord): string => {
    const [of, ...others] = kind === undefined ? kindsNamed(this.old.model, name) : [kind];
    const now = of === undefined || others.length > 0 ? undefined : this.renames.get(`${of} ${name}`);
    return now === undefined || (kind === undefined && kindsNamed(this.now.model, now).length > 1) ? name : now;
  };

  private readonly renamed: Renamed = (kind, name) => this.renames.get(`${kind} ${name}`) ?? name;

  private add(change: Omit<Change, 'step' | 'before' | 'after' | 'place'> & Partial<Change>): void {
    this.found.push({ step: undefined, before: undefined, after: undefined, place: undefined, ...change });
  }

  private placeOf(version: 'old' | 'new', span: Span): Place | undefined {
    return placeOf(version, (version === 'old' ? this.old : this.now).model, span);
  }

  // --- head and declarations ----------------------------------------------------------------------------------------

  private head(): void {
    const rows = (model: Model): [string, string | undefined][] => [
      ['name', model.head?.name?.text],
      ['title', model.head?.title?.value],
      ['codes', model.codes.length === 0 ? undefined : [...model.codes].sort().join(', ')],
      ['code plate', model.head?.codePlate?.value],
      ['measures', model.measures],
    ];
    const before = new Map(rows(this.old.model));
    for (const [label, after] of rows(this.now.model)) {
      const was = before.get(label);
      if (was === after) continue;
      const [from, to] = label === 'codes' ? [was, after] : [was, after].map((each) => each && `"${each}"`);
      this.add({
        kind: 'procedure',
        subject: label,
        before: was,
        after,
        text: `the procedure: ${said(label, from, to)}`,
        review: false,
        place: this.now.model.head && this.placeOf('new', this.now.model.head),
      });
    }
  }

  /** A declaration under a new name is known by its title, or by all that it says, where nothing else is like it. */
  private findRenamed(kind: DeclarationWord): void {
    const before = declarationsOf(this.old.model, kind);
    const after = declarationsOf(this.now.model, kind);
    const gone = [...before].filter(([name]) => !after.has(name));
    const added = [...after].filter(([name]) => !before.has(name));
    const match = (signature: (each: Declaration) => string | undefined): void => {
      const one = (entries: [string, Declaration][]): Map<string, string | undefined> => {
        const by = new Map<string, string | undefined>();
        for (const [name, each] of entries) {
          const key = signature(each);
          if (key !== undefined) by.set(key, by.has(key) ? undefined : name);
        }
        return by;
      };
      const olds = one(gone.filter(([name]) => !this.renames.has(`${kind} ${name}`)));
      const taken = new Set([...before.keys()].map((name) => this.renames.get(`${kind} ${name}`)));
      for (const [key, to] of one(added)) {
        const from = olds.get(key);
        if (from !== undefined && to !== undefined && !taken.has(to)) this.renames.set(`${kind} ${from}`, to);
      }
    };
    match(({ title }) => title?.value);
    match((each) => {
      const facts = [...factsOfDeclaration(each, asNow)].filter(([label]) => label !== 'title');
      return facts.length < 2 && kind !== 'pattern' ? undefined : JSON.stringify(facts.map(([l, f]) => [l, f.same]));
    });
  }

  private declarations(kind: DeclarationWord): void {
    const before = declarationsOf(this.old.model, kind);
    const after = declarationsOf(this.now.model, kind);
    const kept = new Set<string>();
    for (const [oldName, was] of before) {
      const name = this.renamed(kind, oldName);
      const is = after.get(name);
      if (is === undefined) {
        this.declaration(kind, oldName, was, 'gone');
        continue;
      }
      kept.add(name);
      if (name !== oldName)
        this.add({
          kind,
          subject: name,
          before: oldName,
          after: name,
          text: `${kind} ${code(oldName)} is now called ${code(name)}`,
          review: false,
          place: this.placeOf('new', is),
        });
      this.facts(factsOfDeclaration(was, this.renamed), factsOfDeclaration(is, asNow), {
        subject: name,
        step: undefined,
        about: code(name),
        place: this.placeOf('new', is),
      });
    }
    for (const [name, is] of after) if (!kept.has(name)) this.declaration(kind, name, is, 'new');
  }

  private declaration(kind: DeclarationWord, name: string, each: Declaration, what: 'new' | 'gone'): void {
    const text = oneLine(spanText(each));
    this.add({
      kind,
      subject: name,
      ...(what === 'new' ? { after: text } : { before: text }),
      text: `${kind} ${code(name)} ${what === 'new' ? `is new: ${text}` : `is gone: ${text}`}`,
      review: each.torque !== undefined || each.hazards.length > 0,
      place: this.placeOf(what === 'new' ? 'new' : 'old', each),
    });
  }

  /** Reports every fact that differs. */
  private facts(
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

  /** Parts that get new pieces in one version only. */
  private renewals(): void {
    const renewedIn = ({ judged: { ledger } }: Version, side: Renamed): Set<string> =>
      new Set(
        ledger.variants.flatMap(({ entries }) =>
          entries.flatMap(({ actions }) =>
            actions
              .filter(({ verb, fresh }) => verb === 'replace' || verb === 'swap-in' || (verb === 'fit' && fresh))
              .map(({ part }) => side('part', part)),
          ),
        ),
      );
    const before = renewedIn(this.old, this.renamed);
    const after = renewedIn(this.now, asNow);
    const oldParts = new Set(
      [...declarationsOf(this.old.model, 'part').keys()].map((name) => this.renamed('part', name)),
    );
    for (const [name, part] of declarationsOf(this.now.model, 'part')) {
      if (!oldParts.has(name) || before.has(name) === after.has(name)) continue;
      this.renewed.add(name);
      const [was, is] = after.has(name) ? ['put back', 'renewed'] : ['renewed', 'put back'];
      this.add({
        kind: 'renewal',
        subject: name,
        before: was,
        after: is,
        text: `${code(name)} is ${after.has(name) ? 'now renewed' : 'no longer renewed'}`,
        review: false,
        place: this.placeOf('new', part),
      });
    }
  }

  // --- steps --------------------------------------------------------------------------------------------------------

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

  private steps(): void {
    const olds = this.stepsOf(this.old, this.renamed);
    const nows = this.stepsOf(this.now, asNow);
    const pairs = this.matchSteps(olds, nows);
    const left: { old: Item[]; now: Item[] } = { old: [], now: [] };
    const matched: Pair[][] = [];
    for (const { old, now } of pairs) {
      const own = matchItems(old.items, now.items);
      matched.push(own.pairs);
      left.old.push(...own.old);
      left.now.push(...own.now);
    }
    const [oldSteps, nowSteps] = [new Set(pairs.map(({ old }) => old)), new Set(pairs.map(({ now }) => now))];
    left.old.push(...olds.filter((step) => !oldSteps.has(step)).flatMap(({ items }) => items));
    left.now.push(...nows.filter((step) => !nowSteps.has(step)).flatMap(({ items }) => items));
    const across = matchAcross(left.old, left.now);

    // A safety message keeps its identity through all of this, so that what stands behind it can be told.
    const identity = new Map<Item, string>();
    for (const { old, now } of [...matched.flat(), ...across.pairs])
      if (now.key === 'safety') for (const item of [old, now]) identity.set(item, now.whole);
    const guards = new Guards(identity);
    const [lost, added] = [byStep(across.old), byStep(across.now)];

    for (const step of olds.filter((each) => !oldSteps.has(each))) this.step(step, 'gone', lost.get(step) ?? []);
    this.movedSteps(pairs);
    for (const [i, { old, now }] of pairs.entries()) {
      this.stepFacts(old, now);
      this.movedItems(matched[i]!, guards);
      for (const pair of matched[i]!) this.item(pair);
      for (const item of lost.get(old) ?? []) this.single(item, 'gone', now.label);
      for (const item of added.get(now) ?? []) this.single(item, 'new', now.label);
    }
    for (const step of nows.filter((each) => !nowSteps.has(each))) this.step(step, 'new', added.get(step) ?? []);
    for (const pair of across.pairs) {
      this.movedAcross(pair, guards);
      this.item(pair);
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
      this.renames.set(`step ${old.entry.step.name?.text}`, now.entry.step.name?.text ?? '');
    }
    return nows.filter((now) => partner.has(now)).map((now) => ({ old: partner.get(now)!, now }));
  }

  private stepFacts(old: StepInfo, now: StepInfo): void {
    const place = this.placeOf('new', now.entry.step.name ?? now.entry.step);
    const about = { subject: now.key, step: now.label, about: `step ${now.label}`, place };
    if (old.label !== now.label)
      this.add({
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
    this.facts(factsOf(old, afterOf(old, this.renamed)), factsOf(now, afterOf(now, asNow)), about);
  }

  private step(step: StepInfo, what: 'new' | 'gone', left: readonly Item[]): void {
    const { entry, label, items, key } = step;
    const title = entry.step.title === undefined || label.startsWith('"') ? '' : ` "${entry.step.title.value}"`;
    const moved = items.length - left.length;
    const rest = moved === 0 ? '' : `, ${moved} of them ${what === 'new' ? 'from' : 'now in'} other steps`;
    const text = `${label}${title}, ${items.length === 1 ? '1 statement' : `${items.length} statements`}${rest}`;
    this.add({
      kind: 'step',
      subject: key,
      step: label,
      ...(what === 'new' ? { after: text } : { before: text }),
      text: `step ${what === 'new' ? 'added' : 'gone'}: ${text}`,
      review: false,
      place: this.placeOf(what === 'new' ? 'new' : 'old', entry.step.name ?? entry.step),
    });
    for (const item of left) if (toReview(item)) this.single(item, what, label);
  }

  private movedSteps(pairs: readonly { old: StepInfo; now: StepInfo }[]): void {
    const samePhase = pairs.filter(({ old, now }) => old.entry.phase === now.entry.phase);
    const order = samePhase.map(({ old }) => placeOfStep(this.old.model, old.entry));
    for (const { moved, anchor, side } of movesIn(order)) {
      const { now } = samePhase[moved]!;
      const other = samePhase[anchor]!.now;
      this.add({
        kind: 'sequence',
        subject: now.key,
        step: now.label,
        after: `${side} ${other.label}`,
        text: `step ${now.label} now comes ${side} step ${other.label}`,
        review: false,
        place: this.placeOf('new', now.entry.step.name ?? now.entry.step),
      });
    }
  }

  // --- statements ---------------------------------------------------------------------------------------------------

  private movedItems(pairs: readonly Pair[], guards: Guards): void {
    const inOrder = [...pairs].sort((a, b) => a.now.index - b.now.index);
    for (const { moved, anchor, side } of movesIn(inOrder.map(({ old }) => old.index))) {
      const { old, now } = inOrder[moved]!;
      const other = inOrder[anchor]!.now;
      const passed = now.key === 'safety' || guards.before(old) !== guards.before(now);
      this.add({
        kind: now.key === 'safety' ? 'safety' : 'sequence',
        subject: now.object ?? now.statement.kind,
        step: now.step.label,
        after: `${side} ${short(other)}`,
        text: `step ${now.step.label}: ${short(now)} now comes ${side} ${short(other)}${passed && now.key !== 'safety' && other.key !== 'safety' ? ', past a safety message' : ''}`,
        review: passed,
        place: this.placeOf('new', now.statement),
      });
    }
  }

  private movedAcross({ old, now }: Pair, guards: Guards): void {
    const guarded = now.key !== 'safety' && guards.before(old) !== guards.before(now);
    this.add({
      kind: now.key === 'safety' ? 'safety' : 'sequence',
      subject: now.object ?? now.statement.kind,
      step: now.step.label,
      before: old.step.label,
      after: now.step.label,
      text: `${short(now)} moved from step ${old.step.label} to step ${now.step.label}${guarded ? ', where other safety messages stand before it' : ''}`,
      review: now.key === 'safety' || guarded,
      place: this.placeOf('new', now.statement),
    });
  }

  /** What changed in a statement that is there in both versions. */
  private item({ old, now }: Pair): void {
    const { statement, step, object } = now;
    const place = this.placeOf('new', statement);
    const about = { subject: object ?? statement.kind, step: step.label, place };
    if (now.key === 'safety') {
      const [before, after] = [short(old), short(now)];
      const text = old.facts.get('text')?.said !== now.facts.get('text')?.said;
      if (text || old.statement.kind !== statement.kind)
        this.add({
          ...about,
          kind: 'safety',
          before,
          after,
          text: text
            ? `step ${step.label}: ${before} is now ${after}`
            : `step ${step.label}: a ${old.statement.kind} is now a ${statement.kind}: ${now.facts.get('text')?.said}`,
          review: true,
        });
    } else {
      const words = `step ${step.label}, ${statement.kind}${object === undefined ? '' : ` ${code(object)}`}`;
      this.facts(old.facts, now.facts, { ...about, about: words });
    }
    if (old.branches !== now.branches)
      this.add({
        ...about,
        kind: now.key === 'safety' ? 'safety' : 'statement',
        before: old.branches,
        after: now.branches,
        text: `step ${step.label}: ${short(now)} now stands ${now.branches === '' ? 'outside any branch' : `in \`${now.branches}\``}`,
        review: toReview(now),
      });
  }

  private single(item: Item, what: 'new' | 'gone', label: string): void {
    const { statement, object } = item;
    const words = short(item);
    this.add({
      kind: item.key === 'safety' ? 'safety' : statement.kind === 'tighten' ? 'torque' : 'statement',
      subject: object ?? statement.kind,
      step: label,
      ...(what === 'new' ? { after: words } : { before: words }),
      text: `step ${label}: ${words} ${what === 'new' ? 'is new' : 'is gone'}`,
      review: toReview(item),
      place: this.placeOf(what === 'new' ? 'new' : 'old', statement),
    });
  }
}

/** `torque 24 N·m → 42 N·m`, `limit 120 °C, not stated before`, `limit 120 °C no longer stated`; of a flag, its name alone. */
function said(label: string, before: string | undefined, after: string | undefined): string {
  if (before === 'yes' || after === 'yes') return after === undefined ? `no longer ${label}` : `now ${label}`;
  if (before === undefined) return `${label} ${after}, not stated before`;
  if (after === undefined) return `${label} ${before} no longer stated`;
  return `${label} ${before} → ${after}`;
}

/** A safety message, or a tightening with its torque. */
const toReview = ({ key, statement }: Item): boolean => key === 'safety' || statement.kind === 'tighten';

/** The statement as written, on one line, of a length to be read. */
function short({ statement, object }: Item): string {
  const inner = statement.branches?.[0]?.statements[0];
  const text = oneLine(
    statement.branches === undefined
      ? spanText(statement)
      : statement.chunk.text.slice(statement.start, inner?.start ?? statement.end),
  );
  const words = text === '' ? `${statement.kind} ${object ?? ''}` : text;
  return code(words.length > 90 ? `${words.slice(0, 89)}…` : words);
}

function byStep(items: readonly Item[]): ReadonlyMap<StepInfo, readonly Item[]> {
  const found = new Map<StepInfo, Item[]>();
  for (const item of items) {
    addTo(found, item.step, item);
  }
  return found;
}
