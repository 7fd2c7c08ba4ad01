import { maxCount } from '../../../grammar/limits.ts';
import { nearest } from '../../../grammar/nearest.ts';
import { parse } from '../../../grammar/parser.ts';
import { format } from '../../../grammar/printer.ts';
import { isReserved } from '../../../grammar/tokens.ts';
import { judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import { type CsvProblem, type CsvRecord, readCsv, type Separator, separatorOf } from './csv.ts';
import { guarded } from './kit-csv.ts';

/** What a column of a parts list can hold. */
export const fields = [
  'part',
  'title',
  'quantity',
  'number',
  'thread',
  'class',
  'grade',
  'length',
  'torque',
  'lead',
] as const;
export type Field = (typeof fields)[number];
const measured: ReadonlySet<Field> = new Set(['length', 'torque', 'lead']);

export interface ListOptions {
  /** Headings of columns, or their numbers from 1, by what they hold; fields left out are looked for by their own name. */
  readonly columns: Readonly<Partial<Record<Field, string>>>;
  /** Units for columns whose cells are numbers alone. */
  readonly units: Readonly<Partial<Record<Field, string>>>;
  readonly separator?: Separator | undefined;
}

export interface DraftedParts {
  /** Declarations, one a line; rows that could not be used stand among them as comments. */
  readonly text: string;
  readonly drafted: number;
  /** Rows that could not be used, with what would mend them. */
  readonly problems: readonly CsvProblem[];
}

/** Declarations drafted from a parts list; or, where the columns cannot be told, only why. */
export function draftParts(list: string, options: ListOptions): DraftedParts | { readonly problem: CsvProblem } {
  // Spreadsheets may tell the separator in a line of its own; its place is kept, so that lines count as they stand.
  const [told, sign] = /^\ufeff?sep=([,;\t])(?=[\r\n])/i.exec(list) ?? ['', undefined];
  const table = list.slice(told.length);
  const separator = options.separator ?? (sign as Separator | undefined) ?? separatorOf(table);
  const { records, problem } = readCsv(table, separator);
  const [header, ...rows] = records;
  if (header === undefined)
    return { problem: problem ?? { line: 1, message: 'the table is empty: its first line names the columns' } };
  const columns = columnsOf(header, options);
  if ('message' in columns) return { problem: columns };
  const problems: CsvProblem[] = [];
  const taken = new Map<string, number>();
  const lines: string[] = [];
  let drafted = 0;
  for (const row of rows) {
    const made = declarationOf(row, header, columns, { ...options, separator }, taken);
    if ('message' in made) {
      problems.push(made);
      lines.push(`# Line ${made.line} is left out: ${comment(made.message)}: ${comment(row.cells.join(' | '))}`);
      continue;
    }
    drafted++;
    taken.set(made.name, row.line);
    lines.push(made.text);
  }
  if (problem !== undefined) {
    problems.push(problem);
    lines.push(`# From line ${problem.line} on nothing is drafted: ${comment(problem.message)}`);
  }
  return { text: format(`${lines.join('\n')}\n`), drafted, problems };
}

const comment = (text: string): string => text.replace(/\s+/g, ' ').trim();

type Columns = ReadonlyMap<Field, number>;

function columnsOf(header: CsvRecord, { columns }: ListOptions): Columns | CsvProblem {
  const headings = header.cells.map((cell) => cell.trim());
  const find = (wanted: string): number => {
    const exact = headings.indexOf(wanted);
    if (exact >= 0) return exact;
    const alike = headings.findIndex((heading) => heading.toLowerCase() === wanted.toLowerCase());
    if (alike >= 0) return alike;
    return /^[1-9]\d*$/.test(wanted) && Number(wanted) <= headings.length ? Number(wanted) - 1 : -1;
  };
  const found = new Map<Field, number>();
  for (const field of fields) {
    const wanted = columns[field];
    const at = find(wanted ?? field);
    if (at >= 0) found.set(field, at);
    else if (wanted !== undefined) {
      const near = nearest(wanted, headings);
      return {
        line: header.line,
        message: `there is no column ${wanted} for ${field}: ${near === undefined ? `the columns are ${headings.join(', ')}` : `did you mean ${near}?`}`,
      };
    }
  }
  if (found.has('part') || found.has('title')) return found;
  return {
    line: header.line,
    message: `no column says what the parts are called: name it, as in --map title=${headings[0]}`,
  };
}

function declarationOf(
  { line, cells }: CsvRecord,
  header: CsvRecord,
  columns: Columns,
  { units, separator }: ListOptions,
  taken: ReadonlyMap<string, number>,
): { name: string; text: string } | CsvProblem {
  const fault = (message: string): CsvProblem => ({ line, message });
  if (cells.length > header.cells.length)
    return fault(
      `it has ${cells.length} cells under ${header.cells.length} headings: put a cell with a separator in quotes`,
    );
  const cell = (field: Field): string => {
    const text = comment(cells[columns.get(field) ?? -1] ?? '');
    // What spreadsheets are told to take for text begins with an apostrophe.
    return text.startsWith("'") && guarded(text.slice(1)) === text ? text.slice(1) : text;
  };
  /** Where commas part no cells, they part decimals: three of them may be thousands as well. */
  const figures = (field: Field): string =>
    separator === ';' ? cell(field).replace(/(?<![\d,.])(\d+),(\d{1,2}|\d{4,})(?![\d,.])/g, '$1.$2') : cell(field);
  for (const field of ['quantity', 'thread', 'length', 'torque', 'lead'] as const) {
    const [comma] = /\d+,\d+/.exec(figures(field)) ?? [];
    if (comma !== undefined)
      return fault(
        `"${cell(field)}" has a comma between its digits: write ${comma.replace(',', '.')}${/,\d{3}$/.test(comma) ? ` or ${comma.replace(',', '')}` : ''}`,
      );
  }
  const title = cell('title');
  const given = cell('part');
  if (given === '' && title === '') return fault('it has no name and no title: write one, or take the row out');
  let name = nameFrom(given === '' ? title : given);
  const other = taken.get(name);
  if (given !== '' && other !== undefined)
    return fault(`${name} stands in line ${other} already: add the quantities up, or give it another name`);
  for (let i = 2; taken.has(name); i++) name = `${nameFrom(title)}-${i}`;
  const words = ['part', name];
  const quantity = figures('quantity');
  if (quantity !== '') {
    const count = Number(quantity);
    if (!Number.isInteger(count) || count < 1 || count > maxCount)
      return fault(`"${quantity}" is no quantity: write a whole number from 1 to ${maxCount}`);
    if (count > 1) words.push(`x${count}`);
  }
  if (title !== '') words.push(quoted(title));
  for (const field of ['thread', 'class', 'grade', 'length', 'torque', 'lead'] as const) {
    const text = figures(field);
    if (text === '') continue;
    const unit = measured.has(field) && /^-?\d+(?:\.\d+)?$/.test(text) ? units[field] : undefined;
    words.push(field, unit === undefined ? text : `${text} ${unit}`);
  }
  const number = cell('number');
  if (number !== '') words.push('number', quoted(number));
  const text = words.join(' ');
  // The language itself says whether the row makes sense.
  const model = bind(parse('', text));
  const finding = judge(model).findings.find(({ severity }) => severity === 'error');
  const one = model.ownDeclarations.length === 1 && model.steps.length === 0 && model.head === undefined;
  if (finding !== undefined || !one)
    return fault(finding?.message.replace(/[.?]$/, '') ?? 'it is no declaration: check its cells');
  return { name, text };
}

const quoted = (text: string): string => `"${text.replace(/[\\"]/g, '\\$&')}"`;

/** A name of the language: words of letters, digits and hyphens, the first sign a letter. */
function nameFrom(text: string): string {
  const plain = text
    .toLowerCase()
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}]+/gu, '-')
    .replace(/^-+|-+$/g, '');
  const free = /^\p{L}/u.test(plain) && !/^x\d+$/.test(plain) && !isReserved(plain);
  return free ? plain : plain === '' ? 'unnamed' : `part-${plain}`;
}
