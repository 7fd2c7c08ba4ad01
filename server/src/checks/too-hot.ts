import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { unitOf } from '../../../grammar/units.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import { seatsIn } from '../ledger/start.ts';
import { type Carried, on } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { extentOf, fromSI, say, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, eachVariant, named, type Raw, type Related, related, type Settings } from './check.ts';
import { lastPlaceOf } from './entries.ts';
import { celsius, heatLimitOf } from './mounting.ts';
import { roundedDown } from './rounding.ts';

export const tooHot: Check = {
  code: 'too-hot',
  severity: 'error',
  section: 'Mounting, waiting, measuring',
  fires:
    'a part is heated past its limit, or past the stated limit of what sits on it: as declared, else 120 °C, or 80 °C for a sealed or greased bearing.',
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
    const isCarrier = ({ name }: Statement): boolean => name !== undefined && mayCarry(model, name.text).length > 0;
    if (statementsOf(model, 'heat').some(isCarrier))
      yield* eachVariant(ledger, (variant) => riders(variant, model, settings));
  },
  *runLocally({ model, settings }): Generator<Raw> {
    for (const statement of statementsOf(model, 'heat')) {
      const part = model.parts.get(statement.name?.text ?? '');
      const heat = extentOf(statement.to);
      if (part === undefined || heat?.kind !== 'temperature' || statement.to === undefined) continue;
      if (part.broken && !statesLimit(part)) continue;
      const past = passed(part, statement.to, settings);
      if (past === undefined) continue;
      const { most, why } = past;
      yield {
        span: statement.to,
        message: `${written(statement.to)} is past ${most}, ${why}: heat ${named(part.name!.text)} to ${most} at most.`,
        related: declaredAt(part),
        data: { subject: part.name!.text },
      };
    }
  },
};

const statesLimit = ({ limit }: Declaration): boolean => extentOf(limit)?.kind === 'temperature';
const hasLimit = (part: Declaration): boolean => part.limit !== undefined || part.filled !== undefined;

/** The limit of `part`, and where it comes from, if the temperature `to` is past it. */
function passed(part: Declaration, to: Quantity, settings: Settings): { most: string; why: string } | undefined {
  const heat = extentOf(to);
  const limit = heatLimitOf(part, settings);
  if (heat === undefined || celsius(heat.high) <= limit + 1e-6) return undefined;
  if (statesLimit(part)) return { most: written(part.limit!), why: 'its declared limit' };
  const unit = to.inUnit ?? unitOf('°C')!;
  return {
    most: say(roundedDown(fromSI(limit + 273.15, unit)), unit),
    why: part.filled === undefined ? 'the limit where none is declared' : `the limit of a ${part.filled.text} bearing`,
  };
}

const declaredAt = (part: Declaration): Related[] =>
  related(
    part.limit ?? part.filled ?? part.name,
    statesLimit(part) ? 'the limit is declared here' : `${named(part.name!.text)} is declared here`,
  );

/** What sits on a part that is heated gets as hot. */
function* riders(variant: Variant, model: Model, settings: Settings): Generator<Raw> {
  for (const statement of statementsOf(model, 'heat')) {
    const { name, to } = statement;
    if (name === undefined || extentOf(to)?.kind !== 'temperature' || mayCarry(model, name.text).length === 0) continue;
    const index = lastPlaceOf(variant, statement);
    if (index < 0) continue;
    const seen = new Set([name.text]);
    /** Each with what it sits on, from the last carrier to the part that is heated. */
    const seated: (readonly [string, ...string[]])[] = [[name.text]];
    for (const carriers of seated) {
      for (const rider of mayCarry(model, carriers[0])) {
        const part = model.parts.get(rider);
        const state = stateBefore(variant, rider, index);
        const sitsOn = (each: Carried): boolean => each.by === carriers[0] && each.count > 0;
        if (part === undefined || state === undefined || seen.has(rider)) continue;
        if (on(state) === 0 || variant.unsure.has(rider) || !state.carried.some(sitsOn)) continue;
        seen.add(rider);
        seated.push([rider, ...carriers]);
        const past = hasLimit(part) ? passed(part, to!, settings) : undefined;
        if (past === undefined) continue;
        const { most, why } = past;
        const [first, ...others] = carriers.map(named);
        yield {
          span: to!,
          message: `${written(to!)} is past ${most}, ${why}: ${named(rider)} sits on ${[first, ...others.map((each) => `that on ${each}`)].join(', ')} and is heated with it, so take it off first.`,
          related: declaredAt(part),
          data: { subject: rider },
        };
      }
    }
  }
}

const none: readonly string[] = [];

/** What may sit on `carrier`, at the start or later. */
function mayCarry(model: Model, carrier: string): readonly string[] {
  const first = seatsIn(model.parts).get(carrier) ?? none;
  const then = statementsOf(model, 'transfer').length === 0 ? none : (transferred(model).get(carrier) ?? none);
  return then.length === 0 ? first : [...first, ...then];
}

/** What is transferred to each part. */
const transferred = noted((model: Model): ReadonlyMap<string, readonly string[]> => {
  const moved = new Map<string, string[]>();
  for (const { name, targets } of statementsOf(model, 'transfer')) {
    const carrier = targets?.[0]?.text;
    if (name === undefined || carrier === undefined) continue;
    const riders = moved.get(carrier);
    if (riders === undefined) moved.set(carrier, [name.text]);
    else riders.push(name.text);
  }
  return moved;
});
