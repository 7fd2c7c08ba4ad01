import { offsetsOf, type Statement } from '../../../grammar/syntax.ts';
import { lastPlaceOf } from '../checks/entries.ts';
import { stateBefore, type Variant, type Verb } from '../ledger/ledger.ts';
import { putAwayAnew } from '../ledger/put-away.ts';
import { on, type PartState } from '../ledger/state.ts';
import { areRivals } from '../model/branches.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model, placeIn, titleOf } from '../model/model.ts';

/** Where pieces can be, in the order in which they are listed. Pieces that nobody has touched are in none. */
const trailGroups = [
  /** Off, and kept to go back or to be scrapped. */
  'tray',
  /** Off, but not on the tray: a cable, a hose. */
  'disconnected',
  /** Off, from stock. */
  'new',
  'loose',
  'hand-tight',
  'scrapped',
  /** On, but carried by another part than at the start. */
  'moved',
  /** Left off on purpose. */
  'omitted',
  /** Put back, and tight where they are fasteners. */
  'back',
] as const;
export type TrailGroup = (typeof trailGroups)[number];

/** Pieces that one statement brought where they are. */
export interface Lot {
  readonly pieces: number;
  readonly statement: Statement | undefined;
  /** `keep in` */
  readonly place?: string;
}

/** A part that sits on another one. */
export interface Rider {
  readonly part: string;
  readonly title: string;
  readonly pieces: number;
}

export interface TrailItem {
  readonly part: string;
  readonly title: string;
  /** Sum over the lots. */
  readonly pieces: number;
  /** As declared. */
  readonly of: number;
  /** Of the pieces: those that must not go back. */
  readonly spoiled: number;
  /** The latest first. */
  readonly lots: readonly Lot[];
  /** What came off with it and still sits on it, at any depth. */
  readonly riders: readonly Rider[];
  /** What carries it now; in `moved` only. */
  readonly carriers: readonly Rider[];
  /** Lines that could not be read, or unlike branches, leave it open where the part is. */
  readonly unsure: boolean;
}

export interface Trail {
  readonly code: string | undefined;
  /** Groups that hold something; in each the part that was moved last comes first. */
  readonly groups: readonly { readonly group: TrailGroup; readonly items: readonly TrailItem[] }[];
  /** Pieces on the tray. */
  readonly onTray: number;
}

/** Where every piece is that has been touched, before the entry at `atEntry` of the replay; all of it with the count of entries. */
export function trail(model: Model, variant: Variant, atEntry: number): Trail {
  const states = new Map<string, PartState>();
  for (const part of model.parts.keys()) {
    const state = stateBefore(variant, part, atEntry);
    if (state !== undefined) states.set(part, state);
  }
  const riders = ridersOf(states);
  const found = new Map<TrailGroup, TrailItem[]>();
  for (const [part, state] of states) {
    for (const [group, lots] of lotsOf(variant, part, state, atEntry)) {
      const pieces = piecesIn(lots);
      if (pieces === 0) continue;
      const item: TrailItem = {
        part,
        title: titleOf(model, part),
        pieces,
        of: countOf(model.parts.get(part)),
        spoiled: group === 'tray' ? Math.min(state.spoiled, pieces) : 0,
        lots: [...lots].sort((a, b) => placeOf(model, b.statement) - placeOf(model, a.statement)),
        riders:
          (group === 'tray' || group === 'scrapped') && on(state) === 0
            ? withTitles(model, sittingOn(part, riders, states))
            : [],
        carriers:
          group === 'moved'
            ? withTitles(
                model,
                movedTo(variant, part, state).map(({ by, count }) => [by, count]),
              )
            : [],
        unsure: variant.unsure.has(part),
      };
      addTo(found, group, item);
    }
  }
  const latest = ({ lots }: TrailItem): number => placeOf(model, lots[0]?.statement);
  const groups = trailGroups.flatMap((group) => {
    const items = found.get(group);
    return items === undefined ? [] : [{ group, items: items.sort((a, b) => latest(b) - latest(a)) }];
  });
  const tray = found.get('tray') ?? [];
  return { code: variant.code, groups, onTray: tray.reduce((sum, { pieces }) => sum + pieces, 0) };
}

const placeOf = (model: Model, statement: Statement | undefined): number =>
  statement === undefined ? -1 : offsetsOf(model.tree, placeIn(model, statement) ?? statement).start;

const withTitles = (model: Model, pieces: readonly (readonly [string, number])[]): Rider[] =>
  pieces.map(([part, count]) => ({ part, title: titleOf(model, part), pieces: count }));

// --- groups -------------------------------------------------------------------------------------------------------------

/** The pieces of one part by group. Every piece on the bench, scrapped, loose or back is in just one. */
function* lotsOf(
  variant: Variant,
  part: string,
  state: PartState,
  atEntry: number,
): Generator<[TrailGroup, readonly Lot[]]> {
  const lots = putAway(variant, part, traceOf(variant, state).lots, atEntry);
  const isTray = ({ statement }: Lot): boolean => statement?.kind !== 'disconnect';
  yield ['tray', lots.filter(isTray)];
  yield ['disconnected', lots.filter((lot) => !isTray(lot))];
  const { lastScrap, lastOff, lastBack, lastLoose, strandedBy } = state;
  const one = (group: TrailGroup, pieces: number, statement: Statement | undefined): [TrailGroup, Lot[]] => [
    group,
    pieces > 0 ? [{ pieces, statement }] : [],
  ];
  const renewed = lastScrap?.statement.kind === 'replace' ? lastScrap : lastOff;
  yield one('new', state.fresh, renewed?.statement);
  yield one('loose', state.loose, lastLoose?.statement);
  yield one('hand-tight', state.snug, lastLoose?.statement);
  yield one('scrapped', state.scrap + state.settled + state.swappedOut, (lastScrap ?? strandedBy)?.statement);
  const moved = movedTo(variant, part, state).reduce((sum, { count }) => sum + count, 0);
  if (moved > 0) yield one('moved', moved, lastStatement(variant, part, atEntry, ['transfer']) ?? lastBack?.statement);
  if (state.omitted > 0) yield one('omitted', state.omitted, lastStatement(variant, part, atEntry, ['omit']));
  // Of those that are back, loose ones are listed as such.
  const back = traceOf(variant, state).back - state.loose - state.snug;
  yield one('back', Math.min(state.tight, Math.max(0, back)), lastBack?.statement);
}

/** Carriers that a part did not have at the start; an assembly that it was merely lifted out with is none. */
const movedTo = (variant: Variant, part: string, state: PartState): readonly { by: string; count: number }[] => {
  const start = variant.initial.get(part);
  if (start === undefined || start.carried === state.carried || on(state) === 0) return [];
  return state.carried.filter(
    ({ by, count, along }) => count > 0 && along !== true && !start.carried.some((carried) => carried.by === by),
  );
};

function lastStatement(variant: Variant, part: string, atEntry: number, verbs: readonly Verb[]): Statement | undefined {
  for (let i = Math.min(atEntry, variant.entries.length) - 1; i >= 0; i--) {
    const { actions, statement } = variant.entries[i]!;
    if (actions.some((action) => action.part === part && action.acted > 0 && verbs.includes(action.verb)))
      return statement;
  }
  return undefined;
}

// --- what sits on what --------------------------------------------------------------------------------------------------

type Riders = ReadonlyMap<string, readonly (readonly [part: string, pieces: number])[]>;

/** Parts that sit on each carrier, and how many pieces. */
function ridersOf(states: ReadonlyMap<string, PartState>): Riders {
  const riders = new Map<string, [string, number][]>();
  for (const [part, state] of states) {
    if (state.stock) continue;
    for (const { by, count } of state.carried) {
      const pieces = Math.min(count, on(state));
      if (pieces === 0) continue;
      addTo(riders, by, [part, pieces]);
    }
  }
  return riders;
}

function sittingOn(
  carrier: string,
  riders: Riders,
  states: ReadonlyMap<string, PartState>,
  seen: Set<string> = new Set([carrier]),
): (readonly [string, number])[] {
  return (riders.get(carrier) ?? []).flatMap((rider) => {
    if (seen.has(rider[0])) return [];
    seen.add(rider[0]);
    return [rider, ...sittingOn(rider[0], riders, states, seen)];
  });
}

// --- where it was put since -------------------------------------------------------------------------------------------------

/** The lots of `part` before the entry at `atEntry`, each where it was put last. */
function putAway(variant: Variant, part: string, lots: readonly Lot[], atEntry: number): readonly Lot[] {
  const { entries } = variant;
  const places = putAwayAnew(entries).get(part);
  if (places === undefined || lots.length === 0) return lots;
  const here = entries[atEntry - 1]?.statement;
  let now = lots.map((each) => ({
    ...each,
    since: each.statement === undefined ? -1 : lastPlaceOf(variant, each.statement),
  }));
  for (const place of places) {
    const { statement } = entries[place]!;
    if (place >= atEntry || (here !== undefined && areRivals(statement, here))) continue;
    const isAtHand = ({ statement: off, since }: { statement: Statement | undefined; since: number }): boolean =>
      since < place && (off === undefined || !areRivals(statement, off));
    const atHand = now.filter(isAtHand);
    const all = piecesIn(atHand);
    const pieces = Math.min(statement.count?.value ?? all, all);
    if (pieces === 0) continue;
    now = [
      ...less(atHand, pieces),
      ...now.filter((each) => !isAtHand(each)),
      { ...lot(pieces, statement), since: place },
    ];
  }
  return now.map(({ since: _, ...each }) => each);
}
const piecesIn = (lots: readonly Lot[]): number => lots.reduce((sum, { pieces }) => sum + pieces, 0);

// --- what the ledger does not keep --------------------------------------------------------------------------------------

interface Trace {
  /** The old pieces on the bench by the statement that took them off, so that each is looked for where it was put. */
  readonly lots: readonly Lot[];
  /** Pieces on that were put there. */
  readonly back: number;
}

/** Old pieces on the bench. */
const old = (state: PartState): number => state.off + state.spoiled;

const lot = (pieces: number, statement: Statement | undefined): Lot => ({
  pieces,
  statement,
  ...(statement?.keep === undefined ? {} : { place: statement.keep.value }),
});

const untouched: Trace = { lots: [], back: 0 };
const traceOf = (variant: Variant, state: PartState): Trace => tracesOf(variant).get(state) ?? untouched;

const kept = new WeakMap<Variant, ReadonlyMap<PartState, Trace>>();
/** States are told apart by identity: where branches go back to an earlier one, so does its trace. */
function tracesOf(variant: Variant): ReadonlyMap<PartState, Trace> {
  const known = kept.get(variant);
  if (known !== undefined) return known;
  const traces = new Map<PartState, Trace>();
  const latest = new Map<string, Trace>();
  for (const { statement, role, actions, changes } of variant.entries) {
    for (const { part, before, after } of changes) {
      const was = latest.get(part) ?? untouched;
      // A step that an edit has left alone holds a state of its own, alike to the one that the steps above it came to.
      if (!traces.has(before)) traces.set(before, was);
      let trace = traces.get(after);
      // Where branches meet, a part may be given the state of one of them but for its mark.
      if (role === 'merged') trace ??= likeIn(traces, after);
      if (trace === undefined) {
        const more = old(after) - old(before);
        const fitted = actions.find((action) => action.part === part && action.verb === 'fit')?.acted ?? 0;
        trace = {
          lots: more > 0 ? [...was.lots, lot(more, statement)] : less(was.lots, -more),
          // Pieces that were never off are the first to come off.
          back: Math.min(was.back + fitted, on(after)),
        };
      }
      traces.set(after, trace);
      latest.set(part, trace);
    }
  }
  kept.set(variant, traces);
  return traces;
}

function likeIn(traces: ReadonlyMap<PartState, Trace>, state: PartState): Trace | undefined {
  const fields = Object.keys(state).filter((field) => field !== 'marked') as (keyof PartState)[];
  for (const [other, trace] of traces) if (fields.every((field) => other[field] === state[field])) return trace;
  return undefined;
}

/** Without `pieces`: the lot of just as many, else the one that came off last. */
function less<Each extends Lot>(lots: readonly Each[], pieces: number): readonly Each[] {
  if (pieces === 0) return lots;
  const whole = lots.findLastIndex((each) => each.pieces === pieces);
  if (whole >= 0) return lots.filter((_, i) => i !== whole);
  const left: Each[] = [];
  let rest = pieces;
  for (const each of [...lots].reverse()) {
    const taken = Math.min(rest, each.pieces);
    rest -= taken;
    if (each.pieces > taken) left.unshift({ ...each, pieces: each.pieces - taken });
  }
  return left;
}
