import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { noted } from './noted.ts';

/** Every statement of a step, outermost first, in the order of the text. */
export function statementsIn(step: Step): readonly Statement[] {
  const { statements } = step;
  for (let i = 0; i < statements.length; i++) if (statements[i]!.branches !== undefined) return walked(step);
  return statements;
}

/** A copy has no room for more. */
const walked = noted(({ statements }: Step): readonly Statement[] => walk(statements).slice());
