import type { Name, Statement } from '../../../grammar/syntax.ts';
import { offsetsOf, type Span, type Step, type SyntaxTree, spanText } from '../../../grammar/syntax.ts';
import { Beside } from '../model/noted.ts';
import { isAllowance } from './allow.ts';
import type { Edit } from './check.ts';

// Edits name the file of what they change; those to another file than `tree` have no offsets and are not offered.

export const replaceSpan = (tree: SyntaxTree, span: Span, text: string): Edit => ({
  uri: span.chunk.uri,
  ...offsetsOf(tree, span),
  text,
});

/** Makes what puts a part back take a new one: `new` stands behind `fit` alone. */
export const fitNew = (tree: SyntaxTree, { kind, keyword }: Statement, name: Name): Edit =>
  kind === 'connect'
    ? replaceSpan(tree, { ...name, start: keyword.start }, `fit new ${name.text}`)
    : replaceSpan(tree, name, `new ${name.text}`);

const isBreak = (sign: string | undefined): boolean => sign === '\n' || sign === '\r';

/** To look for each sort of line break by itself would go over the whole text where it has one of them. */
function lineStart(text: string, offset: number): number {
  let start = offset;
  while (start > 0 && !isBreak(text[start - 1])) start--;
  return start;
}

const indentOf = (tree: SyntaxTree, offset: number): string => {
  return /^[ \t]*/.exec(tree.text.slice(lineStart(tree.text, offset)))![0];
};
const newlines = new Beside<SyntaxTree, string>();
export function newlineOf(tree: SyntaxTree): string {
  let newline = newlines.get(tree);
  if (newline === undefined) {
    newline = tree.text.includes('\r\n') ? '\r\n' : '\n';
    newlines.set(tree, newline);
  }
  return newline;
}
function lineEnd(text: string, offset: number): number {
  let end = offset;
  while (end < text.length && !isBreak(text[end])) end++;
  return end;
}

/** True where nothing but blanks or a comment follows `offset` on its line. */
const endsLine = (text: string, offset: number): boolean =>
  /^[ \t]*(?:#[^\r\n]*)?(?:[\r\n]|$)/.test(text.slice(offset, lineEnd(text, offset) + 1));

/** Writes `lines` behind `statement`, each on a line of its own at its indentation. */
export function insertAfter(tree: SyntaxTree, statement: Span, lines: readonly string[]): Edit {
  const { start, end } = offsetsOf(tree, statement);
  const newline = newlineOf(tree);
  const indent = indentOf(tree, start);
  const at = endsLine(tree.text, end) ? lineEnd(tree.text, end) : end;
  const text = lines.map((line) => `${newline}${indent}${line}`).join('');
  return {
    uri: statement.chunk.uri,
    start: at,
    end: at,
    text: at === end && !endsLine(tree.text, end) ? `${text}${newline}${indent}` : text,
  };
}

/** Writes `lines` above `statement`, and above what silences a check on it, at its indentation. */
export function insertBefore(tree: SyntaxTree, statement: Span, lines: readonly string[]): Edit {
  const { text } = tree;
  const { start } = offsetsOf(tree, statement);
  const newline = newlineOf(tree);
  const indent = indentOf(tree, start);
  const line = lineStart(text, start);
  const above = isBlankIn(text, line, start) ? aboveAllowances(text, line) : line;
  const at = above === line ? start : above;
  const row = (each: string): string => (above === line ? `${each}${newline}${indent}` : `${indent}${each}${newline}`);
  return { uri: statement.chunk.uri, start: at, end: at, text: lines.map(row).join('') };
}

/** Writes `lines` as the first (or last) statements of a step. */
export function insertInStep(tree: SyntaxTree, step: Step, lines: readonly string[], where: 'first' | 'last'): Edit {
  const first = step.statements[0];
  const last = step.statements.at(-1);
  if (where === 'first' && first !== undefined) return insertBefore(tree, first, lines);
  if (where === 'last' && last !== undefined) return insertAfter(tree, last, lines);
  const anchor = step.takes ?? step.title ?? step.name ?? step.keyword ?? step;
  const end = lineEnd(tree.text, offsetsOf(tree, anchor).end);
  const indent = `${indentOf(tree, offsetsOf(tree, step.keyword ?? step).start)}  `;
  return {
    uri: step.chunk.uri,
    start: end,
    end,
    text: lines.map((line) => `${newlineOf(tree)}${indent}${line}`).join(''),
  };
}

/** Adds ` words` behind what the statement says already. */
export function appendTo(tree: SyntaxTree, span: Span, words: string): Edit {
  const { end } = offsetsOf(tree, span);
  return { uri: span.chunk.uri, start: end, end, text: ` ${words}` };
}

const isBlankIn = (text: string, start: number, end: number): boolean => /^[ \t]*$/.test(text.slice(start, end));

/** True where nothing but blanks, and a comment behind it, shares the lines of what stands from `start` to `end`. */
const standsAlone = (text: string, start: number, end: number): boolean =>
  isBlankIn(text, lineStart(text, start), start) && endsLine(text, end);

/** The lines that {@link removeLine} takes away, each from its first word on: what silences a check goes along with the statement. */
export function linesToMove(tree: SyntaxTree, span: Span): string[] {
  const { start, end } = offsetsOf(tree, span);
  const { text } = tree;
  if (!standsAlone(text, start, end)) return [spanText(span)];
  const line = lineStart(text, start);
  const allowances = text.slice(aboveAllowances(text, line), line).match(/#.*/g) ?? [];
  return [...allowances, text.slice(start, lineEnd(text, end))].map((each) => each.trimEnd());
}

const behindBreak = (text: string, end: number): number =>
  text.startsWith('\r\n', end) ? end + 2 : Math.min(end + 1, text.length);

const isBlankLine = (text: string, start: number): boolean =>
  start < text.length && isBlankIn(text, start, lineEnd(text, start));

/** The start of the line above the one that starts at `start`; nothing above the first. */
function lineAbove(text: string, start: number): number | undefined {
  if (start === 0) return undefined;
  return lineStart(text, text.startsWith('\r\n', start - 2) ? start - 2 : start - 1);
}

/** The start of the first of the lines right above the one that starts at `start` which silence a check on it. */
function aboveAllowances(text: string, start: number): number {
  let first = start;
  for (let above = lineAbove(text, first); above !== undefined; above = lineAbove(text, first)) {
    if (!isAllowance(text.slice(above, lineEnd(text, above)).trimStart())) break;
    first = above;
  }
  return first;
}

/** Whether a blank line, or nothing, stands above the line that starts at `start`. */
function isBlankAbove(text: string, start: number): boolean {
  const above = lineAbove(text, start);
  return above === undefined || isBlankLine(text, above);
}

/** As {@link removeLine}, with the comment above it where it stands between blank lines: a comment above several may be the heading of all. */
export function removeDeclaration(
  tree: SyntaxTree,
  span: Span,
): { readonly edit: Edit; readonly withComment: boolean } {
  const { text } = tree;
  const edit = removeLine(tree, span);
  const offsets = offsetsOf(tree, span);
  const line = lineStart(text, offsets.start);
  if (edit.start > line) return { edit, withComment: false };
  const allowed = aboveAllowances(text, line);
  let start = allowed;
  for (let above = lineAbove(text, start); above !== undefined; above = lineAbove(text, start)) {
    if (!/^[ \t]*#/.test(text.slice(above, lineEnd(text, above)))) break;
    start = above;
  }
  const below = behindBreak(text, lineEnd(text, offsets.end));
  const isAlone = isBlankAbove(text, start) && (below >= text.length || isBlankLine(text, below));
  if (!isAlone || start === allowed) return { edit, withComment: false };
  const end = isBlankLine(text, below) ? behindBreak(text, lineEnd(text, below)) : edit.end;
  return { edit: { ...edit, start, end }, withComment: true };
}

/** Takes a declaration or statement away with its line, and with what silences a check on it, where it stands alone there. */
export const removeLine = (tree: SyntaxTree, span: Span): Edit => withoutLine(tree, span, aboveAllowances);

/** Takes a comment away with its line where it stands alone there. */
export const removeComment = (tree: SyntaxTree, span: Span): Edit => withoutLine(tree, span, (_, start) => start);

function withoutLine(tree: SyntaxTree, span: Span, firstOf: (text: string, start: number) => number): Edit {
  let { start, end } = offsetsOf(tree, span);
  const text = tree.text;
  if (standsAlone(text, start, end)) {
    start = firstOf(text, lineStart(text, start));
    end = behindBreak(text, lineEnd(text, end));
    // Of the blank lines above and below it one is left.
    if (isBlankAbove(text, start) && isBlankLine(text, end)) end = behindBreak(text, lineEnd(text, end));
  } else if (lineEnd(text, end) === end) {
    // No blanks at the end of what stands before it.
    while (/[ \t]/.test(text[start - 1] ?? '')) start--;
  }
  return { uri: span.chunk.uri, start, end, text: '' };
}
