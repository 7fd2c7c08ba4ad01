import type { Declaration } from '../../../grammar/syntax.ts';
import { countOf } from '../model/model.ts';
import type { Blocker } from './records.ts';
import { on, type PartState } from './state.ts';
import type { Unit } from './unit.ts';

const nobody: readonly never[] = [];
const none: ReadonlySet<string> = new Set();

/** The declarations whose place a part has taken by swaps, its own first. */
function placesOf(unit: Unit, part: string): Declaration[] {
  const places: Declaration[] = [];
  const seen = new Set<string>();
  const queue = [part];
  for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
    if (seen.has(next)) continue;
    seen.add(unit.asks(next));
    const declaration = unit.model.parts.get(next);
    if (declaration !== undefined) places.push(declaration);
    queue.push(...(unit.swappedFor.now.get(next) ?? nobody));
  }
  return places;
}

/** A part and what has been swapped in for it, up to what is `told` already; all of it is told from then on. */
export function withSuccessors(unit: Unit, part: string, told = new Set<string>()): string[] {
  const chain: string[] = [];
  const swaps = unit.swaps.now;
  for (let next: string | undefined = part; next !== undefined && !told.has(next); next = swaps.get(next)) {
    told.add(unit.asks(next));
    chain.push(next);
  }
  return chain;
}

function blockerOf(unit: Unit, part: string, state: PartState | undefined): Blocker | undefined {
  const pieces = state === undefined || unit.unsure.has(part) ? 0 : on(state) - state.stranded;
  return pieces === 0 ? undefined : { part, on: pieces, loosened: 0, cameOff: state!.cameOff };
}

/** What carries the pieces of `state`, one on the other, without what `part` sits on as well; a chain may be thousands long. */
function carriersApart(unit: Unit, carried: PartState['carried'], part: string): readonly string[] {
  const own = carriersAbove(unit, unit.state(part)?.carried ?? nobody, none);
  return [...carriersAbove(unit, carried, own)].filter((carrier) => carrier !== part);
}

/** What carries, one on the other, from `carried` on; nothing beyond `except`. */
function carriersAbove(unit: Unit, carried: PartState['carried'], except: ReadonlySet<string>): ReadonlySet<string> {
  const above = new Set<string>();
  const queue = carried.map(({ by }) => by);
  for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
    if (above.has(next) || except.has(next)) continue;
    above.add(next);
    for (const { by } of unit.state(next)?.carried ?? nobody) queue.push(by);
  }
  return above;
}

/** No piece of it is on: taken off, or not brought in yet. */
function isNowhereOn(unit: Unit, part: string): boolean {
  const state = unit.state(part);
  return state !== undefined && on(state) === 0;
}

/** True when the part, or what carries it, is off the unit. */
export const isOff = (unit: Unit, part: string): boolean =>
  isNowhereOn(unit, part) ||
  [...carriersAbove(unit, unit.state(part)?.carried ?? nobody, none)].some((carrier) => isNowhereOn(unit, carrier));

/** Of the pieces of `state`, those that went off with a carrier and left `part` behind. */
function goneFrom(unit: Unit, { carried }: PartState, part: string): number {
  let gone = 0;
  for (const each of carried) {
    if (carriersApart(unit, [each], part).some((carrier) => isNowhereOn(unit, carrier))) gone += each.count;
  }
  return gone;
}

/** Of the pieces of `state`, those that are on and went nowhere without `part`; one on a scrapped carrier is on the unit no more. */
const thereWith = (unit: Unit, state: PartState, part: string): number =>
  on(state) - Math.max(state.stranded, goneFrom(unit, state, part));

/** Whether what carries the pieces of `state`, and not `part`, has been off the unit. */
const cameOffAlong = (unit: Unit, { carried }: PartState, part: string): boolean =>
  carriersApart(unit, carried, part).some((carrier) => unit.state(carrier)?.cameOff === true);

/** What holds `part` and is on; `along` comes along. */
export function holdersOf(unit: Unit, part: string, along: ReadonlySet<string>): readonly Blocker[] {
  let holders: Blocker[] | undefined;
  // Nearly no part has taken the place of another: then no list is made.
  if (unit.swappedFor.now.has(part))
    for (const place of placesOf(unit, part)) holders = holdersBy(unit, place, part, along, holders);
  else holders = holdersBy(unit, unit.tally(part).declaration, part, along, holders);
  return distinct(holders);
}

function holdersBy(
  unit: Unit,
  place: Declaration | undefined,
  part: string,
  along: ReadonlySet<string>,
  holders: Blocker[] | undefined,
): Blocker[] | undefined {
  if (place === undefined) return holders;
  let told: Set<string> | undefined;
  for (const { text } of place.heldBy) {
    if (unit.swaps.now.has(text)) {
      told ??= new Set();
      for (const holder of withSuccessors(unit, text, told)) holders = addHolder(unit, holder, part, along, holders);
    } else holders = addHolder(unit, text, part, along, holders);
  }
  return holders;
}

function addHolder(
  unit: Unit,
  holder: string,
  part: string,
  along: ReadonlySet<string>,
  holders: Blocker[] | undefined,
): Blocker[] | undefined {
  const state = unit.state(holder);
  if (along.has(holder) || holder === part) return holders;
  const blocker = blockerOf(unit, holder, state);
  if (blocker === undefined) return holders;
  const { loose, carried } = state!;
  if (loose === 0 || carried.length === 0) return withBlocker(holders, blocker);
  // A captive fastener stays on the part that it holds; loosened, it holds no longer.
  if (carried.some(({ by }) => by === part)) {
    const holding = blocker.on - loose;
    return holding <= 0 ? holders : withBlocker(holders, { ...blocker, on: holding, loosened: loose });
  }
  // Loosened, it went off with another part.
  const isLoose = state!.tight + state!.snug === 0;
  return isLoose && thereWith(unit, state!, part) <= 0 ? holders : withBlocker(holders, blocker);
}

/** What the part sits behind; while its carrier is on, what the carrier sits behind as well. `itself` is in no way. */
export function coversOf(
  unit: Unit,
  part: string,
  along: ReadonlySet<string> = none,
  itself?: string,
): readonly Blocker[] {
  let covers: Blocker[] | undefined;
  // Nearly no part sits on another: then nothing is listed.
  let carriers: string[] | undefined;
  const walk = unit.newWalk();
  for (let at: string | undefined = part; at !== undefined; at = carriers?.pop()) {
    const tally = unit.tally(at);
    const { declaration, state } = tally;
    if (tally.walk === walk || (at !== part && (state === undefined || on(state) === 0))) continue;
    tally.walk = walk;
    if (unit.swappedFor.now.has(at))
      for (const place of placesOf(unit, at)) covers = coversAt(unit, place, at, along, itself, covers);
    else covers = coversAt(unit, declaration, at, along, itself, covers);
    if (state === undefined || state.carried.length === 0) continue;
    carriers ??= [];
    for (let c = state.carried.length - 1; c >= 0; c--) carriers.push(state.carried[c]!.by);
  }
  return distinct(covers);
}

function coversAt(
  unit: Unit,
  place: Declaration | undefined,
  part: string,
  along: ReadonlySet<string>,
  itself: string | undefined,
  covers: Blocker[] | undefined,
): Blocker[] | undefined {
  if (place === undefined) return covers;
  let told: Set<string> | undefined;
  for (const { text } of place.behind) {
    if (unit.swaps.now.has(text)) {
      told ??= new Set();
      for (const cover of withSuccessors(unit, text, told)) covers = addCover(unit, cover, part, along, itself, covers);
    } else covers = addCover(unit, text, part, along, itself, covers);
  }
  return covers;
}

function addCover(
  unit: Unit,
  cover: string,
  part: string,
  along: ReadonlySet<string>,
  itself: string | undefined,
  covers: Blocker[] | undefined,
): Blocker[] | undefined {
  const state = unit.state(cover);
  if (along.has(cover) || cover === part || cover === itself) return covers;
  const blocker = blockerOf(unit, cover, state);
  if (blocker === undefined) return covers;
  if (state!.carried.length === 0) return withBlocker(covers, blocker);
  const there = thereWith(unit, state!, part);
  if (there <= 0) return covers;
  return withBlocker(covers, {
    ...blocker,
    on: there,
    cameOff: blocker.cameOff || cameOffAlong(unit, state!, part),
  });
}

function withBlocker(blockers: Blocker[] | undefined, blocker: Blocker): Blocker[] {
  if (blockers === undefined) return [blocker];
  blockers.push(blocker);
  return blockers;
}

/** Each part once, where it first stood. */
function distinct(blockers: readonly Blocker[] = nobody): readonly Blocker[] {
  if (blockers.length < 2) return blockers;
  return [...new Map(blockers.map((blocker) => [blocker.part, blocker])).values()];
}

/**
 * Those of `blockers` that are in the way of some pieces of `part`, `untouched` of which stay as they are. Of two sides
 * alike, what is still on may be that of the other side: 8 of 16 bolts hold one of two covers.
 */
export function inTheWay(
  unit: Unit,
  part: string,
  untouched: number,
  blockers: readonly Blocker[],
): readonly Blocker[] {
  if (untouched <= 0 || blockers.length === 0) return blockers;
  const { declaration } = unit.tally(part);
  const all = countOf(declaration);
  return all === 1 ? blockers : blockers.filter((blocker) => !isOfOthers(unit, blocker, untouched, all));
}

function isOfOthers(unit: Unit, { part, on: there }: Blocker, untouched: number, all: number): boolean {
  const count = countOf(unit.tally(part).declaration);
  if (count % all !== 0 && all % count !== 0) return false;
  return there * all <= Math.min(untouched, all) * count;
}
