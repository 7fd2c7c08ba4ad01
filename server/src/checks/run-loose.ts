import type { Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { PartState } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { extentOf } from '../model/quantity.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, linesToMove, removeLine } from './edits.ts';
import { blocksAround, leavesNoLine } from './for-codes.ts';
import { tightenedAgain } from './left-loose.ts';
import { named } from './wording.ts';

export const runLoose: Check = {
  code: 'run-loose',
  severity: 'warning',
  section: 'Coming back',
  fires:
    'a fastener that went back loose, or only tightened by hand, is tightened in proving, behind a check or a pressure reading that loads the unit.',
  why: 'A unit that runs or comes under pressure on loose bolts leaks, fails and can come apart. To tighten once more what has settled is another thing, and is not told of.',
  bad: `part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt
proving
  step run
    check "No leak."
    tighten bolt to 25 N·m`,
  good: `part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt
    tighten bolt to 25 N·m
proving
  step run
    check "No leak."
    tighten bolt to 25 N·m`,
  *run({ ledger, model }) {
    if (model.steps.at(-1)?.phase === 'proving') yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const slack = runLooseIn(variant, model).find(({ part }) => part === finding.data?.['subject']);
    const mark = slack?.state.lastLoose;
    if (slack === undefined || mark === undefined) return [];
    const { statement } = slack.tightened;
    if ((statement.angle ?? model.parts.get(slack.part)?.angle) === undefined)
      return tightenedAgain(finding, model, variant, slack.part, mark.statement);
    // To turn by the angle below once more would stretch it.
    if (
      finding.data?.['codes'] !== undefined ||
      blocksAround(statement).length + blocksAround(mark.statement).length > 0 ||
      leavesNoLine([statement])
    )
      return [];
    return [
      {
        title: `Tighten ${slack.part} here, not in proving`,
        edits: [
          insertAfter(model.tree, mark.statement, linesToMove(model.tree, statement)),
          removeLine(model.tree, statement),
        ],
        safe: false,
      },
    ];
  },
};

/** Fasteners that are slack when proving loads the unit, and tightened behind it. */
interface Slack {
  readonly part: string;
  /** Where its pieces are when the unit is loaded. */
  readonly state: PartState;
  readonly loading: Statement;
  readonly tightened: Action;
}

/** What tightens a fastener that another step left slack. */
const takesUp = ({ verb, statement, before, unsure }: Action): boolean =>
  verb === 'tighten' &&
  !unsure &&
  before.loose + before.snug > 0 &&
  before.lastLoose !== undefined &&
  before.lastLoose.statement.chunk !== statement.chunk;

/** A check, or a pressure that is read. */
const loads = ({ kind, limit, max, min }: Statement): boolean =>
  kind === 'check' || (kind === 'measure' && extentOf(limit ?? max ?? min)?.kind === 'pressure');

/** Only the steps of proving are gone through: they are few. */
export function runLooseIn({ records }: Variant, { steps }: Model): readonly Slack[] {
  let from = steps.length;
  while (steps[from - 1]?.phase === 'proving') from--;
  const proving = new Set(steps.slice(from).map(({ step }) => step.chunk));
  const found: Slack[] = [];
  let loading: Statement | undefined;
  for (let place = from; place < records.length; place++) {
    for (const { statement, actions } of records[place]!.entries) {
      if (loads(statement)) loading ??= statement;
      if (loading === undefined) continue;
      for (const action of actions)
        if (takesUp(action) && !proving.has(action.before.lastLoose!.statement.chunk))
          found.push({ part: action.part, state: action.before, loading, tightened: action });
    }
  }
  return found;
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { part, state, loading, tightened } of runLooseIn(variant, model)) {
    const slack = state.loose + state.snug;
    const all = slack === countOf(model.parts.get(part));
    const [pieces, be, them] =
      all && slack === 1
        ? [named(part), 'is', 'it']
        : [`${slack} of ${named(part)}`, slack === 1 ? 'is' : 'are', slack === 1 ? 'it' : 'them'];
    yield {
      span: state.lastLoose!.name,
      message: `${pieces} ${be} ${state.loose === 0 ? 'only hand-tight' : 'loose'} when proving loads the unit, and tightened only behind it: \`tighten\` ${them} here.`,
      related: [
        ...related(loading.keyword, 'the unit is loaded here'),
        ...related(tightened.name, `${named(part)} is tightened here`),
      ],
      data: { subject: part, count: slack, variant: variant.code ?? '' },
    };
  }
}
