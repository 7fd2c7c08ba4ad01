import { parse } from '../../../grammar/parser.ts';
import type { Statement, SyntaxTree } from '../../../grammar/syntax.ts';
import { defaultSettings } from '../checks/check.ts';
import { wordsIn } from '../checks/long-text.ts';
import { type Action, type Ledger, replay, type Variant } from '../ledger/ledger.ts';
import { missing, on, type PartState } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import { bind, type Model, type Resolve, type StepEntry } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import { Layout, type NewStep, type Slot } from './draft-layout.ts';
import { freeName, inOrder, insertionsOf, type Landmark, placeAll, type Work } from './draft-place.ts';
import { type Origin, originsOf, Relations } from './draft-relations.ts';
import { GrowingText, type Insertion } from './draft-text.ts';

/** Work for one or more codes, before its place is known. */
export type Made = Omit<Work, 'codes' | keyof Limits> & {
  /** Parts that go back with it, and are no obstacle to it; of a transfer, where it goes. */
  readonly along: ReadonlySet<string>;
};
export type Limits = Pick<Work, 'low' | 'high' | 'fits' | 'preferred'>;

/** Work that is given its place in the mirrored order. */
export interface WorkPhase {
  /** What is still to be done. */
  made(state: DraftState): Made[];
  limits(state: DraftState, work: Made): Limits;
}

/** Text that knows its place. */
export interface TextPhase {
  insertions(state: DraftState): Insertion[];
  /** How much is amiss; what does not lessen it is taken back. */
  amiss(state: DraftState): number;
}

/** What the reassembly does to a part, and where. */
export interface Landing {
  readonly action: Action;
  readonly place: number;
}

/** What goes back after a fluid: a plug that it goes in through, or what carries current. */
interface Filler {
  readonly part: string;
  readonly isLive: boolean;
}

/** The file as drafted so far, with everything that follows from it. */
export class DraftState {
  readonly text: GrowingText;
  readonly notes = new Set<string>();
  /** Names of the steps drafted in this run. */
  readonly steps = new Set<string>();
  /** `supply part` of what was applied in this run. */
  readonly coats = new Set<string>();
  model: Model;
  ledger: Ledger;
  layout!: Layout;
  origins!: ReadonlyMap<Statement, Origin>;
  private related!: ReadonlyMap<Variant, Relations>;
  private landed!: ReadonlyMap<Variant, readonly Landing[]>;
  private landedByPart!: ReadonlyMap<Variant, ReadonlyMap<string, readonly Landing[]>>;
  private supports!: ReadonlyMap<string, readonly Origin[]>;
  private fillers!: readonly Filler[];
  private readonly comingBack = new ForEachCode((variant) => this.partsComingBack(variant));
  private readonly fromLast = new ForEachCode((variant) => this.partsFromLast(variant));
  private readonly underneath = new ForEachCode((variant) => this.lastUnderEach(variant));
  private readonly fillersByStep = new ForEachCode((variant) => this.fillersOfEachStep(variant));
  private readonly shared: Resolve;
  private readonly stepNames: Set<string>;
  /** What was tried in this round and changed nothing. */
  readonly vain = new Set<string>();
  private readonly keys = new WeakMap<Variant, Map<string, number>>();

  constructor(model: Model, ledger: Ledger) {
    this.text = new GrowingText(model.tree.text);
    this.shared = sharedBy(model);
    this.stepNames = new Set(model.stepNames.keys());
    this.model = model;
    this.ledger = ledger;
    this.look();
  }

  private look(): void {
    this.layout = new Layout(this.model);
    this.origins = originsOf(this.model);
    const { variants } = this.ledger;
    this.related = new Map(variants.map((variant) => [variant, new Relations(this.model, variant, this.origins)]));
    this.landed = new Map(
      variants.map((variant) => [
        variant,
        variant.entries.flatMap(({ statement, step, actions }) => {
          const place = step.phase === 'reassembly' ? this.layout.placeOf(statement) : undefined;
          return place === undefined ? [] : actions.map((action) => ({ action, place }));
        }),
      ]),
    );
    this.landedByPart = new Map(
      variants.map((variant) => [variant, groupedBy(this.landings(variant), ({ action }) => action.part)]),
    );
    const supporting = [...this.origins.values()].filter(({ statement }) => statement.kind === 'support');
    this.supports = groupedBy(supporting, ({ statement }) => statement.name?.text ?? '');
    this.fillers = [...this.model.parts].flatMap(([part, { title, hazards }]) => {
      const isPlug = isFiller(part, title?.value ?? '');
      return isPlug || hazards.some(({ text }) => text === 'charge') ? [{ part, isLive: !isPlug }] : [];
    });
    for (const known of [this.comingBack, this.fromLast, this.underneath, this.fillersByStep]) known.forget();
  }

  reread(): void {
    this.model = bind(parse(this.model.tree.uri, this.text.text), this.shared);
    this.ledger = replay(this.model);
    this.look();
  }

  relations(variant: Variant): Relations {
    return this.related.get(variant)!;
  }
  landings(variant: Variant): readonly Landing[] {
    return this.landed.get(variant)!;
  }
  landingsOf(variant: Variant, part: string): readonly Landing[] {
    return this.landedByPart.get(variant)!.get(part) ?? [];
  }
  /** The last place at which something goes on that `part` holds or covers; -1 where nothing does. */
  lastUnder(variant: Variant, part: string): number {
    return this.underneath.of(variant).get(part) ?? -1;
  }
  private lastUnderEach(variant: Variant): ReadonlyMap<string, number> {
    const places = new Map<string, number>();
    for (const { action, place } of this.landings(variant))
      if (goesOn(action))
        for (const by of this.relations(variant).blockers(action.part))
          places.set(by, Math.max(place, places.get(by) ?? -1));
    return places;
  }
  /** Every `support` of `part`, in the order of the text. */
  supportsOf(part: string): readonly Origin[] {
    return this.supports.get(part) ?? [];
  }

  // --- growing ----------------------------------------------------------------------------------------------------------

  /** True where something was written that lessens what is amiss. */
  write(phase: TextPhase): boolean {
    const before = phase.amiss(this);
    if (before === 0) return false;
    const back = this.bookmark();
    const insertions = phase.insertions(this);
    if (insertions.length === 0) return false;
    this.text.insert(insertions);
    this.reread();
    if (phase.amiss(this) < before) return true;
    back();
    return false;
  }

  /** True where something was written; work that is still to be done when it has been written is given up. */
  carryOut(phase: WorkPhase): boolean {
    for (;;) {
      const made = merged(phase.made(this)).filter((work) => !this.vain.has(idOf(work)));
      if (made.length === 0) return false;
      const back = this.bookmark();
      const forced = this.insert(made, phase);
      const left = new Set(merged(phase.made(this)).map(idOf));
      const vain = made.map(idOf).filter((id) => left.has(id));
      if (vain.length === 0) {
        for (const { kind, part } of forced)
          this.notes.add(
            `No place for the \`${kind}\` of \`${part}\` suits everything that stands in the reassembly: look at its order.`,
          );
        return true;
      }
      for (const id of vain) this.vain.add(id);
      back();
    }
  }

  private insert(made: readonly Made[], phase: WorkPhase): readonly Work[] {
    const works = made.map((each): Work & Made => ({
      ...each,
      codes:
        each.variants.length === this.ledger.variants.length ? undefined : each.variants.map(({ code }) => code ?? ''),
      ...phase.limits(this, each),
    }));
    const fits = new Map<string, Work[]>();
    for (const work of works) if (work.kind === 'fit') addTo(fits, work.part, work);
    const followers = new Map<Work, Work[]>(works.map((work) => [work, this.followersOf(work, fits)]));
    const order = inOrder(works, (work) => followers.get(work)!);
    const { slots, forced } = placeAll(this.layout, order, (work) => followers.get(work)!, this.landmarks());
    this.text.insert(insertionsOf(this.layout, order, slots, (run) => this.stepFor(run)));
    this.reread();
    return forced;
  }

  private bookmark(): () => void {
    const { model, ledger } = this;
    const text = this.text.bookmark();
    const sets = [this.steps, this.coats, this.stepNames].map((set) => ({ set, kept: [...set] }));
    return () => {
      text();
      this.model = model;
      this.ledger = ledger;
      for (const { set, kept } of sets) {
        set.clear();
        for (const each of kept) set.add(each);
      }
      this.look();
    };
  }

  newStep(wanted: string, title: string, lines: readonly string[]): NewStep {
    const name = freeName(wanted, this.stepNames);
    this.steps.add(name);
    return { name, title, takes: undefined, lines };
  }

  private stepFor(run: readonly Work[]): Omit<NewStep, 'lines'> {
    const { source, kind, part } = run[0]!;
    if (kind === 'fill')
      return this.newStep(`fill-${part}`, `Fill: ${this.model.supplies.get(part)?.title?.value ?? part}`, []);
    const answered = source?.step;
    const wanted = answered?.name === undefined ? 'refit' : `refit-${answered.name.text}`;
    const step = this.newStep(wanted, '', []);
    const first = step.name === wanted;
    const title = answered?.title?.value ?? answered?.name?.text;
    const words = title === undefined ? 'Put it back' : `Reverse of: ${title}${first ? '' : ' (further)'}`;
    return {
      ...step,
      title: short(words) ? words : `Reverse of: ${answered!.name?.text ?? 'the step'}`,
      takes: !first || answered?.takes === undefined ? undefined : written(answered.takes),
    };
  }

  // --- what holds and covers ----------------------------------------------------------------------------------------------

  private followersOf(work: Made, fits: ReadonlyMap<string, readonly Work[]>): Work[] {
    const parts = new Set<string>();
    if (work.kind === 'transfer') for (const part of [work.part, ...work.along]) parts.add(part);
    else if (work.kind === 'fit')
      for (const variant of work.variants)
        for (const part of this.relations(variant).blockers(work.part)) if (!work.along.has(part)) parts.add(part);
    return [...parts].flatMap((part) =>
      (fits.get(part) ?? []).filter((other) => other.variants.some((variant) => work.variants.includes(variant))),
    );
  }

  /** `by` is back and keeps hands from `part` at `place`. */
  isBlocked(variant: Variant, part: string, by: string, place: number): boolean {
    const state = this.layout.stateAt(variant, by, place);
    if (state === undefined || !state.cameOff || on(state) - state.stranded <= 0) return false;
    const captive = state.tight + state.snug === 0 && state.carried.some((carried) => carried.by === part);
    return !captive || !this.relations(variant).holders(part).includes(by);
  }

  reachable(variants: readonly Variant[], part: string, along: ReadonlySet<string>): (slot: Slot) => boolean {
    const ways = variants.flatMap((variant) =>
      [...this.relations(variant).blockers(part)].flatMap((by) => (along.has(by) ? [] : { variant, by })),
    );
    return ({ place }) => ways.every(({ variant, by }) => !this.isBlocked(variant, part, by, place));
  }

  // --- the mirrored order ---------------------------------------------------------------------------------------------------

  private landmarks(): Landmark[] {
    const landmarks = new Map<string, Landmark>();
    for (const variant of this.ledger.variants) {
      for (const { action, place } of this.landings(variant)) {
        const origin = this.relations(variant).originOf(action.part);
        if (action.verb !== 'fit' || action.along || origin === undefined) continue;
        landmarks.set(`${place} ${action.part}`, {
          place,
          key: this.keyOf(variant, action.part),
          source: origin.step,
        });
      }
      for (const { statement, place } of this.layout.units) {
        const drain = variant.fluids.get(statement.name?.text ?? '')?.lastDrain?.statement;
        if (statement.kind !== 'fill' || drain === undefined) continue;
        const source = this.origins.get(drain)?.step;
        landmarks.set(`${place} ${statement.name!.text}`, { place, key: this.fillKey(variant, drain), source });
      }
    }
    return [...landmarks.values()];
  }

  /** Mirrored place of a part: the greater goes first. A filler plug goes in behind the filling. */
  keyOf(variant: Variant, part: string): number {
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

  ordinalOf(variant: Variant, part: string): number {
    return this.relations(variant).originOf(part)?.ordinal ?? 0;
  }

  /** A fluid goes in when all that came off since its drain step began is back, and all else but connections. */
  fillKey(variant: Variant, drain: Statement): number {
    const { step } = this.origins.get(drain)!;
    const fillers = new Set(this.fillersOf(variant, drain));
    const begun = this.origins.get(step.step.statements[0]!)!.ordinal - 0.5;
    const last = this.fromLast.of(variant).find((part) => !fillers.has(part));
    return Math.min(begun, last === undefined ? begun : this.ordinalOf(variant, last)) - 0.1;
  }

  /** Parts that go back, without connections: the last in the mirrored order first. */
  private partsFromLast(variant: Variant): readonly string[] {
    return [...this.returning(variant)]
      .filter((part) => !isConnection(variant.final.get(part)))
      .sort((a, b) => this.ordinalOf(variant, a) - this.ordinalOf(variant, b));
  }

  /**
   * What came off in the step that drained and goes back after the fluid: plugs and the like, as it goes in through their
   * holes, and what carries current, where that was cut off first.
   */
  fillersOf(variant: Variant, drain: Statement): string[] {
    const { step, ordinal } = this.origins.get(drain)!;
    return (this.fillersByStep.of(variant).get(step) ?? []).flatMap(({ part, isLive, removal }) =>
      !isLive || removal.ordinal < ordinal ? [part] : [],
    );
  }
  private fillersOfEachStep(variant: Variant): ReadonlyMap<StepEntry, readonly (Filler & { removal: Origin })[]> {
    const removed = this.fillers.flatMap((filler) => {
      const removal = this.relations(variant).removalOf(filler.part);
      return removal === undefined ? [] : { ...filler, removal };
    });
    return groupedBy(removed, ({ removal }) => removal.step);
  }

  /** Parts that go back: those that are owed, and those that the reassembly fits. */
  returning(variant: Variant): ReadonlySet<string> {
    return this.comingBack.of(variant);
  }
  private partsComingBack(variant: Variant): ReadonlySet<string> {
    const parts = new Set(this.landings(variant).flatMap(({ action }) => (action.verb === 'fit' ? action.part : [])));
    for (const [part, state] of variant.final) if (missing(state) > 0) parts.add(part);
    return parts;
  }
}

/** What is reckoned once for each code, until the file is read anew. */
class ForEachCode<T> {
  private readonly known = new Map<Variant, T>();
  private readonly reckon: (variant: Variant) => T;

  constructor(reckon: (variant: Variant) => T) {
    this.reckon = reckon;
  }

  of(variant: Variant): T {
    if (!this.known.has(variant)) this.known.set(variant, this.reckon(variant));
    return this.known.get(variant)!;
  }

  forget(): void {
    this.known.clear();
  }
}

function groupedBy<T, K>(items: readonly T[], keyOf: (item: T) => K): ReadonlyMap<K, readonly T[]> {
  const groups = new Map<K, T[]>();
  for (const item of items) addTo(groups, keyOf(item), item);
  return groups;
}

const idOf = ({ kind, part, lines, variants }: Made): string =>
  [kind, part, ...variants.map(({ code }) => code), ...lines].join('\n');

/** The same for several codes is one. */
function merged(made: readonly Made[]): Made[] {
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

/** The declarations of all used files as one, which every `use` finds: they stay what they are while the draft grows. */
function sharedBy(model: Model): Resolve {
  if (model.takenIn.size > 0)
    return (path, from) => {
      for (const [use, file] of model.targets) if (use.chunk.uri === from && use.path?.value === path) return file;
      return { missing: true };
    };
  const chunks = model.files.slice(1).flatMap((file) => file.chunks.filter((chunk) => chunk.item?.kind !== 'use'));
  const shared: SyntaxTree = { uri: 'shared:', text: '', chunks, starts: chunks.map(() => 0) };
  return () => shared;
}

/** Short enough for a text, by the rule of the check `long-text`. */
export const short = (text: string): boolean => wordsIn(text) <= defaultSettings.longText;

/** What fails now may succeed once the draft has put back what it needs. */
export const goesOn = ({ verb }: Action): boolean => verb === 'fit' || verb === 'tighten' || verb === 'hand-tighten';

export const isConnection = (state: PartState | undefined): boolean =>
  state?.lastOff?.statement.kind === 'disconnect' && state.spoiled + state.scrap === 0;

const drainsOf = (variant: Variant): Statement[] =>
  variant.entries.flatMap(({ statement, role }) =>
    statement.kind === 'drain' && role === 'statement' ? statement : [],
  );

/** By its name or title; what drains is no filler, whatever else it says. */
const isFiller = (part: string, title: string): boolean =>
  !/drain/i.test(`${part} ${title}`) &&
  (/(?:^|-)fill(?:er|ing)?(?:-|$)/i.test(part) || /^(?:\S+ )?fill(?:er|ing)?\b/i.test(title));
