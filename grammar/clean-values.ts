import type { TokenType } from 'chevrotain';
import { byHash, hashOf, type Keyword } from './clean-keywords.ts';
import { finite, maxCount, mostCodes } from './limits.ts';
import {
  type Chunk,
  type Comment,
  type Count,
  decimalsIn,
  type Name,
  type NumberLiteral,
  type PropertyClass,
  Quantity,
  type Span,
  Text,
  type UnitName,
} from './syntax.ts';
import {
  DashedNumber,
  FitPair,
  InchThread,
  isBlank,
  isDot,
  isLetter,
  isShaftClass,
  isStainlessClass,
  isTail,
  MetricThread,
  PipeThread,
} from './tokens.ts';
import { type Unit, unitOf } from './units.ts';

/** What the lexer takes for such a token, at one place. */
const placed = ({ PATTERN }: TokenType): RegExp => new RegExp((PATTERN as RegExp).source, 'y');
const fitPair = placed(FitPair);
const shortWord = /[a-z]{1,2}[0-9]{1,2}/y;
const metricThread = placed(MetricThread);
const inchThread = placed(InchThread);
const pipeThread = placed(PipeThread);
const dashedNumber = placed(DashedNumber);

const tab = 9;
const lineFeed = 10;
const carriageReturn = 13;
const space = 32;
export const quote = 34;
const hash = 35;
export const openBracket = 40;
export const closeBracket = 41;
export const comma = 44;
export const hyphen = 45;
const point = 46;
const slash = 47;
const backslash = 92;
export const smallX = 120;
const degree = 0xb0;
const plusMinus = 0xb1;

export const isDigit = (code: number): boolean => code >= 48 && code <= 57;
const addTo = (sum: number, code: number): number => (sum * 31 + code) | 0;
const isSmallLetter = (code: number): boolean => code >= 97 && code <= 122;

export type Mutable<T> = { -readonly [Field in keyof T]: T[Field] };

/** Stand for empty lists and are never added to. */
export const noComments: Comment[] = [];
export const noIssues: Chunk['issues'] = [];
export const noWords: Chunk['lostWords'] = [];
export const noNames: Name[] = [];
export const noNumbers: NumberLiteral[] = [];
export const nowhere: Chunk = { uri: '', text: '', comments: noComments, issues: noIssues, lostWords: noWords };

/**
 * The lower half of the quick way (`clean.ts`): goes through the characters of a text, and takes the names, numbers, quantities and
 * texts that declarations and statements are made of. What is not clean gives nothing, or false.
 */
export class CleanValues {
  protected text = '';
  protected base = 0;
  protected chunk: Mutable<Chunk> = nowhere;
  protected comments = noComments;
  /** Where reading stands; behind `skip`, at the next token or the end. */
  protected at = 0;
  protected skipped = false;
  /** Offset behind the last token. */
  protected last = 0;
  /** Behind `skip`: where the line behind that of the last token begins; -1 if the next token stands on the same line. */
  protected line = -1;
  /** Behind `keyword`: where it ends. */
  protected wordEnd = 0;
  private valueAt = 0;
  private unitAt = 0;

  // --- characters -----------------------------------------------------------------------------------------------------

  /** Goes to the next token, over blanks, line ends and comments. */
  protected skip(): void {
    if (this.skipped) return;
    const { text } = this;
    this.line = -1;
    let at = this.at;
    let own = at === this.base;
    for (; ; at++) {
      const code = text.charCodeAt(at);
      if (code === space || code === tab) continue;
      if (code === lineFeed || code === carriageReturn) {
        own = true;
        if (this.line < 0)
          this.line = code === carriageReturn && text.charCodeAt(at + 1) === lineFeed ? at + 2 : at + 1;
      } else if (code === hash) {
        const start = at;
        while (at + 1 < text.length && !isLineEnd(text.charCodeAt(at + 1))) at++;
        const comment: Comment = {
          chunk: this.chunk,
          start: start - this.base,
          end: at + 1 - this.base,
          text: text.slice(start, at + 1),
          ownLine: own,
        };
        this.chunk.comments = this.comments = listed(this.comments === noComments ? undefined : this.comments, comment);
      } else if (!isBlank(code)) break;
    }
    this.at = at;
    this.skipped = true;
  }

  protected take(end: number): void {
    this.at = end;
    this.last = end;
    this.skipped = false;
  }

  /** Code of the next token's first character; NaN at the end. */
  protected next(): number {
    this.skip();
    return this.text.charCodeAt(this.at);
  }

  /** The keyword that the next token is, not yet taken. */
  protected keyword(): Keyword | undefined {
    const { text, at } = this;
    let end = at;
    while (isSmallLetter(text.charCodeAt(end))) end++;
    if (end === at) return undefined;
    const code = text.charCodeAt(end);
    if (isTail(code) || (isDot(code) && isLetter(text.charCodeAt(end + 1)))) return undefined;
    this.wordEnd = end;
    const length = end - at;
    for (const keyword of byHash[hashOf(length, text.charCodeAt(at), text.charCodeAt(end - 1))]!)
      if (keyword.word.length === length && text.startsWith(keyword.word, at)) return keyword;
    return undefined;
  }

  /** Takes the keyword `word`; false where something else stands. */
  protected takeWord(word: string): boolean {
    this.skip();
    if (!this.text.startsWith(word, this.at)) return false;
    if (this.keyword()?.word !== word) return false;
    this.take(this.wordEnd);
    return true;
  }

  protected span(start: number, end: number): Span {
    return { chunk: this.chunk, start: start - this.base, end: end - this.base };
  }

  /** What stands from `start` to where the last token ends. */
  protected word(start: number): Name {
    const { text, last, base } = this;
    return { chunk: this.chunk, start: start - base, end: last - base, text: spelled(text, start, last) };
  }

  // --- values -----------------------------------------------------------------------------------------------------------

  /** Takes a name: a word of the language only where that begins nothing, or where `any` word is a name and stands on the line. */
  protected name(any = false): Name | undefined {
    this.skip();
    const { text, at, base } = this;
    const first = text.charCodeAt(at);
    if (!isLetter(first)) return undefined;
    let end = at + 1;
    let plain = isSmallLetter(first);
    let sum = addTo(0, first);
    for (let code = text.charCodeAt(end); isTail(code); code = text.charCodeAt(++end)) {
      plain &&= isSmallLetter(code);
      sum = addTo(sum, code);
    }
    const behind = text.charCodeAt(end);
    if (isDot(behind) || behind === slash) return undefined;
    if (plain && !(any && this.line < 0) && this.beginsSomething()) return undefined;
    if (first === smallX && isCount(text, at, end)) return undefined;
    this.take(end);
    return { chunk: this.chunk, start: at - base, end: end - base, text: spelled(text, at, end, sum) };
  }

  /** Whether the next word is a keyword that is no name, wherever it stands. */
  protected beginsSomething(): boolean {
    const keyword = this.keyword();
    return keyword !== undefined && (keyword.does !== 'clause' || keyword.word === 'new');
  }

  protected names(any = false): Name[] | undefined {
    let names: Name[] | undefined;
    for (;;) {
      const name = this.name(any);
      if (name === undefined) return undefined;
      names = listed(names, name);
      if (this.next() !== comma) return trimmed(names);
      this.take(this.at + 1);
    }
  }

  /** Codes of units: names that stand by themselves. */
  protected codes(): Name[] | undefined {
    const codes = this.names();
    if (codes === undefined || codes.length > mostCodes) return undefined;
    for (const { end } of codes) {
      const code = this.text.charCodeAt(this.base + end);
      if (!(Number.isNaN(code) || code === comma || code === hash || isLineEnd(code) || isBlankOrSpace(code)))
        return undefined;
    }
    return codes;
  }

  protected string(): Text | undefined {
    if (this.next() !== quote) return undefined;
    const { text, at, base } = this;
    let end = at + 1;
    for (; ; end++) {
      const code = text.charCodeAt(end);
      if (code === quote) break;
      if (Number.isNaN(code) || isLineEnd(code)) return undefined;
      if (code !== backslash) continue;
      const next = text.charCodeAt(++end);
      if (Number.isNaN(next) || isLineEnd(next)) return undefined;
    }
    this.take(end + 1);
    return new Text(this.chunk, at - base, end + 1 - base);
  }

  /** `x4`, not yet asked whether it may stand here. */
  protected count(): Count | undefined {
    const { text, at, base } = this;
    let end = at + 1;
    while (isDigit(text.charCodeAt(end))) end++;
    if (end === at + 1 || isTail(text.charCodeAt(end))) return undefined;
    const value = Number(text.slice(at + 1, end));
    if (value < 1 || value > maxCount) return undefined;
    this.take(end);
    return { chunk: this.chunk, start: at - base, end: end - base, value };
  }

  protected maybeCount(): Count | undefined | false {
    if (this.next() !== smallX) return undefined;
    return this.count() ?? false;
  }

  /** Takes a number, which then stands from `valueAt` to `last`. */
  private value(): number | undefined {
    this.skip();
    const { text, at } = this;
    let end = text.charCodeAt(at) === hyphen ? at + 1 : at;
    if (!isDigit(text.charCodeAt(end))) return undefined;
    while (isDigit(text.charCodeAt(end))) end++;
    let code = text.charCodeAt(end);
    if (code === point && isDigit(text.charCodeAt(end + 1))) {
      end++;
      while (isDigit(text.charCodeAt(end))) end++;
      code = text.charCodeAt(end);
    }
    // A list without blanks, a thread, a code.
    if ((code === comma && isDigit(text.charCodeAt(end + 1))) || code === hyphen || code === slash) return undefined;
    this.valueAt = at;
    this.take(end);
    return finite(Number(spelled(text, at, end)));
  }

  protected number(): NumberLiteral | undefined {
    const value = this.value();
    if (value === undefined) return undefined;
    const { text, valueAt, last, base } = this;
    const image = spelled(text, valueAt, last);
    return { chunk: this.chunk, start: valueAt - base, end: last - base, value, decimals: decimalsIn(image), image };
  }

  /**
   * The unit behind a number, if one stands there, which then stands from `unitAt` to `last`; false where something stands
   * that could be taken for one.
   */
  private unit(): Unit | undefined | false {
    const first = this.next();
    const { text, at } = this;
    let end = at + 1;
    if (first === degree) {
      const code = text.charCodeAt(end);
      if (code === 67 || code === 70) end++;
      if (isTail(text.charCodeAt(end))) return false;
    } else if (isLetter(first)) {
      while (isLetter(text.charCodeAt(end))) end++;
      const code = text.charCodeAt(end);
      if (isDot(code) && isLetter(text.charCodeAt(end + 1))) {
        end += 2;
        while (isLetter(text.charCodeAt(end))) end++;
      } else if (isTail(code)) {
        // A count may follow a number; a name may not.
        return first === smallX ? undefined : false;
      }
    } else return first > 127 && first !== plusMinus ? false : undefined;
    const spelling = spelled(text, at, end);
    const unit = unitOf(spelling);
    if (unit === undefined) return this.keyword() === undefined ? false : undefined;
    if (spelling === 'in') {
      // `5 in stages` has no unit.
      let behind = end;
      while (isLineEnd(text.charCodeAt(behind)) || isBlankOrSpace(text.charCodeAt(behind))) behind++;
      if (text.charCodeAt(behind) === hash) return false;
      if (text.startsWith('stages', behind)) return isTail(text.charCodeAt(behind + 6)) ? false : undefined;
    }
    this.unitAt = at;
    this.take(end);
    return unit;
  }

  protected unitName(): UnitName | undefined | false {
    const unit = this.unit();
    if (unit === undefined || unit === false) return unit;
    const { text, unitAt, last, base } = this;
    return { chunk: this.chunk, start: unitAt - base, end: last - base, text: spelled(text, unitAt, last), unit };
  }

  protected measure(): Quantity | undefined {
    const value = this.value();
    if (value === undefined) return undefined;
    const { chunk, base, valueAt, last: firstEnd } = this;
    let unit = this.unit();
    let form: Quantity['form'] = 'single';
    let second: NumberLiteral | undefined;
    if (unit === undefined) {
      const spread = this.spread();
      if (spread !== undefined) {
        form = spread;
        this.take(this.at + (spread === 'range' ? 2 : 1));
        second = this.number();
        if (second === undefined) return undefined;
        unit = this.unit();
      }
    }
    if (unit === false) return undefined;
    const start = valueAt - base;
    const end = this.last - base;
    const unitStart = unit === undefined ? 0 : this.unitAt - base;
    return new Quantity(chunk, start, end, form, value, firstEnd - base, second, unit, unitStart);
  }

  /** What the sign between two numbers says that stands next, if one does. */
  private spread(): 'range' | 'tolerance' | undefined {
    const code = this.next();
    const { text, at } = this;
    if (code === plusMinus) return 'tolerance';
    return code === point && text.charCodeAt(at + 1) === point && text.charCodeAt(at + 2) !== point
      ? 'range'
      : undefined;
  }

  protected quantity(): Quantity | undefined {
    const value = this.measure();
    if (value === undefined || this.next() !== openBracket) return value;
    this.take(this.at + 1);
    const restated = this.measure();
    if (restated === undefined || this.next() !== closeBracket) return undefined;
    this.take(this.at + 1);
    value.end = this.last - this.base;
    value.restated = restated;
    return value;
  }

  protected quantities(): Quantity[] | undefined {
    let quantities: Quantity[] | undefined;
    for (;;) {
      const quantity = this.quantity();
      if (quantity === undefined) return undefined;
      quantities = listed(quantities, quantity);
      if (this.next() !== comma) return trimmed(quantities);
      this.take(this.at + 1);
    }
  }

  /** A number with nothing to it. */
  protected bareNumber(): NumberLiteral | undefined {
    const number = this.number();
    if (number === undefined || this.unit() !== undefined || this.spread() !== undefined) return undefined;
    return this.next() === openBracket ? undefined : number;
  }

  /** `1, 5` or `1 5` */
  protected holeNumbers(): NumberLiteral[] | undefined {
    let numbers: NumberLiteral[] | undefined;
    for (;;) {
      const number = this.bareNumber();
      if (number === undefined) return undefined;
      numbers = listed(numbers, number);
      const code = this.next();
      if (code === comma) this.take(this.at + 1);
      else if (!isDigit(code)) return trimmed(numbers);
    }
  }

  /** What one of the patterns matches at the next token. */
  protected match(...patterns: readonly RegExp[]): Name | undefined {
    this.skip();
    const { at } = this;
    for (const pattern of patterns) {
      pattern.lastIndex = at;
      if (!pattern.test(this.text)) continue;
      this.take(pattern.lastIndex);
      return this.word(at);
    }
    return undefined;
  }

  /** `H7/k6`, `k6` */
  protected fit(): Name | undefined {
    const { text } = this;
    this.skip();
    shortWord.lastIndex = this.at;
    const found = shortWord.exec(text)?.[0];
    return found !== undefined && isShaftClass(found) && !isTail(text.charCodeAt(shortWord.lastIndex))
      ? this.match(shortWord)
      : this.match(fitPair);
  }

  protected propertyClass(): PropertyClass | undefined {
    if (!isLetter(this.next())) return this.bareNumber();
    const name = this.name();
    if (name === undefined || !isStainlessClass(name.text)) return undefined;
    return { chunk: name.chunk, start: name.start, end: name.end, image: name.text };
  }

  protected threadName(): Name | undefined {
    const code = this.next();
    if (isDigit(code)) return this.match(pipeThread, inchThread, dashedNumber);
    return this.match(metricThread, pipeThread) ?? (this.keyword() === undefined ? this.name() : undefined);
  }
}

/** A list that begins with one has room for no more than that. */
export function listed<T>(list: T[] | undefined, item: T): T[] {
  if (list === undefined) return [item];
  list.push(item);
  return list;
}

/** A list that grew has room for many more, and is kept as long as the text; a copy has none. */
export const trimmed = <T>(list: T[]): T[] => (list.length > 1 ? list.slice() : list);

const isBlankOrSpace = (code: number): boolean => code === space || code === tab || isBlank(code);
const isLineEnd = (code: number): boolean => code === lineFeed || code === carriageReturn;

/** `x10`, which is a count and no name. */
function isCount(text: string, start: number, end: number): boolean {
  for (let at = start + 1; at < end; at++) if (!isDigit(text.charCodeAt(at))) return false;
  return end > start + 1;
}

/** Names of the text at hand by a number made of their letters: most stand there more than once. */
const spellings: (string | undefined)[] = Array.from({ length: 65_536 });
/** The last place in use. Names of a long text are met again far below: with too few places others would have taken theirs. */
let lastPlace = 4095;

function sumOf(text: string, start: number, end: number): number {
  let sum = 0;
  for (let at = start; at < end; at++) sum = addTo(sum, text.charCodeAt(at));
  return sum;
}

/** `sum` spares a walk over the letters where the caller has gone over them. */
function spelled(text: string, start: number, end: number, sum = sumOf(text, start, end)): string {
  const place = (sum ^ (sum >>> 12)) & lastPlace;
  const known = spellings[place];
  if (known !== undefined && known.length === end - start && text.startsWith(known, start)) return known;
  const spelling = text.slice(start, end);
  spellings[place] = spelling;
  return spelling;
}

/** Makes room for the names of a text of `length` characters. */
export function roomForSpellings(length: number): void {
  lastPlace = 4095;
  while (lastPlace * 64 < length && lastPlace + 1 < spellings.length) lastPlace = 2 * lastPlace + 1;
}

/** Keeps nothing of the text. */
export function forgetSpellings(): void {
  spellings.fill(undefined, 0, lastPlace + 1);
}
