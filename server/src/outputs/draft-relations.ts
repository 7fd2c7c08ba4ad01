import { type Declaration, type Statement, walk } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { missing, on } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import type { Model, StepEntry } from '../model/model.ts';

/** Where in the text a statement stands. */
export interface Origin {
  /** Counts statements from the top. */
  readonly ordinal: number;
  readonly step: StepEntry;
  readonly statement: Statement;
}

export function originsOf(model: Model): Map<Statement, Origin> {
  const origins = new Map<Statement, Origin>();
  for (const step of model.steps)
    for (const statement of walk(step.step.statements))
      origins.set(statement, { ordinal: origins.size, step, statement });
  return origins;
}

/** What must be back before what, for one code, with everything that was swapped in its place. */
export class Relations {
  private readonly model: Model;
  private readonly variant: Variant;
  private readonly origins: ReadonlyMap<Statement, Origin>;
  private readonly removals = new Map<string, Origin>();
  private readonly marks = new Map<string, Statement>();
  private readonly predecessors = new Map<string, string[]>();
  private readonly known = new Map<string, ReadonlySet<string>>();
  private readonly covering = new Map<string, ReadonlySet<string>>();
  private readonly carrying = new Map<string, readonly string[]>();
  private readonly holding = new Map<string, readonly string[]>();
  private readonly places = new Map<string, readonly Declaration[]>();

  constructor(model: Model, variant: Variant, origins: ReadonlyMap<Statement, Origin>) {
    this.model = model;
    this.variant = variant;
    this.origins = origins;
    // What the reassembly takes off again, for a trial fit, has its mirrored place from the teardown all the same.
    for (const { statement, step, actions } of variant.entries)
      for (const { verb, along, acted, part } of actions) {
        if (verb === 'mark') this.marks.set(part, statement);
        if (verb === 'remove' && !along && acted > 0 && !(step.phase === 'reassembly' && this.removals.has(part)))
          this.removals.set(part, origins.get(statement)!);
      }
    for (const [old, successor] of variant.swaps) addTo(this.predecessors, successor, old);
  }

  /** What `part` sits behind, or what holds it: nothing of that may go back before it. */
  blockers(part: string): ReadonlySet<string> {
    let blockers = this.known.get(part);
    if (blockers === undefined) {
      blockers = new Set([...this.covers(part), ...this.holders(part)]);
      this.known.set(part, blockers);
    }
    return blockers;
  }

  /** While a part's carrier is on, what the carrier sits behind covers the part as well. A long chain of carriers is walked without recursion. */
  private covers(part: string): ReadonlySet<string> {
    const begun = new Set<string>();
    const open = [part];
    for (let name = open.at(-1); name !== undefined; name = open.at(-1)) {
      begun.add(name);
      const carriers = this.covering.has(name) ? [] : this.carriers(name);
      const ahead = carriers.filter((carrier) => !this.covering.has(carrier) && !begun.has(carrier));
      if (ahead.length > 0) {
        open.push(...ahead.toReversed());
        continue;
      }
      open.pop();
      if (!this.covering.has(name)) this.covering.set(name, this.coversBy(name, carriers));
    }
    return this.covering.get(part)!;
  }

  private coversBy(part: string, carriers: readonly string[]): ReadonlySet<string> {
    const own = this.named(part, ({ behind }) => behind);
    const further = carriers.flatMap((carrier) => this.covering.get(carrier) ?? []);
    // Most parts of a chain add nothing: they share what covers their carrier.
    const [only] = further;
    if (own.length === 0 && further.length === 1 && !only!.has(part)) return only!;
    return new Set([...own, ...further.flatMap((covers) => [...covers])].filter((cover) => cover !== part));
  }

  /** What carries `part` at the end and goes back, with what was swapped in for it. */
  private carriers(part: string): readonly string[] {
    let carriers = this.carrying.get(part);
    if (carriers === undefined) {
      carriers = (this.variant.final.get(part)?.carried ?? [])
        .flatMap(({ by }) => this.chain(by))
        .filter((carrier) => this.goesBack(carrier));
      this.carrying.set(part, carriers);
    }
    return carriers;
  }

  /** What `holder` holds. */
  heldBy(holder: string): ReadonlySet<string> {
    if (this.held === undefined) {
      this.held = new Map();
      for (const part of this.model.parts.keys())
        for (const each of this.holders(part)) this.held.set(each, (this.held.get(each) ?? new Set()).add(part));
    }
    return this.held.get(holder) ?? new Set();
  }
  private held: Map<string, Set<string>> | undefined;

  holders(part: string): readonly string[] {
    let holders = this.holding.get(part);
    if (holders === undefined) {
      holders = this.named(part, ({ heldBy }) => heldBy);
      this.holding.set(part, holders);
    }
    return holders;
  }

  private named(part: string, clause: (declaration: Declaration) => Declaration['behind']): string[] {
    return this.placesOf(part)
      .flatMap((place) => clause(place))
      .flatMap(({ text }) => this.chain(text))
      .filter((name) => name !== part && this.model.parts.has(name));
  }

  /** A part and what was swapped in for it, in turn. */
  chain(part: string): string[] {
    const chain = new Set<string>();
    const { swaps } = this.variant;
    for (let next: string | undefined = part; next !== undefined && !chain.has(next); next = swaps.get(next))
      chain.add(next);
    return [...chain];
  }

  /** A part and what it was swapped in for. */
  placesOf(part: string): readonly Declaration[] {
    const known = this.places.get(part);
    if (known !== undefined) return known;
    const names = new Set([part]);
    // What is added is gone through in turn.
    for (const name of names) for (const old of this.predecessors.get(name) ?? []) names.add(old);
    const places = [...names].flatMap((name) => this.model.parts.get(name) ?? []);
    this.places.set(part, places);
    return places;
  }

  private goesBack(part: string): boolean {
    const state = this.variant.final.get(part);
    return state !== undefined && on(state) + missing(state) > 0;
  }

  /** The statement that last took `part`, or what it was swapped in for, off the unit. */
  removalOf(part: string): Origin | undefined {
    for (const { name } of this.placesOf(part)) {
      const removal = this.removals.get(name!.text);
      if (removal !== undefined) return removal;
    }
    return undefined;
  }

  /** The last `mark` of `part`. */
  markOf(part: string): Statement | undefined {
    return this.marks.get(part);
  }

  /** What the mirrored place of `part` is reckoned from: what came off last goes back first. */
  originOf(part: string): Origin | undefined {
    const state = this.variant.final.get(part);
    const mark = state?.lastOff ?? state?.lastScrap ?? state?.lastLoose;
    return this.removalOf(part) ?? (mark === undefined ? undefined : this.origins.get(mark.statement));
  }
}
