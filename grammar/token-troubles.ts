import type { IToken, TokenType } from 'chevrotain';
import { areStepsCounted, isTurns, listWithAnd } from './amount-meant.ts';
import { ChunkTokens, shown, shownText } from './chunk-tokens.ts';
import { clausesOf, propertiesOf } from './clauses.ts';
import { isBlock, isBlockPart, isDeclaration, isNameless, isPhase, isStatement, type Read } from './heads.ts';
import { maxCount } from './limits.ts';
import { conditionFor, fillers, pipeThreadMeant, pipeThreadMend } from './meant.ts';
import { touches } from './mend.ts';
import { slugOf } from './name-meant.ts';
import { nearest } from './nearest.ts';
import { inTime } from './number-meant.ts';
import { pointsMeant } from './points-meant.ts';
import { doubled } from './property-meant.ts';
import { isShape, sizesFrom } from './size-meant.ts';
import type { Chunk, Name, Pattern } from './syntax.ts';
import { conditionMeant } from './thread-meant.ts';
import {
  Comma,
  CommaNumber,
  DashedNumber,
  endOf,
  isKeyword,
  isNumber,
  isReserved,
  isShaftClass,
  isThousands,
  isUnit,
  keyword as k,
  NumberToken,
  OpenText,
  PipeThread,
  PlusMinus,
  PointNumber,
  ReservedName,
  Slash,
  setType,
  Text,
  Times,
  To,
  UnknownUnit,
  Word,
} from './tokens.ts';
import { knownSize, type Unit, unitMeant, unitOf, unitOfTwo } from './units.ts';

/** What is said of a trouble. */
export const trouble = (expected: string, found: string, mend: string, where: string): string =>
  `expected ${expected}, found ${found}${mend === '' ? '' : `: ${mend}`}; reading went on ${where}`;
export const atNextLine = 'at the next line';
export const behindIt = 'behind it';
export const textMend = 'write `warning`, `do` or what else it is before it';

/** Tokens that are, or may be, a trouble by themselves. */
const suspects: boolean[] = [];
for (const type of [OpenText, CommaNumber, PointNumber, To, UnknownUnit, Times, ReservedName, NumberToken, k.points])
  suspects[type.tokenTypeIdx!] = true;
/** Units that are the first word of another one in two. */
const beginsUnit: ReadonlySet<string> = new Set(['N', 'lb', 'lbf', 'kg', 'kgf', 'in', 'deg', '°']);

/** How a unit is written that stands there otherwise. */
interface UnitTold {
  /** Its last token. */
  readonly last: number;
  readonly meant: string;
  /** The number before it in that unit, with it, where it is another number. */
  readonly whole: string | undefined;
}

/** The troubles of a chunk: those that single tokens are by themselves, and which tokens have been told of. */
export class TokenTroubles extends ChunkTokens {
  private readonly codes: ReadonlySet<number>;
  /** Indexes of tokens that have been told of. */
  private troubled: Set<number> | undefined;

  constructor(text: string, chunk: Chunk, base: number, source: Read) {
    super(text, chunk, base, source.tokens);
    this.codes = source.codes;
  }

  protected reportTokens(first: number, last: number): void {
    for (let i = first; i < last; i++) {
      const token = this.tokens[i]!;
      const type = token.tokenType;
      if (beginsUnit.has(token.image) && this.unitInTwo(i) !== undefined) {
        setType(token, UnknownUnit);
        this.reportUnit(i);
        continue;
      }
      if (!suspects[token.tokenTypeIdx]) continue;
      if (type === k.points) {
        if (this.tokens[first]!.tokenType === k.pattern) i = this.reportPoints(first, i);
        continue;
      }
      if (type === OpenText && this.reportInches(i)) continue;
      if (type === OpenText)
        this.tell(i, 'a closing `"`', 'the end of the line', 'a text ends on its line', atNextLine);
      else if (type === CommaNumber) {
        // `between 0,1 and 0,2 mm` is told of as one.
        if (!this.isTroubled(i, i)) this.reportComma(i);
      } else if (type === PointNumber) {
        const whole = token.image.replace('.', '0.');
        const before = this.tokens[i - 1];
        const joined = before !== undefined && endOf(before) === token.startOffset ? before.image : undefined;
        const isPartOf = before !== undefined && touches(before, token);
        if (isPartOf && this.reportBolt(i)) continue;
        if (isPartOf && (before.tokenType === NumberToken || before.tokenType === Times)) {
          const [expected, of] =
            before.tokenType === Times
              ? ['a whole number', 'a count has no']
              : ['one decimal point', 'a number has one'];
          this.tell(i, expected!, shown(token), `${of} point, take the rest out`, behindIt);
          continue;
        }
        // `m8X1.25`, `M8-1.25`
        const [, size, pitch] = /^M(\d+)[x×-](\d+)$/i.exec(joined ?? '') ?? [];
        const remedy = size === undefined ? whole : `M${size}x${pitch}${token.image}`;
        const mends = joined === undefined ? whole : undefined;
        this.tell(i, 'a digit before the point', shown(token), `write \`${remedy}\``, behindIt, mends);
      } else if (type === To && token.image !== '..')
        this.tell(i, '`..`', shown(token), 'a range is written with two points', behindIt, '..');
      else if (type === UnknownUnit) this.reportUnit(i);
      else if (type === Times) {
        const count = Number(token.image.slice(1));
        if (count < 1 || count > maxCount)
          this.tell(i, `a count from 1 to ${maxCount}`, shown(token), 'correct the count', behindIt);
      } else if (type === NumberToken) {
        const behind = this.reportSizes(i);
        if (behind > i) {
          i = behind - 1;
          continue;
        }
        // `0.1-0.3`
        const before = this.tokens[i - 1];
        if (!/^[-−]/.test(token.image) || !isNumber(before) || !touches(before!, token) || this.codes.has(i)) continue;
        const range = `..${token.image.slice(1)}`;
        this.tell(i, '`..`', shown(token), 'a range is written with two points', behindIt, range);
      } else if (type === ReservedName) {
        // `replace gasket with new`: `with` is told of as none of its clauses.
        if (token.image === 'new' && this.isForeignWith(i - 1)) continue;
        const behind = this.onLine(i + 1);
        const before = this.tokens[i - 1]!;
        if (token.image === 'for' && before.tokenType === k.swap && behind?.tokenType === Word) {
          const mend = `write what goes out before it, as in \`swap OLD for ${behind.image}\``;
          this.trouble(i).add(i + 1);
          this.issue(token, behind, trouble('a name', `the reserved word ${shown(token)}`, mend, behindIt));
          continue;
        }
        // `heat new bearing`, `swap a for new b`: it stands in a name only where that is declared.
        const isNew = token.image === 'new' && !isDeclaration(before.image);
        // `replace if worn`
        if (token.image === 'if' && isStatement(before.tokenType.name) && behind?.tokenType === Word) {
          this.trouble(i).add(i + 1);
          const condition = `\`${before.image} PART "${this.written(i, i + 1)}"\``;
          const message = trouble(
            'a name',
            `the reserved word ${shown(token)}`,
            `name the part, as in ${condition}`,
            behindIt,
          );
          this.issue(token, behind, message);
          continue;
        }
        // `measure end play`, `held by end screw`
        const leads =
          isStatementOrDeclaration(before) ||
          /^(?:by|behind)$/.test(before.image) ||
          (isNew && /^(?:for|from|on|to|with)$/.test(before.image));
        if (behind?.tokenType === Word && leads && !fillers.has(behind.image)) {
          const meant = isNew ? behind.image : `${token.image}-${behind.image}`;
          const found = `the reserved word ${shown(token)}`;
          const mend = `${isNew ? '`new` stands only right behind `fit`, ' : ''}write \`${meant}\``;
          this.trouble(i).add(i + 1);
          this.issue(token, behind, trouble('a name', found, mend, behindIt), meant);
          continue;
        }
        this.reportReserved(i);
      }
    }
  }

  /** `25 x 52 x 15 mm` from `i` on; the token behind it where it was told of, or is told of with the word before it. */
  private reportSizes(i: number): number {
    if (!/^[x×]/i.test(this.onLine(i + 1)?.image ?? '')) return i;
    const line = this.beginOfLine(i).tokenType;
    if (line !== k.part && line !== k.pattern) return i;
    const before = this.tokens[i - 1];
    const { numbers, last } = sizesFrom(this, i) ?? {};
    if (last === undefined || /^[x×]$/.test(before?.image ?? '') || before?.tokenType === k.thread) return i;
    if (line === k.pattern) return isShape(before) ? last + 1 : i;
    for (let each = i; each <= last; each++) this.trouble(each);
    const mend = `sizes stand apart, as in \`bore ${numbers![0]} mm\`, others in the title`;
    const message = trouble('a property of a part', this.shownFrom(i, last), mend, behindIt);
    this.issue(this.tokens[i]!, this.tokens[last]!, message);
    return last + 1;
  }

  /** `25 N·m + 1/4 turn`, `then 1/2 turn` */
  private reportTurns(i: number): boolean {
    const first = this.fractionBefore(i);
    const [, whole = '0', over, under] = /^(?:([0-9]+)[ -])?([0-9]+)\/([0-9]+)$/.exec(this.written(first, i - 1)) ?? [];
    const degrees = 360 * (Number(whole) + Number(over) / Number(under));
    const lead = this.onLine(first - 1);
    const isThen = lead?.tokenType === k.then;
    if (
      !Number.isInteger(degrees) ||
      !(isThen || (isUnit(this.tokens[first - 2]) && /^(?:[+]|plus|and)$/.test(lead?.image ?? '')))
    )
      return false;
    const from = isThen ? first : first - 1;
    for (let each = from; each <= i; each++) this.trouble(each);
    const written = `${isThen ? '' : 'then '}${degrees}°`;
    const message = trouble('an angle in degrees', this.shownFrom(from, i), `write \`${written}\``, behindIt);
    this.issue(this.tokens[from]!, this.tokens[i]!, message, written);
    return true;
  }

  /** `circle 4 every 90°`, `circle 4 x 90°`, `circle 4x`: words behind the number of holes, up to `i` and further. */
  private reportSpacing(i: number): boolean {
    if (this.tokens[i - 2]?.tokenType !== k.circle) return false;
    const { image } = this.tokens[i]!;
    if (!/^(?:every|each|x|×|off)$/.test(image)) return false;
    const last = this.unitAt(i + 2)?.kind === 'angle' && isNumber(this.onLine(i + 1)) ? i + 2 : i;
    for (let each = i; each <= last; each++) this.trouble(each);
    const isUneven = last > i && Number(this.tokens[i - 1]!.image) * Number(this.tokens[i + 1]!.image) !== 360;
    const mend = isUneven
      ? 'holes on a circle are spaced alike, name each by `angles` where they are not'
      : last > i
        ? `holes on a circle are spaced alike, or \`angles\` names each, take ${this.shownFrom(i, last)} out`
        : 'take it out';
    const message = trouble('a property of a pattern', shown(this.tokens[i]!), mend, behindIt);
    this.issue(this.tokens[i]!, this.tokens[last]!, message, isUneven ? undefined : '');
    return true;
  }

  /** `M8x40-8.8`, `M10x1.25x60-10.9`: a bolt as lists of parts have it, whose class ends with the token at `i`. */
  private reportBolt(i: number): boolean {
    let first = i - 1;
    while (first > i - 5 && this.onLine(first - 1) && touches(this.tokens[first - 1]!, this.tokens[first])) first--;
    const form = /^(M[0-9]+(?:[x×][0-9]\.[0-9]{1,2})?)[x×]([0-9]{2,3})-([0-9]{1,2}\.[0-9]{1,2})$/;
    const [, thread, long, strength] = form.exec(this.written(first, i)) ?? [];
    if (thread === undefined) return false;
    const lead = this.tokens[first - 1]?.tokenType === k.thread ? '' : 'thread ';
    const written = `${lead}${thread.replace('×', 'x')} length ${long} mm class ${strength}`;
    for (let each = first; each <= i; each++) this.trouble(each);
    const message = trouble('a property of a part', this.shownFrom(first, i), `write \`${written}\``, behindIt);
    this.issue(this.tokens[first]!, this.tokens[i]!, message, written);
    return true;
  }

  private reportReserved(i: number): void {
    const token = this.tokens[i]!;
    const found = `the reserved word ${shown(token)}`;
    if (token.image === 'new') {
      this.tell(i, 'a name', found, '`new` stands only right behind `fit`', behindIt);
      return;
    }
    this.trouble(i);
    // `remove lid, clean lid`
    const isOther =
      this.tokens[i - 1]?.tokenType === Comma && isStatement(token.image) && this.onLine(i + 1) !== undefined;
    if (isOther && isStatement(this.beginOfLine(i).tokenType.name)) {
      this.tell(i, 'a name', found, 'each statement stands on a line of its own, without a comma', behindIt);
      return;
    }
    // `fit race with press`
    const before = this.tokens[i - 1]?.tokenType;
    const isOfFit = this.tokens[i - 3]?.tokenType === k.fit || this.tokens[i - 3]?.image === 'new';
    if (token.image === 'press' && isOfFit && (before === k.with || before === k.using)) {
      const name = this.tokens[i - 2]!.image;
      const mend = `it begins a statement, write \`press ${name}\` above, and its tool behind \`using\``;
      this.tell(i, 'a name', found, mend, behindIt);
      return;
    }
    const mend = `it begins a ${roleOf(token.image)} and cannot be a name, choose another such as \`${this.nameInPlaceOf(i)}\``;
    const message = trouble('a name', found, mend, behindIt);
    this.chunk.issues.push({ ...this.spanOf(token), message, isReservedName: true });
  }

  /** As the title of what is declared here says, where it makes a name. */
  private nameInPlaceOf(i: number): string {
    const counted = this.onLine(i + 1)?.tokenType === Times ? i + 2 : i + 1;
    const title = this.onLine(counted);
    const slug = title?.tokenType === Text ? slugOf(title.image) : '';
    return slug === '' || slug.length >= 40 || isReserved(slug) ? `${this.tokens[i]!.image}-1` : slug;
  }

  /** Points written otherwise, as they were meant. */
  protected points: Pattern | undefined;

  /** `points (0,0), (60,0) mm` of the pattern that begins at `first`; the token at which reading goes on behind `i`. */
  private reportPoints(first: number, i: number): number {
    const meant = pointsMeant(this.chunk, endOf(this.tokens[i]!) - this.base);
    if (meant === undefined) return i;
    const { pattern, end, written } = meant;
    let last = i;
    while (last + 1 < this.tokens.length && endOf(this.tokens[last + 1]!) - this.base <= end) last++;
    const isCommaLost = this.tokens.slice(i, last + 1).some(({ tokenType }) => tokenType === CommaNumber);
    const plain = this.written(i + 1, last);
    if (!isCommaLost && plain.replace(/\s/g, '') === written.replace(/\s/g, '')) return i;
    let shape = first;
    while (!shapes.has(this.tokens[shape]!.tokenType)) shape++;
    // The first one counts.
    if (shape === i) this.points = pattern;
    for (let each = i + 1; each <= last; each++) this.trouble(each);
    const found = this.shownFrom(i + 1, last);
    const message = trouble('points such as `(0, 0) (60, 0) mm`', found, `write ${shownText(written)}`, behindIt);
    this.issue(this.tokens[i + 1]!, this.tokens[last]!, message, written);
    return last;
  }

  private reportComma(i: number): void {
    const token = this.tokens[i]!;
    const listed = token.image.replaceAll(',', ', ');
    const point = token.image.replace(',', '.');
    const single = !/,.*,/.test(token.image);
    const before = this.tokens[i - 1]?.tokenType;
    const behind = this.tokens[i + 1]?.tokenType;
    const end = this.onLine(i + 2);
    // `0,1..0,2`
    if (
      single &&
      (behind === To || behind === PlusMinus) &&
      end?.tokenType === CommaNumber &&
      !/,.*,/.test(end.image)
    ) {
      const written = this.written(i, i + 2).replaceAll(',', '.');
      this.trouble(i).add(i + 2);
      const found = `the commas in ${this.shownFrom(i, i + 2)}`;
      this.issue(token, end, trouble('decimal points', found, `write ${shownText(written)}`, behindIt), written);
      return;
    }
    if (
      before === k.holes ||
      before === k.order ||
      (before?.name === 'OpenBracket' && single && behind?.name === 'CloseBracket')
    )
      this.tell(i, 'a blank behind the comma', shown(token), `write \`${listed}\``, behindIt, listed);
    else
      this.tell(
        i,
        'a decimal point',
        `the comma in ${shown(token)}`,
        single
          ? isThousands(token.image)
            ? `write \`${point}\`, \`${token.image.replace(',', '')}\` where it parts thousands, or \`${listed}\` for a list`
            : `write \`${point}\`, or \`${listed}\` for a list`
          : `write \`${listed}\` for a list`,
        behindIt,
        single ? point : undefined,
      );
  }

  private reportUnit(i: number): void {
    const token = this.tokens[i]!;
    const number = this.tokens[i - 1];
    const meant = unitMeant(token.image);
    // `°x` opens the text.
    if (number === undefined) {
      this.tellUnit(i, meant);
      return;
    }
    if (this.reportTolerance(i) || this.reportThread(i) || this.reportCube(i) || this.reportHours(i)) return;
    const inTwo = this.unitInTwo(i);
    if (inTwo !== undefined) {
      const last = this.secondOfUnit(i);
      for (let each = i; each <= last; each++) this.trouble(each);
      this.noteUnit(i, last, inTwo);
      const found = this.shownFrom(i, last);
      this.issue(token, this.tokens[last]!, trouble('a unit', found, `write \`${inTwo}\``, behindIt), inTwo);
      return;
    }
    const before = this.tokens[i - 2];
    if (before?.tokenType === k.step) {
      this.trouble(i);
      this.tell(i - 1, 'a name', shown(number), 'take it out', behindIt, '');
      return;
    }
    if (isTurns.test(token.image) && this.reportTurns(i)) return;
    if (areStepsCounted(this, i) || this.reportSpacing(i)) return;
    // `row 4 pitch 20 mm`
    if (isShape(before) && this.beginOfLine(i).tokenType === k.pattern) return;
    const head = before !== undefined && fillers.has(before.image) ? this.tokens[i - 3] : before;
    // Told of with the words that were to be a text.
    if (head !== undefined && isBeforeText(head)) return;
    if (meant === undefined && this.isHowFar(i)) return;
    if (meant === undefined && this.isInWords(i)) return;
    if (meant === undefined && this.reportGrade(i)) return;
    // `bore 50k6`
    if (before?.tokenType === k.bore && isShaftClass(token.image)) {
      const size = `${number.image} mm ${token.image}`;
      this.trouble(i - 1).add(i);
      this.issue(number, token, trouble('a unit', shown(token), `write \`${size}\``, behindIt), size);
      return;
    }
    // `25x52x15`, as catalogues have a bearing
    if (/^[x×][0-9.]+[x×][0-9.]+$/.test(token.image) && this.beginOfLine(i).tokenType === k.part) {
      const mend = `sizes stand apart, as in \`bore ${number.image} mm\`, others in the title`;
      const message = trouble('a property of a part', this.shownFrom(i - 1, i), mend, behindIt);
      this.trouble(i - 1).add(i);
      this.issue(number, token, message);
      return;
    }
    // `bore 62 H7`
    if (before?.tokenType === k.bore && meant === undefined && /^[A-Z]{1,2}[0-9]{1,2}$/.test(token.image)) {
      const example = `${number.image} mm ${token.image}/k6`;
      const mend = `the unit is missing, and a fit names hole and shaft, as in \`${example}\``;
      this.tell(i, 'a unit', shown(token), mend, behindIt);
      return;
    }
    if (this.reportRange(i, meant)) return;
    if (this.filledFirst(head, i, meant)) return;
    const isWhole = !touches(number, token) && /^[0-9]+$/.test(number.image);
    // `held by 4 bolts`, `fit cover with 4 bolts`
    const isCarried = before?.image === 'by' && this.tokens[i - 3]?.tokenType === k.carried;
    const isBefore =
      before?.image === 'by'
        ? isCarried || this.tokens[i - 3]?.tokenType === k.held
        : /^(?:behind|with)$/.test(before?.image ?? '');
    if (isWhole && meant === undefined && isBefore) {
      const turned = before!.tokenType === k.with ? `${token.image} x${number.image}` : undefined;
      const mend = isCarried
        ? `one part carries a part, where these hold it write \`held by ${token.image}\``
        : turned === undefined
          ? `how many there are is declared with \`${token.image}\``
          : `a count stands behind the name, \`${turned}\``;
      this.trouble(i - 1).add(i);
      this.issue(number, token, trouble('a name', shown(number), mend, behindIt), turned);
      return;
    }
    if (head !== undefined && head.tokenType !== k.wait && isStatementOrDeclaration(head)) {
      this.trouble(i - 1).add(i);
      // `fit 4 bolts`, `fit 4x bolt`, `fit 4 pcs bolt`
      const isTimes = countWord.test(token.image) && this.onLine(i + 1)?.tokenType === Word;
      if (isWhole || isTimes) {
        const at = this.behindFillers(isTimes ? i + 1 : i);
        const name = this.onLine(at) ?? token;
        const turned = `${name.image} x${number.image}`;
        const mend = `a count stands behind the name, \`${turned}\``;
        this.trouble(at);
        this.issue(number, name, trouble('a name', shown(number), mend, behindIt), turned);
        return;
      }
      const found = `\`${number.image}${token.image}\``;
      this.issue(number, token, trouble('a name', found, 'a name begins with a letter', behindIt));
      return;
    }
    if (token.image === 'and' && this.reportList(i)) return;
    if (token.image === 'and' && before?.image === 'between' && isNumber(this.onLine(i + 1))) {
      const isLed = /^(?:limit|max|min)$/.test(this.tokens[i - 3]?.tokenType.name ?? '');
      const ends = `${number.image}..${this.tokens[i + 1]!.image}`.replaceAll(',', '.');
      const range = this.measuredAt(i) && !isLed ? `limit ${ends}` : ends;
      this.forgetIssues(i - 1, i);
      for (let each = i - 2; each <= i + 1; each++) this.trouble(each);
      const found = this.shownFrom(i - 2, i + 1);
      const mend = `a range is written with two points, \`${range}\``;
      this.issue(before, this.tokens[i + 1]!, trouble('a range', found, mend, behindIt), range);
    } else if (countWord.test(token.image) && /^[0-9]+$/.test(number.image)) {
      const count = `x${number.image}`;
      // `4 ea.`, `(4 off)`
      let last = this.onLine(i + 1)?.image === '.' ? i + 1 : i;
      const isInBrackets = before?.image === '(' && this.onLine(last + 1)?.image === ')';
      if (isInBrackets) last++;
      const first = isInBrackets ? i - 2 : i - 1;
      for (let each = first; each <= last; each++) this.trouble(each);
      const message = trouble('a unit', shown(token), `a count is written \`${count}\``, behindIt);
      this.issue(this.tokens[first]!, this.tokens[last]!, message, count);
    } else {
      const known = number.tokenType === NumberToken ? knownSize(Number(number.image), token.image) : undefined;
      // One end of a range cannot change its unit alone.
      const isEnd = before !== undefined && (before.tokenType === To || before.tokenType === PlusMinus);
      // `1/4 turn` is not four of them.
      const isWholeNumber = isEnd || before === undefined || !touches(before, number);
      if (known !== undefined && isWholeNumber) {
        const said = isEnd
          ? `write both numbers in another unit, ${number.image} ${token.image} are \`${known}\``
          : `write \`${known}\``;
        this.trouble(i);
        const unit = /[^\d. ]+$/.exec(known)![0];
        if (!isEnd) this.noteUnit(i, i, unit, known);
        this.issue(number, token, trouble('a unit', shown(token), said, behindIt), isEnd ? undefined : known);
        return;
      }
      this.tellUnit(i, meant);
    }
  }

  /** `in stages 10, 20 and 30 N·m`, whose `and` stands at `i`. */
  private reportList(i: number): boolean {
    const [words, written, last, first] = listWithAnd(this, i) ?? [];
    if (first === undefined) return false;
    for (let each = first; each <= last!; each++) this.trouble(each);
    const message = trouble('a list', this.shownFrom(first, last!), words!, behindIt);
    this.issue(this.tokens[first]!, this.tokens[last!]!, message, written);
    return true;
  }

  /** `wait 1–2 hours`, `1 to 2 hours`: a range whose unit at `i` is written otherwise, too. */
  private reportRange(i: number, meant: string | undefined): boolean {
    const [from, sign] = [this.onLine(i - 3), this.onLine(i - 2)];
    if (meant === undefined || !isNumber(from) || sign === undefined) return false;
    if (sign.tokenType !== k.to && !/^[–—~]$/.test(sign.image)) return false;
    const range = `${from!.image}..${this.tokens[i - 1]!.image} ${meant}`;
    for (let each = i - 3; each <= i; each++) this.trouble(each);
    const mend = `a range is written with two points, \`${range}\``;
    const message = trouble('a range', this.shownFrom(i - 3, i), mend, behindIt);
    this.issue(from!, this.tokens[i]!, message, range);
    return true;
  }

  /** `1800 cm³` */
  private reportCube(i: number): boolean {
    const unit = cubes[this.tokens[i]!.image];
    const sign = this.onLine(i + 1);
    if (unit === undefined || sign?.image !== '³' || !touches(this.tokens[i]!, sign)) return false;
    this.tellNumber(i - 1, i + 1, `${this.tokens[i - 1]!.image} ${unit}`);
    return true;
  }

  /** `1h30`, `1h30min` */
  private reportHours(i: number): boolean {
    const [, minutes] = /^h([0-5][0-9])(?:min)?$/.exec(this.tokens[i]!.image) ?? [];
    const { image } = this.tokens[i - 1]!;
    if (minutes === undefined || !/^[0-9]+$/.test(image)) return false;
    this.tellNumber(i - 1, i, inTime(Number(image), Number(minutes)));
    return true;
  }

  /** A number and its unit, which stands behind it up to `last`, written otherwise. */
  private tellNumber(number: number, last: number, written: string): void {
    for (let each = number; each <= last; each++) this.trouble(each);
    const message = trouble('a unit', this.shownFrom(number + 1, last), `write \`${written}\``, behindIt);
    this.issue(this.tokens[number]!, this.tokens[last]!, message, written);
  }

  /** `supply oil "Oil" 2 L 75W-90` */
  private reportGrade(i: number): boolean {
    const [number, token] = [this.tokens[i - 1]!, this.tokens[i]!];
    if (!touches(number, token) || !/^W-?[0-9]+$/.test(token.image)) return false;
    if (this.beginOfLine(i).tokenType !== k.supply) return false;
    const spec = `spec "${this.written(i - 1, i)}"`;
    this.trouble(i - 1).add(i);
    const found = this.shownFrom(i - 1, i);
    this.issue(number, token, trouble('a property of a supply', found, `write \`${spec}\``, behindIt), spec);
    return true;
  }

  /** `loosen nut by 1/4 turn`, `loosen nut 1 turn`: told of with `by` or the number, which belongs to no such statement. */
  private isHowFar(i: number): boolean {
    const before = this.fractionBefore(i) - 1;
    const isBy = this.onLine(before)?.tokenType === k.by;
    if (!isBy && !isTurns.test(this.tokens[i]!.image)) return false;
    const head = this.tokens[isBy ? before - 2 : before - 1]?.tokenType.name ?? '';
    return isStatement(head) && !isNameless(head) && !clausesOf[head].includes('quantity');
  }

  /** `25 ft lbs`, `25 N m`: the unit whose first word stands at `i`, behind a number. */
  private unitInTwo(i: number): string | undefined {
    const next = this.onLine(this.secondOfUnit(i));
    if (next === undefined || (next.tokenType !== Word && next.tokenType !== UnknownUnit)) return undefined;
    return isNumber(this.tokens[i - 1]) ? unitOfTwo(this.tokens[i]!.image, next.image) : undefined;
  }

  /** Where the second word of the unit stands whose first is at `i`: `lb/ft` and `lb. ft` are no quotient, but a habit. */
  private secondOfUnit(i: number): number {
    const sign = this.onLine(i + 1);
    const isParted = sign !== undefined && touches(this.tokens[i]!, sign) && /^[./]$/.test(sign.image);
    return isParted && /^(?:lbs?f?|ft|foot|in)$/i.test(this.tokens[i]!.image) ? i + 2 : i + 1;
  }

  /** `number 6206 C3`, `spec 5W-30` */
  private isInWords(i: number): boolean {
    let lead = i - 1;
    while (isNumber(this.onLine(lead)) || this.onLine(lead)?.tokenType === Word) lead--;
    return beforeText.has(this.tokens[lead]!.tokenType);
  }

  /** `thread M8x1.25-6g-LH`, `M8x1.25-5g6g`: its tolerance is none of how a thread is written, its hand is. */
  private reportTolerance(i: number): boolean {
    const [thread, grade] = [this.onLine(i - 2), this.tokens[i - 1]!];
    const [said, second, hand = ''] = /^[a-hGH]([3-9][a-hGH])?(-LH)?$/.exec(this.tokens[i]!.image) ?? [];
    if (!/^-[3-9]$/.test(grade.image) || said === undefined || (second ?? hand) === '') return false;
    if (thread === undefined || !/^M[0-9.]+(?:x[0-9.]+)?$/.test(thread.image) || !touches(thread, grade)) return false;
    this.trouble(i - 1).add(i);
    const written = thread.image + hand;
    const mend = `a thread is written without its tolerance, write \`${written}\``;
    const found = this.shownFrom(i - 1, i);
    this.issue(thread, this.tokens[i]!, trouble('a property of a part', found, mend, behindIt), written);
    return true;
  }

  /** `thread 1/2 BSP`, `thread 1/2 UNC`, `part nipple 1/2 BSP` */
  private reportThread(i: number): boolean {
    const first = this.fractionBefore(i);
    const series = this.tokens[i]!.image;
    const size = this.written(first, i - 1);
    const pipe = pipeThreadMeant(size, series);
    const isStated = this.tokens[first - 1]?.tokenType === k.thread;
    const isUnstated = pipe !== undefined && this.lacksThread(first);
    if (!isUnstated && !(isStated && (pipe !== undefined || /^UN(?:C|F|EF)$/i.test(series)))) return false;
    for (let each = first; each <= i; each++) this.trouble(each);
    if (isUnstated) {
      const stated = `thread ${pipe}`;
      const message = trouble('a property of a part', this.shownFrom(first, i), `write \`${stated}\``, behindIt);
      this.issue(this.tokens[first]!, this.tokens[i]!, message, stated);
      return true;
    }
    const mend =
      pipe === undefined
        ? 'a unified thread is written with its threads per inch and without its series, as in `1/2-13`'
        : pipeThreadMend(pipe);
    const found = this.shownFrom(first, i);
    const expected = 'a thread such as `M8x1.25` or `1/4-20`';
    this.issue(this.tokens[first]!, this.tokens[i]!, trouble(expected, found, mend, behindIt), pipe);
    return true;
  }

  /** `bore 2"`, `thread 1/2" NPT`: the quote at `i` stands for inches. */
  private reportInches(i: number): boolean {
    const number = this.tokens[i - 1];
    if (number === undefined || !touches(number, this.tokens[i])) return false;
    const token = this.tokens[i]!;
    const rest = token.image.slice(1);
    if (number.tokenType === PipeThread) {
      const mend = 'the size of a pipe thread has no sign for inches, take it out';
      this.tell(i, 'a property of a part', '`"`', mend, atNextLine, rest);
      return true;
    }
    if (!isNumber(number)) return false;
    const first = this.fractionBefore(i);
    for (let each = first; each <= i; each++) this.trouble(each);
    const [, pitch = '', series = '', behind = ''] = /^(-[0-9.]+)? ?([a-z]+)\b(.*)$/i.exec(rest) ?? [];
    const pipe = pipeThreadMeant(this.written(first, i - 1) + pitch, series);
    const isStated = this.tokens[first - 1]?.tokenType === k.thread;
    if (pipe === undefined || !(isStated || this.lacksThread(first))) {
      const inches = isStated ? undefined : inDecimal(this.written(first, i - 1));
      const mend = 'inches are written `in`';
      const message = trouble(
        'a unit',
        '`"`',
        inches === undefined ? mend : `${mend}, write \`${inches} in\``,
        atNextLine,
      );
      for (const [word] of rest.matchAll(/\p{L}[\p{L}\d-]*/gu)) this.chunk.lostWords.push(word);
      if (inches === undefined) this.issue(token, token, message);
      else this.issue(this.tokens[first]!, token, message, `${inches} in${rest}`);
      return true;
    }
    const written = isStated ? pipe : `thread ${pipe}`;
    const message = trouble('a unit', '`"`', isStated ? pipeThreadMend(pipe) : `write \`${written}\``, atNextLine);
    this.issue(this.tokens[first]!, token, message, written + behind);
    return true;
  }

  /** `part nipple "Nipple" 1/2 BSP`: whether a size that begins at `first` stands for itself, in the declaration of a part. */
  private lacksThread(first: number): boolean {
    const before = this.tokens[first - 1]!.tokenType;
    const isFree =
      before === Text || before === Times || (before === Word && this.tokens[first - 2]?.tokenType === k.part);
    return isFree && this.beginOfLine(first).tokenType === k.part;
  }

  /** The first of the numbers and strokes that stand before `i`. */
  private fractionBefore(i: number): number {
    let first = i;
    for (;;) {
      const before = this.onLine(first - 1);
      if (!isNumber(before) && before?.tokenType !== Slash && before?.tokenType !== DashedNumber) return first;
      first--;
    }
  }

  private tellUnit(i: number, meant: string | undefined): void {
    const token = this.tokens[i]!;
    const [, isDiameter, diameter = ''] = /^(dia|diam|pcd|[Øø])([0-9.]*)$/i.exec(token.image) ?? [];
    const led = this.onLine(i - 2)?.tokenType;
    const isHardness = token.image === 'H' && led === k.class;
    // What a class or grade numbers has no unit.
    const isProperty = !isHardness && (led === k.class || led === k.grade);
    const condition = isProperty ? conditionFor(token.image) : undefined;
    const radius = doubled(this, i);
    if (radius !== undefined) {
      const [words, instead, last = i] = radius;
      for (let each = i; each <= last; each++) this.trouble(each);
      const message = trouble('a property of a pattern', shown(token), words, behindIt);
      this.issue(token, this.tokens[last]!, message, instead);
      return;
    }
    const isHeat = /^(?:heat|cool)$/.test(this.beginOfLine(i).tokenType.name);
    if (meant === '°' && isHeat) {
      this.issue(token, token, trouble('a unit', shown(token), 'write `°C`, or `°F`', behindIt));
      return;
    }
    const near =
      meant !== undefined
        ? undefined
        : isDiameter !== undefined
          ? `diameter ${diameter}`.trim()
          : nearest(token.image, clauseWords);
    // NIST SP 811, appendix B: a ton-force of 2000 lbf is 8.896443 kN, 1000 kgf are 9.80665 kN.
    const isTon = /^(?:t|tf|ton(?:ne)?s?)$/i.test(token.image);
    // `24 hrs.`
    const isDotted = touches(token, this.onLine(i + 1)) && this.tokens[i + 1]!.image === '.';
    this.trouble(i);
    if (isDotted) this.trouble(i + 1);
    if (meant !== undefined && !isProperty) this.noteUnit(i, isDotted ? i + 1 : i, meant);
    if (condition !== undefined) {
      const [words, instead, last = i] = conditionMeant(this, i, condition);
      const found = this.shownFrom(i, last);
      this.issue(token, this.tokens[last]!, trouble('a property of a part', found, words, behindIt), instead);
      return;
    }
    const message = trouble(
      isProperty ? 'a property of a part' : 'a unit',
      shown(token),
      meant !== undefined
        ? `write \`${meant}\``
        : near !== undefined
          ? `perhaps \`${near}\` was meant`
          : isHardness
            ? 'a class of set screws says how hard they are, not what they hold, take `class` out'
            : isProperty
              ? ''
              : /^gal(?:lons?)?$/i.test(token.image)
                ? 'a US gallon is 4 qt, an imperial one 8 pt'
                : isTon && this.beginOfLine(i).tokenType === k.press
                  ? 'write it in `kN`: a metric ton is 9.81 kN, one of 2000 lb 8.90 kN'
                  : `write one that Fettle knows, such as \`N·m\`, \`mm\` or \`min\`${this.measuredAt(i) ? ', or all of it in a text: `check "…"`' : ''}`,
      behindIt,
    );
    this.issue(token, this.tokens[isDotted ? i + 1 : i]!, message, meant ?? near);
  }

  private noteUnit(i: number, last: number, meant: string, whole?: string): void {
    this.unitsTold ??= new Map();
    this.unitsTold.set(i, { last, meant, whole });
  }
  /** By the tokens that units begin with of which was told how they are written. */
  private unitsTold: Map<number, UnitTold> | undefined;

  protected unitToldAt(i: number | undefined): UnitTold | undefined {
    return i === undefined ? undefined : this.unitsTold?.get(i);
  }

  /** `25 Nm.`: as `unitToldAt`, for a unit that has a point behind it. */
  protected dottedUnit(i: number | undefined): UnitTold | undefined {
    const [unit, point] = i === undefined ? [] : [this.tokens[i], this.onLine(i + 1)];
    if (!isUnit(unit) || point?.image !== '.' || !touches(unit, point)) return undefined;
    return { last: i! + 1, meant: unit.image, whole: undefined };
  }

  override unitAt(i: number): Unit | undefined {
    return unitOf(this.unitToldAt(i)?.meant ?? '') ?? super.unitAt(i);
  }

  /** As `isTroubled`, but for units of which was told how they are written. */
  protected isTroubledBesideUnits(first: number, last: number): boolean {
    if (this.troubled === undefined) return false;
    for (let i = first; i <= last; i++) {
      const unit = this.unitToldAt(i);
      if (unit !== undefined) i = unit.last;
      else if (this.troubled.has(i)) return true;
    }
    return false;
  }

  /** True within what a `measure` of the same line says. */
  private measuredAt(i: number): boolean {
    return this.beginOfLine(i).tokenType === k.measure;
  }

  /** The first token of the line of the one at `i`. */
  private beginOfLine(i: number): IToken {
    const { first, last } = this.line;
    let at = i;
    while (at !== last && this.onLine(at) !== undefined) at--;
    // A line may have thousands of troubles.
    this.line = { first: at === last ? first : at, last: i };
    return this.tokens[this.line.first]!;
  }
  /** The first token of the line that was asked of last, up to where it was asked. */
  private line = { first: 0, last: -1 };

  /** `fill 2 litres of oil`, whose unit at `i` is not written as Fettle does. */
  private filledFirst(head: IToken | undefined, i: number, meant: string | undefined): boolean {
    if (meant === undefined || (head?.tokenType !== k.fill && head?.tokenType !== k.drain)) return false;
    const at = this.behindFillers(i + 1);
    const name = this.onLine(at);
    if (name?.tokenType !== Word) return false;
    const number = this.tokens[i - 1]!;
    const turned = `${name.image} ${number.image} ${meant}`;
    for (let each = i - 1; each <= at; each++) this.trouble(each);
    const mend = `write \`${head.image} ${turned}\``;
    this.issue(number, name, trouble('a name', shown(number), mend, behindIt), turned);
    return true;
  }

  /** `with` at `i`, in a statement that has no such clause. */
  private isForeignWith(i: number): boolean {
    if (this.tokens[i]?.tokenType !== k.with) return false;
    let head = i - 1;
    while (head > 0 && this.onLine(head) && !isKeyword(this.tokens[head]!)) head--;
    const word = this.tokens[head]?.image ?? '';
    return !(isStatement(word) && clausesOf[word].includes('with'));
  }

  protected tell(i: number, expected: string, found: string, mend: string, where: string, replacement?: string): void {
    const token = this.tokens[i]!;
    this.trouble(i);
    this.issue(token, token, trouble(expected, found, mend, where), replacement);
  }

  protected issue(first: IToken, last: IToken, message: string, replacement?: string): void {
    this.chunk.issues.push({
      ...this.spanOf(first, last),
      message,
      ...(replacement === undefined ? {} : { replacement }),
    });
  }

  /** What was told of the tokens between is no trouble of its own. */
  protected forgetIssues(from: number, to: number): void {
    this.forgotten ??= new Map();
    for (let i = from; i < to; i++)
      this.forgotten.set(this.tokens[i]!.startOffset - this.base, this.chunk.issues.length);
  }
  /** For the places of tokens of which was told what is no trouble: how many issues there were then. */
  private forgotten: Map<number, number> | undefined;

  /** Once for the chunk: many lines may have something to forget. */
  protected leaveOutForgotten(): void {
    const { forgotten } = this;
    if (forgotten === undefined) return;
    const { issues } = this.chunk;
    let kept = 0;
    for (const [i, issue] of issues.entries()) if (i >= (forgotten.get(issue.start) ?? 0)) issues[kept++] = issue;
    issues.length = kept;
  }

  trouble(i: number): Set<number> {
    this.troubled ??= new Set();
    return this.troubled.add(i);
  }

  isTroubled(first: number, last: number): boolean {
    if (this.troubled !== undefined) for (let i = first; i <= last; i++) if (this.troubled.has(i)) return true;
    return false;
  }

  protected spanOf(first: IToken, last: IToken = first): { chunk: Chunk; start: number; end: number } {
    return { chunk: this.chunk, start: first.startOffset - this.base, end: endOf(last) - this.base };
  }

  protected nameAt(token: IToken): Name {
    return { ...this.spanOf(token), text: token.image };
  }
}

/** `0.004`, `1/16`, `1-1/4` as one number with a point. */
function inDecimal(written: string): string | undefined {
  if (/^[0-9]+(?:\.[0-9]+)?$/.test(written)) return written;
  const [, whole = '0', over, under] = /^(?:([0-9]+)[ -])?([0-9]+)\/([0-9]+)$/.exec(written) ?? [];
  const value = Number(whole) + Number(over) / Number(under);
  return Number.isFinite(value) ? `${Number(value.toFixed(4))}` : undefined;
}

/** Cubes of lengths, which are volumes. */
const cubes: Readonly<Record<string, string>> = { cm: 'mL', dm: 'L' };

/** What stands behind the number of a count elsewhere. */
const countWord = /^(?:x|off|pcs?|pieces?|ea|nos)$/i;

const clauseWords = [
  ...new Set([...Object.values(clausesOf), ...Object.values(propertiesOf), 'takes', 'after'].flat()),
].filter((word) => /^[a-z]{3,}$/.test(word) && word !== 'text' && word !== 'quantity');

/** What says where the holes of a pattern are. */
const shapes: ReadonlySet<TokenType> = new Set([k.circle, k.angles, k.points]);

/** Clauses that a text stands behind. */
const beforeText: ReadonlySet<TokenType> = new Set([k.number, k.plate, k.see, k.spec]);

/** `check 4 bolts`, `if 4 bolts are worn` */
const isBeforeText = ({ image, tokenType }: IToken): boolean =>
  tokenType.name === image && ((isNameless(image) && image !== 'wait') || image === 'if');

export const isStatementOrDeclaration = ({ image, tokenType }: IToken): boolean =>
  tokenType.name === image && (isStatement(image) || isDeclaration(image));

function roleOf(word: string): string {
  if (isDeclaration(word) || word === 'use' || word === 'procedure') return 'declaration';
  if (isPhase(word)) return 'phase';
  if (word === 'step') return 'step';
  return isBlock(word) || isBlockPart(word) ? 'block of alternatives' : 'statement';
}
