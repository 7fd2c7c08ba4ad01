import { parse } from '../../grammar/parser.ts';
import type { Chunk, Declaration, Statement, Step, SyntaxTree } from '../../grammar/syntax.ts';
import { fieldsOf, spanText, walk } from '../../grammar/syntax.ts';

export const read = (text: string): SyntaxTree => parse('test.fettle', text);

type Plain = null | boolean | number | string | Plain[] | { [field: string]: Plain };

/** A copy of `value` without the fields in `leave`, absent ones and the way back to the chunk. */
export function plain(value: unknown, leave: readonly string[] = []): Plain {
  if (Array.isArray(value)) return value.map((each) => plain(each, leave));
  if (typeof value !== 'object' || value === null) return value as Plain;
  return Object.fromEntries(
    fieldsOf(value)
      .map((field) => [field, (value as Record<string, unknown>)[field]] as const)
      .filter(([field, each]) => field !== 'chunk' && each !== undefined && !leave.includes(field))
      .map(([field, each]) => [field, plain(each, leave)]),
  );
}

/** What was read, without a word on where it stands. */
export const shape = (tree: SyntaxTree): Plain =>
  tree.chunks.map(({ item, strayStep, lostWords, issues }) =>
    plain({ item, strayStep, lostWords, issues: issues.map((issue) => issue.message) }, ['start', 'end']),
  );

export const issuesOf = (tree: SyntaxTree): string[] =>
  tree.chunks.flatMap((chunk) => chunk.issues.map((issue) => `${spanText(issue)}: ${issue.message}`));

export const stepsOf = (tree: SyntaxTree): Step[] =>
  tree.chunks.flatMap((chunk: Chunk) =>
    [chunk.item?.kind === 'step' ? chunk.item : undefined, chunk.strayStep].filter((step) => step !== undefined),
  );

export const statementsOf = (tree: SyntaxTree): Statement[] =>
  stepsOf(tree).flatMap((step) => [...walk(step.statements)]);

/** The first statement of a step that holds just `line`. */
export function statement(line: string): Statement {
  return statementsOf(read(`step s\n    ${line}\n`))[0]!;
}

export function declaration(line: string): Declaration {
  return read(`${line}\n`).chunks[0]!.item as Declaration;
}
