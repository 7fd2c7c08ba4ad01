import type { Quantity } from '../../../grammar/syntax.ts';
import type { Unit } from '../../../grammar/units.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Fill, FluidState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { extentOf, fromSI, roundingStep, say, saysTheSame, toSI, written } from '../model/quantity.ts';
import { type Check, eachVariant, named, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { digitsApart } from './rounding.ts';

export const fillDiffers: Check = {
  code: 'fill-differs',
  severity: 'warning',
  section: 'Coming back',
  fires: 'the fills of a fluid do not add up to its declared quantity, or to what was drained where none is declared.',
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

/** What one fill may mean, in SI: in another unit than `wanted`, it stands for all that rounds to it. */
function filledBy(amount: Quantity | undefined, wanted: Unit | undefined): { low: number; high: number } {
  const extent = extentOf(amount);
  const unit = amount?.unit?.unit;
  if (extent === undefined || unit === undefined) return { low: 0, high: 0 };
  const half = unit === wanted ? 0 : toSI(roundingStep(amount!.numbers[0]!) / 2, unit);
  return { low: extent.low - half, high: extent.high + half };
}

function isFilledAsDeclared({ lastFill, fills }: FluidState, declared: Quantity | undefined): boolean {
  const amount = lastFill?.statement.amount;
  if (amount === undefined || declared === undefined || amount.unit?.unit === undefined) return false;
  return fills !== undefined && fills.earlier === undefined && saysTheSame(amount, declared);
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  // The other branches count where nothing was filled after they met.
  const others = variant.otherFluids.filter(
    ({ supply, merged }) => variant.fluids.get(supply)?.fills?.statement === merged.fills?.statement,
  );
  const ends: (readonly [supply: string, state: FluidState])[] = [];
  // Nearly every fluid is filled once, as declared.
  for (const end of variant.fluids) if (!isFilledAsDeclared(end[1], model.supplies.get(end[0])?.amount)) ends.push(end);
  for (const { supply, state } of others) ends.push([supply, state]);
  for (const [supply, state] of ends) {
    const fill = state.lastFill?.statement;
    const unit = fill?.amount?.unit?.unit;
    if (fill?.amount === undefined || unit === undefined || state.drained || variant.unsure.has(supply)) continue;
    const declared = model.supplies.get(supply)?.amount;
    if (isFilledAsDeclared(state, declared)) continue;
    const extent = extentOf(declared);
    if (declared !== undefined && (extent === undefined || extent.kind !== unit.kind)) continue;
    if (declared === undefined && state.out === 0) continue;
    const low = extent?.low ?? state.out;
    const high = extent?.high ?? state.out;
    const wanted = (declared ?? state.lastDrain?.statement.amount)?.unit?.unit;
    const filled = [...each(state.fills)].map(({ statement }) => filledBy(statement.amount, wanted));
    const least = filled.reduce((sum, { low }) => sum + low, 0);
    const most = filled.reduce((sum, { high }) => sum + high, 0);
    const slack = 1e-9 * Math.max(high, most);
    if (most >= low - slack && least <= high + slack) continue;
    const onlyFill = filled.length === 1;
    const digits = digitsApart(fromSI(state.in, unit), fromSI(most < low ? low : high, unit), 4);
    const is = say(fromSI(state.in, unit), unit, digits);
    const should = declared === undefined ? say(fromSI(state.out, unit), unit, digits) : written(declared);
    yield {
      span: fill.amount,
      message: `${named(supply)} is filled with ${is}${onlyFill ? '' : ' in all'}, but ${should} ${declared === undefined ? 'was drained' : 'is declared'}: fill ${should}${declared === undefined ? '' : ', or correct the declaration'}.`,
      related:
        declared === undefined ? related(state.lastDrain?.name, 'drained here') : related(declared, 'declared here'),
      data: { subject: supply, should: onlyFill && declared !== undefined ? written(declared) : '' },
    };
  }
}
