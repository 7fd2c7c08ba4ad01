import type { Declaration, Name } from '../../../grammar/syntax.ts';
import { isMisspelt, namesMeantIn } from '../model/meant-names.ts';
import { isPhaseLine } from '../model/mentions.ts';
import { chunksOf, type Model, type StepEntry } from '../model/model.ts';
import { Batch, Journal } from './journal.ts';
import {
  Action,
  type Change,
  type Circumstances,
  nothingAside,
  ordinary,
  type StepRecord,
  type Verb,
} from './records.ts';
import { seatsIn } from './start.ts';
import { type FluidState, limitShares, type Mark, type PartState, type Pieces } from './state.ts';

const nothing: ReadonlyMap<string, never> = new Map<string, never>();
const nobody: readonly never[] = [];

/** A name that the replay has come by. */
export interface Tally {
  /** Absent where no part has that name. */
  readonly declaration: Declaration | undefined;
  /** Where its pieces are now. */
  state: PartState | undefined;
  /** The last step that asked about it. */
  step: StepEntry | undefined;
  /** The last walk from carrier to carrier that came by. */
  walk: number;
}

/** The unit as far as the replay has come, and what has been asked of it and done to it since it was last written down. */
export class Unit {
  readonly model: Model;
  /** In a rerun, only of the names that the step at hand has asked about. */
  readonly tallies = new Map<string, Tally>();
  /** State of a part before the first step; in a rerun, before the step at hand. */
  fetch: (part: string) => PartState | undefined = (part) => this.initial.get(part);
  initial: ReadonlyMap<string, PartState> = nothing;
  readonly fluids = new Journal<FluidState>();
  /** Names of which it cannot be told where they are. */
  readonly unsure = new Set<string>();
  /** What each swapped part was replaced by, and the other way round. */
  readonly swaps = new Journal<string>();
  readonly swappedFor = new Journal<readonly string[]>();
  /** Parts that sit on each carrier at the start. */
  seated: ReadonlyMap<string, readonly string[]> = nothing;
  /** Parts that have come to sit on each carrier since. */
  private readonly riders = new Map<string, Set<string>>();
  /** How many `for` the statement at hand stands in. */
  codesDeep = 0;
  private step!: StepEntry;
  // Of the statement at hand.
  readonly actions = new Batch<Action>();
  readonly changes = new Batch<Change>();
  // Of the step at hand.
  readonly asked = new Batch<string>();
  readonly found = new Batch<PartState | undefined>();
  readonly ridden = new Batch<readonly [string, string]>();
  readonly doubted = new Batch<string>();

  private readonly misspelt: ReadonlyMap<Name, Name>;

  constructor(model: Model) {
    this.model = model;
    this.misspelt = namesMeantIn(model);
  }

  begin(step: StepEntry): void {
    this.step = step;
  }

  /** Goes on behind a step that did what `record` says. */
  take({ aside }: StepRecord): void {
    if (aside === nothingAside) return;
    for (const [name, state] of aside.fluids) this.fluids.now.set(name, state);
    for (const [part, successor] of aside.swaps) this.swaps.now.set(part, successor);
    for (const [part, replaced] of aside.swappedFor) this.swappedFor.now.set(part, replaced);
    for (const [carrier, part] of aside.riders) this.seatOn(carrier, part);
    for (const name of aside.doubted) this.unsure.add(name);
  }

  /** Every question that the outcome depends on goes by here. */
  tally(name: string): Tally {
    let tally = this.tallies.get(name);
    if (tally === undefined) {
      tally = { declaration: this.model.parts.get(name), state: this.fetch(name), step: undefined, walk: 0 };
      this.tallies.set(name, tally);
    }
    if (tally.step !== this.step) {
      tally.step = this.step;
      this.asked.add(name);
      this.found.add(tally.state);
    }
    return tally;
  }

  newWalk(): number {
    return ++this.walks;
  }
  private walks = 0;

  /** State of a part; undefined where there is no such part. */
  state(part: string): PartState | undefined {
    return this.tally(part).state;
  }

  asks(name: string): string {
    this.tally(name);
    return name;
  }

  /** `name`, or what it stands for where it is misspelt. */
  meant(name: Name): Name {
    return this.misspelt.get(name) ?? name;
  }

  doubt(name: string): void {
    if (this.unsure.has(name)) return;
    this.unsure.add(name);
    this.doubted.add(name);
  }

  /** Who sits on whom at the start, and what cannot be told from the start. */
  seat(): void {
    // Lines behind a phase that could not be read, above its first step.
    if (this.model.lost.size > 0)
      for (const { item, lostWords } of chunksOf(this.model))
        if (lostWords.length > 0 && isPhaseLine(item)) for (const word of lostWords) this.unsure.add(word);
    this.seated = seatsIn(this.model.parts);
  }

  addRider(carrier: string, part: string): void {
    this.asks(carrier);
    if (this.seatOn(carrier, part)) this.ridden.add([carrier, part]);
  }

  *ridersOf(carrier: string): Generator<string> {
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

  set(part: string, after: PartState): void {
    const tally = this.tally(part);
    const before = tally.state!;
    if (before === after) return;
    tally.state = after;
    this.changes.add({ part, before, after });
  }

  /** `changed` is where the part is now; undefined where it stays as it is. */
  act(
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
    const isGuessed = isMisspelt(mark.name);
    if (isGuessed && available === 0) return;
    if (changed !== undefined) limitShares(changed);
    const after = changed ?? before;
    const action = new Action(
      verb,
      mark,
      isGuessed || this.unsure.has(part) || (available === 0 && followsFromGuess(verb, before)),
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
}

const needsPartOn: ReadonlySet<Verb> = new Set(['remove', 'loosen', 'tighten', 'hand-tighten']);

/** True where nothing is left to act on as a name was taken for another that it may not have been meant to be. */
const followsFromGuess = (verb: Verb, { lastOff, lastBack }: PartState): boolean =>
  isMisspelt((needsPartOn.has(verb) ? lastOff : lastBack)?.name);
