import type { Variant } from '../ledger/ledger.ts';
import { judgeOrder, tighteningOrder } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { type Action, actionsWhere, type Check, eachVariant, named, type Raw } from './check.ts';
import { replaceSpan } from './edits.ts';
import { holesOf, torqueEnds } from './fastening.ts';
import { patternOf } from './holes.ts';

const isTurn = ({ verb }: Action): boolean => verb === 'loosen' || verb === 'remove' || verb === 'tighten';

const isListed = ({ verb, statement }: Action): boolean => verb === 'tighten' && statement.order?.form === 'list';

export const nextDoor: Check = {
  code: 'next-door',
  severity: 'warning',
  section: 'Tightening',
  fires:
    'an order on a circle of five holes or more takes neighbours one after the other within a pass, or an order on points works from the edge inwards.',
  why: 'Neighbours in a row draw the cover down on one side and leave the gasket thick on the other.',
  bad: `pattern rim circle 6 diameter 90 mm
part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order 1 2 4 6 3 5`,
  good: `pattern rim circle 6 diameter 90 mm
part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order 1 4 2 5 3 6`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model }) {
    const better = String(finding.data?.['better'] ?? '');
    return better === ''
      ? []
      : [
          {
            title: `Use order ${better}`,
            edits: [replaceSpan(model.tree, finding.span, `order ${better}`)],
            safe: false,
          },
        ];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  if (actionsWhere(variant, isListed).length === 0) return;
  const reached = new Map<string, number>();
  for (const action of actionsWhere(variant, isTurn)) {
    const { statement } = action;
    if (action.verb === 'loosen' || action.verb === 'remove') reached.delete(action.part);
    if (action.verb !== 'tighten') continue;
    const part = model.parts.get(action.part);
    const torques = [
      ...(statement.stages ?? []),
      statement.to ?? (statement.stages === undefined ? part?.torque : undefined),
    ].flatMap((torque) => (torque === undefined ? [] : (torqueEnds(torque) ?? [])));
    const before = reached.get(action.part);
    const last = torques.at(-1)?.high;
    if (last !== undefined) reached.set(action.part, Math.max(before ?? 0, last));
    // A last round at a torque already reached goes from hole to hole on purpose.
    const finishing = before !== undefined && torques[0] !== undefined && torques[0].low <= before * (1 + 1e-9);
    const holes = holesOf(patternOf(model, part));
    if (statement.order?.form !== 'list' || holes === undefined || finishing || statement.broken) continue;
    const order = statement.order.holes.map((hole) => hole.value);
    const verdict = judgeOrder(order, holes);
    if (verdict.nextDoor.length === 0 && !verdict.inwards) continue;
    const better = tighteningOrder(holes);
    const complete = order.length === better?.length;
    const pairs = verdict.nextDoor
      .slice(0, 3)
      .map(([a, b]) => `${a}-${b}`)
      .join(', ');
    yield {
      span: statement.order,
      message: verdict.inwards
        ? `this order works from the edge inwards and traps the middle: begin in the middle${complete ? `, as in \`order ${better.slice(0, 12).join(' ')}${better.length > 12 ? ' …' : ''}\`` : ''}.`
        : `the order takes neighbours one after the other (${pairs}${verdict.nextDoor.length > 3 ? ' …' : ''}) on ${named(part!.holes!.text)}: go across${complete ? `, as in \`order ${better.slice(0, 12).join(' ')}${better.length > 12 ? ' …' : ''}\`` : ''}.`,
      related: [],
      data: { subject: action.part, better: complete ? better.join(' ') : '' },
    };
  }
}
