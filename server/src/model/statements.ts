import { type Chunk, type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import type { Model } from './model.ts';
import { Beside, noted } from './noted.ts';

type Kind = Statement['kind'];

/** What has been looked for in each model; of one bound anew, it holds what the walk over it met. */
export const statementsByKind = new Beside<Model, Map<Kind, readonly Statement[]>>();

/** The statements of `kind` in the procedure, in the order of the text. */
export function statementsOf(model: Model, kind: Kind): readonly Statement[] {
  let byKind = statementsByKind.get(model);
  if (byKind === undefined) {
    byKind = new Map();
    statementsByKind.set(model, byKind);
  }
  const known = byKind.get(kind);
  if (known !== undefined) return known;
  const alike: Statement[] = [];
  for (const { step } of model.steps)
    for (const statement of statementsIn(step)) if (statement.kind === kind) alike.push(statement);
  byKind.set(kind, alike);
  return alike;
}

const statementsOfChunk = ({ item, strayStep }: Chunk): Statement[] =>
  [item?.kind === 'step' ? item : undefined, strayStep]
    .flatMap((step) => step && statementsIn(step))
    .filter((each) => each !== undefined);

/** What has been looked for in `earlier` holds for `now`, where all but the `edited` chunks are the same. */
export function carryKinds(
  earlier: Model,
  now: Model,
  edited: { readonly before: readonly Chunk[]; readonly now: readonly Chunk[] },
): void {
  const known = statementsByKind.get(earlier);
  if (known === undefined) return;
  const were = edited.before.flatMap(statementsOfChunk);
  const are = edited.now.flatMap(statementsOfChunk);
  const byKind = new Map<Kind, readonly Statement[]>();
  for (const [kind, statements] of known) {
    const old = were.filter((each) => each.kind === kind);
    const fresh = are.filter((each) => each.kind === kind);
    if (old.length > 0) byKind.set(kind, statements.toSpliced(statements.indexOf(old[0]!), old.length, ...fresh));
    else if (fresh.length === 0) byKind.set(kind, statements);
  }
  statementsByKind.set(now, byKind);
}

/** Every statement of a step, outermost first, in the order of the text. */
export function statementsIn(step: Step): readonly Statement[] {
  const { statements } = step;
  for (let i = 0; i < statements.length; i++) if (statements[i]!.branches !== undefined) return walked(step);
  return statements;
}

/** A copy has no room for more. */
const walked = noted(({ statements }: Step): readonly Statement[] => walk(statements).slice());
