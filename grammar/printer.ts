import type { IToken } from 'chevrotain';
import { isPhase, read, standsInPhase } from './heads.ts';
import { parse } from './parser.ts';
import { type Chunk, chunkAt, lineFinder, type Statement, type SyntaxTree } from './syntax.ts';
import {
  Close,
  Comma,
  endOf,
  isNumber,
  isUnit,
  keyword as k,
  Open,
  OpenText,
  PlusMinus,
  Text,
  Times,
  To,
} from './tokens.ts';
import { unitOf } from './units.ts';

/** A replacement of the text from `start` to `end` (UTF-16 offsets, exclusive). */
export interface TextEdit {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/**
 * Lays `text` out anew: one statement a line, indented by two blanks a level, the first spelling of each unit. Comments,
 * texts, single blank lines, line endings (as the first of the text), and lines that could not be read stay as they are.
 * Total; formatting twice equals once.
 */
export function format(text: string): string {
  const tree = parse('', text);
  const eol = lineEndingOf(text);
  const lines = tree.chunks.flatMap((_, c) => entriesOf(tree, c).flatMap(withBlank));
  return (text.startsWith('\uFEFF') ? '\uFEFF' : '') + lines.map((line) => line + eol).join('');
}

/**
 * The same as edits of whole lines, in order, each as small as can be; with `range` (offsets) only those that touch it.
 */
export function formatEdits(
  tree: SyntaxTree,
  range: { readonly start: number; readonly end: number } = { start: 0, end: tree.text.length },
): TextEdit[] {
  const eol = lineEndingOf(tree.text);
  const edits: TextEdit[] = [];
  const last = chunkAt(tree, range.end);
  for (let c = chunkAt(tree, range.start - 1); c <= last; c++) {
    const { text } = tree.chunks[c]!;
    const bom = c === 0 && text.startsWith('\uFEFF') ? 1 : 0;
    const lines = text.slice(bom).match(/[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+$/g) ?? [];
    for (const edit of difference(lines, entriesOf(tree, c), eol, tree.starts[c]! + bom)) edits.push(edit);
  }
  return edits.filter((edit) => edit.start <= range.end && edit.end >= range.start);
}

export const lineEndingOf = (text: string): '\n' | '\r\n' | '\r' =>
  (/\r\n|\n|\r/.exec(text)?.[0] as '\n' | '\r\n' | '\r' | undefined) ?? '\n';

// --- one chunk ------------------------------------------------------------------------------------------------------

/** A stretch of tokens with a line of its own. */
interface Piece {
  readonly start: number;
  readonly end: number;
  readonly indent: number;
  /** It has troubles, or shares a line with what has: its lines stay as they are. */
  kept: boolean;
  /** First and last source line. */
  first: number;
  last: number;
}

/** A piece, a comment on its own line, or a line that stays. */
interface Entry {
  readonly firstLine: number;
  readonly lastLine: number;
  readonly lines: string[];
  readonly indent: string;
  blankBefore: boolean;
}

const withBlank = ({ blankBefore, lines }: Entry): readonly string[] => (blankBefore ? ['', ...lines] : lines);

/** What stands in chunk `c`, in order, with the blank lines that it is to have. */
function entriesOf(tree: SyntaxTree, c: number): Entry[] {
  const chunk = tree.chunks[c]!;
  const before = tree.chunks[c - 1];
  const { item } = chunk;
  const takesIn = item?.kind === 'use' && standsInPhase(tree, c);
  const entries = laidOut(chunk, before !== undefined && !/[\r\n]$/.test(before.text), takesIn);
  const first = entries[0];
  if (first === undefined) return entries;
  const stepLike = item?.kind === 'step' || takesIn;
  if (before === undefined) first.blankBefore = false;
  else if (stepLike && endsWithPhase(before)) first.blankBefore = false;
  else if (
    item !== undefined &&
    (isPhase(item.kind) ||
      (stepLike && (before.item?.kind === 'step' || before.strayStep !== undefined)) ||
      (item.kind === 'step' && before.item?.kind === 'use' && standsInPhase(tree, c - 1)))
  ) {
    const line = lineFinder(chunk.text)(item.start);
    const lead = entries.slice(0, entries.findIndex((entry) => entry.lastLine >= line) + 1);
    if (!lead.some((entry) => entry.blankBefore)) first.blankBefore = true;
  }
  return entries;
}

/** True where nothing but the phase line stands in the chunk. */
const endsWithPhase = (chunk: Chunk): boolean =>
  isPhase(chunk.item?.kind ?? '') && /^[^\S\r\n]*(?:#[^\r\n]*)?\s*$/.test(chunk.text.slice(chunk.item!.end));

function laidOut(chunk: Chunk, beginsWithinLine: boolean, takesIn: boolean): Entry[] {
  const { text, item } = chunk;
  const lineAt = lineFinder(text);
  const lines = text.split(/\r\n|\n|\r/);
  const { tokens, codes } = read(text);
  const pieces = piecesOf(chunk, takesIn);
  const kept = keptLines(chunk, pieces, tokens, lines.length, lineAt);
  const entries: Entry[] = [];
  const add = (firstLine: number, lastLine: number, indent: string, out: string[]): void => {
    entries.push({
      firstLine,
      lastLine,
      indent,
      lines: out,
      blankBefore: firstLine - (entries.at(-1)?.lastLine ?? -1) > 1,
    });
  };
  let token = 0;
  let comment = 0;
  let piece = 0;
  let line = 0;
  while (line < lines.length) {
    if (kept[line]) {
      while (token < tokens.length && lineAt(tokens[token]!.startOffset) <= line) token++;
      while (comment < chunk.comments.length && lineAt(chunk.comments[comment]!.start) <= line) comment++;
      while (piece < pieces.length && pieces[piece]!.first <= line) piece++;
      const raw = lines[line]!.replace(/^\uFEFF+/, '');
      const out =
        tokens[token - 1]?.tokenType === OpenText && lineAt(tokens[token - 1]!.startOffset) === line
          ? raw
          : raw.trimEnd();
      const within = line === 0 && beginsWithinLine ? ' '.repeat(pieces[0]?.indent ?? 0) : '';
      if (out.trim() !== '') add(line, line, within + /^\s*/.exec(out)![0], [within + out]);
      line++;
      continue;
    }
    const nextComment = chunk.comments[comment];
    const nextPiece = pieces[piece];
    if (nextPiece !== undefined && nextPiece.first === line) {
      const from = token;
      while (token < tokens.length && tokens[token]!.startOffset < nextPiece.end) token++;
      const fromComment = comment;
      while (
        comment < chunk.comments.length &&
        (chunk.comments[comment]!.start < nextPiece.end ||
          (!chunk.comments[comment]!.ownLine &&
            lineAt(chunk.comments[comment]!.start) === nextPiece.last &&
            !(pieces[piece + 1] !== undefined && pieces[piece + 1]!.start < chunk.comments[comment]!.start)))
      )
        comment++;
      const indent = ' '.repeat(nextPiece.indent);
      add(
        nextPiece.first,
        nextPiece.last,
        indent,
        printPiece(tokens, from, token, codes, chunk.comments.slice(fromComment, comment), indent),
      );
      piece++;
      line = nextPiece.last;
      if (pieces[piece]?.first !== line) line++;
      continue;
    }
    if (nextComment !== undefined && lineAt(nextComment.start) === line) {
      const column = /^\s*/.exec(lines[line]!.replace(/^\uFEFF+/, ''))![0];
      add(line, line, column, [nextComment.text.trimEnd()]);
      comment++;
    }
    line++;
  }
  indentComments(entries);
  if (isPhase(item?.kind ?? '')) {
    const at = entries.findIndex((entry) => entry.lastLine >= lineAt(item!.start));
    if (entries[at + 1] !== undefined) entries[at + 1]!.blankBefore = false;
  }
  return entries;
}

/** A comment on its own line stands as what follows it; at the very end as what stands before it, or at the margin. */
function indentComments(entries: Entry[]): void {
  const isComment = (entry: Entry): boolean => entry.lines.length === 1 && entry.lines[0]!.startsWith('#');
  let above = '';
  let first = 0;
  for (let e = 0; e <= entries.length; e++) {
    const entry = entries[e];
    if (entry !== undefined && isComment(entry)) continue;
    for (const comment of entries.slice(first, e))
      comment.lines[0] = (entry?.indent ?? (comment.indent === '' ? '' : above)) + comment.lines[0]!;
    above = entry?.indent ?? '';
    first = e + 1;
  }
}

function piecesOf(chunk: Chunk, takesIn: boolean): Piece[] {
  const pieces: Piece[] = [];
  const add = (start: number, end: number, indent: number, kept: boolean): void => {
    pieces.push({ start, end, indent, kept, first: 0, last: 0 });
  };
  const addStatements = (statements: readonly Statement[], indent: number): void => {
    for (const statement of statements) {
      if (statement.branches === undefined) {
        add(statement.start, statement.end, indent, statement.broken);
        continue;
      }
      statement.branches.forEach((branch, b) => {
        const codes = b === 0 ? statement.codes?.at(-1)?.end : undefined;
        add(
          branch.keyword.start,
          Math.max(branch.keyword.end, branch.text?.end ?? 0, codes ?? 0),
          indent,
          b === 0 && statement.broken,
        );
        addStatements(branch.statements, indent + 2);
      });
      if (statement.closing !== undefined) add(statement.closing.start, statement.closing.end, indent, false);
    }
  };
  const { item, strayStep } = chunk;
  if (item !== undefined && 'keyword' in item && item.keyword !== undefined)
    add(item.start, item.end, item.kind === 'step' || takesIn ? 2 : 0, item.broken === true);
  for (const step of [item, strayStep]) if (step?.kind === 'step') addStatements(step.statements, 4);
  return pieces.sort((a, b) => a.start - b.start);
}

/** Which source lines stay as they are: those with troubles, and those that share a piece with one of them. */
function keptLines(
  chunk: Chunk,
  pieces: readonly Piece[],
  tokens: readonly IToken[],
  count: number,
  lineAt: (offset: number) => number,
): boolean[] {
  const kept: boolean[] = Array(count).fill(false);
  const keep = (first: number, last: number): void => {
    for (let line = first; line <= last; line++) kept[line] = true;
  };
  for (const piece of pieces) {
    piece.first = lineAt(piece.start);
    piece.last = lineAt(Math.max(piece.start, piece.end - 1));
    if (piece.kept) keep(piece.first, piece.last);
  }
  for (const issue of chunk.issues) keep(lineAt(issue.start), lineAt(Math.max(issue.start, issue.end - 1)));
  let piece = 0;
  for (const token of tokens) {
    while (piece < pieces.length && pieces[piece]!.end <= token.startOffset) piece++;
    const inside = piece < pieces.length && pieces[piece]!.start <= token.startOffset;
    if (!inside) kept[lineAt(token.startOffset)] = true;
  }
  const spread = (each: Piece): void => {
    for (let line = each.first; line <= each.last; line++)
      if (kept[line]) {
        keep(each.first, each.last);
        return;
      }
  };
  for (const each of pieces) spread(each);
  for (let p = pieces.length - 1; p >= 0; p--) spread(pieces[p]!);
  return kept;
}

/** The piece that the tokens `from` to `to` make; a comment within it ends its line. */
function printPiece(
  tokens: readonly IToken[],
  from: number,
  to: number,
  codes: ReadonlySet<number>,
  comments: readonly { start: number; text: string; ownLine: boolean }[],
  indent: string,
): string[] {
  const lines: string[] = [];
  const inHead = tokens[from]?.tokenType === k.procedure;
  const further = indent + (indent === '' ? '  ' : '    ');
  let line = indent;
  let comment = 0;
  for (let i = from; i < to; i++) {
    const token = tokens[i]!;
    let fresh = i === from;
    for (; comment < comments.length && comments[comment]!.start < token.startOffset; comment++) {
      const { text, ownLine } = comments[comment]!;
      if (fresh) line += text.trimEnd();
      else if (ownLine) {
        lines.push(line);
        line = further + text.trimEnd();
      } else line += `  ${text.trimEnd()}`;
      lines.push(line);
      line = further;
      fresh = true;
    }
    if (!fresh && inHead && beginsClause(tokens, i, from)) {
      lines.push(line);
      line = further;
      fresh = true;
    }
    line += (fresh ? '' : gap(tokens, i, codes)) + print(token, codes.has(i));
  }
  for (; comment < comments.length; comment++) line += `  ${comments[comment]!.text.trimEnd()}`;
  lines.push(line);
  return lines;
}

/** The clauses of the head have lines of their own; its title stands behind the name. */
function beginsClause(tokens: readonly IToken[], i: number, from: number): boolean {
  const type = tokens[i]!.tokenType;
  if (type === k.applies || type === k.code || type === k.measures) return true;
  return type === Text && i > from + 2 && tokens[i - 1]!.tokenType !== k.plate;
}

function gap(tokens: readonly IToken[], i: number, codes: ReadonlySet<number>): string {
  const left = tokens[i - 1]!;
  const right = tokens[i]!;
  if (codes.has(i) && codes.has(i - 1)) return endOf(left) === right.startOffset ? '' : ' ';
  const before = left.tokenType;
  const after = right.tokenType;
  if (after === Comma || after === Close || after === To || before === Open || before === To) return '';
  return isNumber(left) && isUnit(right) && unitOf(right.image)?.symbol === '°' ? '' : ' ';
}

function print(token: IToken, inCode: boolean): string {
  const { image, tokenType: type } = token;
  if (inCode || type === Text) return image;
  if (type === PlusMinus) return '±';
  if (type === Times) return `x${image.slice(1)}`;
  if (isNumber(token)) return image.replace('−', '-');
  return isUnit(token) ? (unitOf(image)?.symbol ?? image) : image;
}

// --- edits ----------------------------------------------------------------------------------------------------------

/** Edits that make of `lines` (with their ends), which begin at `offset`, what `entries` say. */
function difference(lines: readonly string[], entries: readonly Entry[], eol: string, offset: number): TextEdit[] {
  const edits: TextEdit[] = [];
  let line = 0;
  let at = offset;
  const change = (until: number, wanted: readonly string[]): void => {
    const old = lines.slice(line, until);
    edits.push(
      ...changed(
        old,
        wanted.map((each) => each + eol),
        at,
      ),
    );
    for (const each of old) at += each.length;
    line = until;
  };
  for (let from = 0; from < entries.length; ) {
    // Entries that share a line are changed together: one edit without the other would leave words out, or write them twice.
    const { firstLine, blankBefore, lines: first } = entries[from]!;
    let to = from + 1;
    while (entries[to] !== undefined && entries[to]!.firstLine <= entries[to - 1]!.lastLine) to++;
    const rest = entries.slice(from + 1, to).flatMap(withBlank);
    change(firstLine, blankBefore ? [''] : []);
    change(entries[to - 1]!.lastLine + 1, [...first, ...rest]);
    from = to;
  }
  change(lines.length, []);
  return edits;
}

/** Of the same words: line by line where each keeps its own, or else all between the first and the last line that changes. */
function changed(old: readonly string[], wanted: readonly string[], offset: number): TextEdit[] {
  const wordsOf = (line: string): string => line.replace(/\s+/g, '');
  if (old.length > 1 && old.length === wanted.length && old.every((line, i) => wordsOf(line) === wordsOf(wanted[i]!))) {
    let at = offset;
    return old.flatMap((line, i) => {
      at += line.length;
      return changed([line], [wanted[i]!], at - line.length);
    });
  }
  let head = 0;
  while (head < old.length && head < wanted.length && old[head] === wanted[head]) head++;
  let tail = 0;
  while (tail < Math.min(old.length, wanted.length) - head && old.at(-1 - tail) === wanted.at(-1 - tail)) tail++;
  const was = old.slice(head, old.length - tail).join('');
  const is = wanted.slice(head, wanted.length - tail).join('');
  if (was === is) return [];
  const end = endOfLine(was) === endOfLine(is) ? endOfLine(is).length : 0;
  const start = offset + old.slice(0, head).join('').length;
  return [{ start, end: start + was.length - end, text: is.slice(0, is.length - end) }];
}

const endOfLine = (text: string): string => /(?:\r\n|\n|\r)?$/.exec(text)![0];
