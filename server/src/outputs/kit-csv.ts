import type { Kit, KitPlace } from './kit.ts';

const header = [
  'kind',
  'name',
  'title',
  'count',
  'perhaps_more',
  'quantity',
  'unit',
  'codes',
  'marking',
  'size_or_range',
  'spec',
  'used_once',
  'only_if',
  'lead_days',
  'order_by',
  'steps',
  'note',
] as const;

type Row = Partial<Record<(typeof header)[number], string | number>>;

/** What a spreadsheet would take for a formula, full-width signs included, is made text by an apostrophe. */
const formula = /^[=+\-@\t\r\n＝＋－＠]/;

/** So is what it would take for a date (`10-32`, `1/4-20`, `DEC1`), a time, or a number that it writes otherwise (`0012`, `1E5`). */
const otherwise =
  /^(?:\d{1,4}[-/]\d{1,4}(?:[-/.]\d{1,4})?|\d{1,2}\.\d{1,2}\.\d{1,4}|\d+(?::\d+)+|0\d+|\d+(?:\.\d+)?e[-+]?\d+|\d{16,}|(?:jan|feb|mar|apr|may|june?|july?|aug|sept?|oct|nov|dec)[-/. ]?\d{1,4})$/i;

/** `text`, with an apostrophe in front where a spreadsheet would make something else of it. */
export const guarded = (text: string): string => text.replace(formula, "'$&").replace(otherwise, "'$&");

/** One cell as RFC 4180 has it. */
export function cell(value: string | number | undefined): string {
  const text = typeof value === 'number' ? String(value) : guarded(value ?? '');
  return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

/** The kit as comma-separated values (RFC 4180): a header, then one row a thing. */
export function kitCsv(kit: Kit): string {
  const rows: Row[] = [];
  const common = (line: {
    name: string;
    title: string;
    count?: number;
    marking?: string;
    codes?: readonly string[];
    onlyIf: boolean;
    when: readonly string[];
    lead?: { seconds: number };
    orderBy?: string;
    places: readonly KitPlace[];
  }): Row => ({
    name: line.name,
    title: line.title,
    count: line.count,
    marking: line.marking,
    codes: line.codes?.join(' '),
    only_if: line.when.length > 0 ? line.when.join('; ') : line.onlyIf ? 'yes' : '',
    lead_days: line.lead === undefined ? undefined : rounded(line.lead.seconds / 86400),
    order_by: line.orderBy,
    steps: stepsOf(line.places),
  });
  for (const part of kit.parts) {
    rows.push({
      kind: 'part',
      ...common(part),
      perhaps_more: part.perhaps,
      size_or_range: part.size,
      spec: [part.strength, part.head].filter((each) => each !== undefined).join('; '),
      note: part.how.join('; '),
    });
  }
  for (const tool of kit.tools)
    rows.push({
      kind: 'tool',
      ...common(tool),
      size_or_range: tool.range,
      used_once: tool.once ? 'yes' : '',
      note: tool.hazards.length === 0 ? '' : `hazard ${tool.hazards.join(', ')}`,
    });
  for (const supply of kit.supplies) {
    rows.push({
      kind: 'supply',
      ...common(supply),
      quantity: supply.amount === undefined ? undefined : rounded(supply.amount.value + supply.amount.more),
      unit: supply.amount?.unit,
      spec: supply.spec,
      note: [
        ...(supply.cure === undefined ? [] : [`cures ${supply.cure}`]),
        ...(supply.hazards.length === 0 ? [] : [`hazard ${supply.hazards.join(', ')}`]),
        ...(supply.appliedTo.length === 0 ? [] : [`on ${supply.appliedTo.join(', ')}`]),
      ].join('; '),
    });
  }
  for (const extra of kit.extras)
    rows.push({
      kind: 'extra',
      title: extra.what,
      codes: extra.codes?.join(' '),
      used_once: extra.places.length === 1 ? 'yes' : '',
      steps: stepsOf(extra.places),
      note: extra.why,
    });
  for (const { thread, fasteners } of kit.threads)
    rows.push({ kind: 'thread', title: thread, note: fasteners.join('; ') });
  for (const { need, places } of kit.unnamed) rows.push({ kind: 'unnamed', title: need, steps: stepsOf(places) });
  for (const place of kit.containers) rows.push({ kind: 'container', title: place });
  return [
    header.join(','),
    ...rows.map((row) => header.map((name) => (name === 'order_by' ? (row[name] ?? '') : cell(row[name]))).join(',')),
    '',
  ].join('\r\n');
}

/** The same as a file. A spreadsheet takes one without a byte order mark for one of its own country's old code pages. */
export const kitCsvFile = (kit: Kit): string => `\uFEFF${kitCsv(kit)}`;

const stepsOf = (places: readonly KitPlace[]): string => places.map(({ step }) => step).join(' ');
/** Twelve digits: conversions leave dust behind. */
const rounded = (value: number): number => Number(value.toPrecision(12));
