import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { isClip } from './clips.ts';
import { eachVariant } from './each-variant.ts';
import { appendTo } from './edits.ts';
import { entryNaming } from './entries.ts';
import { named } from './wording.ts';

/** From this many fasteners on, the order matters to the joint. */
const fewest = 4;

export const noOrder: Check = {
  code: 'no-order',
  severity: 'error',
  section: 'Tightening',
  local: true,
  fires:
    'four or more fasteners of one part are tightened, other than by hand, with no order and no hole pattern; hose clips hold one by one and need none.',
  why: 'A cover drawn down from one side warps, and the seal leaks on the other.',
  bad: `part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order star`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const statement = entryNaming(ledger, finding.span)?.statement;
    if (statement === undefined) return [];
    const anchor = statement.stages?.at(-1) ?? statement.angle ?? statement.to ?? statement.count ?? statement.name!;
    return [{ title: 'Tighten in a star order', edits: [appendTo(model.tree, anchor, 'order star')], safe: false }];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'tighten')) {
    const { statement } = action;
    if (statement.order !== undefined || statement.broken) continue;
    const part = model.parts.get(action.part);
    const count = action.wanted ?? action.available;
    if (part === undefined || part.holes !== undefined || part.broken || count < fewest || isClip(part)) continue;
    yield {
      span: action.name,
      message: `${count} of ${named(action.part)} are tightened with no order: write \`order star\`, the hole numbers, or declare \`holes\` with a pattern.`,
      related: related(part.name, `${named(action.part)} is declared here`),
      data: { subject: action.part },
    };
  }
}
