import type { Statement, Step } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, placeOf, type Raw, type Repair, related } from './check.ts';
import { insertBefore, linesToMove, removeLine } from './edits.ts';
import { ByPlace } from './entries.ts';
import { blocksAround, stepOf } from './for-codes.ts';
import { aboveAll, type Hazardous, hazardousOf, warnAbove } from './hazards.ts';
import { listedInShort, named, shortened } from './wording.ts';

export const lateWarning: Check = {
  code: 'late-warning',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  local: true,
  asksOfTools: 'hazards',
  fires:
    'a safety message has no statement after it in its step, or hazardous work stands before the only safety message of its step.',
  why: 'A warning read after the work is an accident report.',
  bad: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    heat race to 100 °C
    warning "Hot parts burn. Wear gloves."
    fit race`,
  good: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 100 °C
    fit race`,
  *run({ model }): Generator<Raw> {
    const late = lateMessages(model);
    for (const [message, [first, ...others]] of late) {
      const { statement, dangers } = first!;
      yield {
        span: placeOf(statement),
        message: `${listedInShort(dangers, String)} can hurt here, and the safety message comes only later in this step: move ${named(message.kind)} above this line, or write one for this where it warns of something else.`,
        related: [
          ...related(message.keyword, 'the safety message'),
          ...shortened(others).told.flatMap((other) =>
            related(placeOf(other.statement), `it comes too late for ${listedInShort(other.dangers, String)}, too`),
          ),
        ],
        data: { subject: statement.kind },
      };
    }
    for (const { keyword, kind } of lonelyIn(model, late)) {
      yield {
        span: keyword,
        message: `this ${named(kind)} stands behind everything it could warn of in its step: move it above the work, or into the next step.`,
        related: [],
        data: { subject: 'message' },
      };
    }
  },
  repairs(finding, { model }) {
    const { late: lateOnes, lonely } = messagesOf(model);
    const late = lateOnes.get(finding.span);
    const message = late?.[0] ?? lonely.get(finding.span);
    const step = message === undefined ? undefined : stepOf(message);
    if (message === undefined || step === undefined) return [];
    const workHere = workIn(step);
    const work = late?.[1].map(({ statement }) => statement) ?? workHere;
    if (work.length === 0) return [];
    const repairs: Repair[] = [];
    // Out of a branch or a `for` it would warn others, too.
    const ways = blocksAround(work[0]!);
    if (blocksAround(message).every(({ branch }) => ways.some((way) => way.branch === branch))) {
      const above = aboveAll(work);
      repairs.push({
        title: `Move the ${message.kind} above it`,
        edits: [insertBefore(model.tree, above, linesToMove(model.tree, message)), removeLine(model.tree, message)],
        safe: false,
      });
    }
    if (late !== undefined && message.start < workHere.at(-1)!.start)
      repairs.push({ title: 'Write a warning above it', edits: [warnAbove(model, work)], safe: false });
    return repairs;
  },
};

/** Safety messages, each with the hazardous work above that looks for it. */
type Late = readonly (readonly [Statement, readonly Hazardous[]])[];

/** A message that comes late is one slip, however much it is late for. */
function lateMessages(model: Model): Late {
  const late = new Map<Statement, Hazardous[]>();
  for (const each of hazardousOf(model)) {
    if (each.warnedBefore || each.warnedLater === undefined) continue;
    addTo(late, each.warnedLater, each);
  }
  return [...late];
}

/** Those of {@link lateMessages} by the place of what they are late for, and of {@link lonelyIn} by their own. */
const messagesOf = noted((model: Model) => {
  const late = lateMessages(model);
  return {
    late: new ByPlace(late.map((each) => [placeOf(each[1][0]!.statement), each])),
    lonely: new ByPlace(lonelyIn(model, late).map((each) => [each.keyword, each])),
  };
});

const isWork = (statement: Statement): boolean => statement.branches === undefined && !isSafety(statement);

const workIn = noted((step: Step): readonly Statement[] => statementsIn(step).filter(isWork));

/** Safety messages with nothing behind them in their step, but for those that are late. */
function lonelyIn(model: Model, lateOnes: Late): readonly Statement[] {
  const late = new Set(lateOnes.map(([message]) => message));
  return model.steps.flatMap(({ step }) => {
    const statements = statementsIn(step);
    return statements
      .slice(statements.findLastIndex(isWork) + 1)
      .filter((statement) => statement.branches === undefined && !late.has(statement));
  });
}
