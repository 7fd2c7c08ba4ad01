import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { statementsIn } from '../model/statements.ts';

const none: readonly Statement[] = [];
type ByKind = ReadonlyMap<Statement['kind'], readonly Statement[]>;
const ofModel = new WeakMap<Model, ByKind>();

/** The statements of `kind` in the procedure, in the order of the text. */
export function statementsOf(model: Model, kind: Statement['kind']): readonly Statement[] {
  let byKind = ofModel.get(model);
  if (byKind === undefined) {
    byKind = sorted(model);
    ofModel.set(model, byKind);
  }
  return byKind.get(kind) ?? none;
}

function sorted({ steps }: Model): ByKind {
  const byKind = new Map<Statement['kind'], Statement[]>();
  for (const { step } of steps) {
    for (const statement of statementsIn(step)) {
      const alike = byKind.get(statement.kind);
      if (alike === undefined) byKind.set(statement.kind, [statement]);
      else alike.push(statement);
    }
  }
  return byKind;
}
