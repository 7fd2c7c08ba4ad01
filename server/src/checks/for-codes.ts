import { countFirst } from '../../../grammar/sorted.ts';
import type { Branch, Statement, Step } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { stepsOfChunk } from '../model/statements.ts';
import type { Finding } from './check.ts';

export interface Around {
  readonly block: Statement;
  readonly branch: Branch;
}

/** The step of `statement`; behind a declaration or a phase line, what takes its place. */
export const stepOf = ({ chunk }: Statement): Step | undefined => stepsOfChunk(chunk)[0];

/** The blocks that `statement` stands in, outermost first, each with its branch. */
export function blocksAround(statement: Statement): readonly Around[] {
  const { start, end } = statement;
  const around: Around[] = [];
  let inner: readonly Statement[] | undefined = stepOf(statement)?.statements;
  while (inner !== undefined) {
    const block: Statement | undefined = lastBefore(inner, (each) => each.start, start);
    const branch: Branch | undefined = lastBefore(block?.branches ?? [], ({ keyword }) => keyword.start, start);
    if (block === undefined || branch === undefined || end > block.end) break;
    around.push({ block, branch });
    inner = branch.statements;
  }
  return around;
}

/** The last of `items`, in the order of the text, that begins before `start`. */
const lastBefore = <T>(items: readonly T[], startOf: (item: T) => number, start: number): T | undefined =>
  items[countFirst(items, (item) => startOf(item) < start) - 1];

/** The statements that one stands among: of the branch around it, else of its step. */
export const rowOf = (statement: Statement): readonly Statement[] =>
  blocksAround(statement).at(-1)?.branch.statements ?? stepOf(statement)?.statements ?? [];

/** Whether a step of `moved` would be left with no line: that would be one to mend. */
export const leavesNoLine = (moved: readonly Statement[]): boolean =>
  moved.some((each) => stepOf(each)?.statements.every((line) => moved.includes(line)) === true);

/** Whether it stands in this file, and in no block that says when: a repair may move it. */
export const isMovable = ({ tree }: Model, statement: Statement): boolean =>
  statement.chunk.uri === tree.uri && blocksAround(statement).length === 0;

/** `statement`, or the outermost `either` or `if` around it: where alternatives agree on what is amiss, it is mended behind them. */
export const behindAlternatives = (statement: Statement): Statement =>
  blocksAround(statement).find(({ block }) => block.kind !== 'for')?.block ?? statement;

/** The codes that `finding` holds for: all unless it says so. */
export const codesOf = (model: Model, { data }: Finding): readonly string[] =>
  (data?.['codes'] as readonly string[] | undefined) ?? model.codes;

/** The codes that see `statement`; where none is given, those that see the end of a step. */
export function codesAt(model: Model, statement: Statement | undefined): readonly string[] {
  if (statement === undefined || model.codes.length === 0) return model.codes;
  const blocks = blocksAround(statement).flatMap(({ block }) => (block.codes === undefined ? [] : [block.codes]));
  return model.codes.filter((code) => blocks.every((names) => names.some(({ text }) => text === code)));
}

const isSeenByOthers = (model: Model, finding: Finding, at: Statement | undefined): boolean => {
  const codes = codesOf(model, finding);
  return codesAt(model, at).some((code) => !codes.includes(code));
};

/** True where no code but those of `finding` sees `statement`. */
export const isOnlyFor = (model: Model, finding: Finding, statement: Statement): boolean =>
  !isSeenByOthers(model, finding, statement);

/** `lines`, in a `for` where other codes than those of `finding` would see them beside `at`. */
export function forCodes(model: Model, finding: Finding, lines: readonly string[], at?: Statement): readonly string[] {
  if (lines.length === 0 || !isSeenByOthers(model, finding, at)) return lines;
  return [`for ${codesOf(model, finding).join(', ')}`, ...lines.map((line) => `  ${line}`), 'end'];
}
