import type { Quantity } from '../../../grammar/syntax.ts';
import type { QuantityKind, Unit } from '../../../grammar/units.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Fill, FluidState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { extentOf, fromSI, roundingStep, say, saysTheSame, toSI, written } from '../model/quantity.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { restated } from './mixed-units.ts';
import { digitsApart } from './rounding.ts';
import { isSound } from './sound.ts';
import { named } from './wording.ts';

export const fillDiffers: Check = {
  code: 'fill-differs',
  severity: 'warning',
  section: 'Coming back',
  fires:
    'the fills of a fluid do not add up to its declared quantity, or to what was drained where none is declared, or are measured otherwise; what was drained again after a flush does not count.',
  why: 'Too little oil starves the upper bearing, too much drives it past the seals.',
  bad: `supply oil "Gear oil" 1.8 L
teardown
  step drain
    drain oil
reassembly
  step fill
    fill oil 2.4 L`,
  good: `supply oil "Gear oil" 1.8 L
teardown
  step drain
    drain oil
reassembly
  step fill
    fill oil 1.8 L`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model }) {
    const should = String(finding.data?.['should']);
    return should === ''
      ? []
      : [{ title: `Fill ${should} as declared`, edits: [replaceSpan(model.tree, finding.span, should)], safe: false }];
  },
};

function* each(last: Fill | undefined): Generator<Fill> {
  for (let fill = last; fill !== undefined; fill = fill.earlier) yield fill;
}

const measuredBy: Readonly<Partial<Record<QuantityKind, string>>> = { volume: 'volume', mass: 'mass' };

const isOfOtherKind = (amount: Quantity | undefined, kind: QuantityKind): boolean => {
  const unit = amount?.inUnit;
  return unit !== undefined && unit.kind !== kind;
};

interface Spread {
  readonly low: number;
  readonly high: number;
}

/** What one fill may mean, in SI: in another unit than `wanted`, it stands for all that rounds to it. */
function filledBy(amount: Quantity | undefined, wanted: Unit | undefined): Spread {
  const extent = extentOf(amount);
  const unit = amount?.inUnit;
  if (extent === undefined || unit === undefined) return { low: 0, high: 0 };
  const half = unit === wanted ? 0 : toSI(roundingStep(amount!.numbers[0]!) / 2, unit);
  return { low: extent.low - half, high: extent.high + half };
}

/** Quantities that what was filled in is known to agree with: few edits bear on them. */
const agreed = new Beside<FluidState, Quantity>();

function isFilledAsDeclared(state: FluidState, declared: Quantity | undefined): boolean {
  if (declared === undefined) return false;
  if (agreed.get(state) === declared) return true;
  const { lastFill, fills } = state;
  const amount = lastFill?.statement.amount;
  if (amount?.inUnit === undefined || fills === undefined || fills.earlier !== undefined) return false;
  const agrees = saysTheSame(amount, declared);
  if (agrees) agreed.set(state, declared);
  return agrees;
}

/** Where one is in pints and the other in quarts, which of the two gallons each is of. */
function pints(filled: Unit, wanted: Unit | undefined): string {
  if (wanted?.symbol === 'pt' && filled.symbol === 'qt') return ' (imperial; `qt` is the US quart)';
  return wanted?.symbol === 'qt' && filled.symbol === 'pt' ? ' (US; `pt` is the imperial pint)' : '';
}

function sumOf(fills: readonly Fill[], wanted: Unit | undefined): Spread {
  const each = fills.map(({ statement }) => filledBy(statement.amount, wanted));
  return { low: each.reduce((sum, { low }) => sum + low, 0), high: each.reduce((sum, { high }) => sum + high, 0) };
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  // The other branches count where nothing was filled after they met.
  const others = variant.otherFluids.filter(
    ({ supply, merged }) => variant.fluids.get(supply)?.fills?.statement === merged.fills?.statement,
  );
  const ends: (readonly [supply: string, state: FluidState])[] = [];
  // Nearly every fluid is filled once, as declared.
  const look = (supply: string, state: FluidState): void => {
    if (!isFilledAsDeclared(state, model.supplies.get(supply)?.amount)) ends.push([supply, state]);
  };
  for (const [supply, state] of variant.fluids) look(supply, state);
  for (const { supply, state } of others) look(supply, state);
  for (const [supply, state] of ends) {
    const fill = state.lastFill?.statement;
    const unit = fill?.amount?.inUnit;
    if (fill?.amount === undefined || unit === undefined || state.drained || variant.unsure.has(supply)) continue;
    const declared = model.supplies.get(supply)?.amount;
    const extent = extentOf(declared);
    if (declared !== undefined && extent === undefined) continue;
    const all = [...each(state.fills)];
    // What was filled in to flush and drained again is not in the unit.
    const turn = all.findIndex(({ drained, earlier }) => drained && earlier !== undefined);
    const since = turn < 0 ? all : all.slice(0, turn + 1);
    const held = all.at(-1)!.out;
    if (declared === undefined && held === 0) continue;
    const reference = declared ?? state.lastDrain?.statement.amount;
    const wanted = reference?.inUnit;
    const kind = wanted?.kind ?? unit.kind;
    const otherwise = since.find(({ statement }) => isOfOtherKind(statement.amount, kind))?.statement.amount;
    if (otherwise !== undefined) {
      const [as, wants] = [measuredBy[otherwise.inUnit!.kind], measuredBy[kind]];
      // Any other kind has no place here: `wrong-kind` tells of it.
      if (as === undefined || wants === undefined || reference === undefined) continue;
      const how = declared === undefined ? 'drained' : 'declared';
      yield {
        span: otherwise,
        message: `${named(supply)} is filled by ${as} (${written(otherwise)}) and ${how} by ${wants} (${written(reference)}): give both in one of them, as nothing here tells its density.`,
        related: related(reference, `${how} here`),
        data: { subject: supply, should: '' },
      };
      continue;
    }
    const low = extent?.low ?? held;
    const high = extent?.high ?? held;
    const total = sumOf(all, wanted);
    const last = sumOf(since, wanted);
    const slack = 1e-9 * Math.max(high, total.high);
    const fits = (sum: Spread, less = 0): boolean => sum.high - less >= low - slack && sum.low - less <= high + slack;
    if (fits(last)) continue;
    // Part of it may have been drained, and a declaration may be what all of it takes.
    if (turn >= 0 && (fits(total, state.out - held) || (declared !== undefined && fits(total)))) continue;
    const onlyFill = since.length === 1;
    const filled = (last.low + last.high) / 2;
    const digits = digitsApart(fromSI(filled, unit), fromSI(last.high < low ? low : high, unit), 4);
    const is = say(fromSI(filled, unit), unit, digits);
    const should = declared === undefined ? say(fromSI(held, unit), unit, digits) : written(declared);
    yield {
      span: fill.amount,
      message: `${named(supply)} is filled with ${is}${onlyFill ? '' : ' in all'}${turn < 0 ? '' : ' since it was last drained'}, but ${should} ${declared === undefined ? 'was drained' : 'is declared'}: fill ${should}${pints(unit, wanted)}${declared === undefined ? '' : ', or correct the declaration'}.`,
      ...(declared === undefined ? {} : { inSomeCodes: ', or declare none where codes take different quantities' }),
      related:
        declared !== undefined
          ? related(declared, 'declared here')
          : turn < 0
            ? related(state.lastDrain?.name, 'drained here')
            : [],
      data: {
        subject: supply,
        should:
          onlyFill && declared !== undefined && isSound(declared, 'volume', 'mass') ? restated(model, declared) : '',
      },
    };
  }
}
