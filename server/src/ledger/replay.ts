import { type Statement, walk } from '../../../grammar/syntax.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { eachReference } from '../model/references.ts';
import { CureClock, type EarlyLoad } from './cures.ts';
import { effect, noFluid } from './effects.ts';
import { Batch } from './journal.ts';
import {
  type Aside,
  allEntries,
  branchesIn,
  Disagreement,
  type Entry,
  nothingAside,
  type OtherFluid,
  StepRecord,
  statesFound,
  type Variant,
} from './records.ts';
import { appliesTo, misspeltBlocks, startOf } from './start.ts';
import { type FluidState, type PartState, sameFluid, samePart, without } from './state.ts';
import { Unit } from './unit.ts';

const nothing: ReadonlyMap<string, never> = new Map<string, never>();

/** Words of the longest name that is looked for where blanks stand for its hyphens. */
const longestName = 4;

/** Goes through the steps for one code, from the first or from any. */
export class Replay {
  readonly unit: Unit;
  private readonly code: string | undefined;
  private readonly misspelt: ReadonlySet<Statement>;
  private step!: StepEntry;
  // Of the step at hand.
  private readonly entries = new Batch<Entry>();
  private readonly otherFluids = new Batch<OtherFluid>();
  private readonly disagreements = new Batch<Disagreement>();

  constructor(model: Model, code: string | undefined) {
    this.unit = new Unit(model);
    this.code = code;
    this.misspelt = misspeltBlocks(model);
  }

  run(): Variant {
    this.unit.initial = startOf(this.unit.model, this.code);
    this.unit.seat();
    // Both tables list the parts as they are declared.
    const declared = this.unit.model.parts.values();
    this.unit.initial.forEach((state, name) => {
      this.unit.tallies.set(name, { declaration: declared.next().value, state, step: undefined, walk: 0 });
    });
    const records: StepRecord[] = [];
    const cures = new CureClock(this.unit.model, this.applies);
    for (const step of this.unit.model.steps) {
      records.push(this.replay(step));
      cures.take(step);
    }
    const final = new Map<string, PartState>();
    this.unit.tallies.forEach(({ state }, name) => {
      if (state !== undefined) final.set(name, state);
    });
    return this.variant(records, allEntries(records), final, cures.earlyLoads, branchesIn(records));
  }

  variant(
    records: readonly StepRecord[],
    entries: readonly Entry[],
    final: ReadonlyMap<string, PartState>,
    earlyLoads: readonly EarlyLoad[],
    { otherFluids, disagreements }: Pick<Variant, 'otherFluids' | 'disagreements'>,
  ): Variant {
    return {
      code: this.code,
      entries,
      initial: this.unit.initial,
      final,
      fluids: this.unit.fluids.now,
      otherFluids,
      disagreements,
      earlyLoads,
      unsure: this.unit.unsure,
      swaps: this.unit.swaps.now,
      records,
    };
  }

  readonly applies = (block: Statement): boolean => appliesTo(block, this.code);

  replay(step: StepEntry): StepRecord {
    this.step = step;
    this.unit.begin(step);
    this.sequence(step.step.statements);
    return new StepRecord(step, this.entries.take(), this.aside(), this.unit.asked.take(), this.unit.found.take());
  }

  private aside(): Aside {
    const fluids = this.unit.fluids.settle();
    const swaps = this.unit.swaps.settle();
    const swappedFor = this.unit.swappedFor.settle();
    const riders = this.unit.ridden.take();
    const doubted = this.unit.doubted.take();
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

  private sequence(statements: readonly Statement[]): void {
    for (const statement of statements) {
      if (!appliesTo(statement, this.code)) {
        const isMisspelt = this.misspelt.has(statement);
        // A line that could not be read may stand in the wrong block; its names are left alone all the same.
        for (const inner of walk([statement])) {
          this.leaveAlone(inner);
          // Nor is it known where a block without its `end` was to end, or for whom one with a misspelt code is.
          if (statement.broken || isMisspelt) eachReference(inner, ({ text }) => this.unit.doubt(this.unit.asks(text)));
        }
        continue;
      }
      if (statement.branches === undefined) this.single(statement);
      else if (statement.kind === 'for') this.forCode(statement.branches);
      else this.block(statement);
    }
  }

  private forCode(branches: NonNullable<Statement['branches']>): void {
    this.unit.codesDeep++;
    for (const branch of branches) this.sequence(branch.statements);
    this.unit.codesDeep--;
  }

  private leaveAlone(statement: Statement): void {
    const words = statement.words ?? statement.lost;
    if (words === undefined) return;
    let before = statement.name === undefined ? [] : [statement.name.text];
    for (const { text } of words) {
      this.unit.doubt(this.unit.asks(text));
      this.unit.doubt(this.unit.asks(text.toLowerCase()));
      // `4 bolts`
      if (text.endsWith('s')) this.unit.doubt(this.unit.asks(text.slice(0, -1)));
      // `seal ring` may stand for `seal-ring`, whose own name may be in capitals.
      before = before.map((each) => `${each}-${text}`);
      for (const joined of before) {
        this.unit.doubt(this.unit.asks(joined));
        this.unit.doubt(this.unit.asks(joined.toLowerCase()));
        if (joined.endsWith('s')) this.unit.doubt(this.unit.asks(joined.slice(0, -1)));
      }
      before = [text, ...before].slice(0, longestName - 1);
    }
  }

  private entry(statement: Statement, role: Entry['role']): void {
    const actions = this.unit.actions.take();
    // Where nothing else happened, the actions are all that changed anything.
    this.entries.add({ statement, step: this.step, role, actions, changes: this.unit.changes.take(actions) });
  }

  private single(statement: Statement): void {
    if (statement.words === undefined) effect(this.unit, statement);
    this.leaveAlone(statement);
    this.entry(statement, 'statement');
  }

  /** Replays each branch from the same state; where they meet, they must agree. */
  private block(block: Statement): void {
    const branches = block.branches!.map((branch) => branch.statements);
    if (block.kind === 'if' && branches.length === 1) branches.push([]);
    const parts = new Map<string, Ends<PartState>>();
    const fluids = new Map<string, Ends<FluidState>>();
    let swaps: ReadonlyMap<string, string> = nothing;
    let swappedFor: ReadonlyMap<string, readonly string[]> = nothing;
    for (const [b, statements] of branches.entries()) {
      const from = this.entries.length;
      const marks = [this.unit.fluids.length, this.unit.swaps.length, this.unit.swappedFor.length] as const;
      this.sequence(statements);
      const changed = new Set<string>();
      for (let i = from; i < this.entries.length; i++) {
        for (const { part, before } of this.entries.at(i).changes) {
          if (!parts.has(part)) parts.set(part, { start: before, changed: new Map() });
          changed.add(part);
        }
      }
      for (const [supply, state] of this.unit.fluids.rewind(marks[0])) {
        if (!fluids.has(supply))
          fluids.set(supply, { start: this.unit.fluids.now.get(supply) ?? noFluid, changed: new Map() });
        fluids.get(supply)!.changed.set(b, state);
      }
      const swapped = this.unit.swaps.rewind(marks[1]);
      const replaced = this.unit.swappedFor.rewind(marks[2]);
      if (b === 0) {
        swaps = swapped;
        swappedFor = replaced;
      }
      for (const part of changed) {
        const ends = parts.get(part)!;
        ends.changed.set(b, this.unit.state(part)!);
        this.unit.set(part, ends.start);
      }
      this.entry(block, 'restored');
    }
    for (const [part, { start, changed }] of parts) {
      const first = changed.get(0) ?? start;
      const states = statesFound(start, changed, branches.length);
      if (states.every((state) => samePart(state, first))) {
        const end = states.find((state) => state !== start) ?? start;
        const marked = states.every((state) => state.marked);
        const tightHoles = tightInAll(states);
        if (end.marked === marked && end.tightHoles.length === tightHoles.length) this.unit.set(part, end);
        else {
          const merged = end.copy();
          merged.marked = marked;
          // More holes may be named than there are pieces.
          const loose = Math.min(end.tight, end.tightHoles.length - tightHoles.length);
          merged.tight -= loose;
          merged.loose += loose;
          merged.tightHoles = tightHoles;
          this.unit.set(part, merged);
        }
        continue;
      }
      // Where `end` is missing, nobody knows what the branch holds.
      if (!this.unit.unsure.has(part) && !block.broken)
        this.disagreements.add(new Disagreement(block, part, 'part', start, changed, branches.length));
      this.unit.doubt(part);
      this.unit.set(part, first);
    }
    this.mergeFluids(block, fluids, branches.length);
    for (const [part, successor] of swaps) this.unit.swaps.set(part, successor);
    for (const [part, replaced] of swappedFor) this.unit.swappedFor.set(part, replaced);
    this.entry(block, 'merged');
  }

  private mergeFluids(block: Statement, fluids: ReadonlyMap<string, Ends<FluidState>>, branches: number): void {
    for (const [supply, { start, changed }] of fluids) {
      const first = changed.get(0) ?? start;
      const states = statesFound(start, changed, branches);
      if (!states.every((state) => sameFluid(state, first))) {
        if (!this.unit.unsure.has(supply) && !block.broken)
          this.disagreements.add(new Disagreement(block, supply, 'supply', start, changed, branches));
        this.unit.doubt(supply);
      }
      const merged = states.find((state) => state !== start) ?? start;
      this.unit.fluids.set(supply, merged);
      for (const state of states)
        if (state !== merged && state !== start) this.otherFluids.add({ supply, state, merged });
    }
  }
}

/** The holes that are tight whichever branch was taken, where some are loose and each branch says as many by number. */
function tightInAll(states: readonly PartState[]): readonly number[] {
  const { loose, snug, tightHoles } = states[0]!;
  const isCounted = states.every((state) => state.tightHoles.length === tightHoles.length);
  if (loose + snug === 0 || !isCounted) return tightHoles;
  return states.reduce((all, state) => {
    const notHere = without(all, state.tightHoles);
    return without(all, notHere);
  }, tightHoles);
}

/** A part or fluid before a block, and after each branch that does something to it, by the branch's place. */
interface Ends<State> {
  readonly start: State;
  readonly changed: Map<number, State>;
}
