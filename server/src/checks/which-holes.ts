import type { Variant } from '../ledger/ledger.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { holeCount, patternOf } from './holes.ts';
import { named } from './wording.ts';

export const whichHoles: Check = {
  code: 'which-holes',
  severity: 'information',
  section: 'Tightening',
  local: true,
  fires:
    'a part has fewer pieces than its pattern has holes, and is tightened, other than by hand, and nothing says which of them: no `at` behind the pattern, no `at holes`, no order of hole numbers.',
  why: 'Long bolts among short ones in one joint: an order over all holes does not say which of them are meant.',
  bad: `pattern rim circle 10 diameter 200 mm
part long-bolt x4 "Long bolt" thread M8 class 8.8 torque 25 N·m holes rim
teardown
  step open
    loosen long-bolt
reassembly
  step close
    tighten long-bolt order star`,
  good: `pattern rim circle 10 diameter 200 mm
part long-bolt x4 "Long bolt" thread M8 class 8.8 torque 25 N·m holes rim
teardown
  step open
    loosen long-bolt
reassembly
  step close
    tighten long-bolt order star at holes 1, 3, 6, 8`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { statement, name, wanted, available, unsure } of actionsThat(variant, 'tighten')) {
    if (statement.broken || unsure || statement.holes !== undefined || statement.order?.form === 'list') continue;
    const part = model.parts.get(name.text);
    const pattern = patternOf(model, part);
    const holes = holeCount(pattern);
    // What is off or tight already is told of as such.
    const pieces = Math.min(wanted ?? available, available);
    if (
      part === undefined ||
      part.broken ||
      part.holesAt !== undefined ||
      holes === undefined ||
      pieces === 0 ||
      countOf(part) >= holes
    )
      continue;
    yield {
      span: name,
      message: `${pieces === 1 ? 'one' : pieces} ${named(name.text)} ${pieces === 1 ? 'is' : 'are'} tightened and the pattern ${named(part.holes!.text)} has ${holes} holes: name theirs, as in \`at holes ${example(pieces)}\` or where ${pieces === 1 ? 'it is' : 'they are'} declared, \`holes ${part.holes!.text} at ${example(pieces)}\`.`,
      related: related(part.holes, 'the pattern is named here'),
      data: { subject: name.text },
    };
  }
}

/** So many numbers as there are pieces, or the first of them. */
const example = (pieces: number): string =>
  pieces > 3 ? '1, 2, …' : Array.from({ length: pieces }, (_, i) => i + 1).join(', ');
