import type { Chunk, NumberLiteral, Pattern } from './syntax.ts';
import { unitOf } from './units.ts';

export interface PointsMeant {
  readonly pattern: Pattern;
  /** Offset in the chunk behind the last of them, and their unit. */
  readonly end: number;
  /** As Fettle writes them. */
  readonly written: string;
}

const number = String.raw`([-−]?(?:\d+(?:\.\d+)?|\.\d+))`;
const unit = String.raw`(?:\s*([a-z]+)\b)?`;
/** `(0, 0)`, `, (0;0)`, `(0 mm, 0 mm)`, `[0, 0]`, `(0|0)` */
const point = new RegExp(
  String.raw`(?:\s*[,;])?\s*[([]\s*${number}${unit}\s*(?:[,;|/]\s*|(?<=\s))${number}${unit}\s*[)\]]${unit}`,
  'dy',
);
const none = String.raw`(\b\B)?`;
/** `0,0 60,0 mm`, `0/0 60/0 mm` */
const bare = new RegExp(String.raw`(?:\s*[,;])?[ \t]+${number}${none}[,;|/]${number}${none}(?![\d.,;|/])${unit}`, 'dy');
/** `0 0, 60 0 mm` */
const parted = new RegExp(
  String.raw`(?:\s*[,;])?[ \t]+${number}${none}[ \t]+${number}${none}(?=\s*(?:[,;a-z"#]|$))${unit}`,
  'dy',
);
const isInBrackets = /^\s*[([]/;
const isParted = new RegExp(String.raw`^\s+${number}[ \t]+${number}\s*[,;]`);

/**
 * The points that stand from offset `from` of the chunk on, with commas between them, without blanks, or with a
 * unit each; nothing where it is not certain which numbers go together (`(0,5, 1,5)`) or where units differ.
 */
export function pointsMeant(chunk: Chunk, from: number): PointsMeant | undefined {
  const points: { x: NumberLiteral; y: NumberLiteral }[] = [];
  const units = new Map<string, number>();
  let end = from;
  const begin = chunk.text.slice(from, from + 60);
  const form = isInBrackets.test(begin) ? point : isParted.test(begin) ? parted : bare;
  for (;;) {
    form.lastIndex = end;
    const found = form.exec(chunk.text);
    if (found === null) break;
    const numberAt = (group: number): NumberLiteral => {
      const [start, behind] = found.indices![group]!;
      const image = found[group]!;
      const plain = image.replace('−', '-');
      const [, decimals = ''] = plain.split('.');
      return { chunk, start, end: behind, value: Number(plain), decimals: decimals.length, image };
    };
    points.push({ x: numberAt(1), y: numberAt(3) });
    for (const group of [2, 4]) if (found[group] !== undefined) units.set(found[group], found.indices![group]![0]);
    const behind = found[5];
    end = form.lastIndex;
    if (behind === undefined) continue;
    if (unitOf(behind)?.kind === 'length') units.set(behind, found.indices![5]![0]);
    // The next clause.
    else end = found.indices![5]![0] - /\s*$/.exec(found[0].slice(0, -behind.length))![0].length;
  }
  const [name, ...others] = units;
  if (points.length < (form === point ? 1 : 2) || others.length > 0) return undefined;
  const pattern: Pattern = { form: 'points', points };
  if (name !== undefined) {
    const [text, start] = name;
    pattern.unit = { chunk, start, end: start + text.length, text, unit: unitOf(text) };
    if (pattern.unit.unit?.kind !== 'length') return undefined;
  }
  const shown = (each: NumberLiteral): string => each.image.replace(/^([-−]?)\./, '$10.');
  const pairs = points.map(({ x, y }) => `(${shown(x)}, ${shown(y)})`);
  return { pattern, end, written: [...pairs, ...units.keys()].join(' ') };
}
