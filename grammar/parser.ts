import type { IToken } from 'chevrotain';
import { nearest } from './nearest.ts';
import { Rules } from './rules.ts';
import type { Chunk, Comment, Declaration, Head, Name, PhaseLine, Statement, Step, SyntaxTree, Use } from './syntax.ts';
import {
  asName,
  type BlockWord,
  blockPartWords,
  blockWords,
  Comma,
  CommaNumber,
  DashedNumber,
  type DeclarationWord,
  declarationWords,
  endOf,
  isContextual,
  isLineFirst,
  isReserved,
  keyword as k,
  lex,
  NumberToken,
  OpenText,
  type PhaseWord,
  PointNumber,
  phaseWords,
  ReservedName,
  reservedWords,
  type StatementWord,
  Stray,
  statementWords,
  UnknownUnit,
  Word,
} from './tokens.ts';
import { unitMeant } from './units.ts';

/** Alternatives within alternatives, at most. */
export const maxNesting = 32;

const rules = new Rules();

const isOneOf = <T extends string>(words: readonly T[]) => {
  const set: ReadonlySet<string> = new Set(words);
  return (word: string): word is T => set.has(word);
};
const isDeclaration = isOneOf(declarationWords);
const isPhase = isOneOf(phaseWords);
const isStatement = isOneOf(statementWords);
const isBlock = isOneOf(blockWords);
const isBlockPart = isOneOf(blockPartWords);
const beginsChunk = (word: string): boolean =>
  word === 'procedure' || word === 'use' || word === 'step' || isDeclaration(word) || isPhase(word);

const modifiers = ['text', 'using', 'extension', 'keep', 'see'];
const withCount = ['xN', ...modifiers];
/** The clauses that each kind of statement takes. */
const clausesOf: Record<StatementWord, readonly string[]> = {
  remove: [...withCount, 'spoiled', 'with'],
  disconnect: withCount,
  discard: withCount,
  replace: withCount,
  fit: [...withCount, 'with'],
  connect: withCount,
  swap: withCount,
  transfer: withCount,
  omit: withCount,
  try: modifiers,
  loosen: [...withCount, 'order'],
  tighten: [...withCount, 'to', 'then', 'in', 'order', 'at', 'by'],
  drain: ['quantity', ...modifiers],
  fill: ['quantity', ...modifiers],
  apply: modifiers,
  wait: ['quantity', ...modifiers],
  heat: ['to', ...withCount],
  cool: ['to', ...withCount],
  press: ['max', ...withCount],
  mark: withCount,
  support: withCount,
  clean: withCount,
  inspect: withCount,
  measure: ['limit', 'max', 'min', ...modifiers],
  shim: withCount,
  sign: modifiers,
  identify: modifiers,
  check: modifiers,
  do: modifiers,
  danger: modifiers,
  warning: modifiers,
  caution: modifiers,
  notice: modifiers,
};
const partProperties = [
  'xN',
  'text',
  'thread',
  'class',
  'grade',
  'dry',
  'oiled',
  'threadlock',
  'length',
  'torque',
  'then',
  'holes',
  'renew',
  'lead',
  'held',
  'behind',
  'carried',
  'index',
  'hazard',
  'bore',
  'interference',
  'limit',
  'sealed',
  'greased',
  'number',
];
const propertiesOf: Record<DeclarationWord, readonly string[]> = {
  part: partProperties,
  tool: ['xN', 'text', 'range', 'lead', 'number', 'hazard'],
  supply: ['xN', 'text', 'quantity', 'spec', 'cure', 'hazard', 'lead', 'number'],
  pattern: ['text', 'circle', 'angles', 'diameter', 'points'],
};
const headClauses = ['text', 'applies', 'code', 'measures'];
const stepClauses = ['text', 'takes', 'after'];
/** Clauses that may stand more than once and add up. */
const repeatable = new Set(['held', 'behind', 'hazard', 'using', 'after', 'applies', 'circle', 'angles', 'diameter']);
const needsText = isOneOf(['omit', 'sign', 'identify', 'check', 'do', 'danger', 'warning', 'caution', 'notice']);
const needsAmount = isOneOf(['fill', 'wait']);
const needsDegree = isOneOf(['heat', 'cool']);

const wordsBeforeName = new Set(['using', 'behind', 'by', 'with', 'from', 'on', 'gap', 'holes']);
const hazards = ['heat', 'pressure', 'spring', 'charge', 'chemical', 'weight'];

/** Parses a whole file. Total: any text gives a tree, with its troubles listed in the chunks. */
export function parse(uri: string, text: string): SyntaxTree {
  const { chunks, starts } = parseChunks(uri, text);
  return { uri, text, chunks, starts };
}

/**
 * Cuts `text` into chunks and parses each. The text must begin where a chunk begins.
 * `starts` are offsets in `text`; chunks lie end to end and cover it.
 */
export function parseChunks(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  const { tokens, comments } = lex(text);
  const heads = findHeads(text, tokens);
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
    new ChunkReader(text, chunk, start, tokens).read(firstToken, lastToken, heads.slice(firstHead[c], lastHead));
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

/** Indexes of the tokens that begin something; a reserved word where only a name can stand becomes a `ReservedName`. */
function findHeads(text: string, tokens: readonly IToken[]): number[] {
  const heads: number[] = [];
  let segment = '';
  let headAt = -1;
  let forSeen = false;
  let listOf = '';
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    const word = token.image;
    const previous = tokens[i - 1];
    if (previous !== undefined && previous.tokenType !== Comma && i - 1 > headAt) {
      if (previous.image === 'after' || previous.image === 'hazard') listOf = previous.image;
      else if (tokens[i - 2]?.tokenType !== Comma && tokens[i - 2]?.image !== listOf) listOf = '';
    }
    if (!isReserved(word) || token.tokenType === Word) continue;
    const inList = listOf !== '' && (previous?.tokenType === Comma || previous?.image === listOf);
    if (previous !== undefined && i - 1 === headAt && segment === 'step') {
      asName(token);
      continue;
    }
    if (
      inList &&
      segment === 'step' &&
      listOf === 'after' &&
      (previous?.tokenType !== Comma || !isLineFirst(text, token.startOffset))
    ) {
      asName(token);
      continue;
    }
    if (
      inList &&
      listOf === 'hazard' &&
      isDeclaration(segment) &&
      (hazards.includes(word) || !isLineFirst(text, token.startOffset))
    ) {
      asName(token);
      continue;
    }
    if (word === 'for' && segment === 'swap' && !forSeen && i > headAt + 1) {
      forSeen = true;
      continue;
    }
    if (word === 'new') {
      if (segment === 'fit' && i - 1 === headAt) continue;
      if (i - 1 !== headAt && previous?.tokenType !== Comma) continue;
    }
    if (
      previous !== undefined &&
      !isLineFirst(text, token.startOffset) &&
      expectsName(tokens, i - 1, headAt, segment)
    ) {
      asName(token, ReservedName);
      continue;
    }
    if (word === 'new') continue;
    heads.push(i);
    segment = word;
    headAt = i;
    forSeen = false;
    listOf = '';
  }
  return heads;
}

/** True where the token at `i` can only be followed by a name. */
function expectsName(tokens: readonly IToken[], i: number, headAt: number, segment: string): boolean {
  const token = tokens[i]!;
  if (i === headAt) {
    return segment === 'procedure' || isDeclaration(segment) || (isStatement(segment) && !needsNoName.has(segment));
  }
  if (token.tokenType === k.new || token.tokenType === Comma) return true;
  if (i - 1 === headAt || tokens[i - 1]?.tokenType === Comma || tokens[i - 1]?.tokenType === k.new) return false;
  return isContextual(token.image) && wordsBeforeName.has(token.image);
}
const needsNoName = new Set<string>([
  'wait',
  'sign',
  'identify',
  'check',
  'do',
  'danger',
  'warning',
  'caution',
  'notice',
]);

class ChunkReader {
  private readonly text: string;
  private readonly chunk: Chunk;
  private readonly base: number;
  private readonly tokens: readonly IToken[];
  /** Open blocks, innermost last. */
  private readonly blocks: Statement[] = [];
  private seen = new Set<string>();

  constructor(text: string, chunk: Chunk, base: number, tokens: readonly IToken[]) {
    this.text = text;
    this.chunk = chunk;
    this.base = base;
    this.tokens = tokens;
  }

  read(first: number, last: number, heads: readonly number[]): void {
    rules.chunk = this.chunk;
    rules.base = this.base;
    this.reportTokens(first, last);
    const before = heads[0] ?? last;
    if (before > first) this.unreadable(first, before);
    for (let h = 0; h < heads.length; h++) this.segment(heads[h]!, heads[h + 1] ?? last);
    this.closeBlocks();
  }

  // --- troubles of single tokens ------------------------------------------------------------------------------------

  private reportTokens(first: number, last: number): void {
    for (let i = first; i < last; i++) {
      const token = this.tokens[i]!;
      const type = token.tokenType;
      if (type === OpenText)
        this.issue(token, token, 'the closing `"` of this text is missing; the text ends with its line');
      else if (type === CommaNumber) {
        const point = token.image.replace(',', '.');
        this.issue(
          token,
          token,
          `a comma between digits is no decimal sign here: write \`${point}\`, or put a blank behind the comma of a list`,
          /,.*,/.test(token.image) ? undefined : point,
        );
      } else if (type === PointNumber) {
        const whole = token.image.replace('.', '0.');
        this.issue(token, token, `write \`${whole}\` with its zero`, whole);
      } else if (type === UnknownUnit) {
        const meant = unitMeant(token.image);
        this.issue(
          token,
          token,
          meant === undefined
            ? `\`${token.image}\` is no unit that Fettle knows`
            : `\`${token.image}\` is no unit that Fettle knows: write \`${meant}\``,
          meant,
        );
      } else if (type === ReservedName) {
        this.issue(
          token,
          token,
          `\`${token.image}\` is a reserved word (it begins a ${roleOf(token.image)}) and cannot be a name: choose another, such as \`${token.image}-1\``,
        );
      }
    }
  }

  private issue(first: IToken, last: IToken, message: string, replacement?: string): void {
    this.chunk.issues.push({
      ...this.spanOf(first, last),
      message,
      ...(replacement === undefined ? {} : { replacement }),
    });
  }

  private spanOf(first: IToken, last: IToken = first): { chunk: Chunk; start: number; end: number } {
    return { chunk: this.chunk, start: first.startOffset - this.base, end: endOf(last) - this.base };
  }

  private nameAt(token: IToken): Name {
    return { ...this.spanOf(token), text: token.image };
  }

  private lineFirst(i: number): boolean {
    return isLineFirst(this.text, this.tokens[i]!.startOffset);
  }

  // --- segments: from one leading keyword to the next -----------------------------------------------------------------

  private segment(from: number, to: number): void {
    const token = this.tokens[from]!;
    const word = token.image;
    const keyword = this.spanOf(token);
    const place = { chunk: this.chunk, start: keyword.start, end: keyword.end, keyword };
    if (word === 'procedure') {
      const head: Head = { ...place, kind: 'procedure', codes: [] };
      this.chunk.item = head;
      this.run(
        from,
        to,
        () => rules.procedureHead(),
        () => rules.headClauses(),
        headClauses,
        () => {
          rules.head = head;
          head.codes.length = 0;
        },
        head,
      );
    } else if (word === 'use') {
      const use: Use = { ...place, kind: 'use' };
      this.chunk.item = use;
      this.run(
        from,
        to,
        () => rules.useLine(),
        undefined,
        [],
        () => {
          rules.use = use;
        },
        use,
      );
    } else if (isDeclaration(word)) {
      const declaration: Declaration = { ...place, kind: word, heldBy: [], behind: [], hazards: [], broken: false };
      this.chunk.item = declaration;
      const reset = (): void => {
        rules.declaration = declaration;
      };
      this.run(
        from,
        to,
        () => rules.declarationLine(),
        () => rules.properties(),
        propertiesOf[word],
        reset,
        declaration,
      );
      for (const hazard of declaration.hazards) {
        if (hazards.includes(hazard.text)) continue;
        const near = nearest(hazard.text, hazards);
        this.chunk.issues.push({
          ...hazard,
          message: `\`${hazard.text}\` is no hazard that Fettle knows: ${near === undefined ? `write one of ${hazards.join(', ')}` : `write \`${near}\``}`,
          ...(near === undefined ? {} : { replacement: near }),
        });
      }
    } else if (isPhase(word)) {
      const phase: PhaseLine = { ...place, kind: word as PhaseWord };
      this.chunk.item = phase;
      if (to > from + 1) this.run(from, to, undefined, undefined, [], () => {}, phase);
    } else if (word === 'step') {
      const step: Step = { ...place, kind: 'step', after: [], statements: [] };
      this.chunk.item = step;
      this.run(
        from,
        to,
        () => rules.stepLine(),
        () => rules.stepClauses(),
        stepClauses,
        () => {
          rules.step = step;
          step.after.length = 0;
        },
        step,
      );
    } else if (isBlockPart(word)) this.blockPart(from, to);
    else if (isStatement(word) || isBlock(word)) this.statement(word, from, to);
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

  private statement(word: StatementWord | BlockWord, from: number, to: number): void {
    const token = this.tokens[from]!;
    if (this.chunk.item?.kind !== 'step' && this.chunk.strayStep === undefined) {
      this.issue(token, token, `\`${token.image}\` stands outside any step: write \`step NAME\` above it`);
    }
    const keyword = this.spanOf(token);
    const statement: Statement = { ...keyword, kind: word, keyword, broken: false };
    this.open.push(statement);
    if (isBlock(word)) {
      this.runStatement(statement, from, to, () => rules.blockOpening(), []);
      if (this.blocks.length >= maxNesting) {
        this.issue(
          token,
          token,
          `alternatives are nested more than ${maxNesting} deep: turn the inner ones into steps of their own`,
        );
        statement.branches = [];
        return;
      }
      statement.branches = [{ keyword, text: statement.text, statements: [] }];
      this.blocks.push(statement);
      return;
    }
    this.runStatement(statement, from, to, ruleOf(word), clausesOf[word]);
    if (statement.broken) return;
    if (needsText(word) && statement.text === undefined)
      this.missing(statement, `\`${word}\` needs a text in double quotes behind it`);
    else if (needsAmount(word) && statement.amount === undefined)
      this.missing(
        statement,
        word === 'wait' ? '`wait` needs a time, such as `wait 60 min`' : '`fill` needs a quantity, such as `1.8 L`',
      );
    else if (needsDegree(word) && statement.to === undefined)
      this.missing(statement, `\`${word}\` needs \`to\` and a temperature`);
    else if (word === 'tighten' && statement.angle !== undefined && statement.to === undefined)
      this.missing(statement, '`then` follows `to`: write `to 40 N·m then 90°`');
  }

  private missing(statement: Statement, message: string): void {
    statement.broken = true;
    this.chunk.issues.push({ ...statement.keyword, message });
  }

  private runStatement(
    statement: Statement,
    from: number,
    to: number,
    rule: () => void,
    allowed: readonly string[],
  ): void {
    const blank = { ...statement };
    const reset = (): void => {
      for (const field of Object.keys(statement))
        if (!(field in blank)) delete (statement as unknown as Record<string, unknown>)[field];
      rules.statement = statement;
    };
    this.run(from, to, rule, allowed.length > 0 ? () => rules.clauses() : undefined, allowed, reset, statement);
  }

  private blockPart(from: number, to: number): void {
    const token = this.tokens[from]!;
    const block = this.blocks.at(-1);
    const opens = token.image === 'or' ? 'either' : token.image === 'else' ? 'if' : undefined;
    const fits =
      block !== undefined &&
      (opens === undefined || (block.kind === opens && !(opens === 'if' && block.branches!.length > 1)));
    const keyword = this.spanOf(token);
    const part: Statement = { ...keyword, kind: 'unknown', keyword, broken: false };
    if (!fits) {
      this.issue(
        token,
        token,
        opens === undefined
          ? '`end` closes nothing: no `either`, `if` or `for` is open here'
          : `\`${token.image}\` belongs to \`${opens}\`, and none is open here`,
      );
    }
    this.runStatement(part, from, to, () => rules.blockPart(), []);
    if (!fits) return;
    (block as { end: number }).end = part.end;
    if (token.image === 'end') {
      block.closing = keyword;
      this.blocks.pop();
    } else block.branches!.push({ keyword, text: part.text, statements: [] });
  }

  private closeBlocks(): void {
    for (const block of this.blocks) {
      this.chunk.issues.push({
        ...block.keyword,
        message: `\`${block.kind}\` has no \`end\` before the step ends: write \`end\` behind its last statement`,
      });
      block.broken = true;
    }
    this.blocks.length = 0;
  }

  // --- running a rule, and what happens when it stops ---------------------------------------------------------------

  private run(
    from: number,
    to: number,
    rule: (() => void) | undefined,
    clauses: (() => void) | undefined,
    allowed: readonly string[],
    reset: () => void,
    node: { start: number; end: number; broken?: boolean; kind: string },
  ): void {
    this.seen.clear();
    rules.clause = (word, token) => {
      if (!allowed.includes(word)) {
        this.issue(
          token,
          token,
          `\`${word === 'text' ? 'a text' : word === 'xN' ? token.image : word === 'quantity' ? 'a bare quantity' : word}\` does not belong to \`${node.kind}\``.replace(
            /`(a [a-z ]+)`/,
            '$1',
          ),
        );
        node.broken = true;
      } else if (this.seen.has(word) && !repeatable.has(word)) {
        this.issue(
          token,
          token,
          word === 'text'
            ? `a ${node.kind} carries one text: join the two`
            : `\`${word}\` stands twice in this ${node.kind}; the first counts`,
        );
        node.broken = true;
      }
      this.seen.add(word);
    };
    reset();
    const stop = rule === undefined ? { at: from + 1, message: '' } : this.attempt(from, to, rule);
    if (stop === undefined) {
      node.end = endOf(this.tokens[to - 1]!) - this.base;
      return;
    }
    // Does a line begin between here and the trouble? Then that line is a statement of its own.
    let line = stop.at < to ? stop.at : to - 1;
    while (line > from && !this.lineFirst(line)) line--;
    const ownStatement =
      line > from && !isClauseWord(this.tokens[line]!, allowed) && this.tokens[line]!.tokenType !== Comma;
    if (ownStatement && line < stop.at && rule !== undefined) {
      this.run(from, line, rule, clauses, allowed, reset, node);
      this.unreadable(line, to);
      return;
    }
    if (ownStatement && stop.at < to) {
      node.end = endOf(this.tokens[line - 1]!) - this.base;
      if (stop.message !== '') this.report(node, line - 1, line - 1, `${stop.message} behind this`);
      this.unreadable(line, to);
      return;
    }
    node.broken = true;
    node.end = endOf(this.tokens[Math.min(stop.at, to - 1)]!) - this.base;
    this.noteWords(node, from, to, stop.at);
    if (stop.at >= to) {
      this.report(node, to - 1, to - 1, `${stop.message} behind this`);
      return;
    }
    // Go on with the next clause of this line, else with the next line.
    let next = stop.at + 1;
    while (next < to && !this.lineFirst(next) && !(clauses !== undefined && isClauseWord(this.tokens[next]!, allowed)))
      next++;
    const onLine = next < to && !this.lineFirst(next);
    this.report(
      node,
      stop.at,
      next - 1,
      this.describe(stop.at, stop.message, allowed) +
        (onLine ? `; reading went on at \`${this.tokens[next]!.image}\`` : '; the rest of this line is left out'),
    );
    const quiet = this.chunk.issues.length;
    while (next < to) {
      if (clauses === undefined || !isClauseWord(this.tokens[next]!, allowed)) break;
      const again = this.attempt(next, to, clauses);
      if (again === undefined) {
        next = to;
        break;
      }
      next = Math.max(again.at, next + 1);
      while (next < to && !isClauseWord(this.tokens[next]!, allowed) && !this.lineFirst(next)) next++;
    }
    this.chunk.issues.length = quiet;
    node.end = endOf(this.tokens[next - 1]!) - this.base;
    if (next < to) this.unreadable(next, to);
  }

  /** Runs `rule` over the tokens; nothing where all were read, else the place it stopped at and what it wanted. */
  private attempt(from: number, to: number, rule: () => void): { at: number; message: string } | undefined {
    rules.input = this.tokens.slice(from, to);
    rule();
    const error = rules.errors[0];
    if (error === undefined) return undefined;
    const offset = error.token.startOffset;
    let at = from;
    while (at < to && this.tokens[at]!.startOffset !== offset) at++;
    return { at, message: error.message };
  }

  private report(_node: object, first: number, last: number, message: string): void {
    const begin = this.tokens[first]!;
    // One trouble a line: a stray sign or an unclosed quote has been told of already.
    const place = this.spanOf(begin, this.tokens[last]!);
    if (this.chunk.issues.some((issue) => issue.start >= place.start && issue.end <= place.end)) return;
    this.issue(begin, begin, message);
  }

  private describe(at: number, expected: string, allowed: readonly string[]): string {
    const token = this.tokens[at]!;
    const words = allowed.filter((word) => /^[a-z]+$/.test(word) && word !== 'text' && word !== 'quantity');
    const near = token.tokenType === Word ? nearest(token.image, words) : undefined;
    if (near !== undefined) return `\`${token.image}\` is not understood here; did you mean \`${near}\`?`;
    if (token.tokenType === NumberToken && allowed.includes('xN')) return `a count is written \`x${token.image}\``;
    if (token.tokenType === DashedNumber)
      return `\`${token.image}\`: a range is written with two points, \`${token.image.replace('-', '..')}\``;
    if (token.tokenType === Stray)
      return `the sign \`${token.image}\` belongs nowhere here${expected === '' ? '' : `; ${expected}`}`;
    if (expected !== '') return `${expected}, found \`${token.image}\``;
    return `\`${token.image}\` is not understood here`;
  }

  /** Names on a statement whose effect cannot be told: the ledger leaves them alone. */
  private noteWords(node: object, from: number, to: number, stopped: number): void {
    const statement = node as Statement;
    if (!('branches' in node) && !isStatement(statement.kind)) return;
    const understood =
      statement.name !== undefined &&
      (statement.count !== undefined ||
        this.spanOf(this.tokens[stopped] ?? this.tokens[to - 1]!).start > statement.name.end + 1) &&
      this.tokens[stopped]?.tokenType !== NumberToken;
    if (understood && statement.kind !== 'swap' && statement.kind !== 'transfer') return;
    statement.words = this.wordsBetween(from + 1, to);
  }

  private wordsBetween(from: number, to: number): Name[] {
    const words: Name[] = [];
    for (let i = from; i < to; i++) {
      const token = this.tokens[i]!;
      if (/^\p{L}/u.test(token.image)) words.push(this.nameAt(token));
    }
    return words;
  }

  /** Lines that begin with no known word: each is one unknown statement. */
  private unreadable(from: number, to: number): void {
    for (let i = from; i < to; ) {
      let next = i + 1;
      while (next < to && !this.lineFirst(next)) next++;
      const token = this.tokens[i]!;
      const last = this.tokens[next - 1]!;
      const words = this.wordsBetween(i, next);
      const item = this.chunk.item;
      const inStep = item?.kind === 'step' || this.chunk.strayStep !== undefined;
      if (inStep) {
        this.open.push({
          ...this.spanOf(token, last),
          kind: 'unknown',
          keyword: this.spanOf(token),
          words,
          broken: true,
        });
      } else for (const word of words) this.chunk.lostWords.push(word.text);
      const place = this.spanOf(token, last);
      if (!this.chunk.issues.some((issue) => issue.start >= place.start && issue.end <= place.end)) {
        const near = nearest(
          token.image,
          inStep ? [...statementWords, ...blockWords, ...blockPartWords, 'step'] : reservedWords,
        );
        this.issue(
          token,
          token,
          near === undefined
            ? `\`${token.image}\` begins no ${inStep ? 'statement' : 'declaration, phase or step'}; the rest of this line is left out`
            : `\`${token.image}\` begins no ${inStep ? 'statement' : 'line'}: did you mean \`${near}\`? The rest of this line is left out`,
          near,
        );
      }
      i = next;
    }
  }
}

function isClauseWord(token: IToken, allowed: readonly string[]): boolean {
  const type = token.tokenType;
  if (type === k.then) return true;
  if (type.name === 'Times') return allowed.includes('xN');
  if (type.name === 'Text' || type === OpenText) return allowed.includes('text');
  if (type === NumberToken) return allowed.includes('quantity');
  return isContextual(token.image) && type.name === token.image && allowed.includes(token.image);
}

function ruleOf(word: StatementWord): () => void {
  switch (word) {
    case 'fit':
      return () => rules.fitStatement();
    case 'swap':
      return () => rules.swapStatement();
    case 'transfer':
      return () => rules.transferStatement();
    case 'try':
      return () => rules.tryStatement();
    case 'apply':
      return () => rules.applyStatement();
    case 'shim':
      return () => rules.shimStatement();
    case 'drain':
    case 'fill':
    case 'measure':
      return () => rules.namedStatement();
    default:
      return needsNoName.has(word) ? () => rules.bareStatement() : () => rules.partStatement();
  }
}

function roleOf(word: string): string {
  if (isDeclaration(word) || word === 'use' || word === 'procedure') return 'declaration';
  if (isPhase(word)) return 'phase';
  if (word === 'step') return 'step';
  if (word === 'new') return 'fitting of a new part';
  return isBlock(word) || isBlockPart(word) ? 'block of alternatives' : 'statement';
}
