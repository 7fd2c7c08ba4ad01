import { EOF, type IToken } from 'chevrotain';
import {
  clauseMeant,
  isClauseWord,
  isCount,
  meantBy,
  mendOf,
  type Node,
  type Stopped,
  slugOf,
  strayMend,
  touches,
  whatFollows,
} from './advice.ts';
import { ChunkTokens, shown } from './chunk-tokens.ts';
import { clausesOf, headClauses, needsText, propertiesOf, repeatable, rivalsOf, stepClauses } from './clauses.ts';
import { beginReading, cleanEnd, endReading, readClean } from './clean.ts';
import {
  beginsChunk,
  hazards,
  isBlock,
  isBlockPart,
  isDeclaration,
  isNameless,
  isPhase,
  isStatement,
  type Read,
  read,
} from './heads.ts';
import { maxCount, maxNesting, mostCodes } from './limits.ts';
import { applies, fillers, phaseFor, statementFor } from './meant.ts';
import { nearest } from './nearest.ts';
import { type ClauseKeeper, Rules } from './rules.ts';
import type {
  Branch,
  Chunk,
  Comment,
  Declaration,
  Head,
  Name,
  PhaseLine,
  Statement,
  Step,
  SyntaxTree,
  Use,
} from './syntax.ts';
import {
  type BlockWord,
  blockPartWords,
  blockWords,
  Comma,
  CommaNumber,
  endOf,
  isKeyword,
  isLineFirst,
  isNumber,
  isUnit,
  keyword as k,
  NumberToken,
  OpenText,
  PointNumber,
  ReservedName,
  reservedWords,
  type StatementWord,
  Stray,
  statementWords,
  Text,
  Times,
  To,
  UnknownUnit,
  Word,
} from './tokens.ts';
import { unitMeant, unitOf } from './units.ts';

/** How often reading starts anew within one line that has troubles. */
const maxRestarts = 8;

const rules = new Rules();

/** How one kind of node is read. */
interface Form {
  /** The whole of it, from its keyword on. */
  readonly rule: () => void;
  /** The clauses alone, to go on with behind a trouble. */
  readonly clauses?: () => void;
  readonly allowed: ReadonlySet<string>;
}
const none: ReadonlySet<string> = new Set();
const headForm: Form = {
  rule: rules.procedureHead,
  clauses: rules.headClauses,
  allowed: new Set(headClauses),
};
const useForm: Form = { rule: rules.useLine, allowed: none };
const stepForm: Form = {
  rule: rules.stepLine,
  clauses: rules.stepClauses,
  allowed: new Set(stepClauses),
};
const openingForm: Form = { rule: rules.blockOpening, allowed: none };
const blockPartForm: Form = { rule: rules.blockPart, allowed: none };
const declarationForms = new Map<string, Form>(
  Object.entries(propertiesOf).map(([word, allowed]) => [
    word,
    { rule: rules.declarationLine, clauses: rules.properties, allowed: new Set(allowed) },
  ]),
);
const statementForms = new Map<string, Form>(
  Object.entries(clausesOf).map(([word, allowed]) => [
    word,
    { rule: ruleOf(word as StatementWord), clauses: rules.clauses, allowed: new Set(allowed) },
  ]),
);

/** Parses a whole file. Total: any text gives a tree, with its troubles listed in the chunks. */
export function parse(uri: string, text: string): SyntaxTree {
  const { chunks, starts } = parseChunks(uri, text);
  return { uri, text, chunks, starts };
}

/** Characters that the grammar reads at first where a chunk is not clean; more where that goes on. */
const leastStretch = 2048;
/** By how much the next stretch is longer than one that did not suffice. */
const growth = 4;
/**
 * Whether a word begins a chunk can depend on two tokens behind it (`step`, end of line, `proving`, `step`, …), so that
 * the last chunks of a stretch, of which one may be cut within a word, count only at the end of the text.
 */
const lookahead = 3;
/** Clean chunks in a row behind which the next stretch begins small again. */
const cleanAgain = 8;

/**
 * Cuts `text` into chunks and parses each. The text must begin where a chunk begins.
 * `starts` are offsets in `text`; chunks lie end to end and cover it.
 */
export function parseChunks(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  beginReading(text);
  try {
    return readStretches(uri, text);
  } finally {
    endReading();
  }
}

function readStretches(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  const chunks: Chunk[] = [];
  const starts: number[] = [];
  let stretch = leastStretch;
  let clean = cleanAgain;
  for (let at = 0; ; ) {
    const chunk = readClean(uri, text, at);
    if (chunk !== undefined) {
      chunks.push(chunk);
      starts.push(at);
      at = cleanEnd();
      clean++;
      if (at === text.length) return { chunks, starts };
      continue;
    }
    stretch = clean >= cleanAgain ? leastStretch : stretch * growth;
    clean = 0;
    let part = parseByGrammar(uri, text.slice(at, at + stretch));
    let taken = countOfWhole(part, text, at, stretch);
    for (; taken === 0; taken = countOfWhole(part, text, at, stretch)) {
      stretch *= growth;
      part = parseByGrammar(uri, text.slice(at, at + stretch));
    }
    for (let c = 0; c < taken; c++) {
      chunks.push(part.chunks[c]!);
      starts.push(at + part.starts[c]!);
    }
    if (taken === part.chunks.length) return { chunks, starts };
    at += part.starts[taken]!;
  }
}

/** How many of the chunks read from a stretch of `text` are as in the whole text; reading goes on where a line begins. */
function countOfWhole({ starts }: { starts: number[] }, text: string, at: number, stretch: number): number {
  if (at + stretch >= text.length) return starts.length;
  let count = Math.max(0, starts.length - lookahead);
  while (count > 0 && !isLineFirst(text, at + starts[count]!)) count--;
  return count;
}

/** As `parseChunks`, all of it by the grammar. */
export function parseByGrammar(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  const source = read(text);
  const { tokens, comments, heads } = source;
  // A chunk begins with the line behind the last line of the one before, so that a comment goes with what it stands above.
  const starts: number[] = [0];
  const firstHead: number[] = [0];
  for (let h = 0; h < heads.length; h++) {
    const at = heads[h]!;
    const token = tokens[at]!;
    if (!beginsChunk(token.image) || at === 0) continue;
    starts.push(cutBefore(text, endOf(tokens[at - 1]!), token.startOffset));
    firstHead.push(h);
  }
  const chunks: Chunk[] = [];
  let comment = 0;
  for (let c = 0; c < starts.length; c++) {
    const start = starts[c]!;
    const end = starts[c + 1] ?? text.length;
    const own: Comment[] = [];
    const chunk: Chunk = {
      uri,
      text: c === 0 && end === text.length ? text : text.slice(start, end),
      comments: own,
      issues: [],
      lostWords: [],
    };
    for (; comment < comments.length && comments[comment]!.startOffset < end; comment++) {
      const token = comments[comment]!;
      own.push({
        chunk,
        start: token.startOffset - start,
        end: endOf(token) - start,
        text: token.image,
        ownLine: isLineFirst(text, token.startOffset),
      });
    }
    const lastHead = firstHead[c + 1] ?? heads.length;
    const firstToken = c === 0 ? 0 : heads[firstHead[c]!]!;
    const lastToken = c + 1 < starts.length ? heads[lastHead]! : tokens.length;
    new ChunkReader(text, chunk, start, source).read(firstToken, lastToken, firstHead[c]!, lastHead);
    chunks.push(chunk);
  }
  return { chunks, starts };
}

function cutBefore(text: string, previousEnd: number, headStart: number): number {
  for (let at = previousEnd; at < headStart; at++) {
    const code = text.charCodeAt(at);
    if (code === 10) return at + 1;
    if (code === 13) return text.charCodeAt(at + 1) === 10 ? at + 2 : at + 1;
  }
  return headStart;
}

/** Where a rule stopped, and what it wanted there; nothing where it had all it needs. */
interface Stop {
  readonly at: number;
  readonly expected: string;
}

const trouble = (expected: string, found: string, mend: string, where: string): string =>
  `expected ${expected}, found ${found}${mend === '' ? '' : `: ${mend}`}; reading went on ${where}`;
const atNextLine = 'at the next line';
const behindIt = 'behind it';

/** Tokens that are, or may be, a trouble by themselves. */
const suspects: boolean[] = [];
for (const type of [OpenText, CommaNumber, PointNumber, To, UnknownUnit, Times, ReservedName, NumberToken])
  suspects[type.tokenTypeIdx!] = true;
const clausesSeen = new Set<string>();

class ChunkReader extends ChunkTokens implements ClauseKeeper, Stopped {
  private readonly heads: readonly number[];
  private readonly codes: ReadonlySet<number>;
  /** Open blocks, innermost last. */
  private readonly blocks: Statement[] = [];
  /** Blocks that are open beyond `maxNesting`. */
  private tooDeep = 0;
  /** Indexes of tokens that have been told of. */
  private troubled: Set<number> | undefined;
  /** Clauses of the node being read that have stood already. */
  readonly seen = clausesSeen;
  allowed: ReadonlySet<string> = none;
  node: Node | undefined;
  /** The first token of a line that begins with a clause which cannot be one of this node, and why; -1 if there is none. */
  private foreignLine = -1;
  private foreignReason = '';

  constructor(text: string, chunk: Chunk, base: number, source: Read) {
    super(text, chunk, base, source.tokens);
    this.heads = source.heads;
    this.codes = source.codes;
  }

  read(first: number, last: number, firstHead: number, lastHead: number): void {
    rules.chunk = this.chunk;
    rules.base = this.base;
    rules.keeper = this;
    this.reportTokens(first, last);
    const before = firstHead < lastHead ? this.heads[firstHead]! : last;
    if (before > first) this.unreadable(first, before);
    const endOfHead = (h: number): number => (h + 1 < lastHead ? this.heads[h + 1]! : last);
    for (let h = firstHead; h < lastHead; h++) {
      const from = this.heads[h]!;
      const next = endOfHead(h);
      this.proseFollows = false;
      if (this.isWaitFor(from, next)) {
        this.waitFor(from, endOfHead(++h));
        continue;
      }
      if (this.isCodesOfHead(from) && h + 1 === lastHead) {
        this.codesOfHead(from, next);
        continue;
      }
      if (this.wordOfHead(from, next)) continue;
      if (this.isKindOfEnd(from, firstHead, lastHead)) {
        this.tell(from, 'a statement', shown(this.tokens[from]!), '`end` stands alone, take it out', behindIt, '');
        if (from + 1 < next) this.unreadable(from + 1, next);
        continue;
      }
      this.proseFollows = h + 1 < lastHead && this.isProse(next, firstHead, lastHead);
      const told = this.chunk.issues.length;
      this.segment(from, next < last ? this.withoutMark(from, next) : next);
      if (this.proseFollows)
        this.tell(
          next,
          'a text in double quotes',
          shown(this.tokens[next]!),
          `words for the reader stand in quotes${codeOnly.test(this.onLine(next + 1)?.image ?? '') && !isUnit(this.onLine(next + 2)) ? ', what is for one code ends with `end`' : ''}`,
          atNextLine,
        );
      else if (this.chunk.issues.length === told || h + 1 === lastHead || !this.isInSentence(from, next)) continue;
      const line = this.nextLine(next, last);
      if (isStatement(this.tokens[from]!.image))
        this.noteLost(this.open.at(-1)!, this.wordsBetween(this.proseFollows ? next + 1 : next, line));
      this.forgetIssues(next + 1, line);
      while (h + 1 < lastHead && this.heads[h + 1]! < line) h++;
      const rest = endOfHead(h);
      if (line < rest) this.unreadable(line, rest);
    }
    this.closeBlocks(0, 'the step ends');
    const { issues } = this.chunk;
    if (issues.length > 1) issues.sort((a, b) => a.start - b.start);
  }

  // --- troubles of single tokens ------------------------------------------------------------------------------------

  private reportTokens(first: number, last: number): void {
    for (let i = first; i < last; i++) {
      const token = this.tokens[i]!;
      const type = token.tokenType;
      if (!suspects[token.tokenTypeIdx]) continue;
      if (type === OpenText)
        this.tell(i, 'a closing `"`', 'the end of the line', 'a text ends on its line', atNextLine);
      else if (type === CommaNumber) this.reportComma(i);
      else if (type === PointNumber) {
        const whole = token.image.replace('.', '0.');
        const before = this.tokens[i - 1];
        const joined = before !== undefined && endOf(before) === token.startOffset ? before.image : undefined;
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
        // `measure end play`
        if (behind?.tokenType === Word && isStatementOrDeclaration(before) && !fillers.has(behind.image)) {
          const joined = `${token.image}-${behind.image}`;
          const found = `the reserved word ${shown(token)}`;
          this.trouble(i).add(i + 1);
          this.issue(token, behind, trouble('a name', found, `write \`${joined}\``, behindIt), joined);
          continue;
        }
        this.tell(
          i,
          'a name',
          `the reserved word ${shown(token)}`,
          token.image === 'new'
            ? '`new` stands only right behind `fit`'
            : `it begins a ${roleOf(token.image)} and cannot be a name, choose another such as \`${token.image}-1\``,
          behindIt,
        );
      }
    }
  }

  private reportComma(i: number): void {
    const token = this.tokens[i]!;
    const listed = token.image.replaceAll(',', ', ');
    const point = token.image.replace(',', '.');
    const single = !/,.*,/.test(token.image);
    const before = this.tokens[i - 1]?.tokenType;
    if (before === k.holes || before === k.order || (before?.name === 'OpenBracket' && single))
      this.tell(i, 'a blank behind the comma', shown(token), `write \`${listed}\``, behindIt, listed);
    else
      this.tell(
        i,
        'a decimal point',
        `the comma in ${shown(token)}`,
        single ? `write \`${point}\`, or \`${listed}\` for a list` : `write \`${listed}\` for a list`,
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
    const before = this.tokens[i - 2];
    if (before?.tokenType === k.step) {
      this.trouble(i);
      this.tell(i - 1, 'a name', shown(number), 'take it out', behindIt, '');
      return;
    }
    const head = before !== undefined && fillers.has(before.image) ? this.tokens[i - 3] : before;
    if (this.filledFirst(head, i, meant)) return;
    const isWhole = !touches(number, token) && /^[0-9]+$/.test(number.image);
    // `held by 4 bolts`, `fit cover with 4 bolts`
    if (isWhole && meant === undefined && /^(?:by|behind|with)$/.test(before?.image ?? '')) {
      const turned = before!.tokenType === k.with ? `${token.image} x${number.image}` : undefined;
      const mend =
        turned === undefined
          ? `how many there are is declared with \`${token.image}\``
          : `a count stands behind the name, \`${turned}\``;
      this.trouble(i - 1).add(i);
      this.issue(number, token, trouble('a name', shown(number), mend, behindIt), turned);
      return;
    }
    if (head !== undefined && head.tokenType !== k.wait && isStatementOrDeclaration(head)) {
      this.trouble(i - 1).add(i);
      if (isWhole) {
        const at = this.behindFillers(i);
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
    if (/^(?:x|off|pcs?|pieces?|ea|nos)$/i.test(token.image) && /^[0-9]+$/.test(number.image)) {
      const count = `x${number.image}`;
      this.trouble(i - 1).add(i);
      this.issue(number, token, trouble('a unit', shown(token), `a count is written \`${count}\``, behindIt), count);
    } else {
      if (/^w(?:ee)?ks?$/i.test(token.image) && number.tokenType === NumberToken) {
        const days = `${Number((Number(number.image) * 7).toFixed(2))} d`;
        this.trouble(i);
        this.issue(number, token, trouble('a unit', shown(token), `write \`${days}\``, behindIt), days);
        return;
      }
      this.tellUnit(i, meant);
    }
  }

  private tellUnit(i: number, meant: string | undefined): void {
    const token = this.tokens[i]!;
    const near = meant === undefined ? nearest(token.image, clauseWords) : undefined;
    this.tell(
      i,
      'a unit',
      shown(token),
      meant !== undefined
        ? `write \`${meant}\``
        : near !== undefined
          ? `perhaps \`${near}\` was meant`
          : 'write one that Fettle knows, such as `N·m`, `mm` or `min`',
      behindIt,
      meant ?? near,
    );
  }

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

  private tell(i: number, expected: string, found: string, mend: string, where: string, replacement?: string): void {
    const token = this.tokens[i]!;
    this.trouble(i);
    this.issue(token, token, trouble(expected, found, mend, where), replacement);
  }

  private issue(first: IToken, last: IToken, message: string, replacement?: string): void {
    this.chunk.issues.push({
      ...this.spanOf(first, last),
      message,
      ...(replacement === undefined ? {} : { replacement }),
    });
  }

  trouble(i: number): Set<number> {
    this.troubled ??= new Set();
    return this.troubled.add(i);
  }

  private isTroubled(first: number, last: number): boolean {
    if (this.troubled !== undefined) for (let i = first; i <= last; i++) if (this.troubled.has(i)) return true;
    return false;
  }

  private spanOf(first: IToken, last: IToken = first): { chunk: Chunk; start: number; end: number } {
    return { chunk: this.chunk, start: first.startOffset - this.base, end: endOf(last) - this.base };
  }

  private nameAt(token: IToken): Name {
    return { ...this.spanOf(token), text: token.image };
  }

  // --- segments: from one leading keyword to the next -----------------------------------------------------------------

  private segment(from: number, to: number): void {
    const token = this.tokens[from]!;
    // The name of a keyword is the keyword itself, and one string for all.
    const word = token.tokenType.name;
    if (isStatement(word) || isBlock(word)) {
      this.statement(word, from, to);
      return;
    }
    if (isBlockPart(word)) {
      this.blockPart(from, to);
      return;
    }
    const keyword = this.spanOf(token);
    const place = { chunk: this.chunk, start: keyword.start, end: keyword.end, keyword };
    if (word === 'procedure') {
      const head: Head = { ...place, kind: 'procedure', codes: [] };
      this.chunk.item = rules.head = head;
      this.run(from, to, head, headForm);
      this.limitCodes(head);
    } else if (word === 'use') {
      const use: Use = { ...place, kind: 'use' };
      this.chunk.item = rules.use = use;
      this.run(from, to, use, useForm);
    } else if (word === 'step') {
      const step: Step = { ...place, kind: 'step', after: [], statements: [] };
      this.chunk.item = rules.step = step;
      this.run(from, to, step, stepForm);
    } else if (isDeclaration(word)) {
      const declaration: Declaration = { ...place, kind: word, heldBy: [], behind: [], hazards: [], broken: false };
      this.chunk.item = rules.declaration = declaration;
      this.run(from, to, declaration, declarationForms.get(word)!);
      for (const hazard of declaration.hazards) if (!hazards.includes(hazard.text)) this.reportHazard(hazard);
    } else if (isPhase(word)) {
      const phase: PhaseLine = { ...place, kind: word };
      this.chunk.item = phase;
      this.phaseLine(from, to);
    }
  }

  /** The job is replayed and told code by code. */
  private limitCodes(head: Head): void {
    const beyond = head.codes[mostCodes];
    if (beyond === undefined) return;
    this.chunk.issues.push({
      ...beyond,
      message: `a procedure covers ${mostCodes} codes at most: split it; reading left out this code and those behind it`,
    });
    head.codes.length = mostCodes;
  }

  /** `for DW-40` right behind the head; the caller knows that no statement follows. */
  private isCodesOfHead(from: number): boolean {
    return (
      this.tokens[from]!.tokenType === k.for &&
      this.chunk.item?.kind === 'procedure' &&
      this.chunk.strayStep === undefined &&
      codeLike.test(this.tokens[from + 1]?.image ?? '')
    );
  }

  /** `apply to DW-40`, `measure metric` in the head. */
  private wordOfHead(from: number, to: number): boolean {
    const { item, strayStep } = this.chunk;
    const { tokenType } = this.tokens[from]!;
    const behind = this.onLine(from + 1);
    if (item?.kind !== 'procedure' || strayStep !== undefined || behind === undefined) return false;
    const head = item as { -readonly [Field in keyof Head]: Head[Field] };
    let next = from + 2;
    if (tokenType === k.measure && /^(?:metric|imperial)$/.test(behind.image)) {
      this.tell(from, 'a clause of the head', '`measure`', 'perhaps `measures` was meant', behindIt, 'measures');
      head.measures ??= this.nameAt(behind);
    } else if (tokenType === k.apply && behind.image === 'to' && this.onLine(next)?.image !== 'to') {
      this.tell(from, 'a clause of the head', '`apply`', 'perhaps `applies` was meant', behindIt, 'applies');
      for (; this.onLine(next)?.tokenType === Word; next += 2) {
        head.codes.push(this.nameAt(this.tokens[next]!));
        if (this.onLine(next + 1)?.tokenType !== Comma) break;
      }
      this.limitCodes(head);
      next = this.nextLine(from, to);
    } else return false;
    this.node = head;
    this.allowed = headForm.allowed;
    while (next < to) next = this.nextLines(from, next, to, head, headForm);
    return true;
  }

  /** `end if`, where more blocks begin than end: what kind of block ends is said by none. */
  private isKindOfEnd(at: number, firstHead: number, lastHead: number): boolean {
    if (!isBlock(this.tokens[at]!.image) || this.lineFirst(at) || this.tokens[at - 1]?.tokenType !== k.end)
      return false;
    return this.onLine(at + 1) === undefined && this.openBlocks(firstHead, lastHead) > 0;
  }

  /** How many more blocks begin than end. */
  private openBlocks(firstHead: number, lastHead: number): number {
    let open = 0;
    for (let h = firstHead; h < lastHead; h++) {
      const { image } = this.tokens[this.heads[h]!]!;
      if (isBlock(image)) open++;
      else if (image === 'end') open--;
    }
    return open;
  }

  /** Reads the codes behind `for` as those behind `applies to`, and the clauses of the head behind them. */
  private codesOfHead(from: number, to: number): void {
    const head = this.chunk.item as Head;
    this.tell(from, '`applies to`', '`for`', 'codes of the unit stand behind it', behindIt, 'applies to');
    const opening = { kind: 'for' } as Statement;
    rules.statement = opening;
    const end = this.nextLine(from, to);
    this.node = head;
    this.allowed = headForm.allowed;
    const stop = this.attempt(from, end, rules.blockOpening);
    head.codes.push(...(opening.codes ?? []));
    this.limitCodes(head);
    let next = stop?.at ?? end;
    if (stop !== undefined && !isClauseWord(this.tokens[next]!, headForm.allowed)) {
      for (const name of this.wordsBetween(next, end)) this.chunk.lostWords.push(name.text);
      next = end;
    }
    while (next < to) next = this.nextLines(from, next, to, head, headForm);
  }

  private phaseLine(from: number, to: number): void {
    const line = this.nextLine(from, to);
    if (line > from + 1) {
      const found = this.tokens[from + 1]!;
      if (!this.isTroubled(from + 1, line - 1))
        this.issue(
          found,
          found,
          trouble(
            'a step',
            shown(found),
            found.tokenType === Stray ? strayMend : 'write `step` and its name',
            atNextLine,
          ),
        );
      for (const name of this.wordsBetween(from + 1, line)) this.chunk.lostWords.push(name.text);
    }
    if (line < to) this.unreadable(line, to);
  }

  private reportHazard(hazard: Name): void {
    const near = nearest(hazard.text, hazards);
    this.chunk.issues.push({
      ...hazard,
      message: trouble(
        'a hazard',
        `\`${hazard.text}\``,
        near === undefined ? `write one of ${hazards.join(', ')}` : `perhaps \`${near}\` was meant`,
        behindIt,
      ),
      ...(near === undefined ? {} : { replacement: near }),
    });
  }

  /** The list that the next statement goes to. */
  private get open(): Statement[] {
    const block = this.blocks.at(-1);
    return block === undefined ? this.step().statements : block.branches!.at(-1)!.statements;
  }

  private step(): Step {
    const item = this.chunk.item;
    if (item?.kind === 'step') return item;
    const step: Step = {
      chunk: this.chunk,
      start: 0,
      end: this.chunk.text.length,
      kind: 'step',
      after: [],
      statements: [],
    };
    // A statement behind a declaration, a phase line or the head belongs to a step that nobody opened.
    if (item === undefined) this.chunk.item = step;
    else {
      this.chunk.strayStep ??= step;
      return this.chunk.strayStep;
    }
    return step;
  }

  /** `clauses` is where its clauses begin, where something stands between that does not belong there. */
  private statement(word: StatementWord | BlockWord, from: number, to: number, clauses?: number): void {
    const token = this.tokens[from]!;
    if (this.chunk.item?.kind !== 'step' && this.chunk.strayStep === undefined) {
      const mend =
        this.chunk.item?.kind === 'use'
          ? '`use` ended the step above, write `step NAME` above this line'
          : 'a statement stands in a step, write `step NAME` above it';
      if (!this.chunk.issues.some(({ replacement }) => replacement === 'step'))
        this.tell(from, 'a step', shown(token), mend, 'with it');
    }
    const keyword = this.spanOf(token);
    const statement: Statement = {
      chunk: this.chunk,
      start: keyword.start,
      end: keyword.end,
      kind: word,
      keyword,
      broken: false,
    };
    this.open.push(statement);
    if (isBlock(word)) {
      this.blockOpening(statement, from, to);
      return;
    }
    rules.statement = statement;
    const form = statementForms.get(word)!;
    if ((word === 'fill' || word === 'drain') && this.quantityFirst(statement, from, to, form)) return;
    if (clauses === undefined) this.run(from, to, statement, form);
    else {
      this.run(clauses, to, statement, { ...form, rule: rules.clauses });
      statement.broken = true;
    }
    // What stands behind it is no part.
    if (statement.together !== undefined && !form.allowed.has('with')) {
      this.noteLost(
        statement,
        statement.together.map(({ name }) => name),
      );
      delete statement.together;
    }
    const { stages, angle } = statement;
    if (stages !== undefined && statement.to === undefined && angle?.unit?.unit?.kind === 'torque') {
      const then = this.indexOf(angle.start + this.base) - 1;
      this.tell(then, '`,`', '`then`', 'stages are parted by commas', behindIt, ',');
      stages.push(angle);
      delete statement.angle;
      statement.broken = true;
    }
    statement.broken ||= this.proseFollows;
    if (statement.broken) return;
    const missing =
      needsText.has(word) && statement.text === undefined
        ? 'a text in double quotes'
        : word === 'wait' && statement.amount === undefined
          ? 'a time such as `60 min`'
          : word === 'fill' && statement.amount === undefined
            ? 'a quantity such as `1.8 L`'
            : (word === 'heat' || word === 'cool') && statement.to === undefined
              ? '`to` and a temperature'
              : word === 'tighten' && statement.angle !== undefined && statement.to === undefined
                ? '`to 40 N·m` before `then`'
                : undefined;
    if (missing === undefined) return;
    statement.broken = true;
    this.chunk.issues.push({
      ...keyword,
      message: trouble(missing, 'none', `\`${word}\` needs it`, 'at the next statement'),
    });
  }

  /** The words behind the statement being read begin no alternatives. */
  private proseFollows = false;

  /**
   * `inspect shaft for wear`, `check if it turns`: what would open a block, behind a statement on its line, where there are
   * more of these than are closed.
   */
  private isProse(at: number, firstHead: number, lastHead: number): boolean {
    const { tokenType } = this.tokens[at]!;
    if ((tokenType !== k.for && tokenType !== k.if) || this.lineFirst(at)) return false;
    if (this.isKindOfEnd(at, firstHead, lastHead)) return false;
    const behind = this.tokens[at + 1];
    if (tokenType === k.if ? behind?.tokenType === Text : codeLike.test(behind?.image ?? '')) return false;
    // `for dw-x clean cover`
    let list = at + 2;
    while (this.tokens[list]?.tokenType === Comma) list += 2;
    const act = this.onLine(list);
    if (tokenType === k.for && act !== undefined && isStatementOrDeclaration(act) && isNamed(this.onLine(list + 1)))
      return false;
    return this.openBlocks(firstHead, lastHead) > 0;
  }

  /**
   * `fill oil to the mark`: behind a trouble on its line, a word that stands behind an article, or has no name behind it,
   * begins no statement.
   */
  private isInSentence(from: number, at: number): boolean {
    const { image } = this.tokens[at]!;
    const word = this.tokens[from]!.image;
    if (this.lineFirst(at)) return false;
    let line = at - 1;
    while (line > from && !this.lineFirst(line)) line--;
    // `// fit it later`
    if (this.isComment(line)) return true;
    if (!isStatement(word) || !isStatement(image)) return false;
    // `do not fit it yet`
    if (needsText.has(word) && this.open.at(-1)?.text === undefined && line === from) return true;
    return (
      /^(?:an?|the)$/i.test(this.tokens[at - 1]!.image) || (!isNameless(image) && this.onLine(at + 1) === undefined)
    );
  }

  /** `//`, `--` or `/*` at the begin of a line */
  private isComment(i: number): boolean {
    return /^(?:\/\/|--|\/\*)/.test(this.text.slice(this.tokens[i]!.startOffset, this.tokens[i]!.startOffset + 2));
  }

  /** `with` at `i`, in a statement that has no such clause. */
  private isForeignWith(i: number): boolean {
    if (this.tokens[i]?.tokenType !== k.with) return false;
    let head = i - 1;
    while (head > 0 && this.onLine(head) && !isKeyword(this.tokens[head]!)) head--;
    return !statementForms.get(this.tokens[head]?.image ?? '')?.allowed.has('with');
  }

  /** What was told of the tokens between is no trouble of its own. */
  private forgetIssues(from: number, to: number): void {
    if (from >= to) return;
    const start = this.tokens[from]!.startOffset - this.base;
    const end = endOf(this.tokens[to - 1]!) - this.base;
    const { issues } = this.chunk;
    const others = issues.filter((issue) => issue.start < start || issue.start >= end);
    issues.splice(0, issues.length, ...others);
  }

  /** `wait for 20 min`: the `for` opens no block of one code. */
  private isWaitFor(from: number, next: number): boolean {
    return (
      next === from + 1 &&
      this.tokens[from]!.tokenType === k.wait &&
      this.tokens[next]?.tokenType === k.for &&
      !this.lineFirst(next) &&
      isNumber(this.tokens[next + 1])
    );
  }

  /** Where the segment ends without the number or dash that stands before the word of the next: `1. remove bolt`. */
  private withoutMark(from: number, next: number): number {
    const mark = next - 1;
    const sign = this.tokens[mark]!;
    const isBracket = sign.image === ')';
    if (mark === from || (sign.tokenType !== Stray && !isBracket) || this.lineFirst(next)) return next;
    const before = this.tokens[mark - 1];
    const isNumbered =
      ((sign.image === '.' || isBracket) && isNumber(before)) || (isBracket && /^[a-z]$/i.test(before?.image ?? ''));
    const first = isNumbered ? mark - 1 : mark;
    // `( 0 N·m` and `)` on the line below
    for (let i = first - 1; isBracket && i > from; i--) {
      if (this.tokens[i]!.tokenType.name === 'CloseBracket') break;
      if (this.tokens[i]!.tokenType.name === 'OpenBracket') return next;
    }
    if (first === from || !this.lineFirst(first) || !(isNumbered || /^[-.*•–]$/.test(sign.image))) return next;
    const mend = `${first < mark ? 'lines have no numbers, ' : ''}take it out`;
    const token = this.tokens[first]!;
    this.issue(token, sign, trouble('a statement', shown(token), mend, behindIt), '');
    return first;
  }

  /** `fill 1.8 L oil`, `drain 1.8 L of oil`, `fill with 1.8 L of oil` */
  private quantityFirst(statement: Statement, from: number, to: number, form: Form): boolean {
    const number = this.behindFillers(from + 1);
    const unit = this.endOfQuantity(number);
    if (unit === undefined || !isUnit(this.onLine(unit))) return false;
    const last = this.behindFillers(unit + 1);
    const name = this.onLine(last);
    let next = last + 1;
    if (name?.tokenType !== Word || (next < to && this.onLine(next) && !isClauseWord(this.tokens[next]!, form.allowed)))
      return false;
    const first = this.tokens[from + 1]!;
    const meant = `${name.image} ${this.written(number, unit)}`;
    if (!this.isTroubled(from + 1, last))
      this.issue(
        first,
        name,
        trouble(
          'a name',
          shown(first),
          `write ${this.shownFrom(number, unit, `${statement.kind} ${name.image} `)}`,
          behindIt,
        ),
        meant,
      );
    statement.broken = true;
    statement.words = this.wordsBetween(from + 1, next);
    (statement as Node).end = endOf(name) - this.base;
    this.node = statement;
    this.allowed = form.allowed;
    this.seen.clear();
    while (next < to) next = this.nextLines(from, next, to, statement, form);
    return true;
  }

  private waitFor(from: number, to: number): void {
    this.tell(from + 1, 'a time such as `60 min`', '`for`', 'take it out', behindIt, '');
    this.statement('wait', from, to, from + 2);
  }

  private blockOpening(statement: Statement, from: number, to: number): void {
    const branch: { keyword: Branch['keyword']; text?: Branch['text']; statements: Statement[] } = {
      keyword: statement.keyword,
      statements: [],
    };
    statement.branches = [branch];
    if (this.tooDeep > 0 || this.blocks.length >= maxNesting) {
      this.tooDeep++;
      statement.broken = true;
      this.tell(
        from,
        `at most ${maxNesting} alternatives within each other`,
        'one more',
        'turn the inner ones into steps of their own',
        behindIt,
      );
    } else this.blocks.push(statement);
    const told = statement.broken;
    rules.statement = statement;
    this.run(from, to, statement, openingForm);
    branch.text = statement.text;
    statement.broken ||= told;
  }

  /** `or`, `else`, `end` */
  private blockPart(from: number, to: number): void {
    const token = this.tokens[from]!;
    const word = token.image;
    const keyword = this.spanOf(token);
    const part: Statement = { ...keyword, kind: 'unknown', keyword, broken: false };
    rules.statement = part;
    if (this.tooDeep > 0) {
      if (word === 'end') this.tooDeep--;
      this.run(from, to, part, blockPartForm);
      return;
    }
    const opens = word === 'or' ? 'either' : word === 'else' ? 'if' : undefined;
    const fits = (block: Statement): boolean =>
      opens === undefined || (block.kind === opens && !(opens === 'if' && block.branches!.length > 1));
    const depth = this.blocks.findLastIndex(fits);
    if (depth < 0) {
      this.tell(
        from,
        opens === undefined ? '`either`, `if` or `for` before it' : `an open \`${opens}\` before it`,
        shown(token),
        opens === undefined
          ? 'it closes nothing, take it out'
          : `it parts the branches of \`${opens}\` and nothing else`,
        behindIt,
      );
      this.run(from, to, part, blockPartForm);
      return;
    }
    this.closeBlocks(depth + 1, `\`${word}\``);
    const block = this.blocks[depth]!;
    if (word === 'end') {
      this.blocks.pop();
      block.closing = keyword;
      this.run(from, to, part, blockPartForm);
    } else {
      const branch: { keyword: Branch['keyword']; text?: Branch['text']; statements: Statement[] } = {
        keyword,
        statements: [],
      };
      block.branches!.push(branch);
      this.run(from, to, part, blockPartForm);
      branch.text = part.text;
    }
    (block as { end: number }).end = part.end;
  }

  /** Closes the blocks from `depth` on, whose `end` is missing. */
  private closeBlocks(depth: number, before: string): void {
    while (this.blocks.length > depth) {
      const block = this.blocks.pop()!;
      const last = block.branches!.at(-1)!.statements.at(-1);
      if (last !== undefined && last.end > block.end) (block as { end: number }).end = last.end;
      this.chunk.issues.push({
        ...block.keyword,
        message: trouble(
          `the \`end\` of this \`${block.kind}\``,
          `none before ${before}`,
          'write `end` behind its last statement',
          'as if it stood there',
        ),
      });
      block.broken = true;
    }
  }

  // --- running a rule, and what happens when it stops ---------------------------------------------------------------

  /** Asked by the rules before each clause is read. */
  clause(word: string, token: IToken): void {
    const node = this.node!;
    const foreign = !this.allowed.has(word);
    const again = this.seen.has(word) && !repeatable.has(word);
    const rival = rivalsOf.get(word)?.find((other) => this.seen.has(other));
    if (!foreign && !again && rival === undefined) {
      this.seen.add(word);
      return;
    }
    if (this.foreignLine >= 0) return;
    const at = this.indexOf(token.startOffset);
    const found = word === 'text' || word === 'quantity' || word === 'xN' ? shown(token) : `\`${word}\``;
    const count =
      word === 'quantity' &&
      this.allowed.has('xN') &&
      isCount(this, at) &&
      (node as Statement | Declaration).count === undefined
        ? `x${token.image}`
        : undefined;
    const told = foreign
      ? {
          expected: whatFollows(this),
          found,
          mend: `${word === 'text' ? 'a text' : word === 'quantity' ? 'a bare quantity' : found} does not belong to \`${node.kind}\``,
        }
      : !again
        ? { expected: `\`${rival}\` or ${found}`, found: 'both', mend: 'take one of them out' }
        : (twice[word] ?? { expected: `${found} once`, found: 'it again', mend: 'the first counts' });
    const meant = foreign || again ? clauseMeant(this, word, at) : undefined;
    const mend = count !== undefined ? `a count is written \`${count}\`` : (meant?.[0] ?? told.mend);
    const replacement = count ?? meant?.[1];
    const reason = [told.expected, told.found, mend] as const;
    if (count !== undefined) this.countMeant(token);
    if (this.lineFirst(at)) {
      this.foreignLine = at;
      this.foreignReason = trouble(...reason, atNextLine);
      return;
    }
    node.broken = true;
    if (word === 'quantity' && this.allowed.has('xN') && this.tokens[at - 1]?.tokenType === Word)
      this.countUnsure = isStatement(node.kind);
    this.foreignAt = at;
    if (!this.isTroubled(at - 1, at))
      this.issue(token, this.tokens[meant?.[2] ?? at]!, trouble(...reason, behindIt), replacement);
  }

  /** The last clause on the line being read that was told of as none of the node's; -1 if there is none. */
  private foreignAt = -1;

  /** Whether what stands at `at` belongs to a clause that was told of: it goes with it. */
  private isOfForeign(at: number): boolean {
    if (this.foreignAt < 0 || this.foreignAt >= at) return false;
    for (let i = this.foreignAt + 1; i < at; i++)
      if (this.lineFirst(i) || isClauseWord(this.tokens[i]!, this.allowed)) return false;
    return at === this.tokens.length || !this.lineFirst(at);
  }

  /** A number that was told of, and can be nothing but a count, counts; of a statement, what it acts on stays unsure. */
  countMeant(number: IToken): void {
    const node = this.node as Declaration;
    if (!isDeclaration(node.kind)) return;
    node.count ??= { ...this.spanOf(number), value: Math.min(Number(number.image), maxCount) };
  }
  /** A number stands where a count belongs: what the statement acts on is not known. */
  private countUnsure = false;

  private run(from: number, to: number, node: Node, form: Form): void {
    const told = this.chunk.issues.length;
    this.node = node;
    this.allowed = form.allowed;
    let end = to;
    let stop = this.attemptWhole(from, to, form);
    let reason: string | undefined;
    if (stop !== undefined) {
      // A line that begins with a word which does not go on with this node is a statement of its own.
      let line = Math.min(stop.at, to - 1);
      while (line > from && !this.lineFirst(line)) line--;
      if (line > from && !this.goesOn(line, stop, form.allowed)) {
        if (line === this.foreignLine) reason = this.foreignReason;
        this.chunk.issues.length = told;
        end = line;
        clear(node);
        stop = this.attemptWhole(from, end, form);
      }
    }
    let next = stop === undefined ? end : this.recover(from, from, end, node, form, stop);
    node.end = endOf(this.tokens[next - 1]!) - this.base;
    if (this.countUnsure) (node as Statement).words = this.wordsBetween(from + 1, next);
    while (next < to) next = this.nextLines(from, next, to, node, form, next === end ? reason : undefined);
  }

  /** Reads on behind a line that had troubles: clauses of the same node, or a line that cannot be read. */
  private nextLines(from: number, first: number, to: number, node: Node, form: Form, reason?: string): number {
    let end = this.nextLine(first, to);
    if (reason === undefined && form.clauses !== undefined && isClauseWord(this.tokens[first]!, form.allowed)) {
      while (end < to && this.tokens[end - 1]!.tokenType === Comma) end = this.nextLine(end, to);
      const told = this.chunk.issues.length;
      this.foreignLine = -1;
      const stop = this.attempt(first, end, form.clauses);
      if (this.foreignLine !== first) {
        const next = stop === undefined ? end : this.recover(from, first, end, node, form, stop);
        node.end = endOf(this.tokens[next - 1]!) - this.base;
        return next;
      }
      this.chunk.issues.length = told;
      reason = this.foreignReason;
    }
    this.unreadable(first, end, reason);
    return end;
  }

  private goesOn(line: number, stop: Stop, allowed: ReadonlySet<string>): boolean {
    if (line === this.foreignLine) return false;
    const token = this.tokens[line]!;
    if (isClauseWord(token, allowed)) return true;
    if (line === stop.at) return false;
    return (
      this.tokens[line - 1]!.tokenType === Comma || !/^\p{L}/u.test(token.image) || unitOf(token.image) !== undefined
    );
  }

  /** Reads what can be read behind `stop` on its line, which is part of `first` to `to`; the first token behind that line. */
  private recover(from: number, first: number, to: number, node: Node, form: Form, stop: Stop): number {
    node.broken = true;
    this.noteWords(node, from, to, stop.at);
    const { allowed, clauses } = form;
    const isClause = (i: number): boolean => clauses !== undefined && isClauseWord(this.tokens[i]!, allowed);
    if (stop.at >= to) {
      const last = this.tokens[to - 1]!;
      const next = this.tokens[to];
      const [found, where] =
        next === undefined
          ? ['the end of the file', 'to the end']
          : this.lineFirst(to)
            ? ['the end of the line', atNextLine]
            : [shown(next), 'there'];
      if (!this.isTroubled(to - 1, to - 1) && !this.isOfForeign(to - 1) && this.foreignAt !== to - 1)
        this.issue(last, last, trouble(`${stop.expected || 'more'} behind ${shown(last)}`, found, '', where));
      return to;
    }
    const end = this.nextLine(stop.at, to);
    let next = stop.at > first && isClause(stop.at) ? stop.at : stop.at + 1;
    while (next < end && !isClause(next)) next++;
    const lost = this.wordsBetween(stop.at, next);
    this.reportStop(stop, next, next < end ? `at ${shown(this.tokens[next]!)}` : atNextLine);
    const quiet = this.chunk.issues.length;
    for (let tries = 0; next < end && tries < maxRestarts; tries++) {
      const again = this.attempt(next, end, clauses!);
      next = again === undefined ? end : Math.max(again.at, next + 1);
      const skipped = next;
      while (next < end && !isClause(next)) next++;
      lost.push(...this.wordsBetween(skipped, next));
    }
    lost.push(...this.wordsBetween(next, end));
    this.noteLost(node, lost);
    this.chunk.issues.length = quiet;
    return end;
  }

  private attemptWhole(from: number, to: number, form: Form): Stop | undefined {
    this.seen.clear();
    this.foreignLine = -1;
    this.foreignAt = -1;
    this.countUnsure = false;
    const stop = this.attempt(from, to, form.rule);
    return this.foreignLine < 0 ? stop : { at: this.foreignLine, expected: '' };
  }

  /** Runs `rule` over the tokens; nothing where all were read, else the place it stopped at and what it wanted. */
  private attempt(from: number, to: number, rule: () => void): Stop | undefined {
    const error = rules.read(rule, this.tokens, from, to);
    if (error === undefined) return undefined;
    const at = error.token.tokenType === EOF ? to : this.indexOf(error.token.startOffset);
    const inside = error.message === '' ? undefined : expectedIn[error.context.ruleStack.at(-1) ?? ''];
    return { at: Math.min(at, to), expected: inside ?? error.message };
  }

  private reportStop(stop: Stop, next: number, where: string): void {
    // One trouble a place: a stray unit or a reserved name has been told of already.
    if (this.isTroubled(stop.at - 1, next - 1)) return;
    const token = this.tokens[stop.at]!;
    const before = this.tokens[stop.at - 1];
    if (this.isOfForeign(stop.at)) return;
    // What stands behind a clause that was told of as none of this node goes with it.
    if (before !== undefined && this.chunk.issues.at(-1)?.start === before.startOffset - this.base) return;
    const [mend, replacement, last = stop.at] =
      meantBy(this, stop.at, stop.expected) ?? mendOf(this, stop.at, stop.expected);
    const expected = stop.expected === '' ? whatFollows(this) : stop.expected;
    this.issue(token, this.tokens[last]!, trouble(expected, shown(token), mend, where), replacement);
  }

  /** Names on a statement whose effect cannot be told: the ledger leaves them alone. */
  private noteWords(node: Node, from: number, to: number, stopped: number): void {
    const statement = node as Statement;
    if (!isBlock(node.kind) && !isStatement(node.kind)) return;
    const { name, count } = statement;
    const understood =
      name !== undefined &&
      (count !== undefined ||
        stopped > this.indexOf(name.start + this.base) + 1 ||
        // `remove chain and bar`: the name ends there.
        /^(?:,|and|&)$/.test(this.tokens[stopped]?.image ?? '')) &&
      this.tokens[stopped]?.tokenType !== NumberToken;
    if (understood && statement.kind !== 'swap' && statement.kind !== 'transfer') return;
    statement.words = this.wordsBetween(from + 1, to);
    const first = this.onLine(from + 1);
    // `fit "Front gear"`
    if (first?.tokenType === Text) statement.words.push({ ...this.spanOf(first), text: slugOf(first.image) });
  }

  /** Names on a line behind what could be read of it. */
  private noteLost(node: Node, lost: readonly Name[]): void {
    if (lost.length === 0) return;
    if (isDeclaration(node.kind) || node.kind === 'procedure') {
      for (const { text } of lost) this.chunk.lostWords.push(text);
    } else if (isStatement(node.kind)) {
      const statement = node as Statement;
      if (statement.words === undefined) statement.lost = [...(statement.lost ?? []), ...lost];
    }
  }

  private wordsBetween(from: number, to: number): Name[] {
    const words: Name[] = [];
    for (let i = from; i < to; i++) {
      const token = this.tokens[i]!;
      // `ring 2` may stand for `ring-2`.
      if (/^\p{L}|^[0-9]+$/u.test(token.image)) words.push(this.nameAt(token));
    }
    return words;
  }

  /** Lines that begin with no known word: each is one unknown statement. */
  private unreadable(from: number, to: number, reason?: string): void {
    for (let i = from; i < to; ) {
      const next = this.nextLine(i, to);
      const token = this.tokens[i]!;
      const last = this.tokens[next - 1]!;
      const words = this.wordsBetween(i, next);
      const inStep = this.chunk.item?.kind === 'step' || this.chunk.strayStep !== undefined;
      if (next === i + 1 && this.blocks.length > 0 && /^end-?(?:either|for|if)$/i.test(token.image)) {
        const block = this.blocks.pop()!;
        block.closing = this.spanOf(token);
        (block as Node).end = block.closing.end;
        this.issue(token, token, trouble('a statement', shown(token), 'write `end`', behindIt), 'end');
        i = next;
        continue;
      }
      if (inStep) {
        this.open.push({
          ...this.spanOf(token, last),
          kind: 'unknown',
          keyword: this.spanOf(token),
          words,
          broken: true,
        });
      } else for (const word of words) this.chunk.lostWords.push(word.text);
      if (i === from && reason !== undefined) this.issue(token, token, reason);
      else if (!this.isTroubled(i, next - 1)) {
        const other =
          (inStep ? (token.image === 'new' ? 'fit new' : statementFor(token.image)) : undefined) ??
          (next === i + 1 ? phaseFor(token.image) : undefined);
        const leads = this.onLine(next) !== undefined && /^(?:also|and|finally|next|now|then)$/i.test(token.image);
        const joined = `${token.image}${last.image}`.toLowerCase();
        const isSplit = next === i + 2 && isPhase(joined);
        const told: readonly [string, string, IToken?] | undefined =
          leads && next === i + 1
            ? ['take it out', '']
            : isSplit
              ? [`perhaps \`${joined}\` was meant`, joined, last]
              : this.isComment(i) && token.image !== '-'
                ? ['a comment begins with `#`', '#', this.tokens[i + 1]!]
                : undefined;
        if (told !== undefined) {
          const expected = inStep ? 'a statement' : 'a declaration, phase or step';
          const where = leads ? behindIt : atNextLine;
          this.issue(token, told[2] ?? token, trouble(expected, shown(token), told[0], where), told[1]);
          i = next;
          continue;
        }
        const near =
          other ?? (token.tokenType === Word ? nearest(token.image, inStep ? wordsOfStep : reservedWords) : undefined);
        this.issue(
          token,
          token,
          trouble(
            inStep ? 'a statement' : 'a declaration, phase or step',
            shown(token),
            near !== undefined
              ? `perhaps \`${near}\` was meant`
              : inStep && applies.has(token.image.toLowerCase()) && this.onLine(i + 1)?.tokenType === Word
                ? `write \`apply SUPPLY to ${this.tokens[i + 1]!.image}\``
                : 'the line is left out',
            atNextLine,
          ),
          near,
        );
        // What follows goes with the head that was not read.
        let line = next;
        while (near === 'procedure' && line < to && headClauses.includes(this.tokens[line]!.image)) {
          const end = this.nextLine(line, to);
          for (const word of this.wordsBetween(line, end)) this.chunk.lostWords.push(word.text);
          line = end;
        }
        i = line;
        continue;
      }
      i = next;
    }
  }
}

const wordsOfStep = [...statementWords, ...blockWords, ...blockPartWords, 'step'];
const clauseWords = [
  ...new Set([...Object.values(clausesOf), ...Object.values(propertiesOf), 'takes', 'after'].flat()),
].filter((word) => /^[a-z]{3,}$/.test(word) && word !== 'text' && word !== 'quantity');
/** How codes are stamped on units; words for a reader seldom look so. */
const codeLike = /^(?=.*\p{Lu})(?=.*\p{N})[\p{L}\p{N}-]+$/u;
/** What may be a code, or an abbreviation. */
const codeOnly = /^[\p{Lu}\p{N}-]{2,}$/u;
/** What to say of a clause that stands again. */
const twice: Readonly<Record<string, { expected: string; found: string; mend: string }>> = {
  text: { expected: 'one text', found: 'a second', mend: 'join the two' },
  xN: { expected: 'one count', found: 'a second', mend: 'the first counts' },
  quantity: { expected: 'one quantity', found: 'a second', mend: 'write both as one, in one unit' },
};
const isNamed = (token: IToken | undefined): boolean => token?.tokenType === Word;
/** What to say where a rule stopped within one of these. */
const expectedIn: Readonly<Record<string, string>> = {
  codes: 'a code such as `DW-40`',
  codeStart: 'a code such as `DW-40`',
  threadName: 'a thread such as `M8x1.25` or `1/4-20`',
  order: '`star`, `spiral` or hole numbers',
};

const isStatementOrDeclaration = ({ image, tokenType }: IToken): boolean =>
  tokenType.name === image && (isStatement(image) || isDeclaration(image));

const lasting: ReadonlySet<string> = new Set(['chunk', 'start', 'end', 'kind', 'keyword', 'branches', 'statements']);
/** Takes from `node` what was read, so that it can be read again. */
function clear(node: Node): void {
  const fields = node as unknown as Record<string, unknown>;
  for (const [field, value] of Object.entries(fields)) {
    if (lasting.has(field)) continue;
    if (Array.isArray(value) && !(isStatement(node.kind) || isBlock(node.kind))) value.length = 0;
    else delete fields[field];
  }
  if (isStatement(node.kind) || isBlock(node.kind) || isDeclaration(node.kind)) node.broken = false;
}

function ruleOf(word: StatementWord): () => void {
  switch (word) {
    case 'fit':
      return rules.fitStatement;
    case 'swap':
      return rules.swapStatement;
    case 'transfer':
      return rules.transferStatement;
    case 'try':
      return rules.tryStatement;
    case 'apply':
      return rules.applyStatement;
    case 'shim':
      return rules.shimStatement;
    case 'drain':
    case 'fill':
    case 'measure':
      return rules.namedStatement;
    default:
      return isNameless(word) ? rules.bareStatement : rules.partStatement;
  }
}

function roleOf(word: string): string {
  if (isDeclaration(word) || word === 'use' || word === 'procedure') return 'declaration';
  if (isPhase(word)) return 'phase';
  if (word === 'step') return 'step';
  return isBlock(word) || isBlockPart(word) ? 'block of alternatives' : 'statement';
}
