import type { Step } from '../../../grammar/syntax.ts';
import { appliesTo, isForOthers } from '../ledger/start.ts';
import { siValueOf } from '../model/quantity.ts';

/** True where all work of a step is for other codes than `code`. */
export const isForOtherCodes = (step: Step, code: string | undefined): boolean =>
  isForOthers(step, (statement) => appliesTo(statement, code));

/** Seconds of hands-on work that a step states, for a unit with `code`; absent where it states none. */
export const workTime = (step: Step, code: string | undefined): number | undefined =>
  step.takes !== undefined && isForOtherCodes(step, code) ? 0 : siValueOf(step.takes, 'time');
