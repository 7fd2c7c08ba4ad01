import { nearest } from '../../../grammar/nearest.ts';
import { parse } from '../../../grammar/parser.ts';
import { offsetsOf, type Quantity, type Statement, type Step, type SyntaxTree, walk } from '../../../grammar/syntax.ts';
import type { Edit } from '../checks/check.ts';
import { hazardousIn, isSafetyMessage, messagesFor } from '../checks/hazards.ts';
import { interferenceOf } from '../checks/mounting.ts';
import { type Action, type Ledger, replay, type Variant } from '../ledger/ledger.ts';
import { type FluidState, missing, on, type PartState } from '../ledger/state.ts';
import { bind, countOf, type Model, type Resolve, type StepEntry, titleOf } from '../model/model.ts';
import { figure, fromSI, siValueOf, written } from '../model/quantity.ts';
import { Layout, type NewStep, quoted, type Slot } from './draft-layout.ts';
import { lacksWrench, restated, tightenLine, times } from './draft-lines.ts';
import { freeName, inOrder, insertionsOf, type Landmark, placeAll, type Work } from './draft-place.ts';
import { type Origin, originsOf, Relations } from './draft-relations.ts';
import { coatsOf } from './draft-supplies.ts';
import { GrowingText, type Insertion } from './draft-text.ts';

export interface Draft {
  /** Insertions only; empty where the reassembly answers everything already. */
  readonly edits: readonly Edit[];
  /** The whole file with the edits in it. */
  readonly text: string;
  /** What the draft cannot know: for the author to look at, a sentence each. */
  readonly notes: readonly string[];
}

/**
 * Writes the reassembly that answers teardown and inspection, or completes one that is partly written: what stands in
 * the file keeps its text and its order. Total; drafting the result again changes nothing.
 */
export function draft(model: Model, ledger: Ledger): Draft {
  const drafting = new Drafting(model, ledger);
  drafting.run();
  return { edits: drafting.text.edits(model.tree.uri), text: drafting.text.text, notes: [...drafting.notes] };
}

/** Rounds of completing what an earlier round has laid open; a guard, no case is known that needs them all. */
const mostRounds = 6;

type Made = Omit<Work, 'codes' | 'low' | 'high' | 'fits' | 'preferred'> & {
  /** Parts that go back with it, and are no obstacle to it. */
  readonly along: ReadonlySet<string>;
};

interface Landing {
  readonly action: Action;
  readonly place: number;
}

class Drafting {
  readonly text: GrowingText;
  readonly notes = new Set<string>();
  private readonly shared: Resolve;
  private readonly stepNames: Set<string>;
  /** Drafted in this run. */
  private readonly steps = new Set<string>();
  private readonly coats = new Set<string>();
  private readonly titles = new Map<StepEntry['index'], number>();
  private model: Model;
  private ledger: Ledger;
  private layout!: Layout;
  private origins!: Map<Statement, Origin>;
  private relations!: Map<Variant, Relations>;
  private landings!: Map<Variant, Landing[]>;

  constructor(model: Model, ledger: Ledger) {
    this.text = new GrowingText(model.tree.text);
    this.shared = sharedBy(model);
    this.stepNames = new Set(model.stepNames.keys());
    this.model = model;
    this.ledger = ledger;
    this.look();
  }

  run(): void {
    const repeat = (round: () => boolean): void => {
      for (let i = 0; i < mostRounds && round(); i++);
    };
    this.reopen();
    repeat(() => this.completeBranches() || this.putBack());
    this.coat();
    repeat(() => this.completeBranches() || this.tighten());
    this.fill();
    repeat(() => this.wait());
    this.warn();
    this.nameAwaited();
    this.remark();
  }

  private look(): void {
    this.layout = new Layout(this.model);
    this.origins = originsOf(this.model);
    this.relations = new Map(
      this.ledger.variants.map((variant) => [variant, new Relations(this.model, variant, this.origins)]),
    );
    this.landings = new Map(this.ledger.variants.map((variant) => [variant, this.landingsOf(variant)]));
  }

  private grow(insertions: readonly Insertion[]): boolean {
    if (insertions.length === 0) return false;
    this.text.insert(insertions);
    return this.reread();
  }

  private reread(): true {
    this.model = bind(parse(this.model.tree.uri, this.text.text), this.shared);
    this.ledger = replay(this.model);
    this.look();
    return true;
  }

  /** What the reassembly does to the parts, in order. */
  private landingsOf(variant: Variant): Landing[] {
    return variant.entries.flatMap(({ statement, step, actions }) => {
      const place = step.phase === 'reassembly' ? this.layout.placeOf(statement) : undefined;
      return place === undefined ? [] : actions.map((action) => ({ action, place }));
    });
  }

  // --- what every insertion has to heed ---------------------------------------------------------------------------------

  private insert(
    made: readonly Made[],
    limits: (work: Made) => Pick<Work, 'low' | 'high' | 'fits' | 'preferred'>,
  ): boolean {
    if (made.length === 0) return false;
    const works = this.merged(made).map((each): Work & Made => ({
      ...each,
      codes:
        each.variants.length === this.ledger.variants.length ? undefined : each.variants.map(({ code }) => code ?? ''),
      ...limits(each),
    }));
    const fits = new Map<string, (Work & Made)[]>();
    for (const work of works) if (work.kind === 'fit') fits.set(work.part, [...(fits.get(work.part) ?? []), work]);
    const followers = new Map(works.map((work) => [work as Work, this.followersOf(work, fits)]));
    const order = inOrder(works, (work) => followers.get(work)!);
    const { slots, forced } = placeAll(this.layout, order, (work) => followers.get(work)!, this.landmarks());
    for (const { kind, part } of forced)
      this.notes.add(
        `No place for the \`${kind}\` of \`${part}\` suits everything that stands in the reassembly: look at its order.`,
      );
    return this.grow(insertionsOf(this.layout, order, slots, (run) => this.stepFor(run)));
  }

  /** The same for several codes is one. */
  private merged(made: readonly Made[]): Made[] {
    const found = new Map<string, Made>();
    for (const each of made) {
      const id = [each.kind, each.part, ...each.lines].join('\n');
      const known = found.get(id);
      if (known === undefined) found.set(id, each);
      else {
        const { key, source } = each.key > known.key ? each : known;
        found.set(id, { ...known, key, source, variants: [...known.variants, ...each.variants] });
      }
    }
    return [...found.values()];
  }

  private followersOf(work: Made, fits: ReadonlyMap<string, readonly Work[]>): Work[] {
    if (work.kind !== 'fit' && work.kind !== 'transfer') return [];
    const parts = new Set<string>();
    for (const variant of work.variants) {
      if (work.kind === 'transfer') for (const part of [work.part, ...work.along]) parts.add(part);
      else
        for (const part of this.relations.get(variant)!.blockers(work.part)) if (!work.along.has(part)) parts.add(part);
    }
    return [...parts].flatMap((part) =>
      (fits.get(part) ?? []).filter((other) =>
        other.part !== work.part || work.kind === 'transfer' ? sharesVariant(work, other) : false,
      ),
    );
  }

  private landmarks(): Landmark[] {
    const landmarks = new Map<string, Landmark>();
    for (const [variant, landings] of this.landings) {
      for (const { action, place } of landings) {
        if (action.verb !== 'fit' || action.along) continue;
        const origin = this.relations.get(variant)!.originOf(action.part);
        if (origin === undefined) continue;
        landmarks.set(`${place} ${action.part}`, {
          place,
          key: this.keyOf(variant, action.part),
          source: origin.step,
        });
      }
      for (const { statement, place, step } of this.layout.units) {
        const drain = variant.fluids.get(statement.name?.text ?? '')?.lastDrain;
        if (statement.kind !== 'fill' || drain === undefined) continue;
        landmarks.set(`${place} ${statement.name!.text}`, {
          place,
          key: this.fillKey(variant, drain.statement),
          source: this.origins.get(drain.statement)?.step ?? step,
        });
      }
    }
    return [...landmarks.values()];
  }

  private blocked(variant: Variant, part: string, by: string, place: number): boolean {
    const state = this.layout.stateAt(variant, by, place);
    if (state === undefined || !state.cameOff || on(state) - state.stranded <= 0) return false;
    const captive = state.tight + state.snug === 0 && state.carried.some((carried) => carried.by === part);
    return !captive || !this.relations.get(variant)!.holders(part).includes(by);
  }

  private reachable(variants: readonly Variant[], part: string, along: ReadonlySet<string>): (slot: Slot) => boolean {
    return (slot) =>
      variants.every((variant) =>
        [...this.relations.get(variant)!.blockers(part)].every(
          (by) => along.has(by) || !this.blocked(variant, part, by, slot.place),
        ),
      );
  }

  // --- fluids: their place in the order -----------------------------------------------------------------------------------

  private readonly keys = new WeakMap<Variant, Map<string, number>>();

  /** Mirrored place of a part. A filler plug goes in behind the filling. */
  private keyOf(variant: Variant, part: string): number {
    let keys = this.keys.get(variant);
    if (keys === undefined) {
      keys = new Map();
      this.keys.set(variant, keys);
      for (const drain of drainsOf(variant)) {
        const key = this.fillKey(variant, drain);
        for (const filler of this.fillersOf(variant, drain))
          keys.set(filler, key - 0.05 + 1e-9 * this.ordinalOf(variant, filler));
      }
    }
    return keys.get(part) ?? this.ordinalOf(variant, part);
  }

  private ordinalOf(variant: Variant, part: string): number {
    return this.relations.get(variant)!.originOf(part)?.ordinal ?? 0;
  }

  /** Parts that go back: those that are owed, and those that the reassembly fits. */
  private returning(variant: Variant): Set<string> {
    const parts = new Set(
      this.landings.get(variant)!.flatMap(({ action }) => (action.verb === 'fit' ? action.part : [])),
    );
    for (const [part, state] of variant.final) if (missing(state) > 0) parts.add(part);
    return parts;
  }

  /** A fluid goes in when all that came off since its drain step began is back, and all else but connections. */
  private fillKey(variant: Variant, drain: Statement): number {
    const { step } = this.origins.get(drain)!;
    const fillers = new Set(this.fillersOf(variant, drain));
    let key = this.origins.get([...walk(step.step.statements)][0]!)!.ordinal - 0.5;
    for (const part of this.returning(variant))
      if (!fillers.has(part) && !isConnection(variant.final.get(part)))
        key = Math.min(key, this.ordinalOf(variant, part));
    return key - 0.1;
  }

  private fillersOf(variant: Variant, drain: Statement): string[] {
    const step = this.origins.get(drain)?.step;
    return [...this.model.parts].flatMap(([part, { title }]) =>
      isFiller(part, title?.value ?? '') && this.relations.get(variant)!.removalOf(part)?.step === step ? [part] : [],
    );
  }

  // --- putting parts back ---------------------------------------------------------------------------------------------------

  private putBack(): boolean {
    const made: Made[] = [];
    for (const variant of this.ledger.variants) {
      for (const [part, state] of variant.final) {
        if (variant.unsure.has(part)) {
          if (missing(state) + state.stranded > 0)
            this.notes.add(`Nothing is drafted for \`${part}\`: a line about it cannot be read, or branches differ.`);
          continue;
        }
        made.push(...this.transfers(variant, part, state), ...this.refitting(variant, part, state));
      }
    }
    return this.insert(made, (work) => {
      const place = (statement: Statement | undefined): number =>
        statement === undefined ? -1 : (this.layout.placeOf(statement) ?? -1);
      let low = -1;
      let high = Number.POSITIVE_INFINITY;
      for (const variant of work.variants) {
        const state = variant.final.get(work.part)!;
        const landings = this.landings.get(variant)!;
        if (work.kind === 'transfer') {
          for (const { action, place } of landings)
            if (action.verb === 'fit' && (action.part === work.part || work.along.has(action.part)))
              high = Math.min(high, place);
          continue;
        }
        for (const mark of [state.lastOff, state.lastScrap]) low = Math.max(low, place(mark?.statement));
        for (const { action, place } of landings)
          if (goesOn(action) && this.relations.get(variant)!.blockers(action.part).has(work.part))
            low = Math.max(low, place);
      }
      if (work.kind === 'fit')
        for (const variant of work.variants)
          for (const { action, place } of this.landings.get(variant)!)
            if (action.part === work.part && place > low && turns(action) && action.available < (action.wanted ?? 1))
              high = Math.min(high, place);
      const ready = this.layout.units.findLast(
        (unit) => unit.place > low && unit.place < high && prepares(unit.statement, work.part),
      );
      return {
        low,
        high,
        fits: work.kind === 'transfer' ? () => true : this.reachable(work.variants, work.part, work.along),
        preferred:
          work.kind === 'transfer'
            ? high === Number.POSITIVE_INFINITY
              ? []
              : [high - 1]
            : ready === undefined
              ? []
              : [ready.place + 1],
      };
    });
  }

  /** Covers that teardown or inspection put back over what is still off, or loose, come off once more. */
  private reopen(): boolean {
    const removals = new Map<string, string[]>();
    for (const variant of this.ledger.variants) {
      const found = new Set<string>();
      const take = (part: string): void => {
        if (found.has(part)) return;
        found.add(part);
        for (const by of this.relations.get(variant)!.blockers(part))
          if (on(this.layout.stateAt(variant, by, 0)!) > 0) take(by);
        const line = `remove ${part}`;
        removals.set(line, [...(removals.get(line) ?? []), variant.code ?? '']);
      };
      for (const [part, state] of variant.final) {
        if (variant.unsure.has(part) || missing(state) + state.loose + state.snug === 0) continue;
        for (const by of this.relations.get(variant)!.blockers(part))
          if (this.layout.slots.every(({ place }) => this.blocked(variant, part, by, place))) take(by);
      }
    }
    if (removals.size === 0) return false;
    const name = freeName('reopen', this.stepNames);
    this.steps.add(name);
    const lines = [...removals].flatMap(([line, codes]) =>
      codes.length === this.ledger.variants.length ? [line] : [`for ${codes.join(', ')}`, `  ${line}`, 'end'],
    );
    const step = { name, title: 'Take off again what is in the way', takes: undefined, lines };
    return this.grow([this.layout.between(this.layout.slots[0]!, [step])]);
  }

  /** What sits, or sat, on a carrier that was swapped out moves to what took its place. */
  private transfers(variant: Variant, part: string, state: PartState): Made[] {
    return state.carried.flatMap(({ by, count }) => {
      const target = this.relations.get(variant)!.chain(by).at(-1)!;
      const elsewhere = state.carried.reduce((sum, carried) => sum + (carried.by === by ? 0 : carried.count), 0);
      const refitted = Math.min(count, Math.max(0, on(state) - elsewhere));
      if (target === by || count === 0 || state.off + state.fresh + state.stranded + refitted === 0) return [];
      const own = this.relations.get(variant)!.originOf(part);
      const carrier = this.relations.get(variant)!.originOf(target);
      const origin = (own?.ordinal ?? -1) > (carrier?.ordinal ?? -1) && missing(state) > 0 ? own : carrier;
      return [
        {
          lines: [`transfer ${part} from ${by} to ${target}`],
          part,
          kind: 'transfer' as const,
          variants: [variant],
          key: (origin?.ordinal ?? 0) + 0.5,
          source: origin?.step,
          along: new Set([target]),
        },
      ];
    });
  }

  private refitting(variant: Variant, part: string, state: PartState): Made[] {
    const relations = this.relations.get(variant)!;
    const lostWithCarrier =
      state.stranded > 0 && relations.chain(state.strandedBy?.name.text ?? part).length === 1 ? state.stranded : 0;
    const good = state.off + state.fresh;
    const fresh = state.spoiled + state.scrap + lostWithCarrier;
    if (good + fresh === 0) return [];
    const off = state.lastOff ?? state.lastScrap ?? state.strandedBy;
    if (off !== undefined && this.origins.get(off.statement)?.step.phase === 'proving') {
      this.notes.add(`\`${part}\` comes off in proving: what puts it back belongs there.`);
      return [];
    }
    const whole = countOf(this.model.parts.get(part));
    const removal = relations.removalOf(part);
    const along = (removal?.statement.together ?? []).filter(({ name }) => {
      const rider = variant.final.get(name.text);
      const stripped = relations.removalOf(name.text);
      return (
        rider !== undefined &&
        name.text !== part &&
        on(rider) > 0 &&
        missing(rider) === 0 &&
        (stripped === undefined || stripped.ordinal < removal!.ordinal)
      );
    });
    const support = this.supportOf(part, removal);
    const words = [
      along.length === 0
        ? ''
        : ` with ${along.map(({ name, count }) => name.text + (count === undefined ? '' : ` x${count.value}`)).join(', ')}`,
      this.hintOf(variant, part, state),
      support === undefined ? '' : usingWords(support.using.filter((tool) => support.onRemoval.includes(tool))),
    ].join('');
    const verb = isConnection(state) ? 'connect' : 'fit';
    const others = state.settled + state.inStock + good;
    const lines = [
      ...(support === undefined ? [] : [`support ${part}${usingWords(support.using)}`]),
      ...(good > 0 ? [`${verb} ${part}${times(good, whole)}${words}`] : []),
      ...(fresh > 0
        ? [`fit new ${part}${others > 0 ? ` x${fresh}` : times(fresh, whole)}${good > 0 ? '' : words}`]
        : []),
    ];
    const carrier = state.strandedBy?.name.text;
    const key =
      removal === undefined && lostWithCarrier > 0 && carrier !== undefined
        ? this.keyOf(variant, carrier) + 0.25
        : this.keyOf(variant, part);
    const source =
      relations.originOf(part)?.step ?? (carrier === undefined ? undefined : relations.originOf(carrier)?.step);
    return [
      {
        lines,
        part,
        kind: 'fit',
        variants: [variant],
        key,
        source,
        along: new Set(along.map(({ name }) => name.text)),
      },
    ];
  }

  /** A load that was held up when it came off is held up when it goes back. */
  private supportOf(
    part: string,
    removal: Origin | undefined,
  ): { using: readonly string[]; onRemoval: readonly string[] } | undefined {
    if (removal === undefined) return undefined;
    const isSupported = (statement: Statement): boolean => statement.kind === 'support';
    const names = new Set([part, removal.statement.name?.text]);
    const before = [...walk(removal.step.step.statements)].filter(
      (each) => isSupported(each) && names.has(each.name?.text) && this.origins.get(each)!.ordinal < removal.ordinal,
    );
    const support = before.at(-1);
    const again = this.layout.units.some(({ statement }) =>
      [...walk([statement])].some((each) => isSupported(each) && each.name?.text === part),
    );
    if (support === undefined || again) return undefined;
    return { using: namesIn(support.using), onRemoval: namesIn(removal.statement.using) };
  }

  /** How a marked part is to be set, in the words of its mark. */
  private hintOf(variant: Variant, part: string, state: PartState): string {
    if (!state.marked || state.off === 0) return '';
    const mark = variant.entries.findLast((entry) =>
      entry.actions.some((each) => each.verb === 'mark' && each.part === part),
    );
    const said = mark?.statement.text?.value;
    const long = said === undefined ? '' : `Line up the marks: ${said}`;
    return ` ${quoted(long !== '' && long.split(/\s+/).length <= 20 ? long : 'Line up the marks')}`;
  }

  // --- alternatives -----------------------------------------------------------------------------------------------------

  /** Where branches of the reassembly leave a part in different states, the shorter ones are completed. */
  private completeBranches(): boolean {
    const insertions = new Map<string, Insertion>();
    for (const variant of this.ledger.variants) {
      for (const { block, subject, kind, states } of variant.disagreements) {
        if (this.layout.placeOf(block) === undefined) continue;
        const lines =
          kind === 'part'
            ? this.missingInBranches(subject, states as readonly PartState[])
            : (states as readonly FluidState[]).map((state) =>
                state.drained ? this.fillLines(variant, subject, state) : [],
              );
        lines.forEach((each, branch) => {
          if (each.length === 0) return;
          const insertion = this.inBranch(variant, block, branch, subject, each);
          if (insertion !== undefined) insertions.set(`${insertion.at} ${insertion.text}`, insertion);
        });
      }
      // One block at a time: what an inner one does is seen by the outer.
      if (insertions.size > 0) break;
    }
    return this.grow([...insertions.values()]);
  }

  private inBranch(
    variant: Variant,
    block: Statement,
    branch: number,
    part: string,
    lines: readonly string[],
  ): Insertion | undefined {
    const needs = (statement: Statement): boolean =>
      (statement.kind === 'tighten' && statement.name?.text === part) ||
      (statement.kind === 'fit' &&
        this.relations
          .get(variant)!
          .blockers(part)
          .has(statement.name?.text ?? ''));
    const first = block.branches?.[branch]?.statements.find((statement) => [...walk([statement])].some(needs));
    return first === undefined || lines[0]?.startsWith('tighten') === true
      ? this.layout.inBranch(block, branch, lines)
      : this.layout.above(first, lines);
  }

  private missingInBranches(part: string, states: readonly PartState[]): string[][] {
    const most = states.reduce((a, b) => (on(b) > on(a) || (on(b) === on(a) && b.tight > a.tight) ? b : a));
    const whole = countOf(this.model.parts.get(part));
    return states.map((state) => {
      const lines: string[] = [];
      const short = on(most) - on(state);
      const old = Math.min(short, state.off + state.fresh);
      if (old > 0) lines.push(`fit ${part}${times(old, whole)}`);
      if (short > old) lines.push(`fit new ${part}${times(short - old, whole)}`);
      const slack = most.tight - state.tight - (this.model.fasteners.has(part) ? 0 : short);
      if (slack > 0) lines.push(tightenLine(this.model, part, slack, on(most)));
      return lines;
    });
  }

  // --- supplies -----------------------------------------------------------------------------------------------------------

  private coat(): boolean {
    const returning = new Set(this.ledger.variants.flatMap((variant) => [...this.returning(variant)]));
    const { coats, notes } = coatsOf(this.model, (part) => returning.has(part));
    for (const note of notes) this.notes.add(note);
    const first = (variant: Variant, part: string): number | undefined =>
      this.landings.get(variant)!.find(({ action }) => action.verb === 'fit' && action.part === part)?.place;
    const made = coats.flatMap(({ supply, part }) =>
      this.ledger.variants.flatMap((variant): Made[] => {
        const done = variant.entries.some(
          ({ statement, step }) =>
            step.phase === 'reassembly' &&
            statement.kind === 'apply' &&
            statement.name?.text === supply &&
            (statement.targets ?? []).some((target) => target.text === part),
        );
        if (done || first(variant, part) === undefined) return [];
        this.coats.add(`${supply} ${part}`);
        return [
          {
            lines: [`apply ${supply} to ${part}`],
            part,
            kind: 'apply',
            variants: [variant],
            key: this.keyOf(variant, part) + 0.3,
            source: this.relations.get(variant)!.originOf(part)?.step,
            along: new Set(),
          },
        ];
      }),
    );
    return this.insert(made, ({ variants, part }) => {
      const high = Math.min(...variants.map((variant) => first(variant, part)!));
      return { low: -1, high, fits: () => true, preferred: [high - 1] };
    });
  }

  private fillLines(variant: Variant, supply: string, { lastDrain, out }: FluidState): string[] {
    const declared = this.model.supplies.get(supply)?.amount;
    const drained = lastDrain?.statement.amount;
    const amount = declared !== undefined && isVolumeOrMass(declared) ? restated(this.model, declared) : undefined;
    if (amount !== undefined) return [`fill ${supply} ${amount}`];
    const drains = drainsOf(variant).filter((statement) => statement.name?.text === supply);
    const unit = drained?.unit?.unit;
    if (drained === undefined || unit === undefined) {
      this.notes.add(
        `\`${supply}\` is drained, and neither its declaration nor the drain says how much: \`fill\` it with a quantity.`,
      );
      return [];
    }
    return [
      `fill ${supply} ${drains.length === 1 ? restated(this.model, drained) : `${figure(fromSI(out, unit), 6)} ${unit.symbol}`}`,
    ];
  }

  private fill(): boolean {
    const made = this.ledger.variants.flatMap((variant) =>
      [...variant.fluids].flatMap(([supply, state]): Made[] => {
        if (!state.drained || state.filled || state.lastDrain === undefined || variant.unsure.has(supply)) return [];
        const source = this.origins.get(state.lastDrain.statement)?.step;
        const lines = source?.phase === 'proving' ? [] : this.fillLines(variant, supply, state);
        if (lines.length === 0) return [];
        const key = this.fillKey(variant, state.lastDrain.statement);
        return [{ lines, part: supply, kind: 'fill', variants: [variant], key, source, along: new Set() }];
      }),
    );
    return this.insert(made, ({ variants, part, key }) => {
      let low = -1;
      let high = Number.POSITIVE_INFINITY;
      const closing = new Set<string>();
      for (const variant of variants) {
        const drain = variant.fluids.get(part)!.lastDrain!.statement;
        for (const each of this.behindFillers(variant, this.fillersOf(variant, drain))) closing.add(each);
        for (const { action, place } of this.landings.get(variant)!) {
          const after = isConnection(variant.final.get(action.part)) && this.ordinalOf(variant, action.part) < key;
          if (goesOn(action) && !closing.has(action.part) && !after) low = Math.max(low, place);
        }
      }
      for (const { statement, place } of this.layout.units) if (statement.kind === 'wait') low = Math.max(low, place);
      for (const variant of variants) {
        const first = this.landings.get(variant)!.find(({ action }) => closing.has(action.part))?.place;
        if (first !== undefined && first > low) high = Math.min(high, first);
      }
      return { low, high, fits: () => true, preferred: [] };
    });
  }

  /** Filler plugs, and what may only go back after them. */
  private behindFillers(variant: Variant, fillers: readonly string[]): string[] {
    const found = [...fillers];
    for (let i = 0; i < found.length; i++)
      for (const part of this.relations.get(variant)!.blockers(found[i]!)) if (!found.includes(part)) found.push(part);
    return found;
  }

  /** Time to cure, ahead of the first load: the whole of it for what is drafted here, since its step times are estimates. */
  private wait(): boolean {
    const waits = new Map<Statement | undefined, { seconds: number; supplies: Set<string> }>();
    const add = (loading: Statement | undefined, seconds: number, supply: string): void => {
      const inReassembly = loading !== undefined && this.layout.placeOf(loading) !== undefined ? loading : undefined;
      const known = waits.get(inReassembly) ?? { seconds: 0, supplies: new Set<string>() };
      waits.set(inReassembly, { seconds: Math.max(known.seconds, seconds), supplies: known.supplies.add(supply) });
    };
    for (const variant of this.ledger.variants) {
      for (const { supply, loading, cure, elapsed } of variant.earlyLoads) add(loading, cure - elapsed, supply);
      variant.entries.forEach(({ statement, role }, i) => {
        const supply = statement.name?.text ?? '';
        const target = statement.targets?.[0]?.text;
        if (statement.kind !== 'apply' || role !== 'statement' || !this.coats.has(`${supply} ${target}`)) return;
        const cure = siValueOf(this.model.supplies.get(supply)?.cure, 'time') ?? 0;
        let waited = 0;
        let loading: Statement | undefined;
        for (const later of variant.entries.slice(i + 1)) {
          if (later.statement.kind === 'wait') waited += siValueOf(later.statement.amount, 'time') ?? 0;
          if (later.statement.kind !== 'fill' && !(later.statement.kind === 'check' && later.step.phase === 'proving'))
            continue;
          loading = later.statement;
          break;
        }
        if (waited + 1e-6 < cure) add(loading, cure - waited, supply);
      });
    }
    const end = this.layout.slots.at(-1)!;
    return this.grow(
      [...waits].map(([loading, { seconds, supplies }]) => {
        const titles = [...supplies].map((supply) => this.model.supplies.get(supply)?.title?.value ?? supply);
        const said =
          titles.length === 1 ? `${titles[0]} cures` : `${titles.slice(0, -1).join(', ')} and ${titles.at(-1)} cure`;
        const line = `wait ${this.timeText(seconds, supplies)} ${quoted(said.split(/\s+/).length <= 20 ? said : 'What was applied cures')}`;
        if (loading !== undefined) return this.layout.above(loading, [line]);
        const name = freeName('let-cure', this.stepNames);
        this.steps.add(name);
        return this.layout.between(end, [{ name, title: 'Let it cure', takes: undefined, lines: [line] }]);
      }),
    );
  }

  private timeText(seconds: number, supplies: ReadonlySet<string>): string {
    for (const supply of supplies) {
      const cure = this.model.supplies.get(supply)?.cure;
      if (cure?.form === 'single' && Math.abs((siValueOf(cure, 'time') ?? 0) - seconds) < 1e-6) return written(cure);
    }
    return `${figure(Math.ceil(seconds / 60 - 1e-9), 9)} min`;
  }

  // --- tightening -----------------------------------------------------------------------------------------------------------

  private tighten(): boolean {
    const made: Made[] = [];
    for (const variant of this.ledger.variants) {
      for (const [part, state] of variant.final) {
        const slack = state.loose + state.snug;
        if (slack === 0 || variant.unsure.has(part) || state.lastLoose === undefined) continue;
        const relations = this.relations.get(variant)!;
        const loosened = this.origins.get(state.lastLoose.statement);
        if (loosened?.step.phase === 'proving') {
          this.notes.add(`\`${part}\` is loose since proving: what tightens it belongs there.`);
          continue;
        }
        const fitted = this.landings.get(variant)!.some(({ action }) => action.verb === 'fit' && action.part === part);
        const origin = fitted ? relations.originOf(part) : loosened;
        made.push({
          lines: [tightenLine(this.model, part, slack, on(state))],
          part,
          kind: 'tighten',
          variants: [variant],
          key: fitted ? this.keyOf(variant, part) : (origin?.ordinal ?? 0),
          source: origin?.step,
          along: new Set(),
        });
      }
    }
    return this.insert(made, ({ variants, part }) => {
      let low = -1;
      let fitted = -1;
      for (const variant of variants) {
        const relations = this.relations.get(variant)!;
        for (const { action, place } of this.landings.get(variant)!) {
          const own = action.part === part && action.verb !== 'mark';
          if (own || (action.verb === 'fit' && relations.holders(action.part).includes(part)))
            low = Math.max(low, place);
          if (own && action.verb === 'fit') fitted = Math.max(fitted, place);
        }
      }
      const preferred: number[] = [];
      // Fasteners that hold one part go in together, then they are tightened.
      for (let at = fitted; fitted >= 0; at += 2) {
        preferred.unshift(at + 1);
        const next = this.layout.units.find((unit) => unit.place === at + 2)?.statement;
        if (next?.kind !== 'fit' || !this.areSiblings(variants, part, next.name?.text ?? '')) break;
      }
      return {
        low,
        high: Number.POSITIVE_INFINITY,
        fits: this.reachable(variants, part, new Set()),
        preferred,
      };
    });
  }

  private areSiblings(variants: readonly Variant[], a: string, b: string): boolean {
    if (!this.model.fasteners.has(b)) return false;
    return variants.every((variant) => {
      const relations = this.relations.get(variant)!;
      const held = relations.heldBy(b);
      return [...relations.heldBy(a)].some((part) => held.has(part));
    });
  }

  // --- safety -------------------------------------------------------------------------------------------------------------------

  private warn(): boolean {
    const insertions: Insertion[] = [];
    const dangerous = this.dangerous();
    for (const { step } of this.layout.steps) {
      const drafted = this.steps.has(step.name?.text ?? '');
      const said = new Set<string>();
      const dangers = hazardousIn(this.model, step).filter(({ warnedBefore }) => !warnedBefore);
      for (const { statement } of drafted ? dangers : dangers.slice(0, 1)) {
        const texts = messagesFor(this.model, statement).filter((text) => !said.has(text));
        for (const text of texts) said.add(text);
        if (texts.length === 0) continue;
        const word = dangerous.has(statement.name?.text ?? '') ? 'danger' : 'warning';
        insertions.push(
          this.layout.above(
            statement,
            texts.map((text) => `${word} ${quoted(text)}`),
          ),
        );
      }
    }
    return this.grow(insertions);
  }

  /** Parts and supplies of which teardown or inspection says `danger`. */
  private dangerous(): Set<string> {
    const found = new Set<string>();
    for (const { step, phase } of this.model.steps) {
      if (phase === 'reassembly' || phase === 'proving') continue;
      let last: Statement | undefined;
      for (const statement of walk(step.statements)) {
        if (isSafetyMessage(statement)) last = statement;
        else if (last?.kind === 'danger' && statement.name !== undefined) found.add(statement.name.text);
      }
    }
    return found;
  }

  // --- steps and notes ------------------------------------------------------------------------------------------------------------

  private stepFor(run: readonly Work[]): Omit<NewStep, 'lines'> {
    const { source, kind, part } = run[0]!;
    const answers = kind === 'fill' ? undefined : source;
    const name = freeName(
      kind === 'fill' ? `fill-${part}` : answers?.step.name === undefined ? 'refit' : `refit-${answers.step.name.text}`,
      this.stepNames,
    );
    this.steps.add(name);
    if (kind === 'fill')
      return { name, title: `Fill: ${this.model.supplies.get(part)?.title?.value ?? part}`, takes: undefined };
    const before = answers === undefined ? 0 : (this.titles.get(answers.index) ?? 0);
    if (answers !== undefined) this.titles.set(answers.index, before + 1);
    const title = answers?.step.title?.value ?? answers?.step.name?.text;
    const words = title === undefined ? 'Put it back' : `Reverse of: ${title}${before > 0 ? ' (further)' : ''}`;
    return {
      name,
      title: words.split(/\s+/).length <= 20 ? words : `Reverse of: ${answers!.step.name?.text ?? 'the step'}`,
      takes: before > 0 || answers?.step.takes === undefined ? undefined : written(answers.step.takes),
    };
  }

  /**
   * Steps that later ones wait for (`after`) and that no step is: they stood in the reassembly that is missing. The
   * drafted steps that say most of the same words take those names.
   */
  private nameAwaited(): void {
    const written = this.layout.steps.filter(({ step }) => !this.steps.has(step.name?.text ?? ''));
    const known = written.map(({ step }) => step.name?.text ?? '');
    const awaited = new Set<string>();
    for (const { step, phase } of this.model.steps)
      if (phase === 'reassembly' || phase === 'proving')
        for (const { text } of step.after)
          if (!this.model.stepNames.has(text) && nearest(text, known) === undefined) awaited.add(text);
    let drafted = this.layout.steps.filter((entry) => !written.includes(entry));
    const namings = [...awaited].flatMap((name) =>
      drafted.map(({ step }, i) => ({ name, step, likeness: likenessOf(name, step), i })),
    );
    namings.sort((a, b) => b.likeness - a.likeness || b.i - a.i);
    const renamed: { step: Step; name: string }[] = [];
    for (const { name, step } of namings) {
      if (!awaited.has(name) || !drafted.some((entry) => entry.step === step)) continue;
      awaited.delete(name);
      drafted = drafted.filter((entry) => entry.step !== step);
      renamed.push({ step, name });
    }
    const { tree } = this.model;
    const places = renamed.map(({ step, name }) => ({
      at: offsetsOf(tree, step.name!).start,
      old: step.name!.text,
      name,
    }));
    for (const { at, old, name } of places.sort((a, b) => b.at - a.at)) this.text.reword(at, old, name);
    if (places.length > 0) this.reread();
  }

  private remark(): void {
    const { model } = this;
    if (this.steps.size > 0)
      this.notes.add('The times of drafted steps are those of the teardown: estimate them anew.');
    for (const variant of this.ledger.variants) {
      for (const [part, state] of variant.final)
        if (!variant.unsure.has(part) && missing(state) > 0)
          this.notes.add(`\`${part}\` is still off at the end: put it back by hand.`);
    }
    const reassembly = this.layout.steps.flatMap(({ step }) => [...walk(step.statements)]);
    const isTightened = new Set(
      reassembly
        .filter((each) => each.kind === 'tighten' && each.byHand === undefined)
        .map((each) => each.name?.text ?? ''),
    );
    for (const part of isTightened) {
      const declaration = model.parts.get(part);
      const stated = reassembly.some(
        (each) => each.kind === 'tighten' && each.name?.text === part && (each.to ?? each.stages) !== undefined,
      );
      if (declaration !== undefined && declaration.torque === undefined && !stated)
        this.notes.add(`No torque is declared for \`${part}\`: write the maker's figure.`);
      else if (lacksWrench(model, part))
        this.notes.add(`No declared wrench suits the torque of \`${part}\`: declare one, and write \`using\`.`);
    }
    for (const statement of reassembly) {
      const part = statement.name?.text ?? '';
      if (statement.kind !== 'fit' || (interferenceOf(model.parts.get(part))?.max ?? 0) <= 0) continue;
      const mounted = reassembly.some(
        (each) => ['heat', 'cool', 'press'].includes(each.kind) && each.name?.text === part,
      );
      if (!mounted)
        this.notes.add(
          `\`${part}\` (${titleOf(model, part)}) is an interference fit: write \`heat\`, \`cool\` or \`press\` above its \`fit\`.`,
        );
    }
  }
}

/** The declarations of all used files as one, which every `use` finds: they stay what they are while the draft grows. */
function sharedBy(model: Model): Resolve {
  const chunks = model.files.slice(1).flatMap((file) => file.chunks.filter((chunk) => chunk.item?.kind !== 'use'));
  const shared: SyntaxTree = { uri: 'shared:', text: '', chunks, starts: chunks.map(() => 0) };
  return () => shared;
}

/** How many words of `name` a step says, twice for those in its own name. */
function likenessOf(name: string, step: Step): number {
  const own = (step.name?.text ?? '').split('-');
  const said = [...walk(step.statements)].flatMap(({ kind, name }) => [kind, ...(name?.text ?? '').split('-')]);
  return name.split('-').reduce((sum, word) => sum + (own.includes(word) ? 2 : said.includes(word) ? 1 : 0), 0);
}

const sharesVariant = (a: Pick<Work, 'variants'>, b: Pick<Work, 'variants'>): boolean =>
  a.variants.some((variant) => b.variants.includes(variant));

const turns = ({ verb }: Action): boolean =>
  verb === 'tighten' || verb === 'hand-tighten' || verb === 'loosen' || verb === 'remove';
/** What fails now may succeed once the draft has put back what it needs. */
const goesOn = ({ verb }: Action): boolean => verb === 'fit' || verb === 'tighten' || verb === 'hand-tighten';

const preparing: ReadonlySet<string> = new Set(['heat', 'cool', 'press', 'shim', 'try', 'support']);
const prepares = (statement: Statement, part: string): boolean =>
  [...walk([statement])].some((each) => preparing.has(each.kind) && each.name?.text === part);

const isConnection = (state: PartState | undefined): boolean =>
  state?.lastOff?.statement.kind === 'disconnect' && state.spoiled + state.scrap === 0;

/** By its name or title; what drains is no filler, whatever else it says. */
const isFiller = (part: string, title: string): boolean =>
  !/drain/i.test(`${part} ${title}`) &&
  (/(?:^|-)fill(?:er|ing)?(?:-|$)/i.test(part) || /^(?:\S+ )?fill(?:er|ing)?\b/i.test(title));

const drainsOf = (variant: Variant): Statement[] =>
  variant.entries.flatMap(({ statement, role }) =>
    statement.kind === 'drain' && role === 'statement' ? statement : [],
  );

const isVolumeOrMass = ({ unit }: Quantity): boolean => unit?.unit?.kind === 'volume' || unit?.unit?.kind === 'mass';

const namesIn = (names: Statement['using']): string[] => (names ?? []).map((name) => name.text);
const usingWords = (tools: readonly string[]): string => (tools.length === 0 ? '' : ` using ${tools.join(', ')}`);
