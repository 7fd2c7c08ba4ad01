import type { Variant } from '../ledger/ledger.ts';
import { areRivals } from '../model/branches.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { lastPlaceOf } from './entries.ts';
import { named } from './wording.ts';

export const gapTwice: Check = {
  code: 'gap-twice',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  fires: 'shims of two parts are chosen from one reading, which is not taken again in between.',
  why: 'Each of the two stacks fills the gap by itself: together they take the play away, and the bearing runs hot.',
  bad: `part drum-pack "Shims, drum side"
part motor-pack "Shims, motor side"
teardown
  step off
    remove drum-pack
    remove motor-pack
reassembly
  step set
    measure play limit 0.2..0.5 mm
    shim drum-pack gap play endplay 0.1..0.2 mm from 0.1 mm
    shim motor-pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit drum-pack
    fit motor-pack`,
  good: `part drum-pack "Shims, drum side"
part motor-pack "Shims, motor side"
teardown
  step off
    remove drum-pack
    remove motor-pack
reassembly
  step set
    measure drum-play limit 0.2..0.5 mm
    shim drum-pack gap drum-play endplay 0.1..0.2 mm from 0.1 mm
    measure motor-play limit 0.2..0.5 mm
    shim motor-pack gap motor-play endplay 0.1..0.2 mm from 0.1 mm
    fit drum-pack
    fit motor-pack`,
  *run({ ledger, model }) {
    if (statementsOf(model, 'shim').length > 1) yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

/** A gap is filled by few stacks. */
const mostCompared = 50;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const placeIn = (statement: Statement): number => lastPlaceOf(variant, statement);
  const inOrder = [...statementsOf(model, 'measure'), ...statementsOf(model, 'shim')]
    .filter((each) => placeIn(each) >= 0)
    .sort((a, b) => placeIn(a) - placeIn(b));
  /** What was chosen from each reading since it was last taken. */
  const chosen = new Map<string, Statement[]>();
  for (const statement of inOrder) {
    const { kind, name, gap } = statement;
    if (name === undefined) continue;
    if (kind === 'measure') chosen.delete(name.text);
    if (gap === undefined) continue;
    const known = chosen.get(gap.text) ?? [];
    const first = known.find((each) => each.name!.text !== name.text && !areRivals(each, statement));
    if (known.length < mostCompared) addTo(chosen, gap.text, statement);
    if (first === undefined) continue;
    yield {
      span: gap,
      message: `${named(name.text)} is chosen from ${named(gap.text)}, which ${named(first.name!.text)} fills already: take a reading for each, or measure again with ${named(first.name!.text)} in.`,
      related: related(first.gap, `${named(first.name!.text)} is chosen from it here`),
      data: { subject: name.text },
    };
  }
}
