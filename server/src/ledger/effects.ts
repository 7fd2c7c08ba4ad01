import type { CountedName, Name, Statement } from '../../../grammar/syntax.ts';
import { isMisspelt } from '../model/meant-names.ts';
import { extentOf } from '../model/quantity.ts';
import { coversOf, holdersOf, inTheWay, isOff, withSuccessors } from './obstacles.ts';
import { type Blocker, type Circumstances, hindered, ordinary, ordinaryAlong, ordinaryNew } from './records.ts';
import { unboxed } from './start.ts';
import {
  type Carried,
  type FluidState,
  limitShares,
  type Mark,
  missing,
  on,
  onBench,
  type PartState,
  type Pieces,
  without,
} from './state.ts';
import type { Unit } from './unit.ts';

const nobody: readonly never[] = [];
const none: ReadonlySet<string> = new Set();
export const noFluid: FluidState = { drained: false, filled: false, out: 0 };

/** Does to `unit` what `statement` itself says, not what its branches say. */
export function effect(unit: Unit, statement: Statement): void {
  const { kind } = statement;
  if (statement.name === undefined) return;
  const name = unit.meant(statement.name);
  if (kind === 'drain' || kind === 'fill') {
    if (unit.model.supplies.has(unit.asks(name.text))) fluid(unit, statement, { statement, name });
    return;
  }
  const before = unit.state(name.text);
  if (before === undefined) {
    const fluid = kind === 'omit' ? unit.fluids.now.get(name.text) : undefined;
    if (fluid !== undefined) unit.fluids.set(name.text, { ...fluid, drained: false });
    const incoming = kind === 'swap' ? targetOf(unit, statement) : undefined;
    if (incoming !== undefined) unit.doubt(unit.asks(incoming.text));
    return;
  }
  const mark: Mark = { statement, name };
  switch (kind) {
    case 'remove':
    case 'disconnect':
      remove(unit, statement, mark, before);
      return;
    case 'discard':
    case 'replace':
      discard(unit, statement, mark, before);
      return;
    case 'fit':
    case 'connect':
      fitAll(unit, statement, mark, before);
      return;
    case 'swap':
      swap(unit, statement, mark, before);
      return;
    case 'transfer':
      transfer(unit, statement, mark, before);
      return;
    case 'omit':
      omit(unit, statement, mark, before);
      return;
    case 'loosen':
    case 'tighten':
      turn(unit, statement, mark, before);
      return;
    case 'mark': {
      const available = on(before) + onBench(before);
      const after = before.copy();
      after.marked = true;
      unit.act('mark', mark, undefined, available, available, before, after);
      return;
    }
  }
}

function remove(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const part = mark.name.text;
  const together = alongIn(unit, statement).filter(
    ({ name }) => unit.state(name.text) !== undefined && name.text !== part,
  );
  const along = together.length === 0 ? none : new Set(together.map(({ name }) => name.text));
  const available = on(before);
  const wanted = written(statement.count);
  const acted = Math.min(wanted ?? available, available);
  const spoils = statement.spoiled !== undefined || unit.tally(part).declaration?.renew !== undefined;
  const after = before.copy();
  after.lift(acted);
  if (spoils) after.spoiled += acted;
  else after.off += acted;
  after.taken += acted;
  after.tightHoles = nobody;
  if (acted > 0) {
    after.cameOff = true;
    after.lastOff = mark;
  } else if (before.stock) after.lastOff = mark;
  const rest = available - acted;
  const holders = available > 0 ? inTheWay(unit, part, rest, holdersOf(unit, part, along)) : nobody;
  const covers = available > 0 ? inTheWay(unit, part, rest, coversOf(unit, part, along, part)) : nobody;
  unit.act('remove', mark, wanted, available, acted, before, after, hindered(holders, covers));
  for (const { name, count } of together) {
    const rider = name.text;
    const state = unit.state(rider)!;
    const wanted = written(count);
    const n = Math.min(wanted ?? on(state), on(state));
    unit.addRider(part, rider);
    let seated: Pieces | undefined;
    if (n > 0) {
      seated = state.copy();
      seated.carried = carriedBy(state, part, n);
    }
    unit.act('remove', { statement, name }, wanted, on(state), n, state, seated, ordinaryAlong);
  }
}

/** Pieces that are on, and sit on what is off. */
function hangingOf(unit: Unit, state: PartState): number {
  const onOffCarriers = state.carried.reduce((sum, { by, count }) => sum + (isOff(unit, by) ? count : 0), 0);
  return Math.min(on(state), Math.max(onOffCarriers, state.stranded));
}

/** To scrap from the bench, or from a carrier that is off; `replace` lays a new one on the bench in its place. */
function discard(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const part = mark.name.text;
  const hanging = hangingOf(unit, before);
  const bench = onBench(before);
  const available = bench + hanging;
  const wanted = written(statement.count);
  const acted = Math.min(wanted ?? available, available);
  const spoiled = Math.min(before.spoiled, acted);
  const off = Math.min(before.off, acted - spoiled);
  const fresh = Math.min(before.fresh, acted - spoiled - off);
  const hung = acted - spoiled - off - fresh;
  const stranded = Math.min(before.stranded, hung);
  const replaced = statement.kind === 'replace';
  const single = unit.tally(part).declaration?.renew !== undefined;
  // What hung on a carrier that was swapped out goes to scrap with it; everything else is owed.
  const settled = replaced || before.strandedBy?.statement.kind !== 'swap' ? 0 : stranded;
  const owed = replaced ? 0 : acted - settled;
  const after = before.copy();
  after.lift(hung);
  after.spoiled -= spoiled;
  after.off -= off;
  after.fresh += (replaced ? acted : 0) - fresh;
  after.taken += hung - settled;
  after.cameOff = true;
  if (hung > 0 || (replaced && acted > 0 && before.lastOff === undefined)) after.lastOff = mark;
  if (acted > 0)
    after.turnover = {
      ...before.turnover,
      stranded: before.stranded - stranded,
      settled: before.settled + settled,
      scrap: before.scrap + owed,
      scrapOnCarrier: before.scrapOnCarrier + (replaced ? 0 : hung - settled),
      scrapSpoiled: before.scrapSpoiled + (replaced ? 0 : single ? owed : spoiled),
      lastScrap: mark,
    };
  unit.act(replaced ? 'replace' : 'discard', mark, wanted, available, acted, before, after);
  if (acted > 0) strand(unit, part, mark);
}

/** When no piece of `carrier` is left, what still sits on it is stranded. */
function strand(unit: Unit, carrier: string, mark: Mark): void {
  const state = unit.state(carrier)!;
  if (on(state) > 0 || state.off + state.spoiled > 0 || state.stock) return;
  for (const rider of unit.ridersOf(carrier)) {
    const before = unit.state(rider)!;
    const sitting = before.carried.find(({ by }) => by === carrier)?.count ?? 0;
    if (before.stock || sitting === 0) continue;
    const stranded = Math.min(sitting, on(before) - before.stranded);
    // What was thrown away while it hung there needs no successor on the part that is swapped in.
    const settled = mark.statement.kind === 'swap' ? before.scrapOnCarrier : 0;
    if (stranded + settled === 0) continue;
    const after = before.copy();
    after.turnover = {
      ...before.turnover,
      stranded: before.stranded + stranded,
      scrap: before.scrap - settled,
      settled: before.settled + settled,
      strandedBy: stranded > 0 ? mark : before.strandedBy,
    };
    limitShares(after);
    unit.set(rider, after);
  }
}

function fitAll(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const together = alongIn(unit, statement);
  const along = together.length === 0 ? none : new Set(together.map(({ name }) => name.text));
  fit(unit, mark, before, written(statement.count), statement.fresh !== undefined, along, undefined);
  const assembly = together.length === 0 ? none : new Set([mark.name.text, ...along]);
  for (const { name, count } of together) {
    const state = unit.state(name.text);
    if (state === undefined || name.text === mark.name.text) continue;
    // What stayed on its assembly is on already; what was stripped from it, or never sat on it, goes on now.
    const booked = state.carried.find(({ by }) => by === mark.name.text)?.count ?? 0;
    const sitting = Math.min(booked, on(state));
    const wanted = count === undefined ? (booked > 0 ? booked - sitting : undefined) : written(count)! - sitting;
    const isOnUnit = state.carried.length === 0 && on(state) > 0 && !state.cameOff;
    if (!isOnUnit && (onBench(state) + state.scrap === 0 || (wanted !== undefined && wanted <= 0))) continue;
    fit(unit, { statement, name }, state, wanted, false, assembly, mark.name.text);
  }
}

function fit(
  unit: Unit,
  mark: Mark,
  before: PartState,
  wanted: number | undefined,
  fresh: boolean,
  along: ReadonlySet<string>,
  onto: string | undefined,
): void {
  const part = mark.name.text;
  const lots = fresh ? takeNew(before, wanted) : takeFromBench(before, wanted);
  const { available, acted } = lots;
  const after = putOn(before, lots, mark, fresh, unit.model.fasteners.has(part));
  // Only a new piece goes straight onto what took the carrier's place; an old one is `transfer`red. One from scrap stands for a new one.
  if (onto !== undefined) {
    const sitting = Math.min(on(before), before.carried.find(({ by }) => by === onto)?.count ?? 0);
    after.carried = carriedBy(before, onto, acted + sitting);
  } else if (fresh) after.carried = onSuccessors(unit, before.carried, acted);
  else if (lots.scrap < before.scrap) after.carried = onSuccessors(unit, before.carried, before.scrap - lots.scrap);
  for (const { by } of after.carried) unit.addRider(by, part);
  const there = on(before);
  const holders = on(after) > 0 ? inTheWay(unit, part, there, thatCameOff(holdersOf(unit, part, along))) : nobody;
  const covers = inTheWay(unit, part, there, coversOf(unit, part, along));
  unit.act('fit', mark, wanted, available, acted, before, after, fitting(lots, fresh, onto, holders, covers));
}

/** Pieces that a `fit` takes, and what it leaves of each lot. */
interface Lots {
  readonly available: number;
  readonly acted: number;
  readonly off: number;
  readonly fresh: number;
  readonly spoiled: number;
  readonly scrap: number;
  readonly stranded: number;
  readonly settled: number;
  readonly inStock: number;
  /** Of those taken: what must not go back, and what had gone to scrap and was good. */
  readonly refittedOld: number;
  readonly refittedScrap: number;
}

/** New ones, in place of what is owed first: what went to scrap before what is still good. */
function takeNew(before: PartState, wanted: number | undefined): Lots {
  const available = missing(before) + before.stranded + before.settled + before.inStock;
  const acted = Math.min(wanted ?? available, available);
  const take = takerOf(acted);
  // In the order in which they are taken.
  return {
    available,
    acted,
    scrap: before.scrap - take(before.scrap),
    spoiled: before.spoiled - take(before.spoiled),
    stranded: before.stranded - take(before.stranded),
    settled: before.settled - take(before.settled),
    off: before.off - take(before.off),
    fresh: before.fresh - take(before.fresh),
    inStock: before.inStock - take(before.inStock),
    refittedOld: 0,
    refittedScrap: 0,
  };
}

/** What is off and good goes back first; what must not go back is taken only where the text asks for it. */
function takeFromBench(before: PartState, wanted: number | undefined): Lots {
  const { scrap, scrapSpoiled, stranded, settled, inStock } = before;
  const good = before.off + before.fresh;
  const old = before.spoiled + scrapSpoiled;
  const available = wanted === undefined ? good || old || scrap : wanted <= good ? good : good + old || scrap;
  const acted = Math.min(wanted ?? available, available);
  const take = takerOf(acted);
  const fresh = before.fresh - take(before.fresh);
  const off = before.off - take(before.off);
  const fromSpoiled = take(before.spoiled);
  const fromScrapSpoiled = take(scrapSpoiled);
  const refittedScrap = take(scrap - fromScrapSpoiled);
  return {
    available,
    acted,
    scrap: scrap - fromScrapSpoiled - refittedScrap,
    spoiled: before.spoiled - fromSpoiled,
    stranded,
    settled,
    off,
    fresh,
    inStock,
    refittedOld: fromSpoiled + fromScrapSpoiled,
    refittedScrap,
  };
}

/** Where the pieces are with those of `lots` on; whose carrier is for the caller to tell. */
function putOn(before: PartState, lots: Lots, mark: Mark, fresh: boolean, isFastener: boolean): Pieces {
  const { acted, off, spoiled, scrap, stranded, settled, inStock } = lots;
  const after = before.copy();
  // A new one in place of one that stayed on the scrapped carrier changes nothing in the count.
  after.lift(before.stranded - stranded);
  if (isFastener) after.loose += acted;
  else after.tight += acted;
  after.off = off;
  after.fresh = lots.fresh;
  after.spoiled = spoiled;
  const complete = off + lots.fresh + spoiled + scrap + stranded === 0;
  if (complete) after.taken = after.back = 0;
  else after.back += acted;
  if (before.stock) after.cameOff = true;
  if (acted > 0) {
    after.lastBack = mark;
    if (isFastener) after.lastLoose = mark;
    after.tightHoles = nobody;
  }
  if (fresh || scrap !== before.scrap || (before.stock && acted > 0))
    after.turnover = { ...before.turnover, stock: before.stock && acted === 0, scrap, stranded, settled, inStock };
  return after;
}

function fitting(
  { refittedOld, refittedScrap }: Lots,
  fresh: boolean,
  onto: string | undefined,
  holders: readonly Blocker[],
  covers: readonly Blocker[],
): Circumstances {
  const ways = hindered(holders, covers);
  if (!fresh && onto === undefined && refittedOld + refittedScrap === 0) return ways;
  if (ways === ordinary && fresh) return ordinaryNew;
  return { fresh, along: onto !== undefined, refittedOld, refittedScrap, holders, covers };
}

/** New pieces that sat on a carrier which was swapped out go onto what took its place. */
function onSuccessors(unit: Unit, carried: readonly Carried[], pieces: number): readonly Carried[] {
  if (carried.length === 0) return nobody;
  let rest = pieces;
  const counts = new Map<string, number>();
  const add = (by: string, count: number): void => {
    if (count > 0) counts.set(by, (counts.get(by) ?? 0) + count);
  };
  for (const { by, count } of carried) {
    const successor = withSuccessors(unit, by).at(-1)!;
    const moved = successor === by ? 0 : Math.min(count, rest);
    rest -= moved;
    add(by, count - moved);
    add(successor, moved);
  }
  return [...counts].map(([by, count]) => ({ by, count }));
}

function swap(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const target = targetOf(unit, statement);
  if (target === undefined || target.text === mark.name.text) return;
  if (unit.state(target.text) === undefined) {
    unit.doubt(mark.name.text);
    return;
  }
  const wanted = written(statement.count);
  const bench = onBench(before) + before.scrap;
  const available = bench;
  if (bench === 0 && isMisspelt(mark.name)) {
    unit.doubt(target.text);
    return;
  }
  // An old part that is still on is told of, then taken as off, so that one slip gives one finding.
  const acted = Math.min(wanted ?? (bench > 0 ? bench : on(before)), bench > 0 ? bench : on(before));
  const take = takerOf(acted);
  const after = before.copy();
  after.spoiled -= take(before.spoiled);
  after.off -= take(before.off);
  after.fresh -= take(before.fresh);
  const scrap = before.scrap - take(before.scrap);
  after.tight -= take(before.tight);
  after.snug -= take(before.snug);
  after.loose -= take(before.loose);
  after.cameOff = true;
  after.turnover = { ...before.turnover, scrap, swappedOut: before.swappedOut + acted, lastScrap: mark };
  const inBefore = unit.state(target.text)!;
  // The one that goes in was to be removed before, and this one never was: turned round, it moves nothing.
  if (bench === 0 && on(before) > 0 && inBefore.stock && inBefore.lastOff !== undefined) {
    unit.act('swap-out', mark, wanted, available, 0, before, undefined);
    unit.doubt(mark.name.text);
    unit.doubt(target.text);
    return;
  }
  unit.act('swap-out', mark, wanted, available, acted, before, after);
  const pieces = wanted ?? (inBefore.stock ? inBefore.inStock : acted);
  const inMark = { statement, name: target };
  const inAfter = inBefore.copy();
  inAfter.fresh += pieces;
  inAfter.taken += pieces;
  inAfter.cameOff = true;
  inAfter.lastOff = inMark;
  inAfter.turnover = { ...inBefore.turnover, stock: false, inStock: Math.max(0, inBefore.inStock - pieces) };
  unit.act('swap-in', inMark, wanted, pieces, pieces, inBefore, inAfter);
  const old = mark.name.text;
  const replaced = unit.swappedFor.now.get(target.text) ?? [];
  unit.swaps.set(old, target.text);
  if (!replaced.includes(old)) unit.swappedFor.set(target.text, [...replaced, old]);
  strand(unit, old, mark);
}

function transfer(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const source = statement.source && unit.meant(statement.source);
  const target = targetOf(unit, statement);
  if (source === undefined || target === undefined) return;
  if (unit.state(source.text) === undefined || unit.state(target.text) === undefined) return;
  const available = before.carried.find(({ by }) => by === source.text)?.count ?? 0;
  const wanted = written(statement.count);
  const acted = Math.min(wanted ?? available, available);
  const carried = [
    ...before.carried
      // Of thousands of carriers all but two carry what they did.
      .map((each): Carried => {
        const { by, count } = each;
        if (by === source.text) return { by, count: count - acted };
        return each.along === undefined ? each : { by, count };
      })
      .filter(({ by, count }) => count > 0 && by !== target.text),
    { by: target.text, count: acted + (before.carried.find(({ by }) => by === target.text)?.count ?? 0) },
  ];
  unit.addRider(target.text, mark.name.text);
  let after: Pieces | undefined;
  if (acted > 0) {
    after = before.copy();
    after.carried = carried;
    const stranded = Math.min(before.stranded, acted);
    if (stranded > 0) after.turnover = { ...before.turnover, stranded: before.stranded - stranded };
  }
  unit.act('transfer', mark, wanted, available, acted, before, after);
}

function omit(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  // What never came off, in a `for`: the unit of that code has none.
  const absent = unit.codesDeep > 0 && !before.cameOff && !before.stock ? on(before) : 0;
  // It stays behind on what carries it, on the bench or in the scrap.
  const apart = Math.max(0, Math.max(absent, hangingOf(unit, before)) - before.stranded);
  const available = apart + missing(before) + before.stranded + before.settled;
  const wanted = written(statement.count);
  const acted = Math.min(wanted ?? available, available);
  const take = takerOf(acted);
  const after = before.copy();
  after.off -= take(before.off);
  after.fresh -= take(before.fresh);
  after.spoiled -= take(before.spoiled);
  const scrap = before.scrap - take(before.scrap);
  const stranded = before.stranded - take(before.stranded);
  const settled = before.settled - take(before.settled);
  after.lift(before.stranded - stranded + take(apart));
  after.turnover = { ...before.turnover, scrap, stranded, settled, omitted: before.omitted + acted };
  unit.act('omit', mark, wanted, available, acted, before, after);
}

function turn(unit: Unit, statement: Statement, mark: Mark, before: PartState): void {
  const available = on(before);
  const loosening = statement.kind === 'loosen';
  const byHand = statement.byHand !== undefined;
  const named = loosening ? nobody : [...new Set(numbersOf(statement.holes))];
  const wanted = written(statement.count) ?? (named.length > 0 ? named.length : undefined);
  const acted = Math.min(wanted ?? available, available);
  // Of several like sides a number names a hole on each.
  const sides = named.length > 0 && acted % named.length === 0 ? acted / named.length : 1;
  const holes = named.flatMap((hole) => Array<number>(sides).fill(hole));
  const more = without(holes, before.tightHoles);
  const after = before.copy();
  if (loosening) {
    const fromTight = Math.min(before.tight, acted);
    const fromSnug = Math.min(before.snug, acted - fromTight);
    after.tight -= fromTight;
    after.snug -= fromSnug;
    after.loose += fromTight + fromSnug;
  } else {
    // What is loose is tightened first; pieces tightened again (a later pass) stay as they are.
    const turned = Math.max(0, acted - (holes.length - more.length));
    const fromLoose = Math.min(before.loose, turned);
    const fromOther = Math.min(byHand ? before.tight : before.snug, turned - fromLoose);
    after.loose -= fromLoose;
    if (byHand) {
      after.tight -= fromOther;
      after.snug += fromLoose + fromOther;
    } else {
      after.snug -= fromOther;
      after.tight += fromLoose + fromOther;
    }
  }
  if (loosening || byHand) {
    after.tightHoles = nobody;
    if (acted > 0) after.lastLoose = mark;
  } else if (more.length > 0) after.tightHoles = [...before.tightHoles, ...more];
  const part = mark.name.text;
  // What is tight stays as it is, unless that is what is tightened again.
  const slack = loosening ? 0 : before.loose + before.snug;
  const rest = available - (slack === 0 ? acted : Math.min(acted, slack));
  const holders =
    available > 0 && !loosening ? inTheWay(unit, part, rest, thatCameOff(holdersOf(unit, part, none))) : nobody;
  const covers = available > 0 ? inTheWay(unit, part, rest, coversOf(unit, part)) : nobody;
  const verb = loosening ? 'loosen' : byHand ? 'hand-tighten' : 'tighten';
  unit.act(verb, mark, wanted, available, acted, before, after, hindered(holders, covers));
}

function fluid(unit: Unit, statement: Statement, mark: Mark): void {
  const before = unit.fluids.now.get(mark.name.text) ?? noFluid;
  const extent = extentOf(statement.amount);
  const amount = extent === undefined ? 0 : (extent.low + extent.high) / 2;
  if (statement.kind === 'drain') {
    unit.fluids.set(mark.name.text, {
      ...before,
      drained: true,
      filled: false,
      out: before.out + amount,
      lastDrain: mark,
    });
    return;
  }
  unit.fluids.set(mark.name.text, {
    ...before,
    drained: false,
    filled: true,
    fills: { statement, earlier: before.fills, drained: before.drained, out: before.out },
    lastFill: mark,
  });
}

const thatCameOff = (blockers: readonly Blocker[]): readonly Blocker[] =>
  blockers.length === 0 ? nobody : blockers.filter(({ cameOff }) => cameOff);

/** Gives of each lot what is still wanted of the `pieces`. */
function takerOf(pieces: number): (lot: number) => number {
  let rest = pieces;
  return (lot) => {
    const taken = Math.min(lot, rest);
    rest -= taken;
    return taken;
  };
}

/** What goes along; a list of its own only where a name in it is misspelt. */
function alongIn(unit: Unit, { together }: Statement): readonly CountedName[] {
  if (together === undefined || together.every(({ name }) => unit.meant(name) === name)) return together ?? nobody;
  return together.map((each) => ({ ...each, name: unit.meant(each.name) }));
}

const targetOf = (unit: Unit, { targets }: Statement): Name | undefined => targets?.[0] && unit.meant(targets[0]);

/** `xN` */
const written = (count: { readonly value: number } | undefined): number | undefined =>
  count === undefined ? undefined : unboxed(count.value);

const numbersOf = (literals: readonly { readonly value: number }[] | undefined): readonly number[] =>
  literals === undefined ? nobody : literals.map(({ value }) => unboxed(value));

/** Who carries the pieces once `count` of them sit on `carrier`. */
function carriedBy(state: PartState, carrier: string, count: number): Carried[] {
  const booked = Math.max(count, state.carried.find(({ by }) => by === carrier)?.count ?? 0);
  const total = state.carried.reduce((sum, carried) => sum + carried.count, 0);
  const left = state.carried
    .filter(({ by }) => by !== carrier)
    .map(({ by, count: sitting }) => ({ by, count: Math.min(sitting, Math.max(0, total - booked)) }));
  return [...left.filter((carried) => carried.count > 0), { by: carrier, count: booked, along: true }];
}
