import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { appliesTo } from '../ledger/start.ts';
import { siValueOf } from '../model/quantity.ts';
import { isSafety } from './facts.ts';

/** True where all work of a step is for other codes than `code`. */
export const isForOthers = ({ statements }: Step, code: string | undefined): boolean =>
  [...walk(statements)].some((statement) => !appliesTo(statement, code)) && !hasWork(statements, code);

const hasWork = (statements: readonly Statement[], code: string | undefined): boolean =>
  statements.some(
    (statement) =>
      appliesTo(statement, code) &&
      !isSafety(statement) &&
      (statement.branches === undefined || statement.branches.some((branch) => hasWork(branch.statements, code))),
  );

/** Seconds of hands-on work that a step states, for a unit with `code`; absent where it states none. */
export const workTime = (step: Step, code: string | undefined): number | undefined =>
  step.takes !== undefined && isForOthers(step, code) ? 0 : siValueOf(step.takes, 'time');
