import { units } from '../../../grammar/units.ts';
import { type Content, type Html, html } from './html.ts';

const number = String.raw`[+−±-]?\d+(?:[.,]\d+)*`;
const symbols = units
  .flatMap(({ symbol, also }) => [symbol, ...also])
  .sort((a, b) => b.length - a.length)
  .map((symbol) => symbol.replaceAll('.', String.raw`\.`));
const unit = `(?:${symbols.join('|')})(?![\\p{L}\\d])`;
/** `20..100 mm`, and what it is times: `0.1 mm × 2`, `40 mm × 5 mm`. */
const quantity = new RegExp(
  String.raw`((?<![\p{L}\d.,/-])${number}(?:\s?(?:\.\.|–|±|to)\s?${number})?\s?${unit}(?: × ${number}(?:\s?${unit}|(?![\p{L}\d])))*)`,
  'u',
);

const rightToLeft = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\u{10800}-\u{10fff}\u{1e800}-\u{1efff}]/u;
const letter = String.raw`[\p{Script=Latin}µμΩ]`;
const latin = `(?:${letter}|[°%²³])`;
const word = String.raw`(?:${latin}|\d)+(?:(?:[./:·×–±+-]|,(?=\d))(?:${latin}|\d)+)*`;
/** `25 N·m`, `-20 °C`, `6206-C3`, `1/4-20`, `EN 388`, but of `ל-80 °C` not the hyphen; figures with nothing but blanks between them run as the words around them do. */
const leftToRight = new RegExp(
  String.raw`((?:(?<![\p{L}\p{M}\d])[+−±-])?${word}(?:(?:\s(?=${latin})|(?<=${latin})\s|\s?(?:\.\.|[–±×])\s?)${word})*)`,
  'u',
);

const beginsWithLetter = new RegExp(`^${letter}`, 'u');

/** Each second of the pieces is one that `pattern` finds. */
const told = <Piece>(text: string, pattern: RegExp, found: (piece: string) => Piece): (string | Piece)[] =>
  text.split(pattern).map((piece, i) => (i % 2 === 0 ? piece : found(piece)));

/**
 * `text` with what reads from left to right kept apart where words run from right to left. Where the text begins with a word from left to
 * right, that word, and others like it, must stay: they tell how the whole runs.
 */
function keptApart<Piece>(
  text: string,
  apart: (piece: string) => Piece,
  plain: (piece: string) => Piece,
): (string | Piece)[] {
  if (!rightToLeft.test(text)) return [plain(text)];
  const isRightToLeft = rightToLeft.test(/\p{L}/u.exec(text)?.[0] ?? '');
  return told(text, leftToRight, (piece) =>
    isRightToLeft || !beginsWithLetter.test(piece) ? apart(piece) : plain(piece),
  );
}

/** `text` with each quantity on one line, and read from left to right also beside words that run from right to left. */
export function withFigures(text: string): Content {
  const quantities = (piece: string): Content =>
    told(piece, quantity, (figure) => html`<span class="figure">${figure}</span>`);
  return keptApart(text, (piece) => html`<bdi dir="ltr">${quantities(piece)}</bdi>`, quantities);
}

/** {@link withFigures} of a short text that is all on one line: `1 h 35 min`, `M10 × 30 mm`. */
export const onOneLine = (text: string): Content => html`<span class="figure">${withFigures(text)}</span>`;

/** `text` with no-break spaces in its quantities, for whatever breaks lines at all others. */
export const unbroken = (text: string): string =>
  text
    .split(quantity)
    .map((piece, i) => (i % 2 === 0 ? piece : piece.replace(/\s/g, '\u00a0')))
    .join('');

/** Words in a drawing, as {@link withFigures} has them in a page. */
export const inDrawing = (text: string): Html =>
  html`${keptApart<Content>(
    text,
    (piece) => html`<tspan direction="ltr" unicode-bidi="isolate">${piece}</tspan>`,
    (piece) => piece,
  )}`;

/** The same where there is no markup, by the isolates of UAX #9 (LRI, FSI, PDI). */
export function isolated(text: string): string {
  if (!rightToLeft.test(text)) return text;
  const pieces = keptApart<string>(
    text,
    (piece) => `\u2066${piece}\u2069`,
    (piece) => piece,
  );
  return `\u2068${pieces.join('')}\u2069`;
}

/** The author's own words, kept apart so that text written from right to left does not reorder what stands around it. */
export const own = (text: string): Html => html`<bdi>${withFigures(text)}</bdi>`;
