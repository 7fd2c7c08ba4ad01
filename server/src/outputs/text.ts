import { styleText } from 'node:util';
import { TextDocument } from 'vscode-languageserver-textdocument';
import type { Severity } from '../checks/check.ts';
import { type Cell, cellsOf, hanging, isPlain } from './columns.ts';
import { type Range, type ReportedFinding, type Summary, severities, type Writer } from './report.ts';
import { caution, counted, visible } from './wording.ts';

export interface TextOptions {
  readonly colour: boolean;
  /** Columns that a source line may take. */
  readonly width: number;
  /** Errors alone, without the closing lines. */
  readonly quiet: boolean;
}

const indent = '    ';
const colours: Record<Severity, Parameters<typeof styleText>[0]> = {
  error: ['red', 'bold'],
  warning: ['yellow', 'bold'],
  information: ['cyan', 'bold'],
  hint: ['gray', 'bold'],
};

/** For people: the place, the words, the line with its mark, and a count at the end. */
export function textWriter({ colour, width, quiet }: TextOptions): Writer {
  const style = (format: Parameters<typeof styleText>[0], text: string): string =>
    colour ? styleText(format, text, { validateStream: false }) : text;
  const told = ({ severity }: ReportedFinding): boolean => !quiet || severity === 'error';
  let files = 0;
  let unusable = 0;
  return {
    opening: '',
    file({ file, findings }, text) {
      files++;
      const shown = findings.filter(told);
      if (shown.length === 0) return '';
      const document = TextDocument.create(file, 'fettle', 0, text);
      let out = '';
      // Findings come in the order of the text, and thousands may stand on one long line: it is read once.
      let at = -1;
      let source = '';
      for (const { code, severity, range, message, related } of shown) {
        if (range.start.line !== at) {
          at = range.start.line;
          source = lineAt(document, at);
        }
        const [line, mark] = marked(source, range, width - indent.length);
        out += `${placeOf(file, range)} ${style(colours[severity], severity)} ${style('bold', code)} ${visible(message)}\n`;
        out += `${indent}${line}\n${indent}${style(colours[severity], mark)}\n`;
        for (const place of related)
          out += `${indent}see ${placeOf(place.file, place.range)} ${visible(place.message)}\n`;
      }
      return `${out}\n`;
    },
    unusable() {
      unusable++;
      return '';
    },
    closing(summary, known = 0) {
      const refused = unusable === 0 ? '' : `; ${counted(unusable, 'file')} could not be used`;
      return quiet ? '' : `${totalOf(files, summary, known)}${refused}\n${hanging('', caution, width)}\n`;
    },
  };
}

/** `file:line:column`, counted from 1. */
const placeOf = (file: string, { start }: Range): string => `${visible(file)}:${start.line + 1}:${start.character + 1}`;

function totalOf(files: number, summary: Summary, known: number): string {
  const counts = severities
    .filter((severity) => summary[severity] > 0)
    .map((severity) => counted(summary[severity], severity, severity === 'information' ? severity : `${severity}s`));
  const none = known > 0 ? 'nothing but what is known' : 'nothing found';
  if (files === 0) return 'no file checked';
  return `${counted(files, 'file')} checked: ${counts.join(', ') || none}`;
}

const lineAt = (document: TextDocument, line: number): string =>
  document.getText({ start: { line, character: 0 }, end: { line: line + 1, character: 0 } }).replace(/[\r\n]+$/, '');

/**
 * The source line, and below it a mark under `range` (its part on the first line). A line over `width` columns is cut
 * around the range, with `…` where something is missing. Tabs stand in both lines, so that they align at any tab stop.
 */
export function marked(line: string, range: Range, width: number): [string, string] {
  const from = Math.min(range.start.character, line.length);
  const to = range.end.line > range.start.line ? line.length : Math.min(range.end.character, line.length);
  // Signs are told apart only near the range: a line may be a megabyte long.
  let first = Math.max(0, from - 4 * width);
  let last = from + 8 * width;
  // Where each sign takes a column, no more of them have room.
  if (isPlain(line.slice(first, last))) {
    first = Math.max(0, from - width - 1);
    last = from + width + 1;
  }
  let cells = cellsOf(line.slice(first, last), first);
  let cutLeft = first > 0;
  let cutRight = last < line.length;
  const total = cells.reduce((sum, cell) => sum + cell.width, 0);
  if (cutLeft || cutRight || total > width) {
    const at = cells.findIndex(({ end }) => end > from);
    const focus = at < 0 ? cells.length : at;
    let low = focus;
    let high = focus;
    let room = width - 2;
    const take = (cell: Cell | undefined): boolean => cell !== undefined && cell.width <= room;
    while (high < cells.length && cells[high]!.start < to && take(cells[high])) room -= cells[high++]!.width;
    for (let ahead = Math.floor(room / 2); low > 0 && take(cells[low - 1]) && cells[low - 1]!.width <= ahead; ) {
      room -= cells[--low]!.width;
      ahead -= cells[low]!.width;
    }
    while (high < cells.length && take(cells[high])) room -= cells[high++]!.width;
    while (low > 0 && take(cells[low - 1])) room -= cells[--low]!.width;
    cutLeft ||= low > 0;
    cutRight ||= high < cells.length;
    cells = cells.slice(low, high);
  }
  let shown = cutLeft ? '…' : '';
  let mark = cutLeft ? ' ' : '';
  for (const cell of cells) {
    shown += cell.text;
    const tab = cell.text === '\t';
    if (cell.end <= from) mark += tab ? '\t' : ' '.repeat(cell.width);
    else if (cell.start < to || cell.start <= from)
      mark += tab && cell.end < to ? '\t' : '^'.repeat(tab ? 1 : cell.width);
  }
  return [(shown + (cutRight ? '…' : '')).trimEnd(), mark.includes('^') ? mark : `${mark}^`];
}
