import type { Statement, Step } from '../../../grammar/syntax.ts';
import { noted } from './noted.ts';

/** The branches that each statement stands in, outermost first. */
export function* branchPaths(
  statements: readonly Statement[],
  above: readonly Branch[] = [],
): Generator<[Statement, Path]> {
  for (const statement of statements) {
    yield [statement, above];
    for (const [index, branch] of (statement.branches ?? []).entries())
      yield* branchPaths(branch.statements, [...above, { block: statement, index }]);
  }
}

interface Branch {
  readonly block: Statement;
  readonly index: number;
}
export type Path = readonly Branch[];

/** True where two statements stand in different branches of one block: whoever does the one never does the other. */
export const exclusive = (a: Path = [], b: Path = []): boolean =>
  a.some(({ block, index }) => b.some((other) => other.block === block && other.index !== index));

/** The same of two statements, whatever steps they stand in. */
export function areRivals(one: Statement, other: Statement): boolean {
  const step = one.chunk.item;
  if (step?.kind !== 'step' || one.chunk !== other.chunk) return false;
  const paths = pathsIn(step);
  return exclusive(paths.get(one), paths.get(other));
}

/** The branches that a statement of a step stands in, outermost first. */
export function pathOf(statement: Statement): Path {
  const step = statement.chunk.item;
  return (step?.kind === 'step' && pathsIn(step).get(statement)) || [];
}

const pathsIn = noted(({ statements }: Step): ReadonlyMap<Statement, Path> => new Map(branchPaths(statements)));
