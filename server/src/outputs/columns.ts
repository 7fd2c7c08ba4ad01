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

/** Rows of text in aligned columns, indented; the last column runs free. */
export function columns(rows: readonly (readonly string[])[]): string[] {
  const widths: number[] = [];
  for (const row of rows) {
    for (const [i, text] of row.entries()) {
      if (i < row.length - 1) widths[i] = Math.max(widths[i] ?? 0, columnsOf(text));
    }
  }
  return rows.map((row) =>
    `  ${row.map((text, i) => (i < row.length - 1 ? text + ' '.repeat(widths[i]! - columnsOf(text)) : text)).join('  ')}`.trimEnd(),
  );
}
