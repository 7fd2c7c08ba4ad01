import type { Variant } from '../ledger/ledger.ts';
import { judgeOrder, orderAmong, orderWithin } from '../mechanics/index.ts';
import { branchPaths, type Path } from '../model/branches.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import type { Action, Check, Raw, Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { holesOf, torqueEnds } from './fastening.ts';
import { holesAtWork, patternOf } from './holes.ts';
import { named } from './wording.ts';

const isTurn = ({ verb }: Action): boolean => verb === 'loosen' || verb === 'remove' || verb === 'tighten';

const isListed = pickedOfAll(({ verb, statement }) => verb === 'tighten' && statement.order?.form === 'list');

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

/** The torque, N·m, that all pieces of a part have had since they were last loosened, by its name. */
type Reached = Map<string, number>;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  if (actionsWhere(variant, isListed, model).length === 0) return;
  yield* judged(actionsWhere(variant, isTurn), alternativesAround(model), 0, new Map(), model);
}

/** The branches of `either` and `if` that each statement within one stands in, outermost first. */
const alternativesAround = noted((model: Model): ReadonlyMap<Statement, Path> => {
  const blocks = new Set([...statementsOf(model, 'either'), ...statementsOf(model, 'if')]);
  const around = new Map<Statement, Path>();
  if (blocks.size === 0) return around;
  for (const [statement, path] of model.steps.flatMap(({ step }) => [...branchPaths(step.statements)])) {
    const alternatives = path.filter(({ block }) => blocks.has(block));
    if (alternatives.length > 0) around.set(statement, alternatives);
  }
  return around;
});

/** Goes through what stands in the same branches down to `depth`; each branch begins with what was reached before its block. */
function* judged(
  actions: readonly Action[],
  around: ReadonlyMap<Statement, Path>,
  depth: number,
  reached: Reached,
  model: Model,
): Generator<Raw> {
  for (let i = 0; i < actions.length; ) {
    const blockAt = (place: number): Statement | undefined => around.get(actions[place]!.statement)?.[depth]?.block;
    const block = blockAt(i);
    if (block === undefined) {
      yield* ofAction(actions[i++]!, reached, model);
      continue;
    }
    const branches = new Map<number, Action[]>();
    for (; i < actions.length && blockAt(i) === block; i++) {
      const { index } = around.get(actions[i]!.statement)![depth]!;
      addTo(branches, index, actions[i]!);
    }
    const ends = new Map<string, { least: number; ways: number }>();
    for (const branch of branches.values()) {
      const parts = new Set(branch.map(({ part }) => part));
      const inBranch: Reached = new Map();
      for (const part of parts) if (reached.has(part)) inBranch.set(part, reached.get(part)!);
      yield* judged(branch, around, depth + 1, inBranch, model);
      for (const part of parts) {
        const end = ends.get(part) ?? { least: Number.POSITIVE_INFINITY, ways: 0 };
        ends.set(part, { least: Math.min(end.least, inBranch.get(part) ?? 0), ways: end.ways + 1 });
      }
    }
    for (const [part, { least: leastTouched, ways }] of ends) {
      const least = ways < waysThrough(block) ? Math.min(leastTouched, reached.get(part) ?? 0) : leastTouched;
      if (least > 0) reached.set(part, least);
      else reached.delete(part);
    }
  }
}

/** An `if` without `else` may be passed by. */
const waysThrough = ({ kind, branches = [] }: Statement): number =>
  kind === 'if' ? Math.max(2, branches.length) : branches.length;

function* ofAction(action: Action, reached: Reached, model: Model): Generator<Raw> {
  const { statement } = action;
  if (action.verb === 'loosen' || action.verb === 'remove') reached.delete(action.part);
  if (action.verb !== 'tighten') return;
  const part = model.parts.get(action.part);
  const torques = [
    ...(statement.stages ?? []),
    statement.to ?? (statement.stages === undefined ? part?.torque : undefined),
  ].flatMap((torque) => (torque === undefined ? [] : (torqueEnds(torque) ?? [])));
  const before = reached.get(action.part);
  const last = torques.at(-1)?.high;
  const isAllTight = action.after.loose + action.after.snug === 0;
  if (last !== undefined && isAllTight) reached.set(action.part, Math.max(before ?? 0, last));
  // A last round at a torque already reached goes from hole to hole on purpose.
  const finishing = before !== undefined && torques[0] !== undefined && torques[0].low <= before * (1 + 1e-9);
  const holes = holesOf(patternOf(model, part));
  if (statement.order?.form !== 'list' || holes === undefined || finishing || statement.broken) return;
  const order = statement.order.holes.map((hole) => hole.value);
  const among = holesAtWork(model, statement);
  // A number that is none of these is told of by `bad-order`.
  const within = orderWithin(order, holes, among);
  if (within === undefined) return;
  const verdict = judgeOrder(within.order, within.holes);
  if (verdict.nextDoor.length === 0 && !verdict.inwards) return;
  const better = orderAmong(holes, among);
  const complete = order.length === better?.length;
  const pairs = verdict.nextDoor
    .slice(0, 3)
    .map((pair) => pair.map((place) => among?.[place - 1] ?? place).join('-'))
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
