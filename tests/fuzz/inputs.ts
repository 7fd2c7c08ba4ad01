import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { reservedWords } from '../../grammar/tokens.ts';
import { anyLayout, mutated, procedureText, snippet } from './generate.ts';

export interface Input {
  readonly kind: string;
  readonly text: string;
}

/** Whole numbers below a bound, the same for the same seed (mulberry32, a public-domain generator). */
export type Random = (below: number) => number;
export function randomOf(seed: number): Random {
  let state = seed >>> 0;
  return (below) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return Math.floor((((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296) * below);
  };
}

const fixtures = join(import.meta.dirname, '../checks');
/** Every fixture of the checks, markers and all. */
const corpus = readdirSync(fixtures, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.fettle'))
  .sort()
  .map((name) => readFileSync(join(fixtures, name), 'utf8'));

const nasty = [
  ...['1e999', '9'.repeat(400), `0.${'0'.repeat(400)}1`, '-0', '0', '-273.15', '1,8', '..', '0..0', '100..1', '1 ± 9'],
  ...['x0', 'x1', 'x1000000', 'x99999999999999999999', ' x4 ', ' N·m', ' mm', ' °C', ' lbf·ft', ' (18 lbf·ft)'],
  ...['\0', '\ud800', '\udfff', '\ufeff', '\r\n', '\r', '\u2028', '\u0085', '\t', '\u001b[2J', '\u007f'],
  ...['\u202e', '\u2066', '\u2069', '\u200b', '\u00ad', 'а', 'ο', 'Ⅷ', '😀', 'e\u0301', '日本'],
  ...[
    '"',
    '\\',
    '\\"',
    '""',
    '#',
    '# fettle-allow left-off: x',
    ',',
    '(',
    ')',
    '(0, 0)',
    '-',
    '/',
    '|',
    '<script>',
    '&',
  ],
  ...['constructor', '__proto__', 'toString', 'hasOwnProperty', 'prototype'],
  ...['use "unit.fettle"', 'use "../../../etc/passwd"', 'use "shared.fettle"', 'use ""'],
  ...[
    'either "a"',
    'or "b"',
    'if "c"',
    'else',
    'for DW-40',
    'end',
    'end\nend',
    'step',
    'part',
    'procedure p',
    'applies to ',
  ],
  ...['fit new', ' with ', ' keep in "x"', ' order 1 2 3', ' order star', ' at holes 1, 1', ' in stages ', ' then 90°'],
  ...['held by ', 'behind ', 'carried by ', 'renew', 'hazard heat', 'thread M8', 'class 8.8', 'bore 62 mm H7/k6'],
];

const words = /[\p{L}\p{N}-]+|\s+|./gsu;

/** A few pieces of fixtures, and then some words or bytes of them changed. */
function spliced(random: Random): string {
  const pick = <T>(all: readonly T[]): T => all[random(all.length)]!;
  let text = '';
  for (let pieces = 1 + random(3); pieces > 0; pieces--) {
    const lines = pick(corpus).split(/(?<=\n)/);
    const from = random(3) === 0 ? random(lines.length) : 0;
    text += lines.slice(from, from + 1 + random(lines.length)).join('');
  }
  text = text.slice(0, 1500);
  for (let changes = random(7); changes > 0; changes--) {
    const parts = text.match(words) ?? [''];
    const at = random(parts.length);
    switch (random(7)) {
      case 0:
        parts.splice(at, 1 + random(4));
        break;
      case 1:
        parts.splice(at, 0, pick(nasty));
        break;
      case 2:
        parts[at] = pick(nasty);
        break;
      case 3:
        parts[at] = parts[random(parts.length)]!;
        break;
      case 4:
        parts.splice(at, 0, ...parts.slice(random(parts.length)).slice(0, 1 + random(40)));
        break;
      case 5:
        parts[at] = ` ${pick(reservedWords)} `;
        break;
      default: {
        // One bit of one byte.
        const bytes = Buffer.from(parts[at]!);
        if (bytes.length > 0) bytes[random(bytes.length)]! ^= 1 << random(8);
        parts[at] = bytes.toString(random(2) === 0 ? 'utf8' : 'latin1');
      }
    }
    text = parts.join('').slice(0, 3000);
  }
  return text;
}

/** Bytes as an editor or a file gives them: as UTF-8 with its replacement signs, or byte by byte. */
function bytes(random: Random): string {
  const raw = Buffer.from(Array.from({ length: random(200) }, () => random(256)));
  return raw.toString(random(2) === 0 ? 'utf8' : 'latin1');
}
/** Any UTF-16 units, lone surrogates among them. */
const codeUnits = (random: Random): string =>
  String.fromCharCode(
    ...Array.from({ length: random(120) }, () => (random(3) === 0 ? 0xd800 + random(0x800) : random(0x10000))),
  );

const small = { parts: 4, steps: 3, statements: 4 };
const grammar = fc.oneof(procedureText(small), anyLayout(small));
const broken = mutated(small);
const snippets = fc.array(snippet, { maxLength: 40 }).map((all) => all.join(''));
const made = (arbitrary: fc.Arbitrary<string>, seed: number): string => fc.sample(arbitrary, { seed, numRuns: 1 })[0]!;

/** The input of this number: the same for the same seed. */
export function inputAt(seed: number, n: number): Input {
  const own = (Math.imul(seed, 0x9e3779b1) + Math.imul(n, 0x85ebca6b)) | 0;
  const random = randomOf(own);
  const share = random(100);
  if (share < 70) return { kind: 'spliced', text: spliced(random) };
  if (share < 78) return { kind: 'grammar', text: made(grammar, own) };
  if (share < 86) return { kind: 'broken', text: made(broken, own) };
  if (share < 90) return { kind: 'snippets', text: made(snippets, own) };
  if (share < 95) return { kind: 'bytes', text: bytes(random) };
  return { kind: 'code units', text: codeUnits(random) };
}
