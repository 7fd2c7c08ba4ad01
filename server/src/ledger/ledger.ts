import { type Declaration, type Name, type Statement, walk } from '../../../grammar/syntax.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { amended, exchangeBetween, exchanged, namesAmended, namesChanged } from '../model/amended.ts';
import { chunksOf, type Model, type StepEntry } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { extentOf } from '../model/quantity.ts';
import { eachReference } from '../model/references.ts';
import { statementsIn } from '../model/statements.ts';
import { carryAsking, stepsAsking } from './asking.ts';
import { CureClock, type EarlyLoad, earlyLoadsOf, leavesCures } from './cures.ts';
import { appliesTo, seatsIn, startAgain, startOf, unboxed } from './start.ts';
import {
  type Carried,
  type FluidState,
  limitShares,
  type Mark,
  missing,
  on,
  onBench,
  type PartState,
  type Pieces,
  sameFields,
  sameFluid,
  samePart,
} from './state.ts';

export type { EarlyLoad } from './cures.ts';

/** A part in the way of an action. */
export interface Blocker {
  readonly part: string;
  /** Pieces on. */
  readonly on: number;
  /** It came off earlier and was put back. */
  readonly cameOff: boolean;
}

export type Verb =
  | 'remove'
  | 'discard'
  | 'replace'
  | 'fit'
  | 'swap-out'
  | 'swap-in'
  | 'transfer'
  | 'omit'
  | 'loosen'
  | 'tighten'
  | 'hand-tighten'
  | 'mark';

/** What of an action is seldom otherwise. */
interface Circumstances {
  readonly fresh: boolean;
  /** Named in `with`: it stays on its assembly. */
  readonly along: boolean;
  /** Old pieces put back that must not go back: single-use, or damaged by removal. */
  readonly refittedOld: number;
  /** Good pieces put back that had gone to scrap. */
  readonly refittedScrap: number;
  /** What holds the part and is still on. */
  readonly holders: readonly Blocker[];
  /** What the part sits behind and is on. */
  readonly covers: readonly Blocker[];
}

/** What one statement did to one part. Thousands of these are kept. */
export class Action implements Circumstances {
  readonly verb: Verb;
  readonly statement: Statement;
  readonly name: Name;
  /** A line that could not be read, or unlike branches, came before: where the part is cannot be told. */
  readonly unsure: boolean;
  /** `xN` as written. */
  readonly wanted: number | undefined;
  /** Pieces that the statement could act on. */
  readonly available: number;
  readonly acted: number;
  readonly before: PartState;
  readonly after: PartState;
  private readonly circumstances: Circumstances;

  constructor(
    verb: Verb,
    { statement, name }: Mark,
    unsure: boolean,
    wanted: number | undefined,
    available: number,
    acted: number,
    before: PartState,
    after: PartState,
    circumstances: Circumstances,
  ) {
    this.verb = verb;
    this.statement = statement;
    this.name = name;
    this.unsure = unsure;
    this.wanted = wanted;
    this.available = available;
    this.acted = acted;
    this.before = before;
    this.after = after;
    this.circumstances = circumstances;
  }

  get part(): string {
    return this.name.text;
  }
  get fresh(): boolean {
    return this.circumstances.fresh;
  }
  get along(): boolean {
    return this.circumstances.along;
  }
  get refittedOld(): number {
    return this.circumstances.refittedOld;
  }
  get refittedScrap(): number {
    return this.circumstances.refittedScrap;
  }
  get holders(): readonly Blocker[] {
    return this.circumstances.holders;
  }
  get covers(): readonly Blocker[] {
    return this.circumstances.covers;
  }
}

export interface Change {
  readonly part: string;
  readonly before: PartState;
  readonly after: PartState;
}

/** One statement as replayed. `restored` and `merged` entries carry a block from branch to branch. */
export interface Entry {
  readonly statement: Statement;
  readonly step: StepEntry;
  readonly role: 'statement' | 'restored' | 'merged';
  readonly actions: readonly Action[];
  /** What the actions changed, what followed from it, or what a block carried on. */
  readonly changes: readonly Change[];
}

/** A block whose branches leave a part or fluid in different states. */
export interface Disagreement {
  readonly block: Statement;
  readonly subject: string;
  readonly kind: 'part' | 'supply';
  /** State after each branch, in order; a missing `else` counts as an empty branch. */
  readonly states: readonly (PartState | FluidState)[];
}

/** How another branch left a fluid; `fluids` goes on with one of them. */
export interface OtherFluid {
  readonly supply: string;
  readonly state: FluidState;
  /** What the replay went on with where the branches met. */
  readonly merged: FluidState;
}

/** The replay for one code. */
export interface Variant {
  /** Absent where the procedure names no code. */
  readonly code: string | undefined;
  readonly entries: readonly Entry[];
  readonly initial: ReadonlyMap<string, PartState>;
  readonly final: ReadonlyMap<string, PartState>;
  readonly fluids: ReadonlyMap<string, FluidState>;
  readonly otherFluids: readonly OtherFluid[];
  readonly disagreements: readonly Disagreement[];
  readonly earlyLoads: readonly EarlyLoad[];
  /** Parts named in lines that could not be read, or left unlike by branches: nothing is concluded of their end. */
  readonly unsure: ReadonlySet<string>;
  /** What each swapped part was replaced by. */
  readonly swaps: ReadonlyMap<string, string>;
  /** What each step did, in the order of `model.steps`. */
  readonly records: readonly StepRecord[];
}

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
  const alike = earlier !== undefined && earlier.model.steps.length === model.steps.length ? earlier : undefined;
  const changed = alike === undefined ? none : changedNames(alike.model, model);
  const runFor = (code: string | undefined): Variant => {
    const known = alike?.variants.find((variant) => variant.code === code);
    const run = new Replay(model, code);
    return known === undefined ? run.run() : run.rerun(alike!.model, known, changed);
  };
  const singled = codes.length < 2 ? new Set<string>() : codesOfBlocks(model);
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
  return { model, variants: [new Replay({ ...model, steps: nobody }, undefined).run()] };
}

/** Codes that a `for` names. */
function codesOfBlocks({ steps }: Model): Set<string> {
  const codes = new Set<string>();
  for (const { step } of steps)
    for (const statement of statementsIn(step)) for (const { text } of statement.codes ?? []) codes.add(text);
  return codes;
}

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

const isPhaseWord = (kind: string): boolean => (phaseWords as readonly string[]).includes(kind);

/** A map that can go back to an earlier state; what a branch costs is what it changed. */
class Journal<V> {
  readonly now = new Map<string, V>();
  private readonly log: { key: string; before: V | undefined }[] = [];

  get length(): number {
    return this.log.length;
  }

  /** What has been set since `settle` was last called, as it is now. */
  settle(): readonly (readonly [string, V])[] {
    if (this.log.length === 0) return nobody;
    const set = this.log.map(({ key }) => [key, this.now.get(key)!] as const);
    this.log.length = 0;
    return set;
  }

  set(key: string, value: V): void {
    this.log.push({ key, before: this.now.get(key) });
    this.now.set(key, value);
  }

  /** Goes back to when the journal had `length` lines; gives what had been set since. */
  rewind(length: number): ReadonlyMap<string, V> {
    if (this.log.length === length) return nothing;
    const undone = new Map<string, V>();
    while (this.log.length > length) {
      const { key, before } = this.log.pop()!;
      if (!undone.has(key)) undone.set(key, this.now.get(key)!);
      if (before === undefined) this.now.delete(key);
      else this.now.set(key, before);
    }
    return undone;
  }
}

/** A list that is filled again and again. What was put in is taken out as a list that is no longer than it needs to be. */
class Batch<T> {
  private readonly items: T[] = [];
  private count = 0;

  get length(): number {
    return this.count;
  }

  at(index: number): T {
    return this.items[index]!;
  }

  add(item: T): void {
    this.items[this.count++] = item;
  }

  /** `alike` where that holds the same. */
  take(alike: readonly T[] = nobody): readonly T[] {
    const { items, count } = this;
    this.count = 0;
    let same = 0;
    while (same < count && items[same] === alike[same]) same++;
    if (same === count && same === alike.length) return alike;
    if (count === 0) return nobody;
    // What an earlier filling left behind the last item.
    if (items.length > count) items.length = count;
    return items.slice();
  }
}

const nothing: ReadonlyMap<string, never> = new Map<string, never>();
const nobody: readonly never[] = [];
const noFluid: FluidState = { drained: false, filled: false, out: 0, in: 0 };
const ordinary: Circumstances = {
  fresh: false,
  along: false,
  refittedOld: 0,
  refittedScrap: 0,
  holders: nobody,
  covers: nobody,
};
const ordinaryNew: Circumstances = { ...ordinary, fresh: true };
const ordinaryAlong: Circumstances = { ...ordinary, along: true };

/** What a step did besides its entries. */
interface Aside {
  /** Each with what it came to behind the step. */
  readonly fluids: readonly (readonly [string, FluidState])[];
  readonly swaps: readonly (readonly [string, string])[];
  readonly swappedFor: readonly (readonly [string, readonly string[]])[];
  /** Carrier and part, where one came to sit on the other. */
  readonly riders: readonly (readonly [string, string])[];
  /** Names that became unsure. */
  readonly doubted: readonly string[];
  readonly otherFluids: readonly OtherFluid[];
  readonly disagreements: readonly Disagreement[];
}
/** Words of the longest name that is looked for where blanks stand for its hyphens. */
const longestName = 4;

const nothingAside: Aside = {
  fluids: nobody,
  swaps: nobody,
  swappedFor: nobody,
  riders: nobody,
  doubted: nobody,
  otherFluids: nobody,
  disagreements: nobody,
};

/** What one step did, and what its outcome depends on. */
export class StepRecord {
  readonly step: StepEntry;
  readonly entries: readonly Entry[];
  readonly aside: Aside;
  /** Every name that the step asked about, and where the part was before the step. */
  readonly names: readonly string[];
  private readonly states: readonly (PartState | undefined)[];
  // Reckoned only when an edit asks for it.
  private knownInputs: ReadonlyMap<string, PartState | undefined> | undefined = undefined;
  private knownOutputs: ReadonlyMap<string, PartState> | undefined = undefined;

  constructor(
    step: StepEntry,
    entries: readonly Entry[],
    aside: Aside,
    names: readonly string[],
    states: readonly (PartState | undefined)[],
  ) {
    this.step = step;
    this.entries = entries;
    this.aside = aside;
    this.names = names;
    this.states = states;
  }

  /** Every name that the step asked about, with the state of the part before the step. */
  get inputs(): ReadonlyMap<string, PartState | undefined> {
    this.knownInputs ??= new Map(this.names.map((name, i) => [name, this.states[i]]));
    return this.knownInputs;
  }

  /** State behind the step of each part that it changed. */
  get outputs(): ReadonlyMap<string, PartState> {
    if (this.knownOutputs === undefined) {
      const last = new Map<string, PartState>();
      for (const { changes } of this.entries) for (const { part, after } of changes) last.set(part, after);
      this.knownOutputs = last;
    }
    return this.knownOutputs;
  }

  /** True where the step asked about one of `names`. */
  asksAny(names: ReadonlySet<string>): boolean {
    return names.size > 0 && this.names.some((name) => names.has(name));
  }
}

/** A name that the replay has come by. */
interface Tally {
  /** Absent where no part has that name. */
  readonly declaration: Declaration | undefined;
  /** Where its pieces are now. */
  state: PartState | undefined;
  /** The last step that asked about it. */
  step: StepEntry | undefined;
}

class Replay {
  private readonly model: Model;
  private readonly code: string | undefined;
  /** In a rerun, only of the names that the step at hand has asked about. */
  private readonly tallies = new Map<string, Tally>();
  /** State of a part before the first step; in a rerun, before the step at hand. */
  private fetch: (part: string) => PartState | undefined = (part) => this.initial.get(part);
  private initial: ReadonlyMap<string, PartState> = nothing;
  private readonly fluids = new Journal<FluidState>();
  private readonly unsure = new Set<string>();
  private readonly swaps = new Journal<string>();
  private readonly swappedFor = new Journal<readonly string[]>();
  /** Parts that sit on each carrier at the start. */
  private seated: ReadonlyMap<string, readonly string[]> = nothing;
  /** Parts that have come to sit on each carrier since. */
  private readonly riders = new Map<string, Set<string>>();
  private step!: StepEntry;
  // Of the statement at hand.
  private readonly actions = new Batch<Action>();
  private readonly changes = new Batch<Change>();
  // Of the step at hand.
  private readonly entries = new Batch<Entry>();
  private readonly asked = new Batch<string>();
  private readonly found = new Batch<PartState | undefined>();
  private readonly ridden = new Batch<readonly [string, string]>();
  private readonly doubted = new Batch<string>();
  private readonly otherFluids = new Batch<OtherFluid>();
  private readonly disagreements = new Batch<Disagreement>();

  constructor(model: Model, code: string | undefined) {
    this.model = model;
    this.code = code;
  }

  run(): Variant {
    this.initial = startOf(this.model, this.code);
    this.seat();
    // Both tables list the parts as they are declared.
    const declared = this.model.parts.values();
    this.initial.forEach((state, name) => {
      this.tallies.set(name, { declaration: declared.next().value, state, step: undefined });
    });
    const records: StepRecord[] = [];
    const cures = new CureClock(this.model, this.applies);
    for (const step of this.model.steps) {
      records.push(this.replay(step));
      cures.take(step);
    }
    const final = new Map<string, PartState>();
    this.tallies.forEach(({ state }, name) => {
      if (state !== undefined) final.set(name, state);
    });
    return this.variant(records, allEntries(records), final, cures.earlyLoads, branchesIn(records));
  }

  private variant(
    records: readonly StepRecord[],
    entries: readonly Entry[],
    final: ReadonlyMap<string, PartState>,
    earlyLoads: readonly EarlyLoad[],
    { otherFluids, disagreements }: Pick<Variant, 'otherFluids' | 'disagreements'>,
  ): Variant {
    return {
      code: this.code,
      entries,
      initial: this.initial,
      final,
      fluids: this.fluids.now,
      otherFluids,
      disagreements,
      earlyLoads,
      unsure: this.unsure,
      swaps: this.swaps.now,
      records,
    };
  }

  private readonly applies = (block: Statement): boolean => appliesTo(block, this.code);

  private replay(step: StepEntry): StepRecord {
    this.step = step;
    this.sequence(step.step.statements);
    return new StepRecord(step, this.entries.take(), this.aside(), this.asked.take(), this.found.take());
  }

  private aside(): Aside {
    const fluids = this.fluids.settle();
    const swaps = this.swaps.settle();
    const swappedFor = this.swappedFor.settle();
    const riders = this.ridden.take();
    const doubted = this.doubted.take();
    const otherFluids = this.otherFluids.take();
    const disagreements = this.disagreements.take();
    const inAll =
      fluids.length +
      swaps.length +
      swappedFor.length +
      riders.length +
      doubted.length +
      otherFluids.length +
      disagreements.length;
    if (inAll === 0) return nothingAside;
    return { fluids, swaps, swappedFor, riders, doubted, otherFluids, disagreements };
  }

  /** As `run`; `before` has the same number of steps, and the names in `changed` are declared otherwise in it. */
  rerun(before: Model, known: Variant, changed: ReadonlySet<string>): Variant {
    this.initial = startAgain(this.model, this.code, before, known.initial);
    this.seat();
    /** Names that stand otherwise than they stood at the same place before, with what differs of the part. */
    const dirty = new Set<string>(changed);
    const values = new Map<string, PartState | undefined>();
    for (const name of namesChanged(known.initial, this.initial)) dirty.add(name);
    for (const name of dirty) values.set(name, this.initial.get(name));
    const { steps } = this.model;
    /** By place, 1 for steps that may come out otherwise, or that did something besides their entries. */
    const due = new Uint8Array(steps.length);
    for (let i = 0; i < steps.length; i++)
      if (steps[i] !== before.steps[i] || known.records[i]!.aside !== nothingAside) due[i] = 1;
    /** Names whose steps are due already: one part may come out otherwise in every step. */
    const marked = new Set<string>();
    const markAsking = (name: string): void => {
      if (marked.has(name)) return;
      marked.add(name);
      for (const i of stepsAsking(known, name)) due[i] = 1;
    };
    // What else a step can ask about, as it was at the same place before.
    const old = new Replay(before, known.code);
    old.initial = known.initial;
    old.seat();
    for (const word of this.unsure) if (!old.unsure.has(word)) dirty.add(word);
    for (const word of old.unsure) if (!this.unsure.has(word)) dirty.add(word);
    if (this.seated !== old.seated)
      for (const carrier of new Set([...this.seated.keys(), ...old.seated.keys()]))
        if (!sameList(this.seated.get(carrier), old.seated.get(carrier))) dirty.add(carrier);
    for (const name of dirty) markAsking(name);
    const records = known.records.slice();
    /** Places of the steps that were replayed. */
    const replayed: number[] = [];
    let branches: Pick<Variant, 'otherFluids' | 'disagreements'> | undefined = known;
    const stateBefore = (part: string, at: number): PartState | undefined => {
      for (let i = at - 1; i >= 0; i--) {
        const state = known.records[i]!.outputs.get(part);
        if (state !== undefined) return state;
      }
      return known.initial.get(part);
    };
    for (let i = 0; i < steps.length; i++) {
      if (due[i] === 0) continue;
      const record = known.records[i]!;
      if (record.step === steps[i] && !record.asksAny(dirty)) {
        this.take(record);
        old.take(record);
        continue;
      }
      this.tallies.clear();
      this.fetch = (part) =>
        dirty.has(part) && values.has(part)
          ? values.get(part)
          : record.inputs.has(part)
            ? record.inputs.get(part)
            : stateBefore(part, i);
      const now = this.replay(steps[i]!);
      records[i] = now;
      replayed.push(i);
      if (tellsOfBranches(record) || tellsOfBranches(now)) branches = undefined;
      old.take(record);
      const touched = new Set([...namesSet(record), ...namesSet(now)]);
      for (const part of touched) {
        const was = record.outputs.has(part)
          ? record.outputs.get(part)
          : record.inputs.has(part)
            ? record.inputs.get(part)
            : stateBefore(part, i);
        const is = now.outputs.get(part) ?? this.fetch(part);
        if (
          changed.has(part) ||
          !(was === is || (was !== undefined && is !== undefined && sameFields(was, is))) ||
          !sameFields(this.fluids.now.get(part), old.fluids.now.get(part)) ||
          this.swaps.now.get(part) !== old.swaps.now.get(part) ||
          !sameList(this.swappedFor.now.get(part), old.swappedFor.now.get(part)) ||
          this.unsure.has(part) !== old.unsure.has(part) ||
          !sameList(this.ridersOf(part), old.ridersOf(part))
        ) {
          dirty.add(part);
          values.set(part, is);
          markAsking(part);
        } else {
          dirty.delete(part);
          values.delete(part);
        }
      }
    }
    let { final } = known;
    const exchange = exchangeBetween(known.initial, this.initial);
    if (namesAmended(known.initial, this.initial) !== undefined) {
      const amendments = new Map<string, PartState>();
      for (const [name, state] of values)
        if (dirty.has(name) && final.has(name) && final.get(name) !== state) amendments.set(name, state!);
      if (amendments.size > 0) final = amended(final, amendments);
    } else if (exchange !== undefined) {
      const stateOf = (name: string): PartState => (dirty.has(name) && values.get(name)) || known.final.get(name)!;
      const staying = new Map<string, PartState>();
      for (const name of values.keys()) {
        const stays = final.has(name) && this.initial.has(name) && !exchange.incoming.includes(name);
        if (stays && stateOf(name) !== final.get(name)) staying.set(name, stateOf(name));
      }
      final = exchanged(final, exchange, stateOf, staying);
    } else {
      const states = new Map<string, PartState>();
      for (const name of this.initial.keys())
        states.set(name, (dirty.has(name) && values.has(name) ? values.get(name) : known.final.get(name))!);
      final = states;
    }
    const earlyLoads = leavesCures(before, this.model) ? known.earlyLoads : earlyLoadsOf(this.model, this.applies);
    const entries = joinedEntries(records, known, replayed);
    const now = this.variant(records, entries, final, earlyLoads, branches ?? branchesIn(records));
    carryAsking(known, now, replayed);
    return now;
  }

  /** Goes on behind a step that did what `record` says. */
  private take({ aside }: StepRecord): void {
    if (aside === nothingAside) return;
    for (const [name, state] of aside.fluids) this.fluids.now.set(name, state);
    for (const [part, successor] of aside.swaps) this.swaps.now.set(part, successor);
    for (const [part, replaced] of aside.swappedFor) this.swappedFor.now.set(part, replaced);
    for (const [carrier, part] of aside.riders) this.seatOn(carrier, part);
    for (const name of aside.doubted) this.unsure.add(name);
  }

  /** Every question that the outcome depends on goes by here. */
  private tally(name: string): Tally {
    let tally = this.tallies.get(name);
    if (tally === undefined) {
      tally = { declaration: this.model.parts.get(name), state: this.fetch(name), step: undefined };
      this.tallies.set(name, tally);
    }
    if (tally.step !== this.step) {
      tally.step = this.step;
      this.asked.add(name);
      this.found.add(tally.state);
    }
    return tally;
  }

  /** State of a part; undefined where there is no such part. */
  private state(part: string): PartState | undefined {
    return this.tally(part).state;
  }

  private asks(name: string): string {
    this.tally(name);
    return name;
  }

  private doubt(name: string): void {
    if (this.unsure.has(name)) return;
    this.unsure.add(name);
    this.doubted.add(name);
  }

  /** Who sits on whom at the start, and what cannot be told from the start. */
  private seat(): void {
    // Lines behind a phase that could not be read, above its first step.
    if (this.model.lost.size > 0)
      for (const { item, lostWords } of chunksOf(this.model))
        if (lostWords.length > 0 && item !== undefined && isPhaseWord(item.kind))
          for (const word of lostWords) this.unsure.add(word);
    this.seated = seatsIn(this.model.parts);
  }

  private addRider(carrier: string, part: string): void {
    this.asks(carrier);
    if (this.seatOn(carrier, part)) this.ridden.add([carrier, part]);
  }

  private *ridersOf(carrier: string): Generator<string> {
    yield* this.seated.get(carrier) ?? nobody;
    yield* this.riders.get(carrier) ?? nobody;
  }

  /** False where it is known already. */
  private seatOn(carrier: string, part: string): boolean {
    if (this.model.parts.get(part)?.carriedBy?.text === carrier) return false;
    const riders = this.riders.get(carrier);
    if (riders === undefined) this.riders.set(carrier, new Set([part]));
    else if (riders.has(part)) return false;
    else riders.add(part);
    return true;
  }

  // --- statements -----------------------------------------------------------------------------------------------------

  private sequence(statements: readonly Statement[]): void {
    for (const statement of statements) {
      if (!appliesTo(statement, this.code)) {
        // A line that could not be read may stand in the wrong block; its names are left alone all the same.
        for (const inner of walk([statement])) {
          this.leaveAlone(inner);
          // Nor is it known where a block without its `end` was to end.
          if (statement.broken) eachReference(inner, ({ text }) => this.doubt(this.asks(text)));
        }
        continue;
      }
      if (statement.branches === undefined) this.single(statement);
      else if (statement.kind === 'for') for (const branch of statement.branches) this.sequence(branch.statements);
      else this.block(statement);
    }
  }

  private leaveAlone(statement: Statement): void {
    const words = statement.words ?? statement.lost;
    if (words === undefined) return;
    let before = statement.name === undefined ? [] : [statement.name.text];
    for (const { text } of words) {
      this.doubt(this.asks(text));
      // `4 bolts`
      if (text.endsWith('s')) this.doubt(this.asks(text.slice(0, -1)));
      // `seal ring` may stand for `seal-ring`, whose own name may be in capitals.
      before = before.map((each) => `${each}-${text}`);
      for (const joined of before) {
        this.doubt(this.asks(joined));
        this.doubt(this.asks(joined.toLowerCase()));
      }
      before = [text, ...before].slice(0, longestName - 1);
    }
  }

  private entry(statement: Statement, role: Entry['role']): void {
    const actions = this.actions.take();
    // Where nothing else happened, the actions are all that changed anything.
    this.entries.add({ statement, step: this.step, role, actions, changes: this.changes.take(actions) });
  }

  private single(statement: Statement): void {
    if (statement.words === undefined) this.effect(statement);
    this.leaveAlone(statement);
    this.entry(statement, 'statement');
  }

  /** Replays each branch from the same state; where they meet, they must agree. */
  private block(block: Statement): void {
    const branches = block.branches!.map((branch) => branch.statements);
    if (block.kind === 'if' && branches.length === 1) branches.push([]);
    const ends: {
      parts: ReadonlyMap<string, PartState>;
      fluids: ReadonlyMap<string, FluidState>;
      swaps: ReadonlyMap<string, string>;
      swappedFor: ReadonlyMap<string, readonly string[]>;
    }[] = [];
    const before = new Map<string, PartState>();
    for (const statements of branches) {
      const from = this.entries.length;
      const marks = [this.fluids.length, this.swaps.length, this.swappedFor.length] as const;
      this.sequence(statements);
      let changed: Map<string, PartState> | undefined;
      for (let i = from; i < this.entries.length; i++) {
        for (const change of this.entries.at(i).changes) {
          changed ??= new Map();
          if (!changed.has(change.part) && !before.has(change.part)) before.set(change.part, change.before);
          changed.set(change.part, this.state(change.part)!);
        }
      }
      ends.push({
        parts: changed ?? nothing,
        fluids: this.fluids.rewind(marks[0]),
        swaps: this.swaps.rewind(marks[1]),
        swappedFor: this.swappedFor.rewind(marks[2]),
      });
      if (changed !== undefined) for (const part of changed.keys()) this.set(part, before.get(part)!);
      this.entry(block, 'restored');
    }
    for (const [part, start] of before) {
      const states = ends.map((end) => end.parts.get(part) ?? start);
      if (states.every((state) => samePart(state, states[0]!))) {
        const changed = states.find((state) => state !== start) ?? start;
        const marked = states.every((state) => state.marked);
        if (changed.marked === marked) this.set(part, changed);
        else {
          const merged = changed.copy();
          merged.marked = marked;
          this.set(part, merged);
        }
        continue;
      }
      // Where `end` is missing, nobody knows what the branch holds.
      if (!this.unsure.has(part) && !block.broken)
        this.disagreements.add({ block, subject: part, kind: 'part', states });
      this.doubt(part);
      this.set(part, states[0]!);
    }
    if (ends.some((end) => end.fluids.size > 0)) this.mergeFluids(block, ends);
    const [first] = ends;
    for (const [part, successor] of first!.swaps) this.swaps.set(part, successor);
    for (const [part, replaced] of first!.swappedFor) this.swappedFor.set(part, replaced);
    this.entry(block, 'merged');
  }

  private mergeFluids(block: Statement, ends: readonly { fluids: ReadonlyMap<string, FluidState> }[]): void {
    for (const supply of new Set(ends.flatMap((end) => [...end.fluids.keys()]))) {
      const start = this.fluids.now.get(supply) ?? noFluid;
      const states = ends.map((end) => end.fluids.get(supply) ?? start);
      if (!states.every((state) => sameFluid(state, states[0]!))) {
        if (!block.broken) this.disagreements.add({ block, subject: supply, kind: 'supply', states });
        this.doubt(supply);
      }
      const merged = states.find((state) => state !== start) ?? start;
      this.fluids.set(supply, merged);
      for (const state of states)
        if (state !== merged && state !== start) this.otherFluids.add({ supply, state, merged });
    }
  }

  private set(part: string, after: PartState): void {
    const tally = this.tally(part);
    const before = tally.state!;
    if (before === after) return;
    tally.state = after;
    this.changes.add({ part, before, after });
  }

  private effect(statement: Statement): void {
    const { kind, name } = statement;
    if (name === undefined) return;
    if (kind === 'drain' || kind === 'fill') {
      if (this.model.supplies.has(this.asks(name.text))) this.fluid(statement, { statement, name });
      return;
    }
    const before = this.state(name.text);
    if (before === undefined) {
      const fluid = kind === 'omit' ? this.fluids.now.get(name.text) : undefined;
      if (fluid !== undefined) this.fluids.set(name.text, { ...fluid, drained: false });
      return;
    }
    const mark: Mark = { statement, name };
    switch (kind) {
      case 'remove':
      case 'disconnect':
        this.remove(statement, mark, before);
        return;
      case 'discard':
      case 'replace':
        this.discard(statement, mark, before);
        return;
      case 'fit':
      case 'connect':
        this.fitAll(statement, mark, before);
        return;
      case 'swap':
        this.swap(statement, mark, before);
        return;
      case 'transfer':
        this.transfer(statement, mark, before);
        return;
      case 'omit':
        this.omit(statement, mark, before);
        return;
      case 'loosen':
      case 'tighten':
        this.turn(statement, mark, before);
        return;
      case 'mark': {
        const available = on(before) + onBench(before);
        const after = before.copy();
        after.marked = true;
        this.act('mark', mark, undefined, available, available, before, after);
        return;
      }
    }
  }

  /** `changed` is where the part is now; undefined where it stays as it is. */
  private act(
    verb: Verb,
    mark: Mark,
    wanted: number | undefined,
    available: number,
    acted: number,
    before: PartState,
    changed: Pieces | undefined,
    circumstances: Circumstances = ordinary,
  ): void {
    const part = mark.name.text;
    if (changed !== undefined) limitShares(changed);
    const after = changed ?? before;
    const action = new Action(
      verb,
      mark,
      this.unsure.has(part),
      wanted,
      available,
      acted,
      before,
      after,
      circumstances,
    );
    this.actions.add(action);
    if (changed === undefined) return;
    this.tally(part).state = changed;
    this.changes.add(action);
  }

  // --- what is in the way ---------------------------------------------------------------------------------------------

  /** The declarations whose place a part has taken by swaps, its own first. */
  private placesOf(part: string): Declaration[] {
    const places: Declaration[] = [];
    const seen = new Set<string>();
    const queue = [part];
    for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
      if (seen.has(next)) continue;
      seen.add(this.asks(next));
      const declaration = this.model.parts.get(next);
      if (declaration !== undefined) places.push(declaration);
      queue.push(...(this.swappedFor.now.get(next) ?? nobody));
    }
    return places;
  }

  /** A part and what has been swapped in for it. */
  private withSuccessors(part: string): string[] {
    const chain = [part];
    this.asks(part);
    const swaps = this.swaps.now;
    for (let next = swaps.get(part); next !== undefined && !chain.includes(next); next = swaps.get(next))
      chain.push(this.asks(next));
    return chain;
  }

  private blocker(part: string, state: PartState | undefined): Blocker | undefined {
    const pieces = state === undefined || this.unsure.has(part) ? 0 : on(state) - state.stranded;
    return pieces === 0 ? undefined : { part, on: pieces, cameOff: state!.cameOff };
  }

  private holdersOf(part: string, along: ReadonlySet<string>): readonly Blocker[] {
    let holders: Blocker[] | undefined;
    // Nearly no part has taken the place of another: then no list is made.
    if (this.swappedFor.now.has(part))
      for (const place of this.placesOf(part)) holders = this.holdersBy(place, part, along, holders);
    else holders = this.holdersBy(this.tally(part).declaration, part, along, holders);
    return distinct(holders);
  }

  private holdersBy(
    place: Declaration | undefined,
    part: string,
    along: ReadonlySet<string>,
    holders: Blocker[] | undefined,
  ): Blocker[] | undefined {
    if (place === undefined) return holders;
    for (const { text } of place.heldBy) {
      if (this.swaps.now.has(text))
        for (const holder of this.withSuccessors(text)) holders = this.addHolder(holder, part, along, holders);
      else holders = this.addHolder(text, part, along, holders);
    }
    return holders;
  }

  private addHolder(
    holder: string,
    part: string,
    along: ReadonlySet<string>,
    holders: Blocker[] | undefined,
  ): Blocker[] | undefined {
    const state = this.state(holder);
    if (along.has(holder) || holder === part) return holders;
    const blocker = this.blocker(holder, state);
    if (blocker === undefined) return holders;
    // A captive fastener stays on the part that it holds; loosened, it holds no longer.
    if (state!.tight + state!.snug === 0 && state!.carried.some((carried) => carried.by === part)) return holders;
    return withBlocker(holders, blocker);
  }

  /** What the part sits behind; while its carrier is on, what the carrier sits behind as well. `itself` is in no way. */
  private coversOf(part: string, along: ReadonlySet<string> = none, itself?: string): readonly Blocker[] {
    return distinct(this.covers(part, along, itself, undefined, undefined));
  }

  private covers(
    part: string,
    along: ReadonlySet<string>,
    itself: string | undefined,
    visited: Set<string> | undefined,
    found: Blocker[] | undefined,
  ): Blocker[] | undefined {
    const { declaration, state } = this.tally(part);
    let covers = found;
    if (this.swappedFor.now.has(part))
      for (const place of this.placesOf(part)) covers = this.coversAt(place, part, along, itself, covers);
    else covers = this.coversAt(declaration, part, along, itself, covers);
    if (state === undefined) return covers;
    for (const { by } of state.carried) {
      const carrier = this.state(by);
      if (carrier === undefined || on(carrier) === 0) continue;
      visited ??= new Set([part]);
      if (visited.has(by)) continue;
      visited.add(by);
      covers = this.covers(by, along, itself, visited, covers);
    }
    return covers;
  }

  private coversAt(
    place: Declaration | undefined,
    part: string,
    along: ReadonlySet<string>,
    itself: string | undefined,
    covers: Blocker[] | undefined,
  ): Blocker[] | undefined {
    if (place === undefined) return covers;
    for (const { text } of place.behind) {
      if (this.swaps.now.has(text))
        for (const cover of this.withSuccessors(text)) covers = this.addCover(cover, part, along, itself, covers);
      else covers = this.addCover(text, part, along, itself, covers);
    }
    return covers;
  }

  private addCover(
    cover: string,
    part: string,
    along: ReadonlySet<string>,
    itself: string | undefined,
    covers: Blocker[] | undefined,
  ): Blocker[] | undefined {
    const state = this.state(cover);
    if (along.has(cover) || cover === part || cover === itself) return covers;
    const blocker = this.blocker(cover, state);
    return blocker === undefined ? covers : withBlocker(covers, blocker);
  }

  // --- effects on parts -----------------------------------------------------------------------------------------------

  private remove(statement: Statement, mark: Mark, before: PartState): void {
    const part = mark.name.text;
    const together =
      statement.together?.filter(({ name }) => this.state(name.text) !== undefined && name.text !== part) ?? nobody;
    const along = together.length === 0 ? none : new Set(together.map(({ name }) => name.text));
    const available = on(before);
    const wanted = written(statement.count);
    const acted = Math.min(wanted ?? available, available);
    const spoils = statement.spoiled !== undefined || this.tally(part).declaration?.renew !== undefined;
    const after = before.copy();
    after.lift(acted);
    if (spoils) after.spoiled += acted;
    else after.off += acted;
    after.taken += acted;
    after.tightHoles = nobody;
    if (acted > 0) {
      after.cameOff = true;
      after.lastOff = mark;
    }
    const holders = available > 0 ? this.holdersOf(part, along) : nobody;
    const covers = available > 0 ? this.coversOf(part, along, part) : nobody;
    this.act('remove', mark, wanted, available, acted, before, after, hindered(holders, covers));
    for (const { name, count } of together) {
      const rider = name.text;
      const state = this.state(rider)!;
      const wanted = written(count);
      const n = Math.min(wanted ?? on(state), on(state));
      this.addRider(part, rider);
      let seated: Pieces | undefined;
      if (n > 0) {
        seated = state.copy();
        seated.carried = carriedBy(state, part, n);
      }
      this.act('remove', { statement, name }, wanted, on(state), n, state, seated, ordinaryAlong);
    }
  }

  /** To scrap from the bench, or from a carrier that is off; `replace` lays a new one on the bench in its place. */
  private discard(statement: Statement, mark: Mark, before: PartState): void {
    const part = mark.name.text;
    const onOffCarriers = before.carried.reduce((sum, { by, count }) => sum + (this.isOff(by) ? count : 0), 0);
    const hanging = Math.min(on(before), Math.max(onOffCarriers, before.stranded));
    const bench = onBench(before);
    const available = bench + hanging;
    const wanted = written(statement.count);
    const acted = Math.min(wanted ?? available, available);
    const spoiled = Math.min(before.spoiled, acted);
    const off = Math.min(before.off, acted - spoiled);
    const fresh = Math.min(before.fresh, acted - spoiled - off);
    const hung = acted - spoiled - off - fresh;
    const stranded = Math.min(before.stranded, hung);
    const replaced = statement.kind === 'replace';
    const single = this.tally(part).declaration?.renew !== undefined;
    // What hung on a carrier that was swapped out goes to scrap with it; everything else is owed.
    const settled = replaced || before.strandedBy?.statement.kind !== 'swap' ? 0 : stranded;
    const owed = replaced ? 0 : acted - settled;
    const after = before.copy();
    after.lift(hung);
    after.spoiled -= spoiled;
    after.off -= off;
    after.fresh += (replaced ? acted : 0) - fresh;
    after.taken += hung - settled;
    after.cameOff = true;
    if (hung > 0 || (replaced && acted > 0 && before.lastOff === undefined)) after.lastOff = mark;
    if (acted > 0)
      after.turnover = {
        ...before.turnover,
        stranded: before.stranded - stranded,
        settled: before.settled + settled,
        scrap: before.scrap + owed,
        scrapOnCarrier: before.scrapOnCarrier + (replaced ? 0 : hung - settled),
        scrapSpoiled: before.scrapSpoiled + (replaced ? 0 : single ? owed : spoiled),
        lastScrap: mark,
      };
    this.act(replaced ? 'replace' : 'discard', mark, wanted, available, acted, before, after);
    if (acted > 0) this.strand(part, mark);
  }

  /** True when the part, or what carries it, is off the unit. */
  private isOff(part: string, visited: ReadonlySet<string> = none): boolean {
    const state = this.state(part);
    if (state === undefined || state.stock || visited.has(part)) return false;
    return on(state) === 0 || state.carried.some(({ by }) => this.isOff(by, new Set([...visited, part])));
  }

  /** When no piece of `carrier` is left, what still sits on it is stranded. */
  private strand(carrier: string, mark: Mark): void {
    const state = this.state(carrier)!;
    if (on(state) > 0 || state.off + state.spoiled > 0 || state.stock) return;
    for (const rider of this.ridersOf(carrier)) {
      const before = this.state(rider)!;
      const sitting = before.carried.find(({ by }) => by === carrier)?.count ?? 0;
      if (before.stock || sitting === 0) continue;
      const stranded = Math.min(sitting, on(before) - before.stranded);
      // What was thrown away while it hung there needs no successor on the part that is swapped in.
      const settled = mark.statement.kind === 'swap' ? before.scrapOnCarrier : 0;
      if (stranded + settled === 0) continue;
      const after = before.copy();
      after.turnover = {
        ...before.turnover,
        stranded: before.stranded + stranded,
        scrap: before.scrap - settled,
        settled: before.settled + settled,
        strandedBy: stranded > 0 ? mark : before.strandedBy,
      };
      limitShares(after);
      this.set(rider, after);
    }
  }

  private fitAll(statement: Statement, mark: Mark, before: PartState): void {
    const { together } = statement;
    const along = together === undefined ? none : new Set(together.map(({ name }) => name.text));
    this.fit(mark, before, written(statement.count), statement.fresh !== undefined, along, undefined);
    for (const { name, count } of together ?? nobody) {
      const state = this.state(name.text);
      if (state === undefined || name.text === mark.name.text) continue;
      // What stayed on its assembly is on already; what was stripped from it, or never sat on it, goes on now.
      const booked = state.carried.find(({ by }) => by === mark.name.text)?.count ?? 0;
      const sitting = Math.min(booked, on(state));
      const wanted = count === undefined ? (booked > 0 ? booked - sitting : undefined) : written(count)! - sitting;
      if (onBench(state) + state.scrap === 0 || (wanted !== undefined && wanted <= 0)) continue;
      this.fit({ statement, name }, state, wanted, false, new Set([mark.name.text, ...along]), mark.name.text);
    }
  }

  private fit(
    mark: Mark,
    before: PartState,
    wanted: number | undefined,
    fresh: boolean,
    along: ReadonlySet<string>,
    onto: string | undefined,
  ): void {
    const part = mark.name.text;
    const good = before.off + before.fresh;
    const old = before.spoiled + before.scrapSpoiled;
    // What is off and good goes back first; what must not go back is taken only where the text asks for it.
    const available = fresh
      ? missing(before) + before.stranded + before.settled + before.inStock
      : wanted === undefined
        ? good || old || before.scrap
        : wanted <= good
          ? good
          : good + old || before.scrap;
    const acted = Math.min(wanted ?? available, available);
    let rest = acted;
    const take = (count: number): number => {
      const taken = Math.min(count, rest);
      rest -= taken;
      return taken;
    };
    let refittedOld = 0;
    let refittedScrap = 0;
    let { off, fresh: new_, spoiled, scrap, stranded, settled, inStock } = before;
    if (fresh) {
      scrap -= take(scrap);
      spoiled -= take(spoiled);
      stranded -= take(stranded);
      settled -= take(settled);
      off -= take(off);
      new_ -= take(new_);
      inStock -= take(inStock);
    } else {
      new_ -= take(new_);
      off -= take(off);
      const fromSpoiled = take(spoiled);
      const fromScrapSpoiled = take(before.scrapSpoiled);
      refittedScrap = take(scrap - fromScrapSpoiled);
      refittedOld = fromSpoiled + fromScrapSpoiled;
      spoiled -= fromSpoiled;
      scrap -= fromScrapSpoiled + refittedScrap;
    }
    const fastener = this.model.fasteners.has(part);
    const after = before.copy();
    // A new one in place of one that stayed on the scrapped carrier changes nothing in the count.
    after.lift(before.stranded - stranded);
    if (fastener) after.loose += acted;
    else after.tight += acted;
    after.off = off;
    after.fresh = new_;
    after.spoiled = spoiled;
    const complete = off + new_ + spoiled + scrap + stranded === 0;
    if (complete) after.taken = after.back = 0;
    else after.back += acted;
    if (before.stock) after.cameOff = true;
    if (acted > 0) {
      after.lastBack = mark;
      if (fastener) after.lastLoose = mark;
      after.tightHoles = nobody;
    }
    if (fresh || scrap !== before.scrap || (before.stock && acted > 0))
      after.turnover = {
        ...before.turnover,
        stock: before.stock && acted === 0,
        scrap,
        stranded,
        settled,
        inStock,
      };
    // Only a new piece goes straight onto what took the carrier's place; an old one is `transfer`red.
    if (onto !== undefined) {
      const sitting = Math.min(on(before), before.carried.find(({ by }) => by === onto)?.count ?? 0);
      after.carried = carriedBy(before, onto, acted + sitting);
    } else if (fresh) after.carried = this.onSuccessors(before.carried, acted);
    for (const { by } of after.carried) this.addRider(by, part);
    const holders = on(after) > 0 ? thatCameOff(this.holdersOf(part, along)) : nobody;
    const covers = this.coversOf(part, along);
    let circumstances = hindered(holders, covers);
    if (fresh || onto !== undefined || refittedOld + refittedScrap > 0)
      circumstances =
        circumstances === ordinary && fresh
          ? ordinaryNew
          : { fresh, along: onto !== undefined, refittedOld, refittedScrap, holders, covers };
    this.act('fit', mark, wanted, available, acted, before, after, circumstances);
  }

  /** New pieces that sat on a carrier which was swapped out go onto what took its place. */
  private onSuccessors(carried: readonly Carried[], pieces: number): readonly Carried[] {
    if (carried.length === 0) return nobody;
    let rest = pieces;
    const counts = new Map<string, number>();
    const add = (by: string, count: number): void => {
      if (count > 0) counts.set(by, (counts.get(by) ?? 0) + count);
    };
    for (const { by, count } of carried) {
      const successor = this.withSuccessors(by).at(-1)!;
      const moved = successor === by ? 0 : Math.min(count, rest);
      rest -= moved;
      add(by, count - moved);
      add(successor, moved);
    }
    return [...counts].map(([by, count]) => ({ by, count }));
  }

  private swap(statement: Statement, mark: Mark, before: PartState): void {
    const target = statement.targets?.[0];
    if (target === undefined || this.state(target.text) === undefined || target.text === mark.name.text) return;
    const wanted = written(statement.count);
    const bench = onBench(before) + before.scrap;
    const available = bench;
    // An old part that is still on is told of, then taken as off, so that one slip gives one finding.
    const acted = Math.min(wanted ?? (bench > 0 ? bench : on(before)), bench > 0 ? bench : on(before));
    let rest = acted;
    const take = (count: number): number => {
      const taken = Math.min(count, rest);
      rest -= taken;
      return taken;
    };
    const after = before.copy();
    after.spoiled -= take(before.spoiled);
    after.off -= take(before.off);
    after.fresh -= take(before.fresh);
    const scrap = before.scrap - take(before.scrap);
    after.tight -= take(before.tight);
    after.snug -= take(before.snug);
    after.loose -= take(before.loose);
    after.cameOff = true;
    after.turnover = { ...before.turnover, scrap, swappedOut: before.swappedOut + acted, lastScrap: mark };
    this.act('swap-out', mark, wanted, available, acted, before, after);
    const inBefore = this.state(target.text)!;
    const pieces = wanted ?? (inBefore.stock ? inBefore.inStock : acted);
    const inMark = { statement, name: target };
    const inAfter = inBefore.copy();
    inAfter.fresh += pieces;
    inAfter.taken += pieces;
    inAfter.cameOff = true;
    inAfter.lastOff = inMark;
    inAfter.turnover = { ...inBefore.turnover, stock: false, inStock: Math.max(0, inBefore.inStock - pieces) };
    this.act('swap-in', inMark, wanted, pieces, pieces, inBefore, inAfter);
    const old = mark.name.text;
    const replaced = this.swappedFor.now.get(target.text) ?? [];
    this.swaps.set(old, target.text);
    if (!replaced.includes(old)) this.swappedFor.set(target.text, [...replaced, old]);
    this.strand(old, mark);
  }

  private transfer(statement: Statement, mark: Mark, before: PartState): void {
    const source = statement.source;
    const target = statement.targets?.[0];
    if (source === undefined || target === undefined) return;
    if (this.state(source.text) === undefined || this.state(target.text) === undefined) return;
    const available = before.carried.find(({ by }) => by === source.text)?.count ?? 0;
    const wanted = written(statement.count);
    const acted = Math.min(wanted ?? available, available);
    const carried = [
      ...before.carried
        .map(({ by, count }) => (by === source.text ? { by, count: count - acted } : { by, count }))
        .filter(({ by, count }) => count > 0 && by !== target.text),
      { by: target.text, count: acted + (before.carried.find(({ by }) => by === target.text)?.count ?? 0) },
    ];
    this.addRider(target.text, mark.name.text);
    let after: Pieces | undefined;
    if (acted > 0) {
      after = before.copy();
      after.carried = carried;
      const stranded = Math.min(before.stranded, acted);
      if (stranded > 0) after.turnover = { ...before.turnover, stranded: before.stranded - stranded };
    }
    this.act('transfer', mark, wanted, available, acted, before, after);
  }

  private omit(statement: Statement, mark: Mark, before: PartState): void {
    const available = missing(before) + before.stranded + before.settled;
    const wanted = written(statement.count);
    const acted = Math.min(wanted ?? available, available);
    let rest = acted;
    const take = (count: number): number => {
      const taken = Math.min(count, rest);
      rest -= taken;
      return taken;
    };
    const after = before.copy();
    after.off -= take(before.off);
    after.fresh -= take(before.fresh);
    after.spoiled -= take(before.spoiled);
    const scrap = before.scrap - take(before.scrap);
    const stranded = before.stranded - take(before.stranded);
    const settled = before.settled - take(before.settled);
    after.lift(before.stranded - stranded);
    after.turnover = { ...before.turnover, scrap, stranded, settled, omitted: before.omitted + acted };
    this.act('omit', mark, wanted, available, acted, before, after);
  }

  private turn(statement: Statement, mark: Mark, before: PartState): void {
    const available = on(before);
    const loosening = statement.kind === 'loosen';
    const byHand = statement.byHand !== undefined;
    const holes = loosening ? nobody : numbersOf(statement.holes);
    const wanted = written(statement.count) ?? (holes.length > 0 ? new Set(holes).size : undefined);
    const acted = Math.min(wanted ?? available, available);
    const after = before.copy();
    if (loosening) {
      const fromTight = Math.min(before.tight, acted);
      const fromSnug = Math.min(before.snug, acted - fromTight);
      after.tight -= fromTight;
      after.snug -= fromSnug;
      after.loose += fromTight + fromSnug;
    } else {
      const again = holes.filter((hole) => before.tightHoles.includes(hole)).length;
      // What is loose is tightened first; pieces tightened again (a later pass) stay as they are.
      const turned = Math.max(0, acted - again);
      const fromLoose = Math.min(before.loose, turned);
      const fromOther = Math.min(byHand ? before.tight : before.snug, turned - fromLoose);
      after.loose -= fromLoose;
      if (byHand) {
        after.tight -= fromOther;
        after.snug += fromLoose + fromOther;
      } else {
        after.snug -= fromOther;
        after.tight += fromLoose + fromOther;
      }
    }
    if (loosening || byHand) {
      after.tightHoles = nobody;
      if (acted > 0) after.lastLoose = mark;
    } else if (holes.length > 0) after.tightHoles = [...new Set([...before.tightHoles, ...holes])];
    const part = mark.name.text;
    const holders = available > 0 && !loosening ? thatCameOff(this.holdersOf(part, none)) : nobody;
    const covers = available > 0 ? this.coversOf(part) : nobody;
    const verb = loosening ? 'loosen' : byHand ? 'hand-tighten' : 'tighten';
    this.act(verb, mark, wanted, available, acted, before, after, hindered(holders, covers));
  }

  // --- fluids and cures ---------------------------------------------------------------------------------------------

  private fluid(statement: Statement, mark: Mark): void {
    const before = this.fluids.now.get(mark.name.text) ?? noFluid;
    const extent = extentOf(statement.amount);
    const amount = extent === undefined ? 0 : (extent.low + extent.high) / 2;
    if (statement.kind === 'drain') {
      this.fluids.set(mark.name.text, {
        ...before,
        drained: true,
        filled: false,
        out: before.out + amount,
        lastDrain: mark,
      });
      return;
    }
    this.fluids.set(mark.name.text, {
      ...before,
      drained: false,
      filled: true,
      in: before.in + amount,
      fills: { statement, earlier: before.fills },
      lastFill: mark,
    });
  }
}

const thatCameOff = (blockers: readonly Blocker[]): readonly Blocker[] =>
  blockers.length === 0 ? nobody : blockers.filter(({ cameOff }) => cameOff);

function withBlocker(blockers: Blocker[] | undefined, blocker: Blocker): Blocker[] {
  if (blockers === undefined) return [blocker];
  blockers.push(blocker);
  return blockers;
}

/** Each part once, where it first stood. */
function distinct(blockers: readonly Blocker[] = nobody): readonly Blocker[] {
  if (blockers.length < 2) return blockers;
  return [...new Map(blockers.map((blocker) => [blocker.part, blocker])).values()];
}

const hindered = (holders: readonly Blocker[], covers: readonly Blocker[]): Circumstances =>
  holders.length + covers.length === 0 ? ordinary : { ...ordinary, holders, covers };

/** `xN` */
const written = (count: { readonly value: number } | undefined): number | undefined =>
  count === undefined ? undefined : unboxed(count.value);

const numbersOf = (literals: readonly { readonly value: number }[] | undefined): readonly number[] =>
  literals === undefined ? nobody : literals.map(({ value }) => unboxed(value));

/** Lists that are mostly empty, in one. */
function joined<T>(records: readonly StepRecord[], listOf: (aside: Aside) => readonly T[]): readonly T[] {
  const lists: (readonly T[])[] = [];
  for (const { aside } of records) if (listOf(aside).length > 0) lists.push(listOf(aside));
  return lists.length === 0 ? nobody : lists.flat();
}

function allEntries(records: readonly StepRecord[]): readonly Entry[] {
  const entries: Entry[] = [];
  for (const record of records) for (const entry of record.entries) entries.push(entry);
  return entries;
}

/** The same. All but those of the steps `replayed` are those of the `known` replay, which has as many records. */
function joinedEntries(records: readonly StepRecord[], known: Variant, replayed: readonly number[]): readonly Entry[] {
  if (replayed.length === 0) return known.entries;
  if (replayed.some((r) => records[r]!.entries.length !== known.records[r]!.entries.length)) return allEntries(records);
  // A list of its own even where both are empty: variants that share one are taken for alike.
  const entries = known.entries.slice();
  for (const r of replayed) {
    const { entries: now } = records[r]!;
    const at = firstOf(known.entries, r);
    for (let e = 0; e < now.length; e++) entries[at + e] = now[e]!;
  }
  return entries;
}

/** Where the entries of the step at `index` begin; entries stand in the order of the steps. */
function firstOf(entries: readonly Entry[], index: number): number {
  let low = 0;
  let high = entries.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (entries[middle]!.step.index < index) low = middle + 1;
    else high = middle;
  }
  return low;
}

const tellsOfBranches = ({ aside }: StepRecord): boolean => aside.otherFluids.length + aside.disagreements.length > 0;

const branchesIn = (records: readonly StepRecord[]): Pick<Variant, 'otherFluids' | 'disagreements'> => ({
  otherFluids: joined(records, ({ otherFluids }) => otherFluids),
  disagreements: joined(records, ({ disagreements }) => disagreements),
});

function* namesSet({ outputs, aside }: StepRecord): Generator<string> {
  yield* outputs.keys();
  for (const [name] of aside.fluids) yield name;
  for (const [name] of aside.swaps) yield name;
  for (const [name] of aside.swappedFor) yield name;
  yield* aside.doubted;
  for (const [carrier] of aside.riders) yield carrier;
}

function sameList(a: Iterable<string> | undefined, b: Iterable<string> | undefined): boolean {
  if (a === b) return true;
  const left = [...(a ?? nobody)];
  const right = [...(b ?? nobody)];
  return left.length === right.length && left.every((each, i) => each === right[i]);
}

const none: ReadonlySet<string> = new Set();
/** Who carries the pieces once `count` of them sit on `carrier`. */
function carriedBy(state: PartState, carrier: string, count: number): Carried[] {
  const booked = Math.max(count, state.carried.find(({ by }) => by === carrier)?.count ?? 0);
  const total = state.carried.reduce((sum, carried) => sum + carried.count, 0);
  const left = state.carried
    .filter(({ by }) => by !== carrier)
    .map(({ by, count: sitting }) => ({ by, count: Math.min(sitting, Math.max(0, total - booked)) }));
  return [...left.filter((carried) => carried.count > 0), { by: carrier, count: booked, along: true }];
}

/** The state of `part` before the entry at `index` (after it, with `index + 1`). Walks back from there. */
export function stateBefore(variant: Variant, part: string, index: number): PartState | undefined {
  const history = historyOf(variant).get(part);
  if (history === undefined) return variant.initial.get(part);
  let low = 0;
  let high = history.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (history[middle]!.index < index) low = middle + 1;
    else high = middle;
  }
  return low === 0 ? variant.initial.get(part) : history[low - 1]!.after;
}

const histories = new Beside<Variant['entries'], Map<string, { index: number; after: PartState }[]>>();
function historyOf(variant: Variant): Map<string, { index: number; after: PartState }[]> {
  let history = histories.get(variant.entries);
  if (history === undefined) {
    history = new Map();
    for (const [index, { changes }] of variant.entries.entries()) {
      for (const { part, after } of changes) {
        const list = history.get(part);
        if (list === undefined) history.set(part, [{ index, after }]);
        else list.push({ index, after });
      }
    }
    histories.set(variant.entries, history);
  }
  return history;
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
