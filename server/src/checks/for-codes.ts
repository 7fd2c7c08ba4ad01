import type { Branch, Statement, Step } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import type { Finding } from './check.ts';

export interface Around {
  readonly block: Statement;
  readonly branch: Branch;
}

/** The blocks that `statement` stands in, outermost first, each with its branch. */
export function blocksAround({ chunk, start, end }: Statement): readonly Around[] {
  const around: Around[] = [];
  let inner: readonly Statement[] | undefined = (chunk.item as Step | undefined)?.statements;
  while (inner !== undefined) {
    const block: Statement | undefined = inner.find(
      (each) => each.branches !== undefined && each.start < start && end <= each.end,
    );
    const branch: Branch | undefined = block?.branches?.findLast(({ keyword }) => keyword.start < start);
    if (block === undefined || branch === undefined) break;
    around.push({ block, branch });
    inner = branch.statements;
  }
  return around;
}

/** `statement`, or the outermost `either` or `if` around it: where alternatives agree on what is amiss, it is mended behind them. */
export const behindAlternatives = (statement: Statement): Statement =>
  blocksAround(statement).find(({ block }) => block.kind !== 'for')?.block ?? statement;

/** The codes that `finding` holds for: all unless it says so. */
export const codesOf = (model: Model, { data }: Finding): readonly string[] =>
  (data?.['codes'] as readonly string[] | undefined) ?? model.codes;

/** True where no code but those of `finding` sees `statement`. */
export const isOnlyFor = (model: Model, finding: Finding, statement: Statement): boolean =>
  elsewhere(model, finding, blocksAround(statement)).length === 0;

function elsewhere(model: Model, finding: Finding, around: readonly Around[]): readonly string[] {
  const codes = codesOf(model, finding);
  const names = around.flatMap(({ block }) => (block.codes === undefined ? [] : [block.codes]));
  return model.codes.filter(
    (code) => !codes.includes(code) && names.every((each) => each.some(({ text }) => text === code)),
  );
}

/** `lines`, in a `for` where other codes than those of `finding` would see them beside `at`, or at the end of a step. */
export function forCodes(model: Model, finding: Finding, lines: readonly string[], at?: Statement): readonly string[] {
  if (lines.length === 0 || elsewhere(model, finding, at === undefined ? [] : blocksAround(at)).length === 0)
    return lines;
  return [`for ${codesOf(model, finding).join(', ')}`, ...lines.map((line) => `  ${line}`), 'end'];
}
