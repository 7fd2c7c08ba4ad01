import { type Declaration, type Quantity, type Span, type Statement, spanText } from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import { noted } from '../model/noted.ts';
import { type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import { extentOf, figure, fromSI, say, siValueOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Edit, Raw, Settings } from './check.ts';
import { replaceSpan } from './edits.ts';
import { declaredTorquesOf, fastenerOf, judging, oddTorqueAt, statedTorquesOf, type TorquePlace } from './fastening.ts';
import { slippedInterference } from './mounting.ts';
import { digitsApart } from './rounding.ts';

/** Interference may be below zero: that is clearance. */
const neverNegative: ReadonlySet<QuantityKind> = new Set(['torque', 'time', 'length', 'volume', 'mass', 'force']);

/** Metres: nothing on a bench is so long, but for a hose or cord as a supply. Common practice, no source. */
const longestPart = 20;

/** A bolt this many diameters long, or this short, is a slip. Common practice, no source. */
const longest = 60;
const shortest = 0.3;

export const oddSize: Check = {
  code: 'odd-size',
  severity: 'warning',
  section: 'Units',
  fires:
    'a value lies far outside what such a thread, fit or part can take or be (the message says whether a decimal slipped or a unit was swapped), is below zero or absolute zero, a range runs downwards, or a reading has a `min` above its `max`.',
  why: 'A slipped decimal in a torque shears the bolt or leaves it finger-tight.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m length 40 m`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m length 40 mm`,
  *run({ model, settings }): Generator<Raw> {
    yield* oddTorques(statedTorquesOf(model), settings);
    yield* turnedLimits(statementsOf(model, 'measure'));
  },
  *runLocally({ model, settings }): Generator<Raw> {
    yield* oddTorques(declaredTorquesOf(model), settings);
    const told = new Set<Quantity>();
    for (const part of model.ownDeclarations.filter(isThreadedLength)) {
      const { thread } = fastenerOf(part, settings);
      const length = siValueOf(part.length, 'length');
      if (thread === undefined || length === undefined || part.length === undefined) continue;
      const diameters = (length * 1000) / thread.diameter;
      if (diameters <= longest && diameters >= shortest) continue;
      told.add(part.length);
      yield {
        span: part.length,
        message: `${written(part.length)} is ${figure(diameters, 2)} diameters of ${part.thread!.text}: the unit is probably swapped, or the decimal has slipped.`,
        related: [],
        data: { subject: part.name?.text ?? '' },
      };
    }
    for (const part of model.ownDeclarations.filter(isFitted)) {
      const { bore, interference, name } = part;
      const share = slippedInterference(part);
      if (share === undefined) continue;
      yield {
        span: interference!,
        message: `${written(interference!)} is ${figure(100 * share, 2)} % of the ${written(bore!)} bore: the unit is probably swapped, or the decimal has slipped.`,
        related: [],
        data: { subject: name?.text ?? '' },
      };
    }
    for (const { quantity, kinds, where } of quantitiesOf(model).filter(maybeOdd)) {
      const { value, second } = quantity;
      const kind = quantity.inUnit?.kind;
      if (kind === undefined) continue;
      if (quantity.form === 'range' && second !== undefined && value > second.value) {
        yield {
          span: quantity,
          message: `the range ${written(quantity)} runs downwards: write the lower end first.`,
          related: [],
          data: { turned: 'range' },
        };
      } else if (kinds.includes(kind) && neverNegative.has(kind) && where !== '`interference`' && value < 0) {
        yield {
          span: quantity,
          message: `${written(quantity)} is below zero, and ${where} cannot be: take the sign out.`,
          related: [],
        };
      } else if (kind === 'temperature' && extentOf(quantity)!.low < -1e-6) {
        const unit = quantity.inUnit!;
        yield {
          span: quantity,
          message: `${written(quantity)} is below absolute zero, ${say(fromSI(0, unit), unit, 5)}: check the number and its unit.`,
          related: [],
        };
      } else if (isTooFar(quantity, kinds, where)) {
        yield {
          span: quantity,
          message: `${written(quantity)} past its torque is more than a bolt is turned, ${farthest}°: the decimal has probably slipped (${figure(value / 10, 4)}°).`,
          related: [],
        };
      } else if (isTooLong(quantity, kinds) && !told.has(quantity)) {
        yield {
          span: quantity,
          message: `${written(quantity)} is far above what ${where} can be: probably a swapped unit (${written(quantity).replace(/m$/, 'mm')}).`,
          related: [],
        };
      }
    }
  },
  repairs({ span, data }, { model }) {
    const { tree } = model;
    const exchanged = (one: Span, other: Span): Edit[] => [
      replaceSpan(tree, one, spanText(other)),
      replaceSpan(tree, other, spanText(one)),
    ];
    if (data?.['turned'] === 'limits') {
      const { min, max } = statementsOf(model, 'measure').find((each) => each.max === span) ?? {};
      if (min === undefined || max === undefined) return [];
      return [{ title: 'Exchange the two limits', edits: exchanged(min, max), safe: false }];
    }
    if (data?.['turned'] !== 'range') return [];
    const range = quantitiesOf(model).find(({ quantity }) => quantity === span)?.quantity;
    const edits = [range, range?.restated].flatMap((each) => {
      const [first, second] = each?.numbers ?? [];
      return first === undefined || second === undefined ? [] : exchanged(first, second);
    });
    return [{ title: 'Write the lower end first', edits, safe: false }];
  },
};

const isThreadedLength = ({ thread, length }: Declaration): boolean => thread !== undefined && length !== undefined;

const isFitted = ({ bore, interference }: Declaration): boolean => bore !== undefined && interference !== undefined;

const maybeOdd = ({ quantity, kinds, where }: QuantityPlace): boolean =>
  quantity.form === 'range' || quantity.value < 0 || isTooLong(quantity, kinds) || isTooFar(quantity, kinds, where);

/** Degrees past its torque that a bolt is turned by. Common practice, no source. */
const farthest = 360;
const isTooFar = ({ inUnit, value }: Quantity, [kind]: readonly QuantityKind[], where: string): boolean =>
  value > farthest && kind === 'angle' && inUnit?.kind === 'angle' && where === 'the angle behind `then`';

/** Of places that take a length and nothing else. */
const isTooLong = ({ inUnit, value }: Quantity, kinds: readonly QuantityKind[]): boolean =>
  inUnit?.symbol === 'm' && value > longestPart && kinds.length === 1 && kinds[0] === 'length';

/** A reading that has to be both above and below what nothing is. */
const turnedLimits = noted((measurements: readonly Statement[]): readonly Raw[] => {
  const found: Raw[] = [];
  for (const { min, max, name } of measurements) {
    const kind = min?.inUnit?.kind;
    if (min === undefined || max === undefined || kind === undefined) continue;
    const least = siValueOf(min, kind);
    const most = siValueOf(max, kind);
    if (least === undefined || most === undefined || least <= most) continue;
    found.push({
      span: max,
      message: `no reading is at least ${written(min)} and at most ${written(max)}: exchange the two, or correct one.`,
      related: [],
      data: { subject: name?.text ?? '', turned: 'limits' },
    });
  }
  return found;
});

const oddTorques = judging(function* (places: readonly TorquePlace[], settings: Settings): Generator<Raw> {
  for (const place of places) {
    const odd = oddTorqueAt(place, settings);
    if (odd === undefined) continue;
    const { torque, part } = place;
    const unit = torque.inUnit!;
    const number = torque.numbers[0]!;
    const show = (newtonMetres: number): string => {
      const value = fromSI(newtonMetres, unit);
      return say(value, unit, digitsApart(value, number.value));
    };
    const likely = odd.slips.slice(0, 2);
    const decimals = likely.flatMap((slip) => (slip.kind === 'slipped decimal' ? [show(slip.torque)] : []));
    const readings = likely.flatMap((slip) => {
      if (slip.kind !== 'slipped decimal') return [`a swapped unit (${number.image} ${slip.unit})`];
      return show(slip.torque) === decimals[0] ? [`a slipped decimal (${decimals.join(' or ')})`] : [];
    });
    const guess = readings.length === 0 ? 'check the number and its unit' : `probably ${readings.join(' or ')}`;
    yield {
      span: torque,
      message: `${written(torque)} is far ${odd.size === 'too great' ? 'above' : 'below'} what ${part.thread!.text} can be given (${show(odd.plausible.low)} to ${show(odd.plausible.high)}): ${guess}.`,
      related: [],
      data: { subject: part.name?.text ?? '' },
    };
  }
});
