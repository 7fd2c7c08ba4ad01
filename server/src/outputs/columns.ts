import { visible } from './wording.ts';

const tabStop = 8;
/** Two columns wide: East Asian Width W and F (Unicode UAX #11) by block, and what is shown as an emoji. */
const wide =
  /[\u1100-\u115f\u2e80-\u303e\u3041-\u33ff\u3400-\u4dbf\u4e00-\ua4cf\ua960-\ua97c\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff01-\uff60\uffe0-\uffe6\u{20000}-\u{3fffd}]|\p{Emoji_Presentation}|\ufe0f/u;
const narrowest = /^[\p{M}\p{Cf}]+$/u;
const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });

/** What a reader sees as one sign; a tab has no width of its own. */
export interface Cell {
  readonly text: string;
  readonly start: number;
  readonly end: number;
  readonly width: number;
}

/** Latin letters and signs, below the first combining mark: each stands for itself and takes one column. */
const plain = /^[ -~\u00a1-\u00ac\u00ae-\u02ff]*$/;
export const isPlain = (text: string): boolean => plain.test(text);

/** Columns that a terminal needs for `text`. */
const columnsOf = (text: string): number =>
  isPlain(text) ? text.length : cellsOf(text, 0).reduce((sum, { width }) => sum + width, 0);

export function cellsOf(text: string, offset: number): Cell[] {
  if (isPlain(text))
    return Array.from(text, (sign, i) => ({ text: sign, start: offset + i, end: offset + i + 1, width: 1 }));
  return Array.from(graphemes.segment(text), ({ segment, index }) => {
    const cell = { start: offset + index, end: offset + index + segment.length };
    if (segment === '\t') return { ...cell, text: '\t', width: tabStop };
    const shown = visible(segment);
    return { ...cell, text: shown, width: narrowest.test(shown) ? 0 : wide.test(shown) ? 2 : 1 };
  });
}

/** Below so many columns a text is no longer readable: rather than that, a line runs over. */
const narrowestText = 12;
/** The same of what hangs behind a head. */
const narrowestRest = 18;
const gap = '  ';

/** Rows of text in aligned columns, indented. Where they do not fit `width`, the widest columns are made narrower and their texts go on in lines below. */
export function columns(rows: readonly (readonly string[])[], width = Number.POSITIVE_INFINITY): string[] {
  const needed: number[] = [];
  for (const row of rows) for (const [i, text] of row.entries()) needed[i] = Math.max(needed[i] ?? 0, columnsOf(text));
  const most = shared(needed, width - gap.length * needed.length);
  const wrappedRows = rows.map((row) => row.map((text, i) => wrapped(text, most[i]!)));
  const widths = needed.map(() => 0);
  for (const cells of wrappedRows)
    for (const [i, lines] of cells.entries())
      for (const line of lines) widths[i] = Math.max(widths[i]!, columnsOf(line));
  return wrappedRows.flatMap((cells) => {
    const height = Math.max(1, ...cells.map(({ length }) => length));
    return Array.from({ length: height }, (_, line) =>
      cells
        .map((lines, i) => `${gap}${padded(lines[line] ?? '', widths[i]!)}`)
        .join('')
        .trimEnd(),
    );
  });
}

/** `text` in lines of at most `width` columns, all but the first set in as far as `head`, which it stands behind. */
export function hanging(head: string, text: string, width: number): string {
  // Behind a long head there is no room for words: they go on below it.
  const indent = width - columnsOf(head) < narrowestRest ? Math.min(4, columnsOf(head)) : columnsOf(head);
  const [first = '', ...rest] = wrapped(text, width - indent, width - columnsOf(head));
  return [`${head}${first}`, ...rest.map((line) => ' '.repeat(indent) + line)].join('\n');
}

const padded = (text: string, width: number): string => text + ' '.repeat(Math.max(0, width - columnsOf(text)));

/** What each column gets of `room`: those that need less than an even share what they need, the others an even share of the rest. */
function shared(needed: readonly number[], room: number): number[] {
  const widths = [...needed];
  let left = room;
  let sharing = needed.map((_, i) => i).sort((a, b) => needed[a]! - needed[b]!);
  for (const i of sharing) {
    const share = Math.floor(left / sharing.length);
    if (needed[i]! > share) widths[i] = Math.min(needed[i]!, Math.max(narrowestText, share));
    left -= widths[i]!;
    sharing = sharing.slice(1);
  }
  return widths;
}

/** What stands in one line: `4 d`, `200 N·m`, `step 12`, `× 4`. */
const between = /(?<![\d×]) (?!\d+(?:[,;)]|\.?$))/;

/** Cut at blanks, those beside a number last; a word that is wider than a line is cut where the line ends. */
function wrapped(text: string, width: number, firstWidth = width): string[] {
  if (columnsOf(text) <= firstWidth) return [text];
  const lines: string[] = [];
  let line = '';
  let taken = 0;
  const room = (): number => Math.max(narrowestText, lines.length === 0 ? firstWidth : width);
  const close = (): void => {
    lines.push(line.trimEnd());
    line = '';
    taken = 0;
  };
  const narrower = Math.max(narrowestText, Math.min(width, firstWidth));
  const words = text.split(between).flatMap((word) => (columnsOf(word) > narrower ? word.split(' ') : [word]));
  for (const word of words) {
    const wide = columnsOf(word);
    if (taken > 0 && taken + 1 + wide > room()) close();
    else if (taken > 0) {
      line += ' ';
      taken++;
    }
    if (wide <= room()) {
      line += word;
      taken += wide;
      continue;
    }
    for (const cell of cellsOf(word, 0)) {
      if (taken + cell.width > room()) close();
      line += cell.text;
      taken += cell.width;
    }
  }
  if (taken > 0) close();
  return lines;
}
