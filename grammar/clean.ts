/**
 * The quick way through a text without troubles: reads whole chunks straight from its characters, with no tokens between.
 * It knows nothing of what to say about a trouble: at the first sign of one, or of anything written unusually, it gives the
 * chunk up, and the grammar (`rules.ts`) reads it. What it does read comes out as the grammar reads it; the tests hold it to that.
 */
import { lackOf } from './clauses.ts';
import { clauses, countClause, type Keyword, mayRepeat, quantityClause, rivals, textClause } from './clean-keywords.ts';
import {
  CleanValues,
  closeBracket,
  comma,
  forgetSpellings,
  hyphen,
  isDigit,
  listed,
  type Mutable,
  noComments,
  noIssues,
  noNames,
  noNumbers,
  noWords,
  nowhere,
  openBracket,
  quote,
  roomForSpellings,
  smallX,
  trimmed,
} from './clean-values.ts';
import { hazards, isDeclaration, isNameless, isPhase } from './heads.ts';
import { maxNesting } from './limits.ts';
import type {
  Branch,
  Chunk,
  CountedName,
  Head,
  Name,
  NumberLiteral,
  Pattern,
  PhaseLine,
  Quantity,
  ShimPiece,
  Span,
  Text,
  Use,
} from './syntax.ts';
import { Declaration, Statement, Step } from './syntax.ts';
import {
  type BlockWord,
  type DeclarationWord,
  headWords,
  isDot,
  isTail,
  type PhaseWord,
  type StatementWord,
} from './tokens.ts';

/** Reads whole chunks: their declarations, steps and statements. */
class CleanReader extends CleanValues {
  /** Offset behind the chunk read last. */
  end = 0;
  /** By clause, the node that it was last seen in. */
  private readonly seen: number[] = clauses.map(() => 0);
  private nodes = 0;
  private takes: readonly boolean[] = [];
  private readonly blocks: Statement[] = [];

  /**
   * The chunk of `text` that begins at `start`, where a line begins and no word before can reach over; nothing where any of it
   * is not clean. Sets `end`.
   */
  read(uri: string, text: string, start: number): Chunk | undefined {
    this.text = text;
    this.base = start;
    this.at = start;
    this.skipped = false;
    this.last = start;
    this.comments = noComments;
    this.blocks.length = 0;
    // With room for the item, which every clean chunk has.
    this.chunk = { uri, text: '', comments: this.comments, issues: noIssues, lostWords: noWords, item: undefined };
    this.skip();
    const keyword = this.keyword();
    if (keyword?.does !== 'chunk' || !this.item(keyword) || this.blocks.length > 0) return undefined;
    this.skip();
    if (this.at < text.length) {
      // The next chunk begins with the line behind the last one of this.
      if (this.line < 0 || this.keyword()?.does !== 'chunk') return undefined;
      this.end = this.line;
      const { comments } = this;
      while (comments.length > 0 && comments.at(-1)!.start >= this.end - start) comments.pop();
      this.chunk.comments = comments.length === 0 ? noComments : trimmed(comments);
    } else this.end = text.length;
    this.chunk.text = text.slice(start, this.end);
    return this.chunk;
  }

  /** Keeps nothing of the text. */
  leave(): void {
    this.text = '';
    this.chunk = nowhere;
    this.comments = noComments;
    this.blocks.length = 0;
  }

  // --- chunks -----------------------------------------------------------------------------------------------------------

  private item(keyword: Keyword): boolean {
    const { word } = keyword;
    const at = this.span(this.at, this.wordEnd);
    this.take(this.wordEnd);
    this.begin(keyword);
    if (isDeclaration(word)) return this.declaration(word, at);
    if (word === 'step') return this.step(at);
    const place = { chunk: this.chunk, start: at.start, end: at.end, keyword: at };
    if (isPhase(word)) return this.phase(word, place);
    if (word === 'procedure') return this.head(place);
    const use: Use = { ...place, kind: 'use' };
    this.chunk.item = use;
    use.path = this.string();
    return use.path !== undefined && this.ended(use);
  }

  private begin({ takes }: Keyword): void {
    this.nodes++;
    this.takes = takes;
  }

  /** Ends the node that has been read, which is then clean. */
  private ended(node: Span): true {
    (node as Mutable<Span>).end = this.last - this.base;
    return true;
  }

  /** Ends a statement, unless it lacks something. */
  private whole(statement: Statement): boolean {
    return lackOf(statement) === undefined && this.ended(statement);
  }

  /** Whether a clause may stand here, and notes that it does. */
  private may(clause: number): boolean {
    if (this.takes[clause] !== true || (this.seen[clause] === this.nodes && !mayRepeat[clause])) return false;
    if (rivals[clause]?.some((rival) => this.seen[rival] === this.nodes)) return false;
    this.seen[clause] = this.nodes;
    return true;
  }

  private phase(kind: PhaseWord, place: Omit<PhaseLine, 'kind'>): boolean {
    this.chunk.item = { ...place, kind };
    return true;
  }

  private head(place: Omit<Head, 'kind' | 'codes'>): boolean {
    const head: Head = { ...place, kind: 'procedure', codes: [] };
    this.chunk.item = head;
    const name = this.name();
    if (name === undefined) return false;
    head.name = name;
    for (;;) {
      if (this.next() === quote) {
        const title = this.may(textClause) ? this.string() : undefined;
        if (title === undefined) return false;
        head.title = title;
        continue;
      }
      const keyword = this.keyword();
      if (keyword === undefined || keyword.does !== 'clause') return this.ended(head);
      if (!this.may(keyword.clause)) return false;
      this.take(this.wordEnd);
      if (keyword.word === 'applies') {
        if (!this.takeWord('to') || !set(head, 'codes', this.codes())) return false;
      } else if (keyword.word === 'code') {
        const plate = this.takeWord('plate') ? this.string() : undefined;
        if (plate === undefined) return false;
        head.codePlate = plate;
      } else {
        this.skip();
        const system = this.keyword();
        if (system?.word !== 'metric' && system?.word !== 'imperial') return false;
        const { at } = this;
        this.take(this.wordEnd);
        head.measures = this.word(at);
      }
    }
  }

  // --- declarations -----------------------------------------------------------------------------------------------------

  private declaration(kind: DeclarationWord, keyword: Span): boolean {
    const name = this.name();
    if (name === undefined) return false;
    const declaration = new Declaration(keyword, kind, noNames, noNames, noNames);
    declaration.name = name;
    this.chunk.item = declaration;
    for (;;) {
      const code = this.next();
      if (code === quote) {
        const title = this.may(textClause) ? this.string() : undefined;
        if (title === undefined) return false;
        declaration.title = title;
      } else if (isDigit(code) || code === hyphen) {
        const amount = this.may(quantityClause) ? this.quantity() : undefined;
        if (amount === undefined) return false;
        declaration.amount = amount;
      } else {
        const keyword = this.keyword();
        if (keyword === undefined) {
          if (code !== smallX) return this.ended(declaration);
          const count = this.may(countClause) ? this.count() : undefined;
          if (count === undefined) return false;
          declaration.count = count;
        } else {
          if (keyword.does !== 'clause') return this.ended(declaration);
          if (!this.may(keyword.clause) || !this.property(keyword.word, declaration)) return false;
        }
      }
    }
  }

  /** The property that begins with `word`, the next token. */
  private property(word: string, declaration: Declaration): boolean {
    const { at } = this;
    this.take(this.wordEnd);
    switch (word) {
      case 'held':
        return this.takeWord('by') && more(declaration, 'heldBy', this.names());
      case 'behind':
        return more(declaration, 'behind', this.names());
      case 'carried':
        return this.takeWord('by') && set(declaration, 'carriedBy', this.name());
      case 'hazard':
        if (declaration.hazards === noNames) declaration.hazards = [];
        return this.hazards(declaration.hazards);
      case 'thread':
        return set(declaration, 'thread', this.threadName());
      case 'class':
        return set(declaration, 'propertyClass', this.propertyClass());
      case 'grade':
        return set(declaration, 'grade', this.bareNumber());
      case 'dry':
      case 'oiled':
      case 'paste':
      case 'threadlock':
        declaration.condition ??= this.word(at);
        return true;
      case 'sealed':
      case 'greased':
        declaration.filled ??= this.word(at);
        return true;
      case 'renew':
      case 'index':
        declaration[word] = this.word(at);
        return true;
      case 'length':
      case 'prevailing':
      case 'lead':
      case 'interference':
      case 'limit':
      case 'range':
      case 'cure':
        return set(declaration, word, this.quantity());
      case 'torque':
        declaration.torque = this.quantity();
        if (declaration.torque === undefined) return false;
        this.skip();
        if (!this.takeWord('then')) return true;
        return set(declaration, 'angle', this.quantity());
      case 'bore': {
        declaration.bore = this.quantity();
        if (declaration.bore === undefined) return false;
        const fit = this.fit();
        if (fit !== undefined) declaration.fit = fit;
        return true;
      }
      case 'holes':
        if (!set(declaration, 'holes', this.name())) return false;
        this.skip();
        return !this.takeWord('at') || set(declaration, 'holesAt', this.holeNumbers());
      case 'head':
        return set(declaration, 'head', this.name()) && headWords.includes(declaration.head!.text);
      case 'number':
      case 'spec':
        return set(declaration, word, this.string());
      case 'circle': {
        const pattern = this.pattern(declaration);
        return !isDigit(this.next()) || set(pattern, 'count', this.bareNumber());
      }
      case 'points':
        return this.points(declaration);
      case 'angles':
        return set(this.pattern(declaration), 'angles', this.quantities());
      case 'diameter': {
        const diameter = this.quantity();
        if (declaration.kind === 'part') declaration.outside = diameter;
        else this.pattern(declaration).diameter = diameter;
        return diameter !== undefined;
      }
      default:
        return false;
    }
  }

  private points(declaration: Declaration): boolean {
    if (declaration.pattern !== undefined) return false;
    let points: Pattern['points'];
    while (this.next() === openBracket) {
      this.take(this.at + 1);
      const x = this.bareNumber();
      if (x === undefined || this.next() !== comma) return false;
      this.take(this.at + 1);
      const y = this.bareNumber();
      if (y === undefined || this.next() !== closeBracket) return false;
      this.take(this.at + 1);
      points = listed(points, { x, y });
    }
    const unit = this.unitName();
    if (points === undefined || unit === false) return false;
    const pattern: Pattern = { form: 'points', points: trimmed(points) };
    if (unit !== undefined) pattern.unit = unit;
    declaration.pattern = pattern;
    return true;
  }

  private pattern(declaration: Declaration): Pattern {
    declaration.pattern ??= { form: 'circle' };
    return declaration.pattern;
  }

  /** Some hazards are called by words that are keywords elsewhere. */
  private hazards(into: Name[]): boolean {
    for (;;) {
      this.skip();
      const { at, text } = this;
      let end = at;
      while (isTail(text.charCodeAt(end))) end++;
      const hazard = text.slice(at, end);
      if (isDot(text.charCodeAt(end)) || !hazards.includes(hazard)) return false;
      this.take(end);
      into.push(this.word(at));
      if (this.next() !== comma) return true;
      this.take(this.at + 1);
    }
  }

  // --- steps ------------------------------------------------------------------------------------------------------------

  private step(keyword: Span): boolean {
    const name = this.name(true);
    if (name === undefined) return false;
    const step = new Step(this.chunk, keyword.start, keyword.end, keyword, noNames);
    step.name = name;
    this.chunk.item = step;
    for (;;) {
      if (this.next() === quote) {
        const title = this.may(textClause) ? this.string() : undefined;
        if (title === undefined) return false;
        step.title = title;
        continue;
      }
      const keyword = this.keyword();
      if (keyword === undefined || keyword.does !== 'clause') {
        this.ended(step);
        if (!this.statements(step.statements)) return false;
        step.statements = step.statements.slice();
        return true;
      }
      if (!this.may(keyword.clause)) return false;
      this.take(this.wordEnd);
      if (keyword.word === 'takes') {
        step.takes = this.quantity();
        if (step.takes === undefined) return false;
      } else {
        if (!more(step, 'after', this.names(true))) return false;
      }
    }
  }

  /** Statements up to what begins none. */
  private statements(into: Statement[]): boolean {
    let open = into;
    for (;;) {
      this.skip();
      const keyword = this.keyword();
      if (keyword === undefined) return true;
      switch (keyword.does) {
        case 'statement':
          if (!this.statement(keyword, open)) return false;
          break;
        case 'block': {
          const inner = this.block(keyword, open);
          if (inner === undefined) return false;
          open = inner;
          break;
        }
        case 'part of a block':
          if (!this.blockPart(keyword.word)) return false;
          open = this.innermost() ?? into;
          break;
        default:
          return true;
      }
    }
  }

  /** Where statements of the innermost open block go. */
  private innermost(): Statement[] | undefined {
    return this.blocks.at(-1)?.branches?.at(-1)?.statements;
  }

  private block(keyword: Keyword, into: Statement[]): Statement[] | undefined {
    if (this.blocks.length >= maxNesting) return undefined;
    const at = this.span(this.at, this.wordEnd);
    this.take(this.wordEnd);
    const statement = new Statement(this.chunk, at.start, at.end, keyword.word as BlockWord);
    into.push(statement);
    const branch: Mutable<Branch> = { keyword: at, statements: [], text: undefined };
    statement.branches = [branch];
    this.blocks.push(statement);
    if (keyword.word === 'for') {
      if (!set(statement, 'codes', this.codes())) return undefined;
    } else {
      const text = this.next() === quote ? this.string() : undefined;
      if (text !== undefined) statement.text = text;
      else if (keyword.word === 'if') return undefined;
    }
    branch.text = statement.text;
    this.ended(statement);
    return branch.statements;
  }

  /** `or`, `else`, `end` */
  private blockPart(word: string): boolean {
    const block = this.blocks.at(-1);
    if (block === undefined) return false;
    const keyword = this.span(this.at, this.wordEnd);
    this.take(this.wordEnd);
    const last: Mutable<Branch> = block.branches!.at(-1)!;
    last.statements = last.statements.slice();
    if (word === 'end') {
      if (block.kind === 'either' && block.branches!.length === 1) return false;
      this.blocks.pop();
      block.branches = trimmed(block.branches!);
      block.closing = keyword;
      return this.ended(block);
    }
    if (block.kind !== (word === 'or' ? 'either' : 'if') || (word === 'else' && block.branches!.length > 1))
      return false;
    let text: Text | undefined;
    if (word === 'or' && this.next() === quote) {
      text = this.string();
      if (text === undefined) return false;
    }
    block.branches!.push({ keyword, statements: [], text });
    return this.ended(block);
  }

  private statement(keyword: Keyword, into: Statement[]): boolean {
    const word = keyword.word as StatementWord;
    const start = this.at - this.base;
    const end = this.wordEnd - this.base;
    this.take(this.wordEnd);
    this.begin(keyword);
    if (isNameless(word)) {
      const statement = new Statement(this.chunk, start, end, word);
      into.push(statement);
      return this.clauses(statement) && this.whole(statement);
    }
    let fresh: Span | undefined;
    if (word === 'fit') {
      this.skip();
      const { at } = this;
      if (this.takeWord('new')) fresh = this.span(at, this.last);
    }
    const name = this.name();
    if (name === undefined) return false;
    const statement = new Statement(this.chunk, start, end, word, name);
    if (fresh !== undefined) statement.fresh = fresh;
    into.push(statement);
    return this.mainPart(word, statement) && this.clauses(statement) && this.whole(statement);
  }

  /** What must follow the name, for the few statements that need it. */
  private mainPart(word: StatementWord, statement: Statement): boolean {
    switch (word) {
      case 'swap':
        return this.takeWord('for') && this.target(statement);
      case 'try':
        return this.takeWord('on') && this.target(statement);
      case 'apply':
        return this.takeWord('to') && set(statement, 'targets', this.names());
      case 'transfer': {
        const count = this.maybeCount();
        if (count === false) return false;
        if (count !== undefined) {
          if (!this.may(countClause)) return false;
          statement.count = count;
        }
        if (!this.takeWord('from')) return false;
        statement.source = this.name();
        return statement.source !== undefined && this.takeWord('to') && this.target(statement);
      }
      case 'shim':
        return this.shims(statement);
      default:
        return true;
    }
  }

  private target(statement: Statement): boolean {
    const name = this.name();
    if (name === undefined) return false;
    statement.targets = [name];
    return true;
  }

  private shims(statement: Statement): boolean {
    statement.gap = this.takeWord('gap') ? this.name() : undefined;
    if (statement.gap === undefined) return false;
    this.skip();
    const kind = this.keyword()?.word;
    if (kind !== 'endplay' && kind !== 'preload') return false;
    this.take(this.wordEnd);
    const quantity = this.quantity();
    if (quantity === undefined || !this.takeWord('from')) return false;
    statement.aim = { kind, quantity };
    let stock: ShimPiece[] | undefined;
    for (;;) {
      const thickness = this.quantity();
      const count = thickness === undefined ? false : this.maybeCount();
      if (thickness === undefined || count === false) return false;
      stock = listed(stock, { thickness, count });
      if (this.next() !== comma) {
        statement.stock = trimmed(stock);
        return true;
      }
      this.take(this.at + 1);
    }
  }

  private clauses(statement: Statement): boolean {
    for (;;) {
      const code = this.next();
      if (code === quote) {
        const text = this.may(textClause) ? this.string() : undefined;
        if (text === undefined) return false;
        statement.text = text;
      } else if (isDigit(code) || code === hyphen) {
        const amount = this.may(quantityClause) ? this.quantity() : undefined;
        if (amount === undefined) return false;
        statement.amount = amount;
      } else {
        const keyword = this.keyword();
        if (keyword === undefined) {
          if (code !== smallX) return true;
          const count = this.may(countClause) ? this.count() : undefined;
          if (count === undefined) return false;
          statement.count = count;
        } else {
          if (keyword.does !== 'clause') return true;
          if (!this.may(keyword.clause) || !this.clause(keyword.word, statement)) return false;
        }
      }
    }
  }

  /** The clause that begins with `word`, the next token. */
  private clause(word: string, statement: Statement): boolean {
    const { at } = this;
    this.take(this.wordEnd);
    switch (word) {
      case 'to':
      case 'limit':
      case 'max':
      case 'min':
        return set(statement, word, this.quantity());
      case 'then':
        return set(statement, 'angle', this.quantity());
      case 'in':
        return this.takeWord('stages') && set(statement, 'stages', this.quantities());
      case 'order':
        return this.order(at, statement);
      case 'at':
        return this.takeWord('holes') && set(statement, 'holes', this.holeNumbers());
      case 'by':
        statement.byHand = this.word(at);
        return this.takeWord('hand');
      case 'spoiled':
        statement.spoiled = this.word(at);
        return true;
      case 'with':
        return set(statement, 'together', this.countedNames());
      case 'using':
        statement.using ??= noNames;
        return more(statement as Statement & { using: Name[] }, 'using', this.names());
      case 'keep':
        return this.takeWord('in') && set(statement, 'keep', this.string());
      case 'see':
        return set(statement, 'see', this.string());
      case 'extension':
        return this.extension(at, statement);
      default:
        return false;
    }
  }

  private order(start: number, statement: Statement): boolean {
    let holes: NumberLiteral[] | undefined;
    let form: 'star' | 'spiral' | 'list' = 'list';
    this.skip();
    const word = this.keyword()?.word;
    if (word === 'star' || word === 'spiral') {
      form = word;
      this.take(this.wordEnd);
    } else {
      holes = this.holeNumbers();
      if (holes === undefined) return false;
    }
    statement.order = {
      chunk: this.chunk,
      start: start - this.base,
      end: this.last - this.base,
      form,
      holes: holes ?? noNumbers,
    };
    return true;
  }

  private countedNames(): CountedName[] | undefined {
    let names: CountedName[] | undefined;
    for (;;) {
      const name = this.name();
      const count = name === undefined ? false : this.maybeCount();
      if (name === undefined || count === false) return undefined;
      names = listed(names, { name, count });
      if (this.next() !== comma) return trimmed(names);
      this.take(this.at + 1);
    }
  }

  /** `extension 60 mm at 45° on 400 mm`; `at` and `on` in either order. */
  private extension(start: number, statement: Statement): boolean {
    const length = this.quantity();
    if (length === undefined) return false;
    let at = this.quantityBehind('at');
    const on = this.quantityBehind('on');
    if (at === undefined) at = this.quantityBehind('at');
    if (at === false || on === false) return false;
    statement.extension = { ...this.span(start, this.last), length, on, at };
    return true;
  }

  private quantityBehind(word: string): Quantity | undefined | false {
    return this.takeWord(word) ? (this.quantity() ?? false) : undefined;
  }
}

/** Adds to the names of a clause that may stand again; false where there are none. */
function more<Field extends string>(node: { [F in Field]: Name[] }, field: Field, names: Name[] | undefined): boolean {
  if (names === undefined) return false;
  // A list without names is one that all nodes share.
  if (node[field].length === 0) node[field] = names;
  else for (const name of names) node[field].push(name);
  return true;
}

/** False where there is no value. */
function set<Node, Field extends keyof Node>(node: Node, field: Field, value: Node[Field] | undefined): boolean {
  if (value === undefined) return false;
  node[field] = value;
  return true;
}

const reader = new CleanReader();

/**
 * The chunk of `text` that begins at `start`, and where it ends; nothing where any of it is not clean. A line must begin at
 * `start`, with nothing before it that could reach over.
 */
export function readClean(uri: string, text: string, start: number): Chunk | undefined {
  return reader.read(uri, text, start);
}
/** Makes room for a text that is to be read chunk by chunk. */
export const beginReading = ({ length }: string): void => roomForSpellings(length);
/** Lets all go that belongs to the text read last. */
export const endReading = (): void => {
  reader.leave();
  forgetSpellings();
};
/** Where the chunk ends that was read last. */
export const cleanEnd = (): number => reader.end;
