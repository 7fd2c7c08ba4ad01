import { type Declaration, type Name, type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { chunksOf, countOf, type Model, type StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { extentOf } from '../model/quantity.ts';
import { statementsIn } from '../model/statements.ts';
import { type EarlyLoad, earlyLoadsOf } from './cures.ts';
import {
  type Carried,
  type FluidState,
  type Mark,
  missing,
  on,
  onBench,
  type PartState,
  sameFields,
  sameFluid,
  samePart,
  withShares,
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

/** What one statement did to one part. */
export interface Action {
  readonly verb: Verb;
  readonly part: string;
  readonly name: Name;
  /** A line that could not be read, or unlike branches, came before: where the part is cannot be told. */
  readonly unsure: boolean;
  readonly fresh: boolean;
  /** Named in `with`: it stays on its assembly. */
  readonly along: boolean;
  /** `xN` as written. */
  readonly wanted: number | undefined;
  /** Pieces that the statement could act on. */
  readonly available: number;
  readonly acted: number;
  /** Old pieces put back that must not go back: single-use, or damaged by removal. */
  readonly refittedOld: number;
  /** Good pieces put back that had gone to scrap. */
  readonly refittedScrap: number;
  readonly before: PartState;
  readonly after: PartState;
  /** What holds the part and is still on. */
  readonly holders: readonly Blocker[];
  /** What the part sits behind and is on. */
  readonly covers: readonly Blocker[];
}

export interface Change {
  readonly part: string;
  readonly before: PartState;
  readonly after: PartState;
}

/** One statement as replayed. `restored` and `merged` entries carry a block from branch to branch. */
export interface Entry {
  readonly index: number;
  readonly statement: Statement;
  readonly step: StepEntry;
  readonly role: 'statement' | 'restored' | 'merged';
  readonly actions: readonly Action[];
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
  const still: Model = Object.create(model, { steps: { value: nobody } });
  return { model, variants: [new Replay(still, undefined).run()] };
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
  const compare = (a: ReadonlyMap<string, unknown>, b: ReadonlyMap<string, unknown>): void => {
    if (a === b) return;
    for (const [name, declaration] of a) if (b.get(name) !== declaration) changed.add(name);
    for (const name of b.keys()) if (!a.has(name)) changed.add(name);
  };
  compare(before.parts, now.parts);
  compare(before.supplies, now.supplies);
  if (before.fasteners !== now.fasteners) {
    for (const name of before.fasteners) if (!now.fasteners.has(name)) changed.add(name);
    for (const name of now.fasteners) if (!before.fasteners.has(name)) changed.add(name);
  }
  return changed;
}

const appliesTo = (statement: Statement, code: string | undefined): boolean =>
  statement.kind !== 'for' || code === undefined || (statement.codes ?? []).some((name) => name.text === code);

function* applicable(statements: readonly Statement[], code: string | undefined): Generator<Statement> {
  for (const statement of statements) {
    if (!appliesTo(statement, code)) continue;
    yield statement;
    for (const branch of statement.branches ?? []) yield* applicable(branch.statements, code);
  }
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
  settle(): ReadonlyMap<string, V> {
    if (this.log.length === 0) return nothing;
    const set = new Map<string, V>();
    for (const { key } of this.log) set.set(key, this.now.get(key)!);
    this.log.length = 0;
    return set;
  }

  set(key: string, value: V): void {
    this.log.push({ key, before: this.now.get(key) });
    this.now.set(key, value);
  }

  /** Goes back to when the journal had `length` lines; gives what had been set since. */
  rewind(length: number): Map<string, V> {
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

const nothing: ReadonlyMap<string, never> = new Map<string, never>();
const nobody: readonly never[] = [];
/** Stand for empty lists and are never added to. */
const noActions: Action[] = [];
const noChanges: Change[] = [];
const noFluid: FluidState = { drained: false, filled: false, out: 0, in: 0 };

/** What one step did, and what its outcome depends on. */
export class StepRecord {
  readonly step: StepEntry;
  readonly entries: readonly Entry[];
  readonly fluids: ReadonlyMap<string, FluidState>;
  readonly swaps: ReadonlyMap<string, string>;
  readonly swappedFor: ReadonlyMap<string, readonly string[]>;
  /** Carrier and part, where one came to sit on the other. */
  readonly riders: readonly (readonly [string, string])[];
  /** Names that became unsure. */
  readonly doubted: readonly string[];
  readonly otherFluids: readonly OtherFluid[];
  readonly disagreements: readonly Disagreement[];
  /** The same for records that differ only in how their entries are counted. */
  readonly identity: object;
  private readonly asked: Asked;

  constructor(
    fields: Omit<StepRecord, 'identity' | 'inputs' | 'outputs' | 'from'>,
    asked: Asked,
    identity: object = {},
  ) {
    this.step = fields.step;
    this.entries = fields.entries;
    this.fluids = fields.fluids;
    this.swaps = fields.swaps;
    this.swappedFor = fields.swappedFor;
    this.riders = fields.riders;
    this.doubted = fields.doubted;
    this.otherFluids = fields.otherFluids;
    this.disagreements = fields.disagreements;
    this.asked = asked;
    this.identity = identity;
  }

  /** Every name that the step asked about, with the state of the part before the step. */
  get inputs(): ReadonlyMap<string, PartState | undefined> {
    const { asked } = this;
    if (asked.first === undefined) {
      const first = new Map<string, PartState | undefined>();
      const { names, states } = asked;
      for (let i = 0; i < names.length; i++) if (!first.has(names[i]!)) first.set(names[i]!, states[i]);
      asked.first = first;
    }
    return asked.first;
  }

  /** State behind the step of each part that it changed. */
  get outputs(): ReadonlyMap<string, PartState> {
    const { asked } = this;
    if (asked.last === undefined) {
      const last = new Map<string, PartState>();
      for (const { changes } of this.entries) for (const { part, after } of changes) last.set(part, after);
      asked.last = last;
    }
    return asked.last;
  }

  /** The same with its first entry counted as number `index`. */
  from(index: number): StepRecord {
    const moved = index - (this.entries[0]?.index ?? index);
    if (moved === 0) return this;
    const entries = this.entries.map((entry) => ({ ...entry, index: entry.index + moved }));
    return new StepRecord({ ...this, entries }, this.asked, this.identity);
  }
}

/** Questions as they came; gone through only when an edit asks for it. */
interface Asked {
  readonly names: string[];
  readonly states: (PartState | undefined)[];
  first?: ReadonlyMap<string, PartState | undefined>;
  last?: ReadonlyMap<string, PartState>;
}

class Replay {
  private readonly model: Model;
  private readonly code: string | undefined;
  /** In a rerun, only of the parts that the step at hand has asked about. */
  private readonly states = new Map<string, PartState>();
  /** In a rerun: the state of a part before the step at hand. */
  private fetch: ((part: string) => PartState | undefined) | undefined;
  private initial: ReadonlyMap<string, PartState> = nothing;
  private readonly fluids = new Journal<FluidState>();
  private otherFluids: OtherFluid[] = [];
  private readonly unsure = new Set<string>();
  private disagreements: Disagreement[] = [];
  private readonly swaps = new Journal<string>();
  private readonly swappedFor = new Journal<readonly string[]>();
  /** Parts that sit on each carrier at the start. */
  private seated: ReadonlyMap<string, ReadonlySet<string>> = nothing;
  /** Parts that have come to sit on each carrier since. */
  private readonly riders = new Map<string, Set<string>>();
  private step!: StepEntry;
  private entries: Entry[] = [];
  private count = 0;
  private actions = noActions;
  private changes = noChanges;
  private doubted: string[] = [];
  private ridden: [string, string][] = [];
  private names: string[] = [];
  private found: (PartState | undefined)[] = [];

  constructor(model: Model, code: string | undefined) {
    this.model = model;
    this.code = code;
  }

  run(): Variant {
    this.initial = this.start();
    for (const [name, state] of this.initial) this.states.set(name, state);
    const records = this.model.steps.map((step) => this.replay(step));
    return this.variant(records, this.states);
  }

  private variant(records: readonly StepRecord[], final: ReadonlyMap<string, PartState>): Variant {
    const entries: Entry[] = [];
    for (const record of records) for (const entry of record.entries) entries.push(entry);
    return {
      code: this.code,
      entries,
      initial: this.initial,
      final,
      fluids: this.fluids.now,
      otherFluids: joined(records, ({ otherFluids }) => otherFluids),
      disagreements: joined(records, ({ disagreements }) => disagreements),
      earlyLoads: earlyLoadsOf(this.model, (block) => appliesTo(block, this.code)),
      unsure: this.unsure,
      swaps: this.swaps.now,
      records,
    };
  }

  private replay(step: StepEntry): StepRecord {
    this.step = step;
    this.sequence(step.step.statements);
    const record = new StepRecord(
      {
        step,
        entries: this.entries,
        fluids: this.fluids.settle(),
        swaps: this.swaps.settle(),
        swappedFor: this.swappedFor.settle(),
        riders: this.ridden.length === 0 ? nobody : this.ridden,
        doubted: this.doubted.length === 0 ? nobody : this.doubted,
        otherFluids: this.otherFluids.length === 0 ? nobody : this.otherFluids,
        disagreements: this.disagreements.length === 0 ? nobody : this.disagreements,
      },
      { names: this.names, states: this.found },
    );
    this.entries = [];
    this.names = [];
    this.found = [];
    if (this.ridden.length > 0) this.ridden = [];
    if (this.doubted.length > 0) this.doubted = [];
    if (this.otherFluids.length > 0) this.otherFluids = [];
    if (this.disagreements.length > 0) this.disagreements = [];
    return record;
  }

  /** As `run`; `before` has the same number of steps, and the names in `changed` are declared otherwise in it. */
  rerun(before: Model, known: Variant, changed: ReadonlySet<string>): Variant {
    this.initial = this.start(before, known);
    /** Names that stand otherwise than they stood at the same place before, with what differs of the part. */
    const dirty = new Set<string>(changed);
    const values = new Map<string, PartState | undefined>();
    if (this.initial !== known.initial) {
      for (const [name, state] of this.initial) {
        if (known.initial.get(name) === state) continue;
        dirty.add(name);
      }
      for (const name of known.initial.keys()) if (!this.initial.has(name)) dirty.add(name);
    }
    for (const name of dirty) values.set(name, this.initial.get(name));
    // What else a step can ask about, as it was at the same place before.
    const old = new Replay(before, known.code);
    old.initial = known.initial;
    old.seat();
    for (const word of this.unsure) if (!old.unsure.has(word)) dirty.add(word);
    for (const word of old.unsure) if (!this.unsure.has(word)) dirty.add(word);
    if (this.seated !== old.seated)
      for (const carrier of new Set([...this.seated.keys(), ...old.seated.keys()]))
        if (!sameList(this.seated.get(carrier), old.seated.get(carrier))) dirty.add(carrier);
    const records: StepRecord[] = [];
    const { steps } = this.model;
    const stateBefore = (part: string, at: number): PartState | undefined => {
      for (let i = at - 1; i >= 0; i--) {
        const state = known.records[i]!.outputs.get(part);
        if (state !== undefined) return state;
      }
      return known.initial.get(part);
    };
    for (let i = 0; i < steps.length; i++) {
      const record = known.records[i]!;
      if (record.step === steps[i] && !asksAny(record, dirty)) {
        const kept = record.from(this.count);
        records.push(kept);
        this.count += kept.entries.length;
        this.take(record);
        old.take(record);
        continue;
      }
      this.states.clear();
      this.fetch = (part) =>
        dirty.has(part) && values.has(part)
          ? values.get(part)
          : record.inputs.has(part)
            ? record.inputs.get(part)
            : stateBefore(part, i);
      const now = this.replay(steps[i]!);
      records.push(now);
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
        } else {
          dirty.delete(part);
          values.delete(part);
        }
      }
    }
    let final = known.final;
    if (this.initial !== known.initial || values.size > 0) {
      const states = new Map<string, PartState>();
      for (const name of this.initial.keys())
        states.set(name, (dirty.has(name) && values.has(name) ? values.get(name) : known.final.get(name))!);
      final = states;
    }
    return this.variant(records, final);
  }

  /** Goes on behind a step that did what `record` says. */
  private take(record: StepRecord): void {
    for (const [name, state] of record.fluids) this.fluids.now.set(name, state);
    for (const [part, successor] of record.swaps) this.swaps.now.set(part, successor);
    for (const [part, replaced] of record.swappedFor) this.swappedFor.now.set(part, replaced);
    for (const [carrier, part] of record.riders) this.seatOn(carrier, part);
    for (const name of record.doubted) this.unsure.add(name);
  }

  /** State of a part; undefined where there is no such part. Every question that the outcome depends on goes by here. */
  private state(part: string): PartState | undefined {
    let state = this.states.get(part);
    if (state === undefined && this.fetch !== undefined) {
      state = this.fetch(part);
      if (state !== undefined) this.states.set(part, state);
    }
    const { names } = this;
    if (names[names.length - 1] !== part) {
      names.push(part);
      this.found.push(state);
    }
    return state;
  }

  private asks(name: string): string {
    this.state(name);
    return name;
  }

  private doubt(name: string): void {
    if (this.unsure.has(name)) return;
    this.unsure.add(name);
    this.doubted.push(name);
  }

  /** Every part on and tight, but for those that only ever come from stock; of `known`, what has stayed the same. */
  private start(before?: Model, known?: Variant): ReadonlyMap<string, PartState> {
    const { model, code } = this;
    const initial = this.initialStates(
      known !== undefined && before!.parts === model.parts && sameComings(before!, model, code) ? known : undefined,
      known,
      before,
    );
    this.initial = initial;
    this.seat();
    return initial;
  }

  private initialStates(
    same: Variant | undefined,
    known: Variant | undefined,
    before: Model | undefined,
  ): ReadonlyMap<string, PartState> {
    if (same !== undefined) return same.initial;
    const { model, code } = this;
    const takenOff = new Set<string>();
    const fittedNew = new Set<string>();
    const swappedIn = new Set<string>();
    for (const { step } of model.steps) {
      for (const { how, name } of comingsOf(step, code)) {
        if (how === 'swapped in') swappedIn.add(name);
        else if (how === 'fitted new') fittedNew.add(name);
        // What is loosened first was on; what is loosened after it was fitted new may come from stock.
        else if (how === 'taken off' || !fittedNew.has(name)) takenOff.add(name);
      }
    }
    const initial = new Map<string, PartState>();
    for (const [name, part] of model.parts) {
      const stock = swappedIn.has(name) || (fittedNew.has(name) && !takenOff.has(name));
      const old = known?.initial.get(name);
      initial.set(
        name,
        old !== undefined && old.stock === stock && isSeatedAlike(before!, model, name)
          ? old
          : initialState(model, part, stock),
      );
    }
    return initial;
  }

  /** Who sits on whom at the start, and what cannot be told from the start. */
  private seat(): void {
    // Lines behind a phase that could not be read, above its first step.
    for (const { item, lostWords } of chunksOf(this.model))
      if (item !== undefined && lostWords.length > 0 && isPhaseWord(item.kind))
        for (const word of lostWords) this.unsure.add(word);
    this.seated = seatsIn(this.model.parts);
  }

  private addRider(carrier: string, part: string): void {
    this.asks(carrier);
    if (this.seatOn(carrier, part)) this.ridden.push([carrier, part]);
  }

  private *ridersOf(carrier: string): Generator<string> {
    yield* this.seated.get(carrier) ?? nobody;
    yield* this.riders.get(carrier) ?? nobody;
  }

  /** False where it is known already. */
  private seatOn(carrier: string, part: string): boolean {
    if (this.seated.get(carrier)?.has(part)) return false;
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
        for (const inner of walk([statement])) this.leaveAlone(inner);
        continue;
      }
      if (statement.branches === undefined) this.single(statement);
      else if (statement.kind === 'for') for (const branch of statement.branches) this.sequence(branch.statements);
      else this.block(statement);
    }
  }

  private leaveAlone(statement: Statement): void {
    for (const word of statement.words ?? []) this.doubt(this.asks(word.text));
  }

  private entry(statement: Statement, role: Entry['role']): void {
    this.entries.push({
      index: this.count++,
      statement,
      step: this.step,
      role,
      actions: this.actions,
      changes: this.changes,
    });
    this.actions = noActions;
    this.changes = noChanges;
  }

  private single(statement: Statement): void {
    if (statement.words === undefined) this.effect(statement);
    else this.leaveAlone(statement);
    this.entry(statement, 'statement');
  }

  /** Replays each branch from the same state; where they meet, they must agree. */
  private block(block: Statement): void {
    const branches = block.branches!.map((branch) => branch.statements);
    if (block.kind === 'if' && branches.length === 1) branches.push([]);
    const ends: {
      parts: Map<string, PartState>;
      fluids: Map<string, FluidState>;
      swaps: Map<string, string>;
      swappedFor: Map<string, readonly string[]>;
    }[] = [];
    const before = new Map<string, PartState>();
    for (const statements of branches) {
      const from = this.entries.length;
      const marks = [this.fluids.length, this.swaps.length, this.swappedFor.length] as const;
      this.sequence(statements);
      const changed = new Map<string, PartState>();
      for (let i = from; i < this.entries.length; i++) {
        for (const change of this.entries[i]!.changes) {
          if (!changed.has(change.part) && !before.has(change.part)) before.set(change.part, change.before);
          changed.set(change.part, this.states.get(change.part)!);
        }
      }
      ends.push({
        parts: changed,
        fluids: this.fluids.rewind(marks[0]),
        swaps: this.swaps.rewind(marks[1]),
        swappedFor: this.swappedFor.rewind(marks[2]),
      });
      for (const part of changed.keys()) this.set(part, before.get(part)!);
      this.entry(block, 'restored');
    }
    for (const [part, start] of before) {
      const states = ends.map((end) => end.parts.get(part) ?? start);
      if (states.every((state) => samePart(state, states[0]!))) {
        const changed = states.find((state) => state !== start) ?? start;
        const marked = states.every((state) => state.marked);
        this.set(part, changed.marked === marked ? changed : { ...changed, marked });
        continue;
      }
      // Where `end` is missing, nobody knows what the branch holds.
      if (!this.unsure.has(part) && !block.broken)
        this.disagreements.push({ block, subject: part, kind: 'part', states });
      this.doubt(part);
      this.set(part, states[0]!);
    }
    for (const supply of new Set(ends.flatMap((end) => [...end.fluids.keys()]))) {
      const start = this.fluids.now.get(supply) ?? noFluid;
      const states = ends.map((end) => end.fluids.get(supply) ?? start);
      if (!states.every((state) => sameFluid(state, states[0]!))) {
        if (!block.broken) this.disagreements.push({ block, subject: supply, kind: 'supply', states });
        this.doubt(supply);
      }
      const merged = states.find((state) => state !== start) ?? start;
      this.fluids.set(supply, merged);
      for (const state of states)
        if (state !== merged && state !== start) this.otherFluids.push({ supply, state, merged });
    }
    const [first] = ends;
    for (const [part, successor] of first!.swaps) this.swaps.set(part, successor);
    for (const [part, replaced] of first!.swappedFor) this.swappedFor.set(part, replaced);
    this.entry(block, 'merged');
  }

  private set(part: string, after: PartState): void {
    const before = this.states.get(part) ?? this.state(part)!;
    if (before === after) return;
    this.states.set(part, after);
    if (this.changes.length === 0) this.changes = [{ part, before, after }];
    else this.changes.push({ part, before, after });
  }

  private effect(statement: Statement): void {
    const name = statement.name;
    const mark: Mark | undefined = name === undefined ? undefined : { statement, name };
    switch (statement.kind) {
      case 'omit':
        if (mark !== undefined && this.state(mark.name.text) === undefined && this.fluids.now.has(mark.name.text))
          this.fluids.set(mark.name.text, { ...this.fluids.now.get(mark.name.text)!, drained: false });
        break;
      case 'drain':
      case 'fill':
        if (mark !== undefined && this.model.supplies.has(this.asks(mark.name.text))) this.fluid(statement, mark);
        return;
    }
    if (mark === undefined || this.state(mark.name.text) === undefined) return;
    switch (statement.kind) {
      case 'remove':
      case 'disconnect':
        this.remove(statement, mark);
        return;
      case 'discard':
      case 'replace':
        this.discard(statement, mark);
        return;
      case 'fit':
      case 'connect':
        this.fitAll(statement, mark);
        return;
      case 'swap':
        this.swap(statement, mark);
        return;
      case 'transfer':
        this.transfer(statement, mark);
        return;
      case 'omit':
        this.omit(statement, mark);
        return;
      case 'loosen':
      case 'tighten':
        this.turn(statement, mark);
        return;
      case 'mark': {
        const before = this.state(mark.name.text)!;
        const available = on(before) + onBench(before);
        this.act('mark', mark, { after: { ...before, marked: true }, available, acted: available });
        return;
      }
    }
  }

  private act(
    verb: Verb,
    mark: Mark,
    what: {
      after: PartState;
      available: number;
      acted: number;
      wanted?: number;
      fresh?: boolean;
      along?: boolean;
      refittedOld?: number;
      refittedScrap?: number;
      holders?: readonly Blocker[];
      covers?: readonly Blocker[];
    },
  ): void {
    const part = mark.name.text;
    const after = withShares(what.after);
    const action: Action = {
      verb,
      part,
      name: mark.name,
      unsure: this.unsure.has(part),
      fresh: what.fresh ?? false,
      along: what.along ?? false,
      wanted: what.wanted,
      available: what.available,
      acted: what.acted,
      refittedOld: what.refittedOld ?? 0,
      refittedScrap: what.refittedScrap ?? 0,
      before: this.state(part)!,
      after,
      holders: what.holders ?? nobody,
      covers: what.covers ?? nobody,
    };
    // A list that begins with one is no longer than that.
    if (this.actions.length === 0) this.actions = [action];
    else this.actions.push(action);
    this.set(part, after);
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

  private blocker(part: string): Blocker | undefined {
    const state = this.state(part);
    const pieces = state === undefined || this.unsure.has(part) ? 0 : on(state) - state.stranded;
    return pieces === 0 ? undefined : { part, on: pieces, cameOff: state!.cameOff };
  }

  private holdersOf(part: string, along: ReadonlySet<string>): readonly Blocker[] {
    let holders: Blockers | undefined;
    // Nearly no part has taken the place of another: then no list is made.
    if (this.swappedFor.now.has(part))
      for (const place of this.placesOf(part)) holders = this.holdersBy(place, part, along, holders);
    else holders = this.holdersBy(this.model.parts.get(this.asks(part)), part, along, undefined);
    return listOf(holders);
  }

  private holdersBy(
    place: Declaration | undefined,
    part: string,
    along: ReadonlySet<string>,
    holders: Blockers | undefined,
  ): Blockers | undefined {
    if (place === undefined) return holders;
    for (const { text } of place.heldBy) {
      if (this.swaps.now.has(text))
        for (const holder of this.withSuccessors(text)) holders = this.addHolder(holder, part, along, holders);
      else holders = this.addHolder(this.asks(text), part, along, holders);
    }
    return holders;
  }

  private addHolder(
    holder: string,
    part: string,
    along: ReadonlySet<string>,
    holders: Blockers | undefined,
  ): Blockers | undefined {
    if (along.has(holder) || holder === part) return holders;
    const blocker = this.blocker(holder);
    if (blocker === undefined) return holders;
    const state = this.state(holder)!;
    // A captive fastener stays on the part that it holds; loosened, it holds no longer.
    if (state.tight + state.snug === 0 && state.carried.some((carried) => carried.by === part)) return holders;
    return withBlocker(holders, blocker);
  }

  /** What the part sits behind; while its carrier is on, what the carrier sits behind as well. `itself` is in no way. */
  private coversOf(part: string, along: ReadonlySet<string> = none, itself?: string): readonly Blocker[] {
    return listOf(this.covers(part, along, itself, undefined));
  }

  private covers(
    part: string,
    along: ReadonlySet<string>,
    itself: string | undefined,
    visited: Set<string> | undefined,
  ): Blockers | undefined {
    let covers: Blockers | undefined;
    if (this.swappedFor.now.has(part))
      for (const place of this.placesOf(part)) covers = this.coversAt(place, part, along, itself, covers);
    else covers = this.coversAt(this.model.parts.get(this.asks(part)), part, along, itself, undefined);
    const carried = this.state(part)?.carried;
    if (carried === undefined) return covers;
    for (const { by } of carried) {
      const carrier = this.state(by);
      if (carrier === undefined || on(carrier) === 0) continue;
      visited ??= new Set([part]);
      if (visited.has(by)) continue;
      visited.add(by);
      const beyond = this.covers(by, along, itself, visited);
      if (beyond !== undefined) for (const blocker of beyond.values()) covers = withBlocker(covers, blocker);
    }
    return covers;
  }

  private coversAt(
    place: Declaration | undefined,
    part: string,
    along: ReadonlySet<string>,
    itself: string | undefined,
    covers: Blockers | undefined,
  ): Blockers | undefined {
    if (place === undefined) return covers;
    for (const { text } of place.behind) {
      for (const cover of this.swaps.now.has(text) ? this.withSuccessors(text) : [this.asks(text)]) {
        if (along.has(cover) || cover === part || cover === itself) continue;
        const blocker = this.blocker(cover);
        if (blocker !== undefined) covers = withBlocker(covers, blocker);
      }
    }
    return covers;
  }

  // --- effects on parts -----------------------------------------------------------------------------------------------

  private remove(statement: Statement, mark: Mark): void {
    const part = mark.name.text;
    const together =
      statement.together?.filter(({ name }) => this.state(name.text) !== undefined && name.text !== part) ?? nobody;
    const along = together.length === 0 ? none : new Set(together.map(({ name }) => name.text));
    const before = this.state(part)!;
    const available = on(before);
    const wanted = statement.count?.value;
    const acted = Math.min(wanted ?? available, available);
    const spoils = statement.spoiled !== undefined || this.model.parts.get(part)?.renew !== undefined;
    const after: PartState = {
      ...without(before, acted),
      off: before.off + (spoils ? 0 : acted),
      spoiled: before.spoiled + (spoils ? acted : 0),
      taken: before.taken + acted,
      cameOff: before.cameOff || acted > 0,
      tightHoles: nobody,
      lastOff: acted > 0 ? mark : before.lastOff,
    };
    this.act('remove', mark, {
      after,
      available,
      acted,
      wanted,
      holders: available > 0 ? this.holdersOf(part, along) : nobody,
      covers: available > 0 ? this.coversOf(part, along, part) : nobody,
    });
    for (const { name, count } of together) {
      const rider = name.text;
      const state = this.state(rider)!;
      const n = Math.min(count?.value ?? on(state), on(state));
      this.addRider(part, rider);
      this.act(
        'remove',
        { statement, name },
        {
          after: n > 0 ? { ...state, carried: carriedBy(state, part, n) } : state,
          available: on(state),
          acted: n,
          wanted: count?.value,
          along: true,
        },
      );
    }
  }

  /** To scrap from the bench, or from a carrier that is off; `replace` lays a new one on the bench in its place. */
  private discard(statement: Statement, mark: Mark): void {
    const part = mark.name.text;
    const before = this.state(part)!;
    const onOffCarriers = before.carried.reduce((sum, { by, count }) => sum + (this.isOff(by) ? count : 0), 0);
    const hanging = Math.min(on(before), Math.max(onOffCarriers, before.stranded));
    const bench = onBench(before);
    const available = bench + hanging;
    const wanted = statement.count?.value;
    const acted = Math.min(wanted ?? available, available);
    const spoiled = Math.min(before.spoiled, acted);
    const off = Math.min(before.off, acted - spoiled);
    const fresh = Math.min(before.fresh, acted - spoiled - off);
    const hung = acted - spoiled - off - fresh;
    const stranded = Math.min(before.stranded, hung);
    const replaced = statement.kind === 'replace';
    const single = this.model.parts.get(part)?.renew !== undefined;
    // What hung on a carrier that was swapped out goes to scrap with it; everything else is owed.
    const settled = replaced || before.strandedBy?.statement.kind !== 'swap' ? 0 : stranded;
    const owed = replaced ? 0 : acted - settled;
    const after: PartState = {
      ...without(before, hung),
      spoiled: before.spoiled - spoiled,
      off: before.off - off,
      fresh: before.fresh - fresh + (replaced ? acted : 0),
      stranded: before.stranded - stranded,
      settled: before.settled + settled,
      scrap: before.scrap + owed,
      scrapOnCarrier: before.scrapOnCarrier + (replaced ? 0 : hung - settled),
      scrapSpoiled: before.scrapSpoiled + (replaced ? 0 : single ? owed : spoiled),
      taken: before.taken + hung - settled,
      cameOff: true,
      lastOff: hung > 0 || (replaced && acted > 0 && before.lastOff === undefined) ? mark : before.lastOff,
      lastScrap: acted > 0 ? mark : before.lastScrap,
    };
    this.act(replaced ? 'replace' : 'discard', mark, { after, available, acted, wanted });
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
      this.set(
        rider,
        withShares({
          ...before,
          stranded: before.stranded + stranded,
          scrap: before.scrap - settled,
          settled: before.settled + settled,
          strandedBy: stranded > 0 ? mark : before.strandedBy,
        }),
      );
    }
  }

  private fitAll(statement: Statement, mark: Mark): void {
    const { together } = statement;
    const along = together === undefined ? none : new Set(together.map(({ name }) => name.text));
    this.fit(mark, statement.count?.value, statement.fresh !== undefined, along, undefined);
    for (const { name, count } of together ?? nobody) {
      const state = this.state(name.text);
      if (state === undefined || name.text === mark.name.text) continue;
      // What stayed on its assembly is on already; what was stripped from it, or never sat on it, goes on now.
      const booked = state.carried.find(({ by }) => by === mark.name.text)?.count ?? 0;
      const sitting = Math.min(booked, on(state));
      const wanted = count === undefined ? (booked > 0 ? booked - sitting : undefined) : count.value - sitting;
      if (onBench(state) + state.scrap === 0 || (wanted !== undefined && wanted <= 0)) continue;
      this.fit({ statement, name }, wanted, false, new Set([mark.name.text, ...along]), mark.name.text);
    }
  }

  private fit(
    mark: Mark,
    wanted: number | undefined,
    fresh: boolean,
    along: ReadonlySet<string>,
    onto: string | undefined,
  ): void {
    const part = mark.name.text;
    const before = this.state(part)!;
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
    // A new one in place of one that stayed on the scrapped carrier changes nothing in the count.
    const kept = without(before, before.stranded - stranded);
    const nowOn = on(kept) + acted;
    const complete = off + new_ + spoiled + scrap + stranded === 0;
    // Only a new piece goes straight onto what took the carrier's place; an old one is `transfer`red.
    const carriers =
      onto !== undefined
        ? carriedBy(
            before,
            onto,
            acted + Math.min(on(before), before.carried.find(({ by }) => by === onto)?.count ?? 0),
          )
        : fresh
          ? this.onSuccessors(before.carried, acted)
          : before.carried;
    for (const { by } of carriers) this.addRider(by, part);
    const after: PartState = {
      ...kept,
      stock: before.stock && acted === 0,
      loose: kept.loose + (fastener ? acted : 0),
      tight: kept.tight + (fastener ? 0 : acted),
      off,
      fresh: new_,
      spoiled,
      scrap,
      stranded,
      settled,
      inStock,
      carried: carriers,
      taken: complete ? 0 : before.taken,
      back: complete ? 0 : before.back + acted,
      cameOff: before.cameOff || before.stock,
      lastBack: acted > 0 ? mark : before.lastBack,
      lastLoose: fastener && acted > 0 ? mark : before.lastLoose,
      tightHoles: acted > 0 ? nobody : before.tightHoles,
    };
    this.act('fit', mark, {
      after,
      available,
      acted,
      wanted,
      fresh,
      refittedOld,
      refittedScrap,
      along: onto !== undefined,
      holders: nowOn > 0 ? this.holdersOf(part, along).filter((holder) => holder.cameOff) : [],
      covers: this.coversOf(part, along),
    });
  }

  /** New pieces that sat on a carrier which was swapped out go onto what took its place. */
  private onSuccessors(carried: readonly Carried[], pieces: number): readonly Carried[] {
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

  private swap(statement: Statement, mark: Mark): void {
    const target = statement.targets?.[0];
    if (target === undefined || this.state(target.text) === undefined || target.text === mark.name.text) return;
    const before = this.state(mark.name.text)!;
    const wanted = statement.count?.value;
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
    const after: PartState = {
      ...before,
      spoiled: before.spoiled - take(before.spoiled),
      off: before.off - take(before.off),
      fresh: before.fresh - take(before.fresh),
      scrap: before.scrap - take(before.scrap),
      tight: before.tight - take(before.tight),
      snug: before.snug - take(before.snug),
      loose: before.loose - take(before.loose),
      swappedOut: before.swappedOut + acted,
      cameOff: true,
      lastScrap: mark,
    };
    this.act('swap-out', mark, { after, available, acted, wanted });
    const inBefore = this.state(target.text)!;
    const pieces = wanted ?? (inBefore.stock ? inBefore.inStock : acted);
    this.act(
      'swap-in',
      { statement, name: target },
      {
        after: {
          ...inBefore,
          stock: false,
          inStock: Math.max(0, inBefore.inStock - pieces),
          fresh: inBefore.fresh + pieces,
          taken: inBefore.taken + pieces,
          cameOff: true,
          lastOff: { statement, name: target },
        },
        available: pieces,
        acted: pieces,
        wanted,
      },
    );
    const old = mark.name.text;
    const replaced = this.swappedFor.now.get(target.text) ?? [];
    this.swaps.set(old, target.text);
    if (!replaced.includes(old)) this.swappedFor.set(target.text, [...replaced, old]);
    this.strand(old, mark);
  }

  private transfer(statement: Statement, mark: Mark): void {
    const source = statement.source;
    const target = statement.targets?.[0];
    if (source === undefined || target === undefined) return;
    if (this.state(source.text) === undefined || this.state(target.text) === undefined) return;
    const before = this.state(mark.name.text)!;
    const available = before.carried.find(({ by }) => by === source.text)?.count ?? 0;
    const wanted = statement.count?.value;
    const acted = Math.min(wanted ?? available, available);
    const stranded = Math.min(before.stranded, acted);
    const carried = [
      ...before.carried
        .map(({ by, count }) => (by === source.text ? { by, count: count - acted } : { by, count }))
        .filter(({ by, count }) => count > 0 && by !== target.text),
      { by: target.text, count: acted + (before.carried.find(({ by }) => by === target.text)?.count ?? 0) },
    ];
    this.addRider(target.text, mark.name.text);
    this.act('transfer', mark, {
      after: acted === 0 ? before : { ...before, carried, stranded: before.stranded - stranded },
      available,
      acted,
      wanted,
    });
  }

  private omit(statement: Statement, mark: Mark): void {
    const before = this.state(mark.name.text)!;
    const available = missing(before) + before.stranded + before.settled;
    const wanted = statement.count?.value;
    const acted = Math.min(wanted ?? available, available);
    let rest = acted;
    const take = (count: number): number => {
      const taken = Math.min(count, rest);
      rest -= taken;
      return taken;
    };
    const left = {
      off: before.off - take(before.off),
      fresh: before.fresh - take(before.fresh),
      spoiled: before.spoiled - take(before.spoiled),
      scrap: before.scrap - take(before.scrap),
      stranded: before.stranded - take(before.stranded),
      settled: before.settled - take(before.settled),
    };
    const after = {
      ...without(before, before.stranded - left.stranded),
      ...left,
      omitted: before.omitted + acted,
    };
    this.act('omit', mark, { after, available, acted, wanted });
  }

  private turn(statement: Statement, mark: Mark): void {
    const before = this.state(mark.name.text)!;
    const available = on(before);
    const loosening = statement.kind === 'loosen';
    const byHand = statement.byHand !== undefined;
    const holes = loosening ? [] : (statement.holes ?? []).map((hole) => hole.value);
    const wanted = statement.count?.value ?? (holes.length > 0 ? new Set(holes).size : undefined);
    const again = holes.filter((hole) => before.tightHoles.includes(hole)).length;
    const acted = Math.min(wanted ?? available, available);
    let { tight, snug, loose } = before;
    if (loosening) {
      const fromTight = Math.min(tight, acted);
      const fromSnug = Math.min(snug, acted - fromTight);
      tight -= fromTight;
      snug -= fromSnug;
      loose += fromTight + fromSnug;
    } else {
      // What is loose is tightened first; pieces tightened again (a later pass) stay as they are.
      const turned = Math.max(0, acted - again);
      const fromLoose = Math.min(loose, turned);
      const fromOther = byHand ? Math.min(tight, turned - fromLoose) : Math.min(snug, turned - fromLoose);
      loose -= fromLoose;
      if (byHand) {
        tight -= fromOther;
        snug += fromLoose + fromOther;
      } else {
        snug -= fromOther;
        tight += fromLoose + fromOther;
      }
    }
    const after: PartState = {
      ...before,
      tight,
      snug,
      loose,
      tightHoles: loosening || byHand ? [] : [...new Set([...before.tightHoles, ...holes])],
      lastLoose: (loosening || byHand) && acted > 0 ? mark : before.lastLoose,
    };
    this.act(loosening ? 'loosen' : byHand ? 'hand-tighten' : 'tighten', mark, {
      after,
      available,
      acted,
      wanted,
      holders:
        available > 0 && !loosening ? this.holdersOf(mark.name.text, none).filter((holder) => holder.cameOff) : [],
      covers: available > 0 ? this.coversOf(mark.name.text) : [],
    });
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

type Blockers = Map<string, Blocker>;
const listOf = (blockers: Blockers | undefined): readonly Blocker[] =>
  blockers === undefined ? nobody : [...blockers.values()];

function withBlocker(blockers: Blockers = new Map(), blocker: Blocker): Blockers {
  return blockers.set(blocker.part, blocker);
}

/** Lists that are mostly empty, in one. */
function joined<T>(records: readonly StepRecord[], listOf: (record: StepRecord) => readonly T[]): readonly T[] {
  const lists = records.map(listOf).filter((list) => list.length > 0);
  return lists.length === 0 ? nobody : lists.flat();
}

function initialState(model: Model, part: Declaration, stock: boolean): PartState {
  const count = countOf(part);
  const carrier = part.carriedBy?.text;
  return {
    tight: stock ? 0 : count,
    snug: 0,
    loose: 0,
    off: 0,
    fresh: 0,
    spoiled: 0,
    scrap: 0,
    scrapOnCarrier: 0,
    scrapSpoiled: 0,
    stranded: 0,
    settled: 0,
    swappedOut: 0,
    omitted: 0,
    stock,
    inStock: stock ? count : 0,
    carried: carrier === undefined || !model.parts.has(carrier) ? nobody : [{ by: carrier, count }],
    taken: 0,
    back: 0,
    cameOff: false,
    marked: false,
    tightHoles: nobody,
    lastOff: undefined,
    lastBack: undefined,
    lastScrap: undefined,
    lastLoose: undefined,
    strandedBy: undefined,
  };
}

/** The same count on the same carrier: its state at the start is the same. */
function isSeatedAlike(before: Model, now: Model, name: string): boolean {
  const was = before.parts.get(name);
  const is = now.parts.get(name);
  const carrier = is?.carriedBy?.text;
  return (
    countOf(was) === countOf(is) &&
    was?.carriedBy?.text === carrier &&
    (carrier === undefined || before.parts.has(carrier) === now.parts.has(carrier))
  );
}

const seats = new WeakMap<Model['parts'], ReadonlyMap<string, ReadonlySet<string>>>();

/** Parts that are declared as carried by each part. */
function seatsIn(parts: Model['parts']): ReadonlyMap<string, ReadonlySet<string>> {
  let known = seats.get(parts);
  if (known === undefined) {
    const found = new Map<string, Set<string>>();
    for (const [name, { carriedBy }] of parts) {
      if (carriedBy === undefined) continue;
      const riders = found.get(carriedBy.text);
      if (riders === undefined) found.set(carriedBy.text, new Set([name]));
      else riders.add(name);
    }
    known = found;
    seats.set(parts, known);
  }
  return known;
}

/** Words of a step that tell whether a part is on at the start or in stock. */
interface Coming {
  readonly how: 'swapped in' | 'fitted new' | 'taken off' | 'loosened';
  readonly name: string;
}

/** What a `for` block holds depends on the code. */
const isCoded = noted((step: Step) => ({
  coded: statementsIn(step).some((statement) => statement.kind === 'for'),
}));
const comingsInAll = noted((step: Step) => comingsAmong(statementsIn(step)));

const comingsOf = (step: Step, code: string | undefined): readonly Coming[] =>
  isCoded(step).coded ? comingsAmong(applicable(step.statements, code)) : comingsInAll(step);

function comingsAmong(statements: Iterable<Statement>): readonly Coming[] {
  const found: Coming[] = [];
  for (const statement of statements) {
    const { kind } = statement;
    const name = statement.name?.text;
    if (kind === 'swap') for (const { text } of statement.targets ?? []) found.push({ how: 'swapped in', name: text });
    if (name === undefined) continue;
    if (kind === 'fit' && statement.fresh !== undefined) found.push({ how: 'fitted new', name });
    else if (offMakers.has(kind)) found.push({ how: 'taken off', name });
    else if (kind === 'loosen') found.push({ how: 'loosened', name });
    if (kind === 'remove')
      for (const along of statement.together ?? []) found.push({ how: 'taken off', name: along.name.text });
  }
  return found;
}

/** `before` and `now` have the same number of steps. */
const sameComings = (before: Model, now: Model, code: string | undefined): boolean =>
  now.steps.every((entry, i) => {
    const old = before.steps[i]!;
    if (old.step === entry.step) return true;
    const a = comingsOf(old.step, code);
    const b = comingsOf(entry.step, code);
    return a.length === b.length && a.every(({ how, name }, c) => how === b[c]!.how && name === b[c]!.name);
  });

function asksAny({ inputs }: StepRecord, names: ReadonlySet<string>): boolean {
  if (inputs.size === 0) return false;
  for (const name of names) if (inputs.has(name)) return true;
  return false;
}

function* namesSet(record: StepRecord): Generator<string> {
  yield* record.outputs.keys();
  yield* record.fluids.keys();
  yield* record.swaps.keys();
  yield* record.swappedFor.keys();
  yield* record.doubted;
  for (const [carrier] of record.riders) yield carrier;
}

function sameList(a: Iterable<string> | undefined, b: Iterable<string> | undefined): boolean {
  if (a === b) return true;
  const left = [...(a ?? nobody)];
  const right = [...(b ?? nobody)];
  return left.length === right.length && left.every((each, i) => each === right[i]);
}

/** `state` with `pieces` fewer on, loose ones first. */
function without(state: PartState, pieces: number): PartState {
  if (pieces === 0) return state;
  const loose = Math.min(state.loose, pieces);
  const snug = Math.min(state.snug, pieces - loose);
  return {
    ...state,
    loose: state.loose - loose,
    snug: state.snug - snug,
    tight: state.tight - (pieces - loose - snug),
  };
}

const none: ReadonlySet<string> = new Set();
const offMakers: ReadonlySet<string> = new Set(['remove', 'disconnect', 'discard', 'replace', 'fit', 'connect']);

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

const histories = new WeakMap<Variant['entries'], Map<string, { index: number; after: PartState }[]>>();
function historyOf(variant: Variant): Map<string, { index: number; after: PartState }[]> {
  let history = histories.get(variant.entries);
  if (history === undefined) {
    history = new Map();
    for (const entry of variant.entries) {
      for (const change of entry.changes) {
        const list = history.get(change.part);
        if (list === undefined) history.set(change.part, [{ index: entry.index, after: change.after }]);
        else list.push({ index: entry.index, after: change.after });
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
const ones = new WeakMap<readonly Variant[], readonly Variant[]>();
