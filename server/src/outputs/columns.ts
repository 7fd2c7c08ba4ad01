import { columnsOf } from './text.ts';

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
