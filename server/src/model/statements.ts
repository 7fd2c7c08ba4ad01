import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';

const ofStep = new WeakMap<Step, readonly Statement[]>();

/** Every statement of a step, outermost first, in the order of the text. */
export function statementsIn(step: Step): readonly Statement[] {
  let statements = ofStep.get(step);
  if (statements === undefined) {
    statements = step.statements.some((statement) => statement.branches !== undefined)
      ? [...walk(step.statements)]
      : step.statements;
    ofStep.set(step, statements);
  }
  return statements;
}
