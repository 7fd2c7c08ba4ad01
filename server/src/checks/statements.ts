import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { statementsIn } from '../model/statements.ts';

const ofModel = new WeakMap<Model, readonly Statement[]>();

/** Every statement of the procedure, in the order of the text. */
export function statementsOf(model: Model): readonly Statement[] {
  let statements = ofModel.get(model);
  if (statements === undefined) {
    statements = model.steps.flatMap(({ step }) => statementsIn(step));
    ofModel.set(model, statements);
  }
  return statements;
}
