import { type Chunk, Step } from '../../../grammar/syntax.ts';
import { amended, exchangeBetween, exchanged, namesAmended, namesChanged } from '../model/amended.ts';
import { type Changed, changedSteps } from '../model/changed-chunks.ts';
import { namesMeantIn } from '../model/meant-names.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { carryAsking, stepsAsking } from './asking.ts';
import { earlyLoadsAfter, earlyLoadsOf } from './cures.ts';
import {
  allEntries,
  branchesIn,
  joinedEntries,
  nothingAside,
  StepRecord,
  tellsOfBranches,
  type Variant,
} from './records.ts';
import { Replay } from './replay.ts';
import { misspeltBlocks, startAgain } from './start.ts';
import { fluidComparer, type PartState, sameFields } from './state.ts';
import { Unit } from './unit.ts';

const nobody: readonly never[] = [];

/**
 * The replay of `model` for `code`, where `known` is that of `before`, whose steps are near, and which declares the names in
 * `changed` otherwise.
 */
export function rerun(
  model: Model,
  code: string | undefined,
  before: Model,
  known: Variant,
  changed: ReadonlySet<string>,
): Variant {
  const run = new Replay(model, code);
  const { unit } = run;
  unit.initial = startAgain(model, code, before, known.initial);
  unit.seat();
  // What else a step can ask about, as it was at the same place before.
  const old = new Unit(before);
  old.initial = known.initial;
  old.seat();
  const aligned = align(before, known, model);
  const { steps } = aligned;
  const readOtherwise = chunksReadOtherwise(before, model);
  const differences = new Differences(known, aligned, dueSteps(aligned, readOtherwise));
  for (const name of changed) differences.addPart(name, unit.initial.get(name));
  for (const name of namesChanged(known.initial, unit.initial)) differences.addPart(name, unit.initial.get(name));
  for (const name of startingOtherwise(old, unit)) differences.add(name);
  const records = aligned.records.slice();
  /** Places of the steps that were replayed. */
  const replayed: number[] = [];
  let branches: Pick<Variant, 'otherFluids' | 'disagreements'> | undefined = known;
  const sameFluids = fluidComparer();
  for (let i = 0; i < steps.length; i++) {
    if (!differences.isDue(i)) continue;
    const record = aligned.records[i]!;
    if (record.step === steps[i] && !readOtherwise.has(record.step.step.chunk) && !differences.bearOn(record)) {
      unit.take(record);
      old.take(record);
      continue;
    }
    unit.tallies.clear();
    unit.fetch = (part) => differences.stateBefore(part, i);
    const now = run.replay(steps[i]!);
    records[i] = now;
    replayed.push(i);
    if (tellsOfBranches(record) || tellsOfBranches(now)) branches = undefined;
    old.take(record);
    for (const part of new Set([...namesSet(record), ...namesSet(now)])) {
      const was = record.outputs.get(part) ?? differences.knownBefore(part, i);
      const is = now.outputs.get(part) ?? unit.fetch(part);
      const isAlike =
        !changed.has(part) &&
        sameFields(was, is) &&
        sameFluids(unit.fluids.now.get(part), old.fluids.now.get(part)) &&
        standsAlike(unit, old, part);
      if (isAlike) differences.remove(part);
      else differences.addPart(part, is);
    }
  }
  const final = finalAfter(known, unit.initial, differences.states);
  const earlyLoads =
    (readOtherwise.size === 0 ? earlyLoadsAfter(before, model, known.earlyLoads) : undefined) ??
    earlyLoadsOf(model, run.applies);
  const { changed: span } = aligned;
  if (span.to > span.until) records.splice(span.until, span.to - span.until);
  const entries = span.to === span.until ? joinedEntries(records, known, replayed) : allEntries(records);
  const now = run.variant(records, entries, final, earlyLoads, branches ?? branchesIn(records));
  carryAsking(known, now, replayed, span);
  return now;
}

/** Names that stand otherwise than at the same place before, and the steps that have to be looked at for them. */
class Differences {
  /** Where those parts are that may be elsewhere; no part, or none any more, where it is `undefined`. */
  readonly states = new Map<string, PartState | undefined>();
  private readonly names = new Set<string>();
  /** Names whose steps are due already: one part may come out otherwise in every step. */
  private readonly marked = new Set<string>();
  private readonly known: Variant;
  private readonly aligned: Aligned;
  private readonly due: Uint8Array;

  /** `due` tells by place which steps are looked at whatever the names. */
  constructor(known: Variant, aligned: Aligned, due: Uint8Array) {
    this.known = known;
    this.aligned = aligned;
    this.due = due;
  }

  isDue(place: number): boolean {
    return this.due[place] === 1;
  }

  bearOn(record: StepRecord): boolean {
    return record.asksAny(this.names);
  }

  addPart(name: string, state: PartState | undefined): void {
    this.states.set(name, state);
    this.add(name);
  }

  add(name: string): void {
    this.names.add(name);
    if (this.marked.has(name)) return;
    this.marked.add(name);
    for (const place of stepsAsking(this.known, name)) this.due[this.aligned.placeOfKnown(place)] = 1;
  }

  remove(name: string): void {
    this.names.delete(name);
    this.states.delete(name);
  }

  /** Where `part` is before the step at `place`. */
  stateBefore(part: string, place: number): PartState | undefined {
    return this.states.has(part) ? this.states.get(part) : this.knownBefore(part, place);
  }

  /** Where it was there in the `known` replay. */
  knownBefore(part: string, place: number): PartState | undefined {
    const { records } = this.aligned;
    const { inputs } = records[place]!;
    if (inputs.has(part)) return inputs.get(part);
    for (let i = place - 1; i >= 0; i--) {
      const state = records[i]!.outputs.get(part);
      if (state !== undefined) return state;
    }
    return this.known.initial.get(part);
  }
}

/** Names of which it cannot be told where they are, or that carry other parts, before the first step of one and not of the other. */
function startingOtherwise(old: Unit, unit: Unit): ReadonlySet<string> {
  const names = new Set<string>();
  for (const word of unit.unsure) if (!old.unsure.has(word)) names.add(word);
  for (const word of old.unsure) if (!unit.unsure.has(word)) names.add(word);
  if (unit.seated !== old.seated)
    for (const carrier of new Set([...unit.seated.keys(), ...old.seated.keys()]))
      if (!sameList(unit.seated.get(carrier), old.seated.get(carrier))) names.add(carrier);
  return names;
}

/** By place, 1 for steps that may come out otherwise, or that did something besides their entries. */
function dueSteps({ steps, records }: Aligned, readOtherwise: ReadonlySet<Chunk>): Uint8Array {
  const due = new Uint8Array(steps.length);
  for (let i = 0; i < steps.length; i++)
    if (steps[i] !== records[i]!.step || records[i]!.aside !== nothingAside) due[i] = 1;
  if (readOtherwise.size > 0)
    for (let i = 0; i < steps.length; i++) if (readOtherwise.has(steps[i]!.step.chunk)) due[i] = 1;
  return due;
}

/** True where `part` took the place of the same, carries the same, and can be told of, in both or in neither. */
const standsAlike = (unit: Unit, old: Unit, part: string): boolean =>
  unit.swaps.now.get(part) === old.swaps.now.get(part) &&
  sameList(unit.swappedFor.now.get(part), old.swappedFor.now.get(part)) &&
  unit.unsure.has(part) === old.unsure.has(part) &&
  sameList(unit.ridersOf(part), old.ridersOf(part));

/**
 * Chunks of steps in which a code of a `for` has become one that the procedure has, or ceased to be, or in which a misspelt name
 * stands for another than before.
 */
function chunksReadOtherwise(before: Model, now: Model): ReadonlySet<Chunk> {
  const [was, is] = [misspeltBlocks(before), misspeltBlocks(now)];
  const chunks = new Set<Chunk>();
  for (const block of was) if (!is.has(block)) chunks.add(block.chunk);
  for (const block of is) if (!was.has(block)) chunks.add(block.chunk);
  const [meantBefore, meant] = [namesMeantIn(before), namesMeantIn(now)];
  for (const [name, standing] of meantBefore) if (meant.get(name) !== standing) chunks.add(name.chunk);
  for (const [name, standing] of meant) if (meantBefore.get(name) !== standing) chunks.add(name.chunk);
  return chunks;
}

/** Where the parts are at the end, in the order of `initial`: as in `known`, but for those in `values`. */
function finalAfter(
  { initial: before, final }: Variant,
  initial: Variant['initial'],
  values: ReadonlyMap<string, PartState | undefined>,
): Variant['final'] {
  const stateOf = (name: string): PartState => values.get(name) ?? final.get(name)!;
  const staying = [...values.keys()].filter((name) => final.has(name) && initial.has(name));
  const others = (names: readonly string[]): ReadonlyMap<string, PartState> =>
    new Map(names.filter((name) => stateOf(name) !== final.get(name)).map((name) => [name, stateOf(name)]));
  if (namesAmended(before, initial) !== undefined) {
    const amendments = others(staying);
    return amendments.size === 0 ? final : amended(final, amendments);
  }
  const exchange = exchangeBetween(before, initial);
  if (exchange === undefined) return new Map([...initial.keys()].map((name) => [name, stateOf(name)]));
  const inPlace = staying.filter((name) => !exchange.incoming.includes(name));
  return exchanged(final, exchange, stateOf, others(inPlace));
}

/** Stands for a step that came, before it came, and for one that went, when it is gone. */
const noStep: StepEntry = {
  step: new Step({ uri: '', text: '', comments: [], issues: [], lostWords: [] }, 0, 0, undefined, []),
  phase: undefined,
};
const noRecord = new StepRecord(noStep, [], nothingAside, [], []);

/** Steps now and records before, of which those at one place are of the same step. */
interface Aligned {
  readonly steps: readonly StepEntry[];
  readonly records: readonly StepRecord[];
  readonly changed: Changed;
  /** Where the record at `place` of those before stands now. */
  placeOfKnown(place: number): number;
}

function align(before: Model, { records }: Variant, now: Model): Aligned {
  const changed = changedSteps(before, now);
  const { to, until } = changed;
  const came = until - to;
  return {
    steps: came < 0 ? now.steps.toSpliced(until, 0, ...new Array<StepEntry>(-came).fill(noStep)) : now.steps,
    records: came > 0 ? records.toSpliced(to, 0, ...new Array<StepRecord>(came).fill(noRecord)) : records,
    changed,
    placeOfKnown: (place) => (came > 0 && place >= to ? place + came : place),
  };
}

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
