import { type Declaration, type Name, type Statement, walk } from '../../../grammar/syntax.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { countOf, type Model, type StepEntry } from '../model/model.ts';
import { extentOf, siValueOf } from '../model/quantity.ts';
import {
  type Carried,
  type FluidState,
  type Mark,
  missing,
  on,
  onBench,
  type PartState,
  sameFluid,
  samePart,
  withShares,
} from './state.ts';

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
  /** Hands-on and waiting time that counts for a cure, in seconds, before this statement. */
  readonly clock: number;
}

/** A block whose branches leave a part or fluid in different states. */
export interface Disagreement {
  readonly block: Statement;
  readonly subject: string;
  readonly kind: 'part' | 'supply';
  /** State after each branch, in order; a missing `else` counts as an empty branch. */
  readonly states: readonly (PartState | FluidState)[];
}

/** A cure that had not run its time when the unit was loaded. Times in seconds. */
export interface EarlyLoad {
  readonly applied: Statement;
  readonly supply: string;
  readonly loading: Statement;
  readonly cure: number;
  readonly elapsed: number;
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
}

export interface Ledger {
  readonly model: Model;
  readonly variants: readonly Variant[];
}

/** Replays the procedure once for each code. Linear in statements. */
export function replay(model: Model): Ledger {
  const codes = model.codes.length > 0 ? model.codes : [undefined];
  return { model, variants: codes.map((code) => new Replay(model, code).run()) };
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

/** A map that can go back to an earlier state; what a branch costs is what it changed. */
class Journal<V> {
  readonly now = new Map<string, V>();
  private readonly log: { key: string; before: V | undefined }[] = [];

  get length(): number {
    return this.log.length;
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

const noFluid: FluidState = { drained: false, filled: false, out: 0, in: 0 };

class Replay {
  private readonly model: Model;
  private readonly code: string | undefined;
  private readonly states = new Map<string, PartState>();
  private readonly initial = new Map<string, PartState>();
  private readonly fluids = new Journal<FluidState>();
  private readonly otherFluids: OtherFluid[] = [];
  private readonly entries: Entry[] = [];
  private readonly disagreements: Disagreement[] = [];
  private readonly earlyLoads: EarlyLoad[] = [];
  private readonly unsure = new Set<string>();
  private readonly swaps = new Journal<string>();
  private readonly swappedFor = new Journal<readonly string[]>();
  /** Parts that sit on each carrier, now or at the start. */
  private readonly riders = new Map<string, Set<string>>();
  private cures: Cure | undefined;
  /** Hands-on time of the steps that have ended: it does not count for what was applied in them. */
  private readonly ended = new Map<StepEntry, number>();
  private clock = 0;
  private step!: StepEntry;
  private actions: Action[] = [];
  private changes: Change[] = [];

  constructor(model: Model, code: string | undefined) {
    this.model = model;
    this.code = code;
  }

  run(): Variant {
    this.start();
    for (const step of this.model.steps) {
      this.step = step;
      this.sequence(step.step.statements);
      const takes = siValueOf(step.step.takes, 'time');
      if (takes !== undefined) {
        this.clock += takes;
        this.ended.set(step, takes);
      }
    }
    return {
      code: this.code,
      entries: this.entries,
      initial: this.initial,
      final: this.states,
      fluids: this.fluids.now,
      otherFluids: this.otherFluids,
      disagreements: this.disagreements,
      earlyLoads: this.earlyLoads,
      unsure: this.unsure,
      swaps: this.swaps.now,
    };
  }

  /** Every part on and tight, but for those that only ever come from stock. */
  private start(): void {
    const takenOff = new Set<string>();
    const fittedNew = new Set<string>();
    const swappedIn = new Set<string>();
    for (const { step } of this.model.steps) {
      for (const statement of applicable(step.statements, this.code)) {
        const name = statement.name?.text;
        if (statement.kind === 'swap') for (const target of statement.targets ?? []) swappedIn.add(target.text);
        if (name === undefined) continue;
        if (statement.kind === 'fit' && statement.fresh !== undefined) fittedNew.add(name);
        else if (offMakers.has(statement.kind)) takenOff.add(name);
        // What is loosened first was on; what is loosened after it was fitted new may come from stock.
        else if (statement.kind === 'loosen' && !fittedNew.has(name)) takenOff.add(name);
        if (statement.kind === 'remove')
          for (const { name: along } of statement.together ?? []) takenOff.add(along.text);
      }
    }
    // Lines behind a phase that could not be read, above its first step.
    for (const { item, lostWords } of this.model.tree.chunks)
      if (item !== undefined && isPhaseWord(item.kind)) for (const word of lostWords) this.unsure.add(word);
    for (const [name, part] of this.model.parts) {
      const count = countOf(part);
      const stock = swappedIn.has(name) || (fittedNew.has(name) && !takenOff.has(name));
      const carrier = part.carriedBy?.text;
      const state: PartState = {
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
        carried: carrier === undefined || !this.model.parts.has(carrier) ? [] : [{ by: carrier, count }],
        taken: 0,
        back: 0,
        cameOff: false,
        marked: false,
        tightHoles: [],
      };
      this.states.set(name, state);
      this.initial.set(name, state);
      if (carrier !== undefined) this.addRider(carrier, name);
    }
  }

  private addRider(carrier: string, part: string): void {
    const riders = this.riders.get(carrier);
    if (riders === undefined) this.riders.set(carrier, new Set([part]));
    else riders.add(part);
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
    for (const word of statement.words ?? []) this.unsure.add(word.text);
  }

  private entry(statement: Statement, role: Entry['role']): void {
    this.entries.push({
      index: this.entries.length,
      statement,
      step: this.step,
      role,
      actions: this.actions,
      changes: this.changes,
      clock: this.clock,
    });
    this.actions = [];
    this.changes = [];
  }

  private single(statement: Statement): void {
    const clock = this.clock;
    if (statement.words === undefined) this.effect(statement);
    else this.leaveAlone(statement);
    this.entries.push({
      index: this.entries.length,
      statement,
      step: this.step,
      role: 'statement',
      actions: this.actions,
      changes: this.changes,
      clock,
    });
    this.actions = [];
    this.changes = [];
  }

  /** Replays each branch from the same state; where they meet, they must agree. */
  private block(block: Statement): void {
    const branches = block.branches!.map((branch) => branch.statements);
    if (block.kind === 'if' && branches.length === 1) branches.push([]);
    const curesBefore = this.cures;
    const clockBefore = this.clock;
    const ends: {
      parts: Map<string, PartState>;
      fluids: Map<string, FluidState>;
      swaps: Map<string, string>;
      swappedFor: Map<string, readonly string[]>;
      cures: Cure | undefined;
      clock: number;
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
        cures: this.cures,
        clock: this.clock,
      });
      for (const part of changed.keys()) this.set(part, before.get(part)!);
      this.cures = curesBefore;
      this.clock = clockBefore;
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
      this.unsure.add(part);
      this.set(part, states[0]!);
    }
    for (const supply of new Set(ends.flatMap((end) => [...end.fluids.keys()]))) {
      const start = this.fluids.now.get(supply) ?? noFluid;
      const states = ends.map((end) => end.fluids.get(supply) ?? start);
      if (!states.every((state) => sameFluid(state, states[0]!))) {
        if (!block.broken) this.disagreements.push({ block, subject: supply, kind: 'supply', states });
        this.unsure.add(supply);
      }
      const merged = states.find((state) => state !== start) ?? start;
      this.fluids.set(supply, merged);
      for (const state of states)
        if (state !== merged && state !== start) this.otherFluids.push({ supply, state, merged });
    }
    const [first] = ends;
    for (const [part, successor] of first!.swaps) this.swaps.set(part, successor);
    for (const [part, replaced] of first!.swappedFor) this.swappedFor.set(part, replaced);
    this.clock = Math.min(...ends.map((end) => end.clock));
    this.meetCures(curesBefore, ends);
    this.entry(block, 'merged');
  }

  /** A cure begun in any branch, or left running in any, has to have run; the least time that passed counts. */
  private meetCures(before: Cure | undefined, ends: readonly { cures: Cure | undefined; clock: number }[]): void {
    const begun: Cure[] = [];
    let kept = false;
    for (const end of ends) {
      let cure = end.cures;
      for (; cure !== undefined && cure !== before; cure = cure.earlier)
        begun.push({ ...cure, at: cure.at + this.clock - end.clock });
      kept ||= cure === before;
    }
    this.cures = kept ? before : undefined;
    for (const cure of begun.reverse()) this.cures = { ...cure, earlier: this.cures };
  }

  private set(part: string, after: PartState): void {
    const before = this.states.get(part)!;
    if (before === after) return;
    this.states.set(part, after);
    this.changes.push({ part, before, after });
  }

  private effect(statement: Statement): void {
    const name = statement.name;
    const mark: Mark | undefined = name === undefined ? undefined : { statement, name };
    switch (statement.kind) {
      case 'wait':
        this.clock += siValueOf(statement.amount, 'time') ?? 0;
        return;
      case 'check':
        if (this.step.phase === 'proving') this.load(statement);
        return;
      case 'apply': {
        const cure = siValueOf(this.model.supplies.get(name?.text ?? '')?.cure, 'time');
        if (cure !== undefined && cure > 0) {
          const { clock: at, step, cures: earlier } = this;
          this.cures = { applied: statement, supply: name!.text, cure, at, step, earlier };
        }
        return;
      }
      case 'omit':
        if (mark !== undefined && !this.states.has(mark.name.text) && this.fluids.now.has(mark.name.text))
          this.fluids.set(mark.name.text, { ...this.fluids.now.get(mark.name.text)!, drained: false });
        break;
      case 'drain':
      case 'fill':
        if (mark !== undefined && this.model.supplies.has(mark.name.text)) this.fluid(statement, mark);
        return;
    }
    if (mark === undefined || !this.states.has(mark.name.text)) return;
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
        const before = this.states.get(mark.name.text)!;
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
    this.actions.push({
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
      before: this.states.get(part)!,
      after,
      holders: what.holders ?? [],
      covers: what.covers ?? [],
    });
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
      seen.add(next);
      const declaration = this.model.parts.get(next);
      if (declaration !== undefined) places.push(declaration);
      queue.push(...(this.swappedFor.now.get(next) ?? []));
    }
    return places;
  }

  /** A part and what has been swapped in for it. */
  private withSuccessors(part: string): string[] {
    const chain = [part];
    const swaps = this.swaps.now;
    for (let next = swaps.get(part); next !== undefined && !chain.includes(next); next = swaps.get(next))
      chain.push(next);
    return chain;
  }

  private blocker(part: string): Blocker | undefined {
    const state = this.states.get(part);
    const pieces = state === undefined || this.unsure.has(part) ? 0 : on(state) - state.stranded;
    return pieces === 0 ? undefined : { part, on: pieces, cameOff: state!.cameOff };
  }

  private holdersOf(part: string, along: ReadonlySet<string>): Blocker[] {
    const holders = new Map<string, Blocker>();
    for (const place of this.placesOf(part)) {
      for (const name of place.heldBy) {
        for (const holder of this.withSuccessors(name.text)) {
          if (along.has(holder) || holder === part) continue;
          const blocker = this.blocker(holder);
          if (blocker === undefined) continue;
          const state = this.states.get(holder)!;
          // A captive fastener stays on the part that it holds; loosened, it holds no longer.
          if (state.tight + state.snug === 0 && state.carried.some((carried) => carried.by === part)) continue;
          holders.set(holder, blocker);
        }
      }
    }
    return [...holders.values()];
  }

  /** What the part sits behind; while its carrier is on, what the carrier sits behind as well. */
  private coversOf(part: string, along: ReadonlySet<string> = none, visited: Set<string> = new Set()): Blocker[] {
    if (visited.has(part)) return [];
    visited.add(part);
    const covers = new Map<string, Blocker>();
    for (const place of this.placesOf(part)) {
      for (const name of place.behind) {
        for (const cover of this.withSuccessors(name.text)) {
          if (along.has(cover) || cover === part) continue;
          const blocker = this.blocker(cover);
          if (blocker !== undefined) covers.set(cover, blocker);
        }
      }
    }
    for (const { by } of this.states.get(part)?.carried ?? []) {
      const carrier = this.states.get(by);
      if (carrier === undefined || on(carrier) === 0) continue;
      for (const blocker of this.coversOf(by, along, visited)) covers.set(blocker.part, blocker);
    }
    return [...covers.values()];
  }

  // --- effects on parts -----------------------------------------------------------------------------------------------

  private remove(statement: Statement, mark: Mark): void {
    const part = mark.name.text;
    const together = (statement.together ?? []).filter(({ name }) => this.states.has(name.text) && name.text !== part);
    const along = new Set([part, ...together.map(({ name }) => name.text)]);
    const before = this.states.get(part)!;
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
      tightHoles: [],
      lastOff: acted > 0 ? mark : before.lastOff,
    };
    this.act('remove', mark, {
      after,
      available,
      acted,
      wanted,
      holders: available > 0 ? this.holdersOf(part, along) : [],
      covers: available > 0 ? this.coversOf(part, along) : [],
    });
    for (const { name, count } of together) {
      const rider = name.text;
      const state = this.states.get(rider)!;
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
    const before = this.states.get(part)!;
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
    const state = this.states.get(part);
    if (state === undefined || state.stock || visited.has(part)) return false;
    return on(state) === 0 || state.carried.some(({ by }) => this.isOff(by, new Set([...visited, part])));
  }

  /** When no piece of `carrier` is left, what still sits on it is stranded. */
  private strand(carrier: string, mark: Mark): void {
    const state = this.states.get(carrier)!;
    if (on(state) > 0 || state.off + state.spoiled > 0 || state.stock) return;
    for (const rider of this.riders.get(carrier) ?? []) {
      const before = this.states.get(rider)!;
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
    const along = new Set((statement.together ?? []).map(({ name }) => name.text));
    this.fit(mark, statement.count?.value, statement.fresh !== undefined, along, undefined);
    for (const { name, count } of statement.together ?? []) {
      const state = this.states.get(name.text);
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
    const before = this.states.get(part)!;
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
      tightHoles: acted > 0 ? [] : before.tightHoles,
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
    if (target === undefined || !this.states.has(target.text) || target.text === mark.name.text) return;
    const before = this.states.get(mark.name.text)!;
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
    const inBefore = this.states.get(target.text)!;
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
    if (!this.states.has(source.text) || !this.states.has(target.text)) return;
    const before = this.states.get(mark.name.text)!;
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
    const before = this.states.get(mark.name.text)!;
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
    const before = this.states.get(mark.name.text)!;
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
    this.load(statement);
    this.fluids.set(mark.name.text, {
      ...before,
      drained: false,
      filled: true,
      in: before.in + amount,
      fills: { statement, earlier: before.fills },
      lastFill: mark,
    });
  }

  private load(statement: Statement): void {
    for (let cure = this.cures; cure !== undefined; cure = cure.earlier) {
      const elapsed = this.clock - cure.at - (this.ended.get(cure.step) ?? 0);
      if (elapsed + 1e-6 >= cure.cure) continue;
      const { applied, supply } = cure;
      this.earlyLoads.push({ applied, supply, loading: statement, cure: cure.cure, elapsed });
    }
    // One finding for each application: the first load is the one to mend.
    this.cures = undefined;
  }
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

const histories = new WeakMap<Variant, Map<string, { index: number; after: PartState }[]>>();
function historyOf(variant: Variant): Map<string, { index: number; after: PartState }[]> {
  let history = histories.get(variant);
  if (history === undefined) {
    history = new Map();
    for (const entry of variant.entries) {
      for (const change of entry.changes) {
        const list = history.get(change.part);
        if (list === undefined) history.set(change.part, [{ index: entry.index, after: change.after }]);
        else list.push({ index: entry.index, after: change.after });
      }
    }
    histories.set(variant, history);
  }
  return history;
}
