import { shown } from './chunk-tokens.ts';
import type { Mutable } from './clean-values.ts';
import { codeLike, isBlock, isBlockPart, type Read } from './heads.ts';
import { maxNesting } from './limits.ts';
import { haveSameLetters, nearest } from './nearest.ts';
import { type Form, NodeReader, noClauses, rules } from './node-reader.ts';
import { countFirst } from './sorted.ts';
import { type Branch, type Chunk, type Name, type Span, Statement, Step } from './syntax.ts';
import { behindIt, trouble } from './token-troubles.ts';
import { type BlockWord, Comma, keyword as k, Text, Word } from './tokens.ts';

const openingForm: Form = { rule: rules.blockOpening, allowed: noClauses };
const blockPartForm: Form = { rule: rules.blockPart, allowed: noClauses };
const titleForm: Form = { rule: rules.clauses, allowed: new Set(['text']) };

/** Which blocks of a chunk are open, what opens, parts and closes them, and what was meant where a word of these is missing. */
export abstract class BlockReader extends NodeReader {
  /** Of the whole text; those of the chunk stand from `firstHead` on, before `lastHead`. */
  protected readonly heads: readonly number[];
  private firstHead = 0;
  private lastHead = 0;
  /** The one behind the chunk. */
  protected lastToken = 0;
  /** Open blocks, innermost last. */
  protected readonly blocks: Statement[] = [];
  /** Blocks that are open beyond `maxNesting`. */
  protected tooDeep = 0;
  /** Blocks whose opening was not found, and that were told of where they are parted. */
  private unopened = 0;
  /** How many more blocks of the chunk begin than end. */
  private unended: number | undefined;
  /** For each head of the chunk, how many blocks that are open before it end from there on, as a number below 0. */
  private ending: Int32Array | undefined;
  /** For each block that was asked about, the token found below that parts it. */
  private readonly partsBelow = new Map<Statement, number>();

  constructor(text: string, chunk: Chunk, base: number, source: Read) {
    super(text, chunk, base, source);
    this.heads = source.heads;
  }

  protected begin(lastToken: number, firstHead: number, lastHead: number): void {
    this.lastToken = lastToken;
    this.firstHead = firstHead;
    this.lastHead = lastHead;
  }

  /** The list that the next statement goes to. */
  protected get open(): Statement[] {
    const block = this.blocks.at(-1);
    return block === undefined ? this.step().statements : block.branches!.at(-1)!.statements;
  }

  private step(): Step {
    const item = this.chunk.item;
    if (item?.kind === 'step') return item;
    const step = new Step(this.chunk, 0, this.chunk.text.length, undefined, []);
    // A statement behind a declaration, a phase line or the head belongs to a step that nobody opened.
    if (item === undefined) this.chunk.item = step;
    else {
      this.chunk.strayStep ??= step;
      return this.chunk.strayStep;
    }
    return step;
  }

  protected begun(keyword: Span, kind: Statement['kind']): Statement {
    const statement = new Statement(this.chunk, keyword.start, keyword.end, kind);
    statement.keyword = keyword;
    return statement;
  }

  /** A line that could not be read, as a statement. */
  protected unread(keyword: Span, end: number, words: Name[]): Statement {
    const statement = this.begun(keyword, 'unknown');
    statement.end = end;
    statement.words = words;
    statement.broken = true;
    return statement;
  }

  protected blockOpening(statement: Statement, from: number, to: number): void {
    const branch = branchAt(statement.keyword);
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
  protected blockPart(from: number, to: number, word = this.tokens[from]!.image): void {
    const token = this.tokens[from]!;
    const meant = this.otherPart(from, word);
    if (meant !== undefined) {
      const [own, other] = meant === 'or' ? ['either', 'if'] : ['if', 'either'];
      const mend = `that parts the ways of \`${other}\`, those of \`${own}\` are parted by \`${meant}\``;
      // `else` takes no text: one that stands there would be lost.
      const isAlone = this.onLine(from + 1) === undefined;
      this.tell(from, `\`${meant}\``, shown(token), mend, behindIt, isAlone ? meant : undefined);
      word = meant;
    }
    const keyword = this.spanOf(token);
    const part = this.begun(keyword, 'unknown');
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
      // The text of an `either` that was forgotten went to the statement above; its `end` is none too many.
      if (opens !== undefined && this.endsMissing(from) < 0) this.unopened++;
      else if (word === 'end' && this.unopened > 0) {
        this.unopened--;
        this.run(from, to, part, blockPartForm);
        return;
      }
      this.tell(
        from,
        opens === undefined ? '`either`, `if` or `for` before it' : `an open \`${opens}\` before it`,
        shown(token),
        opens === undefined
          ? 'it closes nothing, take it out'
          : this.blocks.at(-1)?.kind === 'for'
            ? 'close the `for` above with `end`, and open one for the other codes'
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
      if (block.kind === 'either' && block.branches!.length === 1) {
        block.broken = true;
        const mend = 'write `or` and the other way above it; what is done only where something holds stands in `if`';
        this.chunk.issues.push({
          ...block.keyword,
          message: trouble('the `or` of this `either`', 'its `end`', mend, 'behind it'),
        });
      }
      this.partRead(from, to, part, word);
    } else {
      const branch = branchAt(keyword);
      block.branches!.push(branch);
      this.partRead(from, to, part, word);
      branch.text = part.text;
    }
    block.end = part.end;
  }

  /** The word that parts the innermost block, where `or` stands in an `if`, or `else` in an `either`, and no block around it is parted by that. */
  private otherPart(from: number, word: string): 'or' | 'else' | undefined {
    const inner = this.blocks.at(-1);
    const meant = word === 'or' ? 'else' : 'or';
    const [own, other] = word === 'or' ? ['either', 'if'] : word === 'else' ? ['if', 'either'] : [];
    if (inner === undefined || inner.kind !== other || this.tooDeep > 0 || this.blocks.some(({ kind }) => kind === own))
      return undefined;
    if (this.endsMissing(from) < 0 || inner.branches!.length > 1 || this.isPartedBelow(from)) return undefined;
    return meant;
  }

  private partRead(from: number, to: number, part: Statement, word: string): void {
    if (this.tokens[from]!.image === word) this.run(from, to, part, blockPartForm);
    // The word itself is told of already.
    else {
      const text = this.tokens[from]!.tokenType === Text ? from : from + 1;
      if (text < to) this.run(text, to, part, titleForm);
    }
  }

  /** Closes the blocks from `depth` on, whose `end` is missing. */
  protected closeBlocks(depth: number, before: string): void {
    // Of `if … else if … end`
    let inner = 0;
    while (this.blocks.length > depth) {
      const block = this.blocks.pop()!;
      const last = block.branches!.at(-1)!.statements.at(-1);
      if (last !== undefined && last.end > block.end) block.end = last.end;
      block.broken = true;
      const isChained = last !== undefined && this.isElseIf(block, last);
      if (!isChained) inner = 0;
      const outer = this.blocks.at(-1);
      if (this.blocks.length > depth && this.isElseIf(outer!, block)) {
        inner++;
        continue;
      }
      const isAroundStep =
        block.branches!.every(({ statements }) => statements.length === 0) &&
        this.tokens[this.lastToken]?.tokenType === k.step;
      const mend = isAroundStep
        ? 'it holds statements of one step, write it below the line of that step'
        : inner > 0 || isChained
          ? `an \`if\` behind \`else\` has an \`end\` of its own, write ${inner === 0 ? 'one' : inner + 1} more`
          : 'write `end` behind its last statement';
      inner = 0;
      this.chunk.issues.push({
        ...block.keyword,
        message: trouble(
          `the \`end\` of this \`${block.kind}\``,
          `none before ${before}`,
          mend,
          'as if it stood there',
        ),
      });
    }
  }

  /** True where `inner` is the `if` of an `else if` of `block`, in one line. */
  private isElseIf(block: Statement, inner: Statement): boolean {
    const { keyword, statements } = block.branches!.at(-1)!;
    if (block.kind !== 'if' || inner.kind !== 'if' || statements[0] !== inner || block.branches!.length === 1)
      return false;
    return !this.chunk.text.slice(keyword!.end, inner.start).includes('\n');
  }

  /** How many more blocks of the chunk begin than end. */
  protected openBlocks(): number {
    if (this.unended === undefined) {
      this.unended = 0;
      for (let h = this.firstHead; h < this.lastHead; h++) {
        const { image } = this.tokens[this.heads[h]!]!;
        if (isBlock(image)) this.unended++;
        else if (image === 'end') this.unended--;
      }
    }
    return this.unended;
  }

  /** `end if`, where more blocks begin than end: what kind of block ends is said by none. */
  protected isKindOfEnd(at: number): boolean {
    if (!isBlock(this.tokens[at]!.image) || this.lineFirst(at) || this.tokens[at - 1]?.tokenType !== k.end)
      return false;
    return this.onLine(at + 1) === undefined && this.openBlocks() > 0;
  }

  /** How many of the blocks that are open at the token `at` have no `end` below; less than 0 where an `end` there is too many. */
  protected endsMissing(at: number): number {
    const { heads, firstHead, lastHead } = this;
    if (this.ending === undefined) {
      this.ending = new Int32Array(lastHead - firstHead + 1);
      for (let h = lastHead - 1; h >= firstHead; h--) {
        const { image } = this.tokens[heads[h]!]!;
        const moved = isBlock(image) ? 1 : image === 'end' ? -1 : 0;
        this.ending[h - firstHead] = Math.min(0, moved + this.ending[h - firstHead + 1]!);
      }
    }
    return this.blocks.length + this.tooDeep + this.ending[this.headFrom(at) - firstHead]!;
  }

  /** The first head of the chunk that stands at `at` or behind it. */
  private headFrom(at: number): number {
    return countFirst(this.heads, (head) => head < at);
  }

  /** Whether an `or` or `else` below `at` parts the innermost block. */
  protected isPartedBelow(at: number): boolean {
    const block = this.blocks.at(-1)!;
    const found = this.partsBelow.get(block);
    if (found !== undefined && (found > at || found < 0)) return found > at;
    const parting = block.kind === 'if' ? 'else' : block.kind === 'either' ? 'or' : '';
    let depth = 0;
    for (let h = this.headFrom(at); h < this.lastHead && depth >= 0; h++) {
      const { image } = this.tokens[this.heads[h]!]!;
      if (isBlock(image)) depth++;
      else if (image === 'end') depth--;
      else if (image === parting && depth === 0) {
        this.partsBelow.set(block, this.heads[h]!);
        return true;
      }
    }
    this.partsBelow.set(block, -1);
    return false;
  }

  /**
   * What was to part or to close the innermost block, where a line holds a slip of that word and at most a text, and no
   * right word below is too many then.
   */
  protected blockPartMeant(from: number, to: number): 'or' | 'else' | 'end' | undefined {
    const block = this.blocks.at(-1);
    if (block === undefined || this.tooDeep > 0) return undefined;
    const { image } = this.tokens[from]!;
    const isAlone = to === from + 1;
    if (isAlone && (endOfKind.test(image) || isSlipOf('end', image)))
      return this.endsMissing(from) > 0 && !this.isPartedBelow(from) ? 'end' : undefined;
    const isElse = block.kind === 'if' && (/^otherwise$/i.test(image) || isSlipOf('else', image));
    if (isElse && isAlone && block.branches!.length === 1 && !this.isPartedBelow(from)) return 'else';
    // `"Press it on"` between the ways of an `either`
    if (isAlone && this.tokens[from]!.tokenType === Text)
      return block.kind === 'either' && block.branches!.length === 1 && !this.isPartedBelow(from) ? 'or' : undefined;
    const isTitled = to === from + 2 && this.tokens[from + 1]!.tokenType === Text;
    const isOr = isTitled ? nearest(image, ['or']) !== undefined : isAlone && isSlipOf('or', image);
    return block.kind === 'either' && isOr ? 'or' : undefined;
  }

  /** Which block a line opens before which that word was forgotten: it holds codes or a text and no more, and an `end` below is too many. */
  protected blockForgotten(from: number, to: number): BlockWord | undefined {
    if (this.blocks.length >= maxNesting || this.endsMissing(from) >= 0) return undefined;
    if (to === from + 1 && this.tokens[from]!.tokenType === Text) {
      if (this.partingBelow(from) === 'or') return 'either';
      // A condition is no sentence of its own.
      return /^"\p{Ll}/u.test(this.tokens[from]!.image) ? 'if' : undefined;
    }
    for (let i = from; i < to; i += 2) {
      const behind = i + 1 < to ? this.tokens[i + 1]!.tokenType : Comma;
      if (this.tokens[i]!.tokenType !== Word || !codeLike.test(this.tokens[i]!.image) || behind !== Comma)
        return undefined;
    }
    return 'for';
  }

  /** The word below `at` that parts or closes a block which begins there. */
  private partingBelow(at: number): string | undefined {
    let depth = 0;
    for (let h = this.headFrom(at); h < this.lastHead; h++) {
      const { image } = this.tokens[this.heads[h]!]!;
      if (isBlock(image)) depth++;
      else if (depth === 0 && isBlockPart(image)) return image;
      else if (image === 'end') depth--;
    }
    return undefined;
  }

  /** Opens a block whose word was forgotten before the line from `from` to `to`. */
  protected openForgotten(word: BlockWord, from: number, to: number): void {
    const first = this.tokens[from]!;
    this.tell(from, 'a statement', shown(first), `write \`${word}\` before it`, behindIt, `${word} ${first.image}`);
    const keyword = this.spanOf(first);
    const branch = branchAt(keyword);
    const block = this.begun(keyword, word);
    block.branches = [branch];
    this.open.push(block);
    this.blocks.push(block);
    if (word === 'for') {
      block.codes = [];
      for (let i = from; i < to; i += 2) block.codes.push(this.nameAt(this.tokens[i]!));
      block.end = block.codes.at(-1)!.end;
      return;
    }
    rules.statement = block;
    this.run(from, to, block, titleForm);
    branch.text = block.text;
  }

  /** Which block a line was to open, where it holds a slip of that word and what stands behind it. */
  protected blockMeant(from: number, to: number): BlockWord | undefined {
    const { image, tokenType } = this.tokens[from]!;
    if (tokenType !== Word) return undefined;
    if (to === from + 1) return nearest(image, ['either']) as BlockWord | undefined;
    if (to === from + 2 && this.tokens[from + 1]!.tokenType === Text)
      return /^when$/i.test(image) ? 'if' : (nearest(image, ['if', 'either']) as BlockWord | undefined);
    for (let i = from + 1; i < to; i += 2)
      if (this.tokens[i]!.tokenType !== Word || (i + 1 < to && this.tokens[i + 1]!.tokenType !== Comma))
        return undefined;
    return nearest(image, ['for']) as BlockWord | undefined;
  }
}

const branchAt = (keyword: Span): Mutable<Branch> => ({ keyword, statements: [] });

/** In other letters, with two changed places or, in a longer word, near to it and begun alike: `and` and `on` are others. */
const isSlipOf = (word: string, image: string): boolean => {
  const is = image.toLowerCase();
  return (
    is === word ||
    (is.length === word.length && nearest(is, [word]) === word && haveSameLetters(is, word)) ||
    (word.length > 2 && is[0] === word[0] && nearest(is, [word]) === word)
  );
};
/** `end-if`, `endfor` */
export const endOfKind = /^end-?(?:either|for|if)$/i;
