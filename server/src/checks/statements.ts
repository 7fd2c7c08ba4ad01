import { type Statement, walk } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';

/** Every statement of the procedure, in the order of the text. */
export function* statementsOf(model: Model): Generator<Statement> {
  for (const { step } of model.steps) yield* walk(step.statements);
}
