import type { Name, Statement } from '../../../grammar/syntax.ts';
import type { StepEntry } from '../model/model.ts';
import type { EarlyLoad } from './cures.ts';
import type { FluidState, Mark, PartState } from './state.ts';

const nobody: readonly never[] = [];

/** A part in the way of an action. */
export interface Blocker {
  readonly part: string;
  /** Pieces on that hold or cover. */
  readonly on: number;
  /** Captive pieces that are loosened, and so hold no longer. */
  readonly loosened: number;
  /** It, or what carries it and covers the same, came off earlier and was put back. */
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
export interface Circumstances {
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

/** The states after all `branches`, that of those which did nothing once for all: each of thousands may change a part of its own. */
export const statesFound = <State>(start: State, changed: ReadonlyMap<number, State>, branches: number): State[] =>
  changed.size < branches ? [...changed.values(), start] : [...changed.values()];

/** A block whose branches leave a part or fluid in different states. A missing `else` counts as an empty branch. */
export class Disagreement {
  readonly block: Statement;
  readonly subject: string;
  readonly kind: 'part' | 'supply';
  /** Before the block, and so after each branch that does nothing to it. */
  readonly start: PartState | FluidState;
  /** State after each other branch, by its place. Of thousands of branches most leave most as it was. */
  readonly changed: ReadonlyMap<number, PartState | FluidState>;
  readonly branches: number;

  constructor(
    block: Statement,
    subject: string,
    kind: 'part' | 'supply',
    start: PartState | FluidState,
    changed: ReadonlyMap<number, PartState | FluidState>,
    branches: number,
  ) {
    this.block = block;
    this.subject = subject;
    this.kind = kind;
    this.start = start;
    this.changed = changed;
    this.branches = branches;
  }

  /** State after each branch, in order. */
  get states(): readonly (PartState | FluidState)[] {
    return Array.from({ length: this.branches }, (_, branch) => this.changed.get(branch) ?? this.start);
  }
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

export const ordinary: Circumstances = {
  fresh: false,
  along: false,
  refittedOld: 0,
  refittedScrap: 0,
  holders: nobody,
  covers: nobody,
};
export const ordinaryNew: Circumstances = { ...ordinary, fresh: true };
export const ordinaryAlong: Circumstances = { ...ordinary, along: true };

/** What is in the way. */
export const hindered = (holders: readonly Blocker[], covers: readonly Blocker[]): Circumstances =>
  holders.length + covers.length === 0 ? ordinary : { ...ordinary, holders, covers };

/** What a step did besides its entries. */
export interface Aside {
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
export const nothingAside: Aside = {
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

/** Lists that are mostly empty, in one. */
function joined<T>(records: readonly StepRecord[], listOf: (aside: Aside) => readonly T[]): readonly T[] {
  const lists: (readonly T[])[] = [];
  for (const { aside } of records) if (listOf(aside).length > 0) lists.push(listOf(aside));
  return lists.length === 0 ? nobody : lists.flat();
}

export function allEntries(records: readonly StepRecord[]): readonly Entry[] {
  const entries: Entry[] = [];
  for (const record of records) for (const entry of record.entries) entries.push(entry);
  return entries;
}

/** The same. All but those of the steps `replayed` are those of the `known` replay, which has as many records. */
export function joinedEntries(
  records: readonly StepRecord[],
  known: Variant,
  replayed: readonly number[],
): readonly Entry[] {
  if (replayed.length === 0) return known.entries;
  if (replayed.some((r) => records[r]!.entries.length !== known.records[r]!.entries.length)) return allEntries(records);
  // A list of its own even where both are empty: variants that share one are taken for alike.
  const entries = known.entries.slice();
  let at = 0;
  let place = 0;
  for (const r of replayed) {
    while (place < r) at += records[place++]!.entries.length;
    for (const [e, entry] of records[r]!.entries.entries()) entries[at + e] = entry;
  }
  return entries;
}

export const tellsOfBranches = ({ aside }: StepRecord): boolean =>
  aside.otherFluids.length + aside.disagreements.length > 0;

export const branchesIn = (records: readonly StepRecord[]): Pick<Variant, 'otherFluids' | 'disagreements'> => ({
  otherFluids: joined(records, ({ otherFluids }) => otherFluids),
  disagreements: joined(records, ({ disagreements }) => disagreements),
});
