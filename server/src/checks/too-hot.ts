import type { Declaration, Quantity, Statement, Step } from '../../../grammar/syntax.ts';
import { unitOf } from '../../../grammar/units.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import { seatsIn } from '../ledger/start.ts';
import { type Carried, on } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { extentOf, fromSI, say, written } from '../model/quantity.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { type Check, type Raw, type Related, related, type Settings } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { lastPlaceOf } from './entries.ts';
import { stepOf } from './for-codes.ts';
import { celsius, fillingOf, heatLimitOf } from './mounting.ts';
import { roundedDown } from './rounding.ts';
import { goesToScrap } from './scrapped.ts';
import { named } from './wording.ts';

export const tooHot: Check = {
  code: 'too-hot',
  severity: 'error',
  section: 'Mounting, waiting, measuring',
  fires:
    'a part that does not come off to go to scrap in the same step is heated past its limit, or past the stated limit of what sits on it and does not go to scrap: as declared, else 120 °C, or 80 °C for a sealed or greased bearing.',
  why: 'Past its limit a bearing loses hardness and size, and its grease and seals are gone.',
  bad: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 150 °C
    fit race`,
  good: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 110 °C
    fit race`,
  *run({ ledger, model, settings }) {
    if (anyCarries(statementsOf(model, 'heat'), model))
      yield* eachVariant(ledger, (variant) => riders(variant, model, settings));
  },
  *runLocally({ model, settings }): Generator<Raw> {
    for (const statement of statementsOf(model, 'heat')) {
      const part = model.parts.get(statement.name?.text ?? '');
      const heat = extentOf(statement.to);
      if (part === undefined || heat?.kind !== 'temperature' || statement.to === undefined) continue;
      if (part.broken && !statesLimit(part)) continue;
      const past = passed(part, statement.to, settings);
      if (past === undefined || comesOffToScrap(statement, part)) continue;
      const { most, why } = past;
      yield {
        span: statement.to,
        message: `${written(statement.to)} is past ${most}, ${why}: heat ${named(part.name!.text)} to ${most} at most${hasLimit(part) ? '' : ', or declare its `limit`'}.`,
        related: declaredAt(part),
        data: { subject: part.name!.text },
      };
    }
  },
};

const statesLimit = ({ limit }: Declaration): boolean => extentOf(limit)?.kind === 'temperature';
const hasLimit = (part: Declaration): boolean => part.limit !== undefined || fillingOf(part) !== undefined;

/** Whether what is heated is taken off below in the same step and goes to scrap: no limit saves it. */
function comesOffToScrap(heating: Statement, { renew }: Declaration): boolean {
  const step = stepOf(heating);
  const fate = step && fatesIn(step).get(heating);
  return fate !== undefined && (renew === undefined ? fate.scrapped : fate.scrappedIfRenewed);
}

/** What becomes in the same step of a part that is heated there. */
interface Fate {
  readonly scrapped: boolean;
  /** Where it is a part that is renewed each time. */
  readonly scrappedIfRenewed: boolean;
}

/** By heating. Gone through from the end, as one part may be heated over and over. */
const fatesIn = noted((step: Step): ReadonlyMap<Statement, Fate> => {
  const ahead = new Map<string, Fate>();
  const fates = new Map<Statement, Fate>();
  for (const statement of statementsIn(step).toReversed()) {
    const { kind, name, spoiled } = statement;
    if (name === undefined) continue;
    const fate = ahead.get(name.text) ?? staysWhole;
    if (kind === 'heat') fates.set(statement, fate);
    else if (kind === 'discard' || (kind === 'remove' && spoiled !== undefined))
      ahead.set(name.text, { scrapped: true, scrappedIfRenewed: true });
    else if (kind === 'remove') ahead.set(name.text, { ...fate, scrappedIfRenewed: true });
    else if (kind !== 'loosen' && kind !== 'press') ahead.set(name.text, staysWhole);
  }
  return fates;
});
const staysWhole: Fate = { scrapped: false, scrappedIfRenewed: false };

/** The limit of `part`, and where it comes from, if the temperature `to` is past it. */
function passed(part: Declaration, to: Quantity, settings: Settings): { most: string; why: string } | undefined {
  const heat = extentOf(to);
  const limit = heatLimitOf(part, settings);
  if (heat === undefined || celsius(heat.high) <= limit + 1e-6) return undefined;
  if (statesLimit(part)) return { most: written(part.limit!), why: 'its declared limit' };
  const unit = to.inUnit ?? unitOf('°C')!;
  const filling = fillingOf(part);
  return {
    most: say(roundedDown(fromSI(limit + 273.15, unit)), unit),
    why: filling === undefined ? 'the limit where none is declared' : `the limit of a ${filling} bearing`,
  };
}

const declaredAt = (part: Declaration): Related[] =>
  related(
    part.limit ?? part.filled ?? part.name,
    statesLimit(part) ? 'the limit is declared here' : `${named(part.name!.text)} is declared here`,
  );

/** What sits on a part that is heated gets as hot. */
function* riders(variant: Variant, model: Model, settings: Settings): Generator<Raw> {
  const frailOn = frailest(model, settings);
  let told = 0;
  for (const statement of statementsOf(model, 'heat')) {
    const isShort = told >= mostInFull;
    for (const found of ridersOn(statement, frailOn, variant, model, settings)) {
      yield found;
      told++;
      if (isShort) break;
    }
  }
}

function* ridersOn(
  statement: Statement,
  frailOn: (carrier: string) => Frail,
  variant: Variant,
  model: Model,
  settings: Settings,
): Generator<Raw> {
  const { name, to } = statement;
  const heat = extentOf(to);
  if (name === undefined || heat?.kind !== 'temperature') return;
  const most = celsius(heat.high);
  const index = lastPlaceOf(variant, statement);
  if (index < 0 || (frailOn(name.text)[0]?.stands ?? Infinity) >= most) return;
  const seen = new Set([name.text]);
  const seated: Seat[] = [{ part: name.text, seat: undefined }];
  for (const seat of seated) {
    for (const { rider, stands } of frailOn(seat.part)) {
      if (stands >= most) break;
      const part = model.parts.get(rider);
      const state = stateBefore(variant, rider, index);
      const sitsOn = (each: Carried): boolean => each.by === seat.part && each.count > 0;
      if (part === undefined || state === undefined || seen.has(rider)) continue;
      if (on(state) === 0 || variant.unsure.has(rider) || !state.carried.some(sitsOn)) continue;
      seen.add(rider);
      seated.push({ part: rider, seat });
      const past = hasLimit(part) ? passed(part, to!, settings) : undefined;
      if (past === undefined || goesToScrap(variant, rider, index, on(state))) continue;
      yield {
        span: to!,
        message: `${written(to!)} is past ${past.most}, ${past.why}: ${named(rider)} sits on ${saying(seat, name.text)} and is heated with it, so heat ${named(name.text)} to ${past.most} at most, or take ${named(rider)} off first.`,
        related: declaredAt(part),
        data: { subject: rider },
      };
    }
  }
}

/** Behind so many findings one tells of each heating: thousands of parts may sit on what is heated thousands of times. */
const mostInFull = 1000;

/** A part, and what it sits on. */
interface Seat {
  readonly part: string;
  readonly seat: Seat | undefined;
}

/** What carries what, down to the part that is heated: of many the nearest. */
function saying(seat: Seat, heated: string): string {
  const said = [named(seat.part)];
  let below = seat.seat;
  for (; below !== undefined && said.length < mostSaid; below = below.seat) said.push(`that on ${named(below.part)}`);
  if (below !== undefined) said.push(`that in the end on ${named(heated)}`);
  return said.join(', ');
}
const mostSaid = 3;

/** What may sit on a part, with the least heat (°C) that it, or what may sit on it, stands; the frailest first. */
type Frail = readonly { readonly rider: string; readonly stands: number }[];

function frailest(model: Model, settings: Settings): (carrier: string) => Frail {
  const { parts } = model;
  const carriersOf = new Map<string, string[]>();
  const add = (rider: string, carrier: string): void => {
    addTo(carriersOf, rider, carrier);
  };
  for (const [carrier, all] of seatsIn(parts)) for (const rider of all) add(rider, carrier);
  for (const [carrier, all] of transferred(model)) for (const rider of all) add(rider, carrier);
  const limits: [string, number][] = [];
  for (const rider of carriersOf.keys()) {
    const part = parts.get(rider);
    if (part !== undefined && hasLimit(part)) limits.push([rider, heatLimitOf(part, settings)]);
  }
  /** Each is met first by way of the frailest. */
  const stands = new Map<string, number>();
  for (const [frail, limit] of limits.sort((a, b) => a[1] - b[1])) {
    const above = [frail];
    for (const each of above) {
      if (stands.has(each)) continue;
      stands.set(each, limit);
      above.push(...(carriersOf.get(each) ?? none));
    }
  }
  const known = new Map<string, Frail>();
  return (carrier) => {
    let frail = known.get(carrier);
    if (frail === undefined) {
      frail = mayCarry(model, carrier)
        .flatMap((rider) => {
          const least = stands.get(rider);
          return least === undefined ? [] : [{ rider, stands: least }];
        })
        .sort((a, b) => a.stands - b.stands);
      known.set(carrier, frail);
    }
    return frail;
  };
}

const none: readonly string[] = [];

/** What may sit on `carrier`, at the start or later. */
function mayCarry(model: Model, carrier: string): readonly string[] {
  const first = seatsIn(model.parts).get(carrier) ?? none;
  const then = statementsOf(model, 'transfer').length === 0 ? none : (transferred(model).get(carrier) ?? none);
  return then.length === 0 ? first : [...first, ...then];
}

const carriers = new Beside<readonly Statement[], { readonly seats: object; readonly any: boolean }>();

/** Whether something may sit on a part that is heated. */
function anyCarries(heated: readonly Statement[], model: Model): boolean {
  const carries = ({ name }: Statement): boolean => name !== undefined && mayCarry(model, name.text).length > 0;
  if (statementsOf(model, 'transfer').length > 0) return heated.some(carries);
  const seats = seatsIn(model.parts);
  let known = carriers.get(heated);
  if (known?.seats !== seats) {
    known = { seats, any: heated.some(carries) };
    carriers.set(heated, known);
  }
  return known.any;
}

/** What is transferred to each part. */
const transferred = noted((model: Model): ReadonlyMap<string, readonly string[]> => {
  const moved = new Map<string, string[]>();
  for (const { name, targets } of statementsOf(model, 'transfer')) {
    const carrier = targets?.[0]?.text;
    if (name === undefined || carrier === undefined) continue;
    addTo(moved, carrier, name.text);
  }
  return moved;
});
