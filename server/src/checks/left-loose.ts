import type { Variant } from '../ledger/ledger.ts';
import type { Mark, PartState } from '../ledger/state.ts';
import { namesWhere } from '../model/amended.ts';
import { countOf, type Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { actionsWhere } from './actions.ts';
import { type Action, type Check, type Finding, type Raw, type Repair, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, insertBefore, linesToMove, removeLine } from './edits.ts';
import { lastPlaceOf, placesOn } from './entries.ts';
import { behindAlternatives, forCodes, isMovable, leavesNoLine, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';
import { insertMirrored, madeReady } from './mirrored.ts';
import { tightenAsDeclared } from './tighten-line.ts';
import { named } from './wording.ts';

export const leftLoose: Check = {
  code: 'left-loose',
  severity: 'error',
  section: 'Coming back',
  fires: 'a fastener is on but loose, or only tightened by hand, at the end.',
  why: 'A bolt that was run down by hand and never torqued works out in service. A nut that sets the play of a bearing is backed off on purpose: write that as `do "Back the nut off by 60°"` behind its `tighten`, and nothing is found.',
  bad: `part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt`,
  good: `part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt to 25 N·m`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const last = variant.final.get(part)?.lastLoose?.statement;
    const early = tightenedTooEarly(model, variant, part, last);
    if (last === undefined || early.length === 0) return tightenedAgain(finding, model, variant, part, last);
    if (isClosedIn(variant, part, last)) {
      const [first] = early;
      const fit = warned(model, part, linesToMove(model.tree, last), stepOf(first!), first!.start);
      const edits = [insertBefore(model.tree, first!, fit), removeLine(model.tree, last)];
      // What heats or presses it would stay behind.
      return madeReady(last) === last && !leavesNoLine([last])
        ? [{ title: `Fit ${part} above its tightening`, edits, safe: false }]
        : [];
    }
    if (leavesNoLine(early)) return [];
    const lines = early.flatMap((each) => linesToMove(model.tree, each));
    const edits = [insertAfter(model.tree, last, lines), ...early.map((each) => removeLine(model.tree, each))];
    return [{ title: `Tighten ${part} below its fit`, edits, safe: false }];
  },
};

/** What is to tighten `part` above `last`, which fits it, while none of it is on; nothing where a block says when. */
function tightenedTooEarly(
  model: Model,
  variant: Variant,
  part: string,
  last: Statement | undefined,
): readonly Statement[] {
  if (last?.kind !== 'fit' || !isMovable(model, last)) return [];
  const found: Statement[] = [];
  const fitted = lastPlaceOf(variant, last);
  for (const place of placesOn(variant, part).toReversed()) {
    if (place >= fitted) continue;
    const { statement, actions } = variant.entries[place]!;
    const isVain = actions.some((each) => each.part === part && each.available === 0 && !each.unsure);
    if (statement.kind !== 'tighten' || !isVain) break;
    if (!isMovable(model, statement)) return [];
    found.unshift(statement);
  }
  return found;
}

/** Whether something holds or covers `part` where `fit` puts it back. */
const isClosedIn = (variant: Variant, part: string, fit: Statement): boolean =>
  variant.entries[lastPlaceOf(variant, fit)]!.actions.some(
    (each) => each.part === part && each.holders.length + each.covers.length > 0,
  );

/** Tightens `part` as declared: behind `last`, which left it loose, or where what was loosened to take others off is back. */
export function tightenedAgain(
  finding: Finding,
  model: Model,
  variant: Variant,
  part: string,
  last: Statement | undefined,
): Repair[] {
  const declaration = model.parts.get(part);
  if (declaration?.torque === undefined || last === undefined) return [];
  const at = behindAlternatives(last);
  const line = tightenAsDeclared(model, part, Number(finding.data?.['count']));
  const edit =
    last.kind === 'loosen' && isTakenApart(model, last)
      ? insertMirrored(model, variant, part, finding, [line])
      : insertAfter(model.tree, at, forCodes(model, finding, [line], at));
  return [{ title: `Tighten ${part} to the declared torque`, edits: [edit], safe: false }];
}

/** Whether `statement` stands above a reassembly, in the steps for what comes before it. */
function isTakenApart({ steps }: Model, { chunk }: Statement): boolean {
  const at = steps.findIndex(({ step }) => step.chunk === chunk);
  return steps[at]?.phase !== 'reassembly' && steps.slice(at + 1).some(({ phase }) => phase === 'reassembly');
}

interface Slack {
  readonly part: string;
  readonly state: PartState;
  /** The last statement that left it loose. */
  readonly mark: Mark;
}

/** Every `loosen` behind a `tighten` of the same part: it may be meant to stay so. */
const backingOff = noted((entries: Variant['entries']): ReadonlySet<Statement> => {
  const tightened = new Set<string>();
  const found = new Set<Statement>();
  for (const { statement, actions } of entries)
    for (const { part, verb } of actions) {
      if (verb === 'tighten') tightened.add(part);
      else if (verb === 'loosen' && tightened.has(part)) found.add(statement);
    }
  return found;
});

const turning: ReadonlySet<string> = new Set(['tighten', 'hand-tighten', 'loosen']);
const isTurn = ({ verb }: Action): boolean => turning.has(verb);

const isSlack = ({ loose, snug }: PartState): boolean => loose + snug > 0;

function slackAtEnd({ final, unsure }: Variant): readonly Slack[] {
  const slack: Slack[] = [];
  for (const part of namesWhere(final, isSlack)) {
    const state = final.get(part)!;
    const mark = state.lastLoose;
    if (mark !== undefined && !unsure.has(part)) slack.push({ part, state, mark });
  }
  return slack;
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  /** What is loosened or tightened anywhere: a fastener, whatever its declaration says. */
  let turned: ReadonlySet<string> | undefined;
  for (const { part, state, mark } of slackAtEnd(variant)) {
    const slack = state.loose + state.snug;
    const all = slack === countOf(model.parts.get(part));
    const pieces = all && slack === 1 ? named(part) : `${slack} of ${named(part)}`;
    const how =
      state.loose === 0 ? 'only hand-tight' : state.snug === 0 ? 'loose' : `loose (${state.snug} only hand-tight)`;
    const backedOff = backingOff(variant.entries).has(mark.statement)
      ? `; where ${slack === 1 ? 'it is' : 'they are'} to stay backed off, write \`do "Back ${part} off …"\` in place of \`loosen\``
      : '';
    const declaration = model.parts.get(part);
    const isThreadAlone = declaration?.thread !== undefined && declaration.torque === undefined;
    if (isThreadAlone) turned ??= new Set(actionsWhere(variant, isTurn).map((action) => action.part));
    const setByTurning =
      isThreadAlone && !turned!.has(part)
        ? `; where ${slack === 1 ? 'it is' : 'they are'} set by turning, to a length or a play and not to a torque, take \`thread\` out of the declaration and tell how in a \`do\``
        : '';
    yield {
      span: mark.name,
      message: `${pieces} ${slack === 1 ? 'is' : 'are'} on but ${how} at the end: \`tighten\` ${slack === 1 ? 'it' : 'them'}${declaration?.torque === undefined ? '' : ' to the declared torque'}${backedOff}${setByTurning}.`,
      related: related(declaration?.torque ?? declaration?.name, `${named(part)} is declared here`),
      data: { subject: part, count: slack, variant: variant.code ?? '' },
    };
  }
}
