/** One record of a table; `line` is its first line in the text, counted from 1. */
export interface CsvRecord {
  readonly line: number;
  readonly cells: readonly string[];
}

export interface CsvProblem {
  readonly line: number;
  readonly message: string;
}

export const separators = [',', ';', '\t'] as const;
export type Separator = (typeof separators)[number];

/**
 * Reads comma-separated values (RFC 4180): fields in double quotes may hold separators, line breaks and doubled quotes.
 * Beyond the RFC, any line ending ends a record, and empty lines are passed over. Total: what stops it is told.
 */
export function readCsv(
  text: string,
  separator: Separator = ',',
): { readonly records: readonly CsvRecord[]; readonly problem?: CsvProblem } {
  const records: CsvRecord[] = [];
  let cells: string[] = [];
  let line = 1;
  let first = 1;
  let at = text.startsWith('\uFEFF') ? 1 : 0;
  const close = (): void => {
    if (cells.length > 1 || cells[0] !== '') records.push({ line: first, cells });
    cells = [];
  };
  const plainField = new RegExp(`[^${separator}\\r\\n]*`, 'y');
  while (at < text.length) {
    if (cells.length === 0) first = line;
    let field: string;
    if (text[at] === '"') {
      let end = at + 1;
      for (;;) {
        end = text.indexOf('"', end);
        if (end < 0)
          return { records, problem: { line, message: 'a quote is opened and never closed: close it, or double it' } };
        if (text[end + 1] !== '"') break;
        end += 2;
      }
      field = text.slice(at + 1, end);
      line += field.match(/\r\n|\n|\r/g)?.length ?? 0;
      field = field.replaceAll('""', '"');
      at = end + 1;
      if (at < text.length && !`${separator}\r\n`.includes(text[at]!))
        return {
          records,
          problem: { line, message: 'something stands behind a closing quote: take it out, or double the quote' },
        };
    } else {
      plainField.lastIndex = at;
      field = plainField.exec(text)![0];
      at += field.length;
    }
    cells.push(field);
    if (text[at] === separator) {
      at++;
      // A separator at the very end opens one more, empty field.
      if (at >= text.length) cells.push('');
      else if (text[at] === '\r' || text[at] === '\n') cells.push('');
      else continue;
    }
    if (at < text.length) {
      at += text.startsWith('\r\n', at) ? 2 : 1;
      line++;
    }
    close();
  }
  if (cells.length > 0) close();
  return { records };
}

/** The separator that parts most fields of the first line. */
export function separatorOf(text: string): Separator {
  const [first = ''] = text.split(/[\r\n]/, 1);
  const bare = first.replace(/"(?:[^"]|"")*"/g, '');
  const count = (sign: string): number => bare.split(sign).length;
  return [...separators].sort((a, b) => count(b) - count(a))[0]!;
}
