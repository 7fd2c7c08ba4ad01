import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { statementsIn } from '../model/statements.ts';

type Kind = Statement['kind'];
const ofModel = new Beside<Model, Map<Kind, readonly Statement[]>>();

/** The statements of `kind` in the procedure, in the order of the text. */
export function statementsOf(model: Model, kind: Kind): readonly Statement[] {
  let byKind = ofModel.get(model);
  if (byKind === undefined) {
    byKind = new Map();
    ofModel.set(model, byKind);
  }
  const known = byKind.get(kind);
  if (known !== undefined) return known;
  const alike: Statement[] = [];
  for (const { step } of model.steps)
    for (const statement of statementsIn(step)) if (statement.kind === kind) alike.push(statement);
  byKind.set(kind, alike);
  return alike;
}
