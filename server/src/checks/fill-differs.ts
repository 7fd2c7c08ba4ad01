import { agreesAsRounded, extentOf, fromSI, say, written } from '../model/quantity.ts';
import { type Check, eachVariant, named, related } from './check.ts';
import { replaceSpan } from './edits.ts';

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
    yield* eachVariant(ledger, function* (variant) {
      for (const [supply, state] of variant.fluids) {
        const fill = state.lastFill?.statement;
        const unit = fill?.amount?.unit?.unit;
        if (fill?.amount === undefined || unit === undefined || variant.unsure.has(supply)) continue;
        const declared = model.supplies.get(supply)?.amount;
        const extent = extentOf(declared);
        if (declared !== undefined && (extent === undefined || extent.kind !== unit.kind)) continue;
        if (declared === undefined && state.out === 0) continue;
        const low = extent?.low ?? state.out;
        const high = extent?.high ?? state.out;
        const slack = 1e-9 * Math.max(high, state.in);
        const single = extentOf(fill.amount);
        const onlyFill = single !== undefined && Math.abs((single.low + single.high) / 2 - state.in) <= slack;
        if (state.in >= low - slack && state.in <= high + slack) continue;
        // One fill in another unit, rounded to its last digit, agrees as well; so does a range that meets the declaration.
        const printed = fill.amount.numbers[0]!;
        if (onlyFill && single.high >= low - slack && single.low <= high + slack) continue;
        if (
          onlyFill &&
          declared?.unit?.unit !== unit &&
          [low, high].some((end) => agreesAsRounded(fromSI(end, unit), printed))
        )
          continue;
        const is = say(fromSI(state.in, unit), unit, 4);
        const should = declared === undefined ? say(fromSI(state.out, unit), unit, 4) : written(declared);
        yield {
          span: fill.amount,
          message: `${named(supply)} is filled with ${is}${onlyFill ? '' : ' in all'}, but ${should} ${declared === undefined ? 'was drained' : 'is declared'}: fill ${should}${declared === undefined ? '' : ', or correct the declaration'}.`,
          related:
            declared === undefined
              ? related(state.lastDrain?.name, 'drained here')
              : related(declared, 'declared here'),
          data: { subject: supply, should: onlyFill && declared !== undefined ? written(declared) : '' },
        };
      }
    });
  },
  repairs(finding, { model }) {
    const should = String(finding.data?.['should']);
    return should === ''
      ? []
      : [{ title: `Fill ${should} as declared`, edits: [replaceSpan(model.tree, finding.span, should)], safe: false }];
  },
};
