import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import { areRivals, pathOf } from '../model/branches.ts';
import { extentOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { movesOf } from './actions.ts';
import { keptAsDeclared } from './as-declared.ts';
import { type Action, type Check, type Ledger, type Raw, related, type Statement } from './check.ts';
import { replaceSpan } from './edits.ts';
import { restated } from './mixed-units.ts';
import { isSound, isSoundTorque } from './sound.ts';
import { sameTorque } from './torques.ts';
import { named } from './wording.ts';

export const stageFalls: Check = {
  code: 'stage-falls',
  severity: 'error',
  section: 'Tightening',
  fires:
    'stages do not rise, or the last is not the declared torque; a lower one is free where a later line goes on from it.',
  why: 'A later stage at a lower torque turns nothing: the wrench clicks at once.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt in stages 20 N·m, 12 N·m, 25 N·m`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt in stages 12 N·m, 20 N·m, 25 N·m`,
  *run({ model, ledger, settings }): Generator<Raw> {
    for (const { statement, stages, last, final, part } of leftShort(
      shortIn(statementsOf(model, 'tighten'), model.parts),
      ledger,
    )) {
      const isStated = statement.to !== undefined;
      // What is itself told of is not what to end with.
      const isRight = isStated || part === undefined ? isSound(final, 'torque') : isSoundTorque(part, settings);
      yield {
        span: last,
        message: `the last stage is ${written(last)}, but ${isStated ? '`to` says' : `${named(statement.name!.text)} is declared with`} ${written(final)}: ${isRight ? `end with ${written(final)}` : `correct ${isStated ? 'that' : 'the declaration'}`}.`,
        related: related(final, isStated ? 'the final torque' : 'declared here'),
        ...(isRight && rises(stages.at(-2), final) && { data: { final: restated(model, final) } }),
      };
    }
  },
  *runLocally({ model }): Generator<Raw> {
    for (const { stages = [] } of statementsOf(model, 'tighten'))
      for (const [stage, before] of fallsIn(stages))
        yield {
          span: stages[stage]!,
          message: `stage ${stage + 1} (${written(stages[stage]!)}) does not rise above stage ${stage} (${written(before)}): order the stages from low to high.`,
          related: related(before, 'the stage before'),
        };
  },
  repairs(finding, { model }) {
    const final = finding.data?.['final'];
    return typeof final === 'string'
      ? [{ title: `End with ${final}`, edits: [replaceSpan(model.tree, finding.span, final)], safe: false }]
      : [];
  },
};

/** Stages that do not rise, by their place, each with the one before. */
function* fallsIn(stages: readonly Quantity[]): Generator<readonly [stage: number, before: Quantity]> {
  for (let i = 1; i < stages.length; i++) {
    if (!rises(stages[i - 1], stages[i]!)) yield [i, stages[i - 1]!];
  }
}

/** True, too, of what is no torque. */
function rises(stage: Quantity | undefined, next: Quantity): boolean {
  const [before, now] = [extentOf(stage), extentOf(next)];
  return before?.kind !== 'torque' || now?.kind !== 'torque' || now.low > before.low;
}

interface Short {
  readonly statement: Statement;
  readonly stages: readonly Quantity[];
  readonly last: Quantity;
  /** Of `to`, else as declared. */
  readonly final: Quantity;
  readonly part: Declaration | undefined;
}

/** Rising stages that end with another torque than they should. */
const shortIn = keptAsDeclared(
  ({ name }) => [name],
  (tightenings, parts): readonly Short[] =>
    tightenings.flatMap((statement) => {
      const { stages, name, to } = statement;
      if (stages === undefined || name === undefined) return [];
      const part = parts.get(name.text);
      // Behind a line that could not be read to its end there may be no stage.
      const last = stages.at(-1);
      const final = to ?? part?.torque;
      if (last === undefined || final === undefined || sameTorque(last, final)) return [];
      return fallsIn(stages).next().done === true ? [{ statement, stages, last, final, part }] : [];
    }),
);

/** Those of `short` that no line further down goes on from: one wrench may not reach all stages. */
function* leftShort(short: readonly Short[], { variants }: Ledger): Generator<Short> {
  if (short.length === 0) return;
  const parts = new Set(short.map(({ statement }) => statement.name!.text));
  const moves = variants.map((variant) => movesOf(variant, parts));
  const places = moves.map(
    (byPart) =>
      new Map([...byPart.values()].flatMap((actions) => actions.map(({ statement }, place) => [statement, place]))),
  );
  for (const each of short) {
    const { statement, last, final } = each;
    const [now, should] = [extentOf(last), extentOf(final)];
    const mayGoOn = statement.to === undefined && now !== undefined && should !== undefined && now.high < should.low;
    const ways = places.flatMap((byStatement, variant) => {
      const place = byStatement.get(statement);
      return place === undefined ? [] : [{ place, actions: moves[variant]!.get(statement.name!.text)! }];
    });
    if (!mayGoOn || ways.length === 0 || !ways.every(({ actions, place }) => goesOn(actions, place))) yield each;
  }
}

/** Whether the pieces that were tightened at `place` are tightened again before they come loose, whichever branches are taken. */
function goesOn(actions: readonly Action[], place: number): boolean {
  const from = actions[place]!.statement;
  const within = new Set(pathOf(from).map(({ block }) => block));
  const done = new Map<Statement, Set<number>>();
  for (let i = place + 1; i < Math.min(actions.length, place + mostLookedThrough); i++) {
    const { statement, verb } = actions[i]!;
    if (verb === 'hand-tighten' || areRivals(from, statement)) continue;
    if (verb !== 'tighten') return false;
    const open = pathOf(statement).filter(({ block }) => block.kind !== 'for' && !within.has(block));
    if (open.reverse().every(({ block, index }) => isEachDone(block, index, done))) return true;
  }
  return false;
}

/** One part may be tightened in thousands of branches. */
const mostLookedThrough = 100;

/** Whether with the branch of this index each way through `block` is done; an `if` without `else` has one that is not. */
function isEachDone(block: Statement, index: number, done: Map<Statement, Set<number>>): boolean {
  const indices = done.get(block) ?? new Set();
  done.set(block, indices.add(index));
  const count = block.branches?.length ?? 0;
  return count > 1 && indices.size === count;
}
