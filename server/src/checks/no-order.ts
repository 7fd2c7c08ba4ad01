import { countFirst } from '../../../grammar/sorted.ts';
import type { Variant } from '../ledger/ledger.ts';
import { countOf, type Model } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import { type Action, type Check, type Raw, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { appendTo } from './edits.ts';
import { entryNaming } from './entries.ts';
import { rowOf } from './for-codes.ts';
import { fewestInJoint, holdsAlone, isOneJoint } from './joints.ts';
import { named } from './wording.ts';

export const noOrder: Check = {
  code: 'no-order',
  severity: 'error',
  section: 'Tightening',
  fires:
    'four or more fasteners of one part are tightened, other than by hand, with no order and no hole pattern, in one line or in several right behind each other; what holds one by one, as hose clips or a nut on each coil, needs none.',
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
    if (statement === undefined || finding.data?.['inLines'] === true) return [];
    const anchor = statement.stages?.at(-1) ?? statement.angle ?? statement.to ?? statement.count ?? statement.name!;
    return [{ title: 'Tighten in a star order', edits: [appendTo(model.tree, anchor, 'order star')], safe: false }];
  },
};

const isOrderless = pickedOfAll(({ verb, part: name, statement }, parts) => {
  const part = parts.get(name);
  return (
    verb === 'tighten' &&
    statement.order === undefined &&
    !statement.broken &&
    part !== undefined &&
    part.holes === undefined &&
    !part.broken &&
    countOf(part) >= fewestInJoint
  );
});

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  let last: Action | undefined;
  let sum = 0;
  for (const action of actionsWhere(variant, isOrderless, model)) {
    const part = model.parts.get(action.part)!;
    const count = action.wanted ?? action.available;
    const before: number = last !== undefined && goesOn(last, action) ? sum : 0;
    [last, sum] = [action, before + count];
    const inLines = count < fewestInJoint;
    if (inLines ? before >= fewestInJoint || sum < fewestInJoint || !isOneJoint(model, part) : holdsAlone(model, part))
      continue;
    yield {
      span: action.name,
      message: inLines
        ? `${sum} of ${named(action.part)} are tightened with no order, a few a line: write one \`tighten\` for all of them, with \`order star\`, the hole numbers, or \`holes\` and a pattern in the declaration.`
        : `${count} of ${named(action.part)} are tightened with no order: write \`order star\`, the hole numbers, or declare \`holes\` with a pattern.`,
      related: related(part.name, `${named(action.part)} is declared here`),
      data: { subject: action.part, inLines },
    };
  }
}

/** Whether a line does right behind another what that does, to further pieces of which nothing more is said. */
function goesOn(before: Action, now: Action): boolean {
  if (before.part !== now.part || before.wanted === undefined || now.wanted === undefined) return false;
  const [last, statement] = [before.statement, now.statement];
  if (![last, statement].every(isPlain) || aimOf(last) !== aimOf(statement)) return false;
  const row = rowOf(statement);
  return row[countFirst(row, ({ start }) => start < statement.start) - 1] === last;
}

const isPlain = ({ holes, text, see }: Statement): boolean => (holes ?? text ?? see) === undefined;

/** What a line tightens to, in its own words. */
const aimOf = ({ to, stages = [], angle }: Statement): string =>
  [to, angle, ...stages].map((each) => (each === undefined ? '' : written(each))).join(' ');
