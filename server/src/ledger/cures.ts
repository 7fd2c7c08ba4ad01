import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { namesChanged } from '../model/amended.ts';
import { changedSteps } from '../model/changed-chunks.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { leastOf, mostOf } from '../model/quantity.ts';
import { loadsUnit, statementsOf } from '../model/statements.ts';
import { isForOthers, misspeltBlocks } from './start.ts';

/** A cure that had not run its time when the unit was loaded. Times in seconds. */
export interface EarlyLoad {
  readonly applied: Statement;
  readonly supply: string;
  readonly loading: Statement;
  readonly cure: number;
  readonly elapsed: number;
}

/** A cure that no loading has ended yet, newest first. */
interface Cure {
  readonly applied: Statement;
  readonly supply: string;
  readonly cure: number;
  /** Clock at the `apply`. */
  readonly at: number;
  readonly step: StepEntry;
  readonly earlier: Cure | undefined;
}

/** What of a step bears on cures: an application, a loading, time that passes, or a block that holds such. */
type Moment =
  | { readonly kind: 'wait'; readonly seconds: number }
  | { readonly kind: 'apply' | 'load'; readonly statement: Statement }
  | { readonly kind: 'block'; readonly block: Statement; readonly branches: readonly (readonly Moment[])[] };

interface Timeline {
  readonly takes: number;
  readonly moments: readonly Moment[];
}

const timelineOf = (step: Step): Timeline => ({
  takes: leastOf(step.takes, 'time') ?? 0,
  moments: momentsIn(step.statements),
});
/** Kept for steps of a procedure that is edited. */
const keptTimelineOf = noted(timelineOf);

const none: readonly never[] = [];
/** Seconds: longer than anything cures. A wait whose time cannot be read is told of; what cures by then may have cured. */
const untold = 1e9;

function momentsIn(statements: readonly Statement[]): readonly Moment[] {
  const moments: Moment[] = [];
  for (const statement of statements) {
    const { kind, branches } = statement;
    if (branches !== undefined) {
      const inner = branches.map((branch) => momentsIn(branch.statements));
      if (inner.every((each) => each.length === 0)) continue;
      // Without `else`, the other way is to do nothing.
      if (kind === 'if' && inner.length === 1) inner.push(none);
      moments.push({ kind: 'block', block: statement, branches: inner });
    } else if (kind === 'wait') {
      moments.push({ kind, seconds: leastOf(statement.amount, 'time') ?? untold });
    } else if (statement.words === undefined) {
      if (kind === 'apply') moments.push({ kind, statement });
      else if (kind === 'fill' || kind === 'check') moments.push({ kind: 'load', statement });
    }
  }
  // No longer than it needs to be: it is kept.
  return moments.length === 0 ? none : moments.slice();
}

/**
 * What `earlyLoadsOf` gives after an edit from `before` to `now`, where it gave `known`; nothing where the edit bears on cures, so
 * that it has to be asked.
 */
export function earlyLoadsAfter(
  before: Model,
  now: Model,
  known: readonly EarlyLoad[],
): readonly EarlyLoad[] | undefined {
  const curesOtherwise = (name: string): boolean => {
    const [old, supply] = [before.supplies.get(name), now.supplies.get(name)];
    return (old === undefined) !== (supply === undefined) || mostOf(old?.cure, 'time') !== mostOf(supply?.cure, 'time');
  };
  if (namesChanged(before.supplies, now.supplies).some(curesOtherwise)) return undefined;
  const { from, to, until } = changedSteps(before, now);
  const was = before.steps.slice(from, to).filter(bearsOnCures);
  const is = now.steps.slice(from, until).filter(bearsOnCures);
  const successors: Successors = new Map();
  if (was.length !== is.length || !was.every((old, i) => isCuredAlike(old, is[i]!, successors))) return undefined;
  if (!known.some(({ applied, loading }) => successors.has(applied) || successors.has(loading))) return known;
  return known.map((early) => ({
    ...early,
    applied: successors.get(early.applied) ?? early.applied,
    loading: successors.get(early.loading) ?? early.loading,
  }));
}

/** Statements before an edit, and those that stand for them now. */
type Successors = Map<Statement, Statement>;

/** True where a step takes the place of another, and cures and loadings run in it as in that one. */
function isCuredAlike(old: StepEntry, entry: StepEntry, successors: Successors): boolean {
  if (old.phase !== entry.phase) return false;
  if (old.step === entry.step) return true;
  const [earlier, later] = [keptTimelineOf(old.step), keptTimelineOf(entry.step)];
  return (
    earlier.takes === later.takes &&
    // Whether any work of it is for one code may be otherwise.
    (later.takes === 0 || !(isSingling(old.step) || isSingling(entry.step))) &&
    areAlike(earlier.moments, later.moments, successors)
  );
}

const areAlike = (before: readonly Moment[], now: readonly Moment[], successors: Successors): boolean =>
  before.length === now.length && before.every((old, i) => isAlike(old, now[i]!, successors));

function isAlike(old: Moment, now: Moment, successors: Successors): boolean {
  if (old.kind === 'wait') return now.kind === 'wait' && old.seconds === now.seconds;
  if (old.kind === 'block')
    return (
      now.kind === 'block' &&
      old.block.kind === now.block.kind &&
      sameCodes(old.block, now.block) &&
      old.branches.length === now.branches.length &&
      old.branches.every((branch, b) => areAlike(branch, now.branches[b]!, successors))
    );
  if (now.kind === 'wait' || now.kind === 'block') return false;
  successors.set(old.statement, now.statement);
  return old.statement.kind === now.statement.kind && old.statement.name?.text === now.statement.name?.text;
}

const sameCodes = ({ codes: before = [] }: Statement, { codes: now = [] }: Statement): boolean =>
  before.length === now.length && before.every(({ text }, i) => text === now[i]!.text);

const isSingling = ({ statements }: Step): boolean => walk(statements).some(({ kind }) => kind === 'for');

function bearsOnCures({ step }: StepEntry): boolean {
  const { takes, moments } = keptTimelineOf(step);
  return takes !== 0 || moments.length > 0;
}

/** Loadings that come before a cure has run. `applies` tells which `for` blocks hold. Linear in statements that matter. */
export function earlyLoadsOf(model: Model, applies: (block: Statement) => boolean): readonly EarlyLoad[] {
  const clock = new CureClock(model, applies);
  for (const step of model.steps) clock.take(step, keptTimelineOf(step.step));
  return clock.earlyLoads;
}

/** The cure that runs longest when the first `count` statements of `step` are done. */
export function longestCureAt(
  model: Model,
  applies: (block: Statement) => boolean,
  step: Step,
  count: number,
): Omit<EarlyLoad, 'loading'> | undefined {
  const clock = new CureClock(model, applies);
  for (const entry of model.steps) {
    if (entry.step !== step) clock.take(entry, keptTimelineOf(entry.step));
    else {
      clock.take(entry, { takes: 0, moments: momentsIn(step.statements.slice(0, count)) });
      break;
    }
  }
  return [...clock.running()].sort((a, b) => b.cure - b.elapsed - (a.cure - a.elapsed))[0];
}

/** Beyond so many, a loading is too early for each supply once: each of thousands of branches may load what thousands were applied to. */
const mostEarly = 10_000;

/** The same as `earlyLoadsOf`, found step by step. */
export class CureClock {
  readonly earlyLoads: EarlyLoad[] = [];
  private readonly model: Model;
  private readonly applies: (block: Statement) => boolean;
  private readonly singlesOut: boolean;
  /** Hands-on time of the steps that have ended: it does not count for what was applied in them. */
  private readonly ended = new Map<StepEntry, number>();
  private cures: Cure | undefined;
  /** Seconds. */
  private now = 0;
  private step!: StepEntry;

  constructor(model: Model, applies: (block: Statement) => boolean) {
    this.model = model;
    this.applies = applies;
    this.singlesOut = statementsOf(model, 'for').length > 0;
  }

  /** Goes on over the next step. */
  take(step: StepEntry, { takes: stated, moments }: Timeline = timelineOf(step.step)): void {
    this.step = step;
    this.sequence(moments);
    // Nobody spends the time of a step that is all for other codes.
    const takes = stated !== 0 && this.singlesOut && isForOthers(step.step, this.mayApply) ? 0 : stated;
    this.now += takes;
    if (takes !== 0 && this.cures !== undefined) this.ended.set(step, takes);
  }

  /** Cures that have not run their time yet, newest first. */
  *running(): Generator<Omit<EarlyLoad, 'loading'>> {
    for (let { cures: cure } = this; cure !== undefined; cure = cure.earlier) {
      const elapsed = this.now - cure.at - (this.ended.get(cure.step) ?? 0);
      if (elapsed + 1e-6 < cure.cure) yield { applied: cure.applied, supply: cure.supply, cure: cure.cure, elapsed };
    }
  }

  /** Of the running cures, of each supply the one that lacks most. */
  private lackingMost(): Iterable<Omit<EarlyLoad, 'loading'>> {
    const bySupply = new Map<string, Omit<EarlyLoad, 'loading'>>();
    for (const cure of this.running()) {
      const known = bySupply.get(cure.supply);
      if (known === undefined || cure.elapsed < known.elapsed) bySupply.set(cure.supply, cure);
    }
    return bySupply.values();
  }

  private load(loading: Statement): void {
    const early = this.earlyLoads.length < mostEarly ? this.running() : this.lackingMost();
    for (const cure of early) this.earlyLoads.push({ ...cure, loading });
    // One finding for each application: the first load is the one to mend.
    this.cures = undefined;
  }

  private sequence(moments: readonly Moment[]): void {
    const { supplies } = this.model;
    for (const moment of moments) {
      if (moment.kind === 'wait') this.now += moment.seconds;
      else if (moment.kind === 'block') {
        if (moment.block.kind !== 'for') this.branch(moment.branches);
        else if (this.applies(moment.block)) for (const branch of moment.branches) this.sequence(branch);
        else if (this.mayApply(moment.block)) this.pass(moment.branches);
      } else {
        const { statement } = moment;
        const name = statement.name?.text ?? '';
        if (moment.kind === 'apply') {
          const cure = mostOf(supplies.get(name)?.cure, 'time');
          if (cure !== undefined)
            this.cures = { applied: statement, supply: name, cure, at: this.now, step: this.step, earlier: this.cures };
        } else if (loadsUnit(statement, this.step.phase) && (statement.kind !== 'fill' || supplies.has(name)))
          this.load(statement);
      }
    }
  }

  private readonly mayApply = (block: Statement): boolean =>
    this.applies(block) || misspeltBlocks(this.model).has(block);

  /** Time goes by; what else is done there may be for another code. */
  private pass(branches: readonly (readonly Moment[])[]): void {
    const { cures } = this;
    const told = this.earlyLoads.length;
    for (const branch of branches) this.sequence(branch);
    this.cures = cures;
    this.earlyLoads.length = told;
  }

  /** A cure begun in any branch, or left running in any, has to have run; the least time that passed counts. */
  private branch(branches: readonly (readonly Moment[])[]): void {
    const { cures, now } = this;
    const ends = branches.map((moments) => {
      this.sequence(moments);
      const end = { cures: this.cures, now: this.now };
      this.cures = cures;
      this.now = now;
      return end;
    });
    this.now = ends.reduce((least, end) => Math.min(least, end.now), Number.POSITIVE_INFINITY);
    const begun: Cure[] = [];
    let kept = false;
    for (const end of ends) {
      let cure = end.cures;
      for (; cure !== undefined && cure !== cures; cure = cure.earlier)
        begun.push({ ...cure, at: cure.at + this.now - end.now });
      kept ||= cure === cures;
    }
    this.cures = kept ? cures : undefined;
    for (const cure of begun.reverse()) this.cures = { ...cure, earlier: this.cures };
  }
}
