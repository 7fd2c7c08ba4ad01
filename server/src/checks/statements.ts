import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { statementsIn } from '../model/statements.ts';

const none: readonly Statement[] = [];
type Kind = Statement['kind'];

/** What has been looked up in one model. */
interface Found {
  readonly byKind: Map<Kind, Statement[]>;
  /** Kinds that were looked up one by one; after `fewKinds` of them all are sorted at once. */
  looked: number;
}
const fewKinds = 3;
const ofModel = new Beside<Model, Found>();

/** The statements of `kind` in the procedure, in the order of the text. */
export function statementsOf(model: Model, kind: Kind): readonly Statement[] {
  let found = ofModel.get(model);
  if (found === undefined) {
    found = { byKind: new Map(), looked: 0 };
    ofModel.set(model, found);
  }
  const { byKind } = found;
  if (found.looked > fewKinds) return byKind.get(kind) ?? none;
  let alike = byKind.get(kind);
  if (alike !== undefined) return alike;
  if (++found.looked > fewKinds) {
    byKind.clear();
    sort(model, byKind);
    return byKind.get(kind) ?? none;
  }
  alike = [];
  for (const { step } of model.steps)
    for (const statement of statementsIn(step)) if (statement.kind === kind) alike.push(statement);
  byKind.set(kind, alike);
  return alike;
}

function sort({ steps }: Model, byKind: Map<Kind, Statement[]>): void {
  for (const { step } of steps) {
    for (const statement of statementsIn(step)) {
      const alike = byKind.get(statement.kind);
      if (alike === undefined) byKind.set(statement.kind, [statement]);
      else alike.push(statement);
    }
  }
}
