/**
 * The syntax tree. A file is cut into chunks (the head, a `use`, a declaration, a phase line, a step); every place is
 * counted from the start of its chunk, so that a chunk nobody touched can be kept as it is while text above it moves.
 * All of it is immutable once parsed, and any field that recovery could not fill is absent.
 */
import { countFirst } from './sorted.ts';
import type { BlockWord, DeclarationWord, PhaseWord, StatementWord } from './tokens.ts';
import type { Unit } from './units.ts';

/** Names what a class of nodes shows of itself, where that is not what it keeps. */
const publicFields = Symbol('fields');

/** The fields of a node: of one that makes some when they are asked for, these in place of what they are made from. */
export const fieldsOf = (node: object): readonly string[] =>
  (node.constructor as { [publicFields]?: readonly string[] })[publicFields] ?? Object.keys(node);

/** A stretch of text; `start` and `end` (exclusive) are UTF-16 offsets within the chunk. */
export interface Span {
  readonly chunk: Chunk;
  readonly start: number;
  readonly end: number;
}

export interface Name extends Span {
  readonly text: string;
}

/** The span includes the quotes; of a text whose closing quote is missing it ends with the line. */
export class Text implements Span {
  static readonly [publicFields] = ['chunk', 'start', 'end', 'value'] as const;

  readonly chunk: Chunk;
  readonly start: number;
  readonly end: number;

  constructor(chunk: Chunk, start: number, end: number) {
    this.chunk = chunk;
    this.start = start;
    this.end = end;
  }

  /** What stands between the quotes, its escapes resolved: cut out when asked for, as few are. */
  get value(): string {
    const { text } = this.chunk;
    const last = this.end - 1;
    const endsWithQuote = last > this.start && text[last] === '"';
    const inner = text.slice(this.start + 1, endsWithQuote ? last : this.end);
    return inner.includes('\\') ? resolved(inner, endsWithQuote) : inner;
  }
}

function resolved(inner: string, endsWithQuote: boolean): string {
  const isQuoteEscaped = endsWithQuote && /\\*$/.exec(inner)![0].length % 2 === 1;
  return `${inner}${isQuoteEscaped ? '"' : ''}`.replace(/\\(["\\])/g, '$1');
}

/** `x10` */
export interface Count extends Span {
  readonly value: number;
}

export interface NumberLiteral extends Span {
  readonly value: number;
  /** Digits after the point, for comparisons 'as rounded'. */
  readonly decimals: number;
  readonly image: string;
}

/** `8.8`, a number, or `A2-70`. */
export interface PropertyClass extends Span {
  readonly image: string;
}

export interface UnitName extends Span {
  readonly text: string;
  readonly unit: Unit | undefined;
}

/**
 * One number, a range (two numbers, low to high as written), or a value with its tolerance (two numbers). Thousands are
 * kept: what of one is seldom asked for is made anew each time, and is not the same object then.
 */
export class Quantity implements Span {
  static readonly [publicFields] = ['chunk', 'start', 'end', 'form', 'numbers', 'unit', 'restated'] as const;

  readonly chunk: Chunk;
  readonly start: number;
  end: number;
  readonly form: 'single' | 'range' | 'tolerance';
  /** Of the first number, which stands at the start. */
  readonly value: number;
  readonly second: NumberLiteral | undefined;
  /** What the name of the unit stands for. */
  readonly inUnit: Unit | undefined;
  /** The same value in another unit, in brackets. */
  restated: Quantity | undefined;
  private readonly firstEnd: number;
  /** Both 0 where no unit stands. */
  private readonly unitStart: number;
  private readonly unitEnd: number;

  /** It ends with its unit, where it has one. */
  constructor(
    chunk: Chunk,
    start: number,
    end: number,
    form: Quantity['form'],
    value: number,
    firstEnd: number,
    second: NumberLiteral | undefined,
    inUnit: Unit | undefined,
    unitStart: number,
  ) {
    this.chunk = chunk;
    this.start = start;
    this.end = end;
    this.form = form;
    this.value = value;
    this.second = second;
    this.inUnit = inUnit;
    this.restated = undefined;
    this.firstEnd = firstEnd;
    this.unitStart = unitStart;
    this.unitEnd = unitStart === 0 ? 0 : end;
  }

  get first(): NumberLiteral {
    const { chunk, start, firstEnd: end, value } = this;
    const image = chunk.text.slice(start, end);
    return { chunk, start, end, value, decimals: decimalsIn(image), image };
  }
  get numbers(): readonly NumberLiteral[] {
    return this.second === undefined ? [this.first] : [this.first, this.second];
  }
  get unit(): UnitName | undefined {
    const { chunk, unitStart: start, unitEnd: end, inUnit: unit } = this;
    return end === 0 ? undefined : { chunk, start, end, text: chunk.text.slice(start, end), unit };
  }
}

/** How many digits stand behind the point, or behind the first comma where one was written for it. */
export function decimalsIn(image: string): number {
  const point = image.indexOf('.');
  if (point >= 0) return image.length - point - 1;
  const [, behind = ''] = image.split(',', 2);
  return behind.length;
}

export interface Head extends Span {
  readonly kind: 'procedure';
  readonly keyword: Span;
  name?: Name;
  title?: Text;
  codes: Name[];
  codePlate?: Text;
  measures?: Name;
  /** Something in it could not be read. */
  broken?: boolean;
}

export interface Use extends Span {
  readonly kind: 'use';
  readonly keyword: Span;
  path?: Text;
  /** Something in it could not be read. */
  broken?: boolean;
}

export interface Pattern {
  readonly form: 'circle' | 'points';
  count?: NumberLiteral;
  angles?: Quantity[];
  points?: { x: NumberLiteral; y: NumberLiteral }[];
  unit?: UnitName;
  diameter?: Quantity;
}

/** Part, tool, supply or pattern. Only the fields of its kind are ever filled. */
export class Declaration implements Span {
  static readonly [publicFields] = [
    'chunk',
    'start',
    'end',
    'kind',
    'keyword',
    'name',
    'title',
    'count',
    'thread',
    'propertyClass',
    'grade',
    'condition',
    'length',
    'torque',
    'angle',
    'prevailing',
    'head',
    'holes',
    'holesAt',
    'renew',
    'lead',
    'heldBy',
    'behind',
    'carriedBy',
    'index',
    'hazards',
    'bore',
    'fit',
    'outside',
    'interference',
    'limit',
    'filled',
    'number',
    'range',
    'amount',
    'spec',
    'cure',
    'pattern',
    'broken',
  ] as const satisfies readonly (keyof Declaration)[];

  readonly chunk: Chunk;
  readonly start: number;
  end: number;
  readonly kind: DeclarationWord;
  private readonly wordEnd: number;
  name: Name | undefined;
  title: Text | undefined;
  heldBy: Name[];
  behind: Name[];
  hazards: Name[];
  /** Something in it could not be read; do not conclude from what is absent. */
  broken: boolean;
  declare count?: Count;
  declare thread?: Name;
  declare propertyClass?: PropertyClass;
  declare grade?: NumberLiteral;
  declare condition?: Name;
  declare length?: Quantity;
  declare torque?: Quantity;
  /** `torque 40 N·m then 90°` */
  declare angle?: Quantity;
  /** Torque that turns a locking nut or screw on the thread before it clamps. */
  declare prevailing?: Quantity;
  /** `hexagon`, `socket` or `flange`: what it bears on. */
  declare head?: Name;
  declare holes?: Name;
  /** `holes rim at 1, 3`: which of them, where others share the pattern. */
  declare holesAt?: NumberLiteral[];
  declare renew?: Span;
  declare lead?: Quantity;
  declare carriedBy?: Name;
  declare index?: Span;
  declare bore?: Quantity;
  declare fit?: Name;
  /** Outside diameter of a part that is pressed on: `diameter 90 mm`. */
  declare outside?: Quantity;
  declare interference?: Quantity;
  declare limit?: Quantity;
  /** `sealed` or `greased`: a bearing that must stay cooler. */
  declare filled?: Name;
  declare number?: Text;
  declare range?: Quantity;
  declare amount?: Quantity;
  declare spec?: Text;
  declare cure?: Quantity;
  declare pattern?: Pattern;

  /** The lists are to be new ones where they are added to. */
  constructor(keyword: Span, kind: DeclarationWord, heldBy: Name[], behind: Name[], hazards: Name[]) {
    this.chunk = keyword.chunk;
    this.start = keyword.start;
    this.end = keyword.end;
    this.kind = kind;
    this.wordEnd = keyword.end;
    this.name = undefined;
    this.title = undefined;
    this.heldBy = heldBy;
    this.behind = behind;
    this.hazards = hazards;
    this.broken = false;
  }

  /** Made anew each time. */
  get keyword(): Span {
    return { chunk: this.chunk, start: this.start, end: this.wordEnd };
  }
}

export interface PhaseLine extends Span {
  readonly kind: PhaseWord;
  readonly keyword: Span;
  /** Something in it could not be read. */
  broken?: boolean;
}

export class Step implements Span {
  static readonly [publicFields] = [
    'chunk',
    'start',
    'end',
    'kind',
    'keyword',
    'name',
    'title',
    'takes',
    'after',
    'statements',
    'broken',
  ] as const satisfies readonly (keyof Step)[];

  readonly chunk: Chunk;
  readonly start: number;
  end: number;
  readonly kind: 'step';
  /** 0 where statements stand outside any step. */
  private readonly wordEnd: number;
  name: Name | undefined;
  title: Text | undefined;
  takes: Quantity | undefined;
  after: Name[];
  statements: Statement[];
  /** Something in it could not be read. */
  declare broken?: boolean;

  /** `after` is to be a new list where it is added to. */
  constructor(chunk: Chunk, start: number, end: number, keyword: Span | undefined, after: Name[]) {
    this.chunk = chunk;
    this.start = start;
    this.end = end;
    this.kind = 'step';
    this.wordEnd = keyword === undefined ? 0 : keyword.end;
    this.name = undefined;
    this.title = undefined;
    this.takes = undefined;
    this.after = after;
    this.statements = [];
  }

  /** Made anew each time; absent where statements stand outside any step. */
  get keyword(): Span | undefined {
    const { chunk, start, wordEnd: end } = this;
    return end === 0 ? undefined : { chunk, start, end };
  }
}

export interface CountedName {
  readonly name: Name;
  readonly count?: Count;
}

export interface TighteningOrder extends Span {
  readonly form: 'star' | 'spiral' | 'list';
  readonly holes: readonly NumberLiteral[];
}

export interface ShimPiece {
  readonly thickness: Quantity;
  readonly count?: Count;
}

export interface Extension extends Span {
  readonly length?: Quantity;
  /** Length of the wrench, centre of the drive to centre of the grip. */
  readonly on?: Quantity;
  readonly at?: Quantity;
}

export interface Branch {
  readonly keyword: Span;
  readonly text?: Text;
  readonly statements: Statement[];
}

/** What a statement may have beside its name and its text. */
interface Clauses {
  /** Where it is not the word of the kind: a slip, a word that was forgotten, a line that could not be read. */
  keyword?: Span;
  broken?: boolean;
  /** `new` */
  fresh?: Span;
  count?: Count;
  /** `drain S Q`, `fill S Q`, `wait Q` */
  amount?: Quantity;
  to?: Quantity;
  /** `then 90°` */
  angle?: Quantity;
  stages?: Quantity[];
  order?: TighteningOrder;
  holes?: NumberLiteral[];
  byHand?: Span;
  spoiled?: Span;
  /** `with Q, R` */
  together?: CountedName[];
  /** `transfer P from A` */
  source?: Name;
  /** `swap A for B`, `transfer … to B`, `apply S to P, Q`, `try P on Q` */
  targets?: Name[];
  limit?: Quantity;
  max?: Quantity;
  min?: Quantity;
  gap?: Name;
  aim?: { readonly kind: 'endplay' | 'preload'; readonly quantity?: Quantity };
  stock?: ShimPiece[];
  using?: Name[];
  keep?: Text;
  see?: Text;
  extension?: Extension;
  /** `for DW-40B` */
  codes?: Name[];
  branches?: Branch[];
  /** `end` of a block. */
  closing?: Span;
  /** Every word of a statement that could not be read in full: its parts are left out of the reckoning. */
  words?: Name[];
  /** Where it could be read in full as far as it acts on parts: the words behind that. */
  lost?: Name[];
}

/**
 * A statement, or a block of alternatives (`either`, `if`, `for`), or a line that could not be read (`unknown`). All are of
 * one shape, as each check goes over thousands: clauses, which half of them have none of, stand on an object of their own.
 */
export class Statement implements Span, Clauses {
  static readonly [publicFields] = [
    'chunk',
    'start',
    'end',
    'kind',
    'name',
    'text',
    'keyword',
    'broken',
    'fresh',
    'count',
    'amount',
    'to',
    'angle',
    'stages',
    'order',
    'holes',
    'byHand',
    'spoiled',
    'together',
    'source',
    'targets',
    'limit',
    'max',
    'min',
    'gap',
    'aim',
    'stock',
    'using',
    'keep',
    'see',
    'extension',
    'codes',
    'branches',
    'closing',
    'words',
    'lost',
  ] as const satisfies readonly (keyof Statement)[];

  readonly chunk: Chunk;
  readonly start: number;
  end: number;
  readonly kind: StatementWord | BlockWord | 'unknown';
  /** The part, supply or reading that the statement acts on. */
  name: Name | undefined;
  text: Text | undefined;
  private clauses: Clauses | undefined;

  constructor(chunk: Chunk, start: number, end: number, kind: Statement['kind'], name?: Name) {
    this.chunk = chunk;
    this.start = start;
    this.end = end;
    this.kind = kind;
    this.name = name;
    this.text = undefined;
    this.clauses = undefined;
  }

  /** Made anew each time: few are asked for. */
  get keyword(): Span {
    const { chunk, start, kind } = this;
    return this.clauses?.keyword ?? { chunk, start, end: start + kind.length };
  }
  set keyword(keyword: Span) {
    if (keyword.end !== this.start + this.kind.length) this.ownClauses.keyword = keyword;
  }
  get broken(): boolean {
    return this.clauses?.broken === true;
  }
  set broken(broken: boolean) {
    if (broken !== this.broken) this.ownClauses.broken = broken;
  }

  private get ownClauses(): Clauses {
    this.clauses ??= {};
    return this.clauses;
  }

  // What each is, `Clauses` says. They are written out: made in a loop they would have to look up their names.
  get fresh(): Span | undefined {
    return this.clauses?.fresh;
  }
  set fresh(fresh: Span | undefined) {
    this.ownClauses.fresh = fresh;
  }
  get count(): Count | undefined {
    return this.clauses?.count;
  }
  set count(count: Count | undefined) {
    this.ownClauses.count = count;
  }
  get amount(): Quantity | undefined {
    return this.clauses?.amount;
  }
  set amount(amount: Quantity | undefined) {
    this.ownClauses.amount = amount;
  }
  get to(): Quantity | undefined {
    return this.clauses?.to;
  }
  set to(to: Quantity | undefined) {
    this.ownClauses.to = to;
  }
  get angle(): Quantity | undefined {
    return this.clauses?.angle;
  }
  set angle(angle: Quantity | undefined) {
    this.ownClauses.angle = angle;
  }
  get stages(): Quantity[] | undefined {
    return this.clauses?.stages;
  }
  set stages(stages: Quantity[] | undefined) {
    this.ownClauses.stages = stages;
  }
  get order(): TighteningOrder | undefined {
    return this.clauses?.order;
  }
  set order(order: TighteningOrder | undefined) {
    this.ownClauses.order = order;
  }
  get holes(): NumberLiteral[] | undefined {
    return this.clauses?.holes;
  }
  set holes(holes: NumberLiteral[] | undefined) {
    this.ownClauses.holes = holes;
  }
  get byHand(): Span | undefined {
    return this.clauses?.byHand;
  }
  set byHand(byHand: Span | undefined) {
    this.ownClauses.byHand = byHand;
  }
  get spoiled(): Span | undefined {
    return this.clauses?.spoiled;
  }
  set spoiled(spoiled: Span | undefined) {
    this.ownClauses.spoiled = spoiled;
  }
  get together(): CountedName[] | undefined {
    return this.clauses?.together;
  }
  set together(together: CountedName[] | undefined) {
    this.ownClauses.together = together;
  }
  get source(): Name | undefined {
    return this.clauses?.source;
  }
  set source(source: Name | undefined) {
    this.ownClauses.source = source;
  }
  get targets(): Name[] | undefined {
    return this.clauses?.targets;
  }
  set targets(targets: Name[] | undefined) {
    this.ownClauses.targets = targets;
  }
  get limit(): Quantity | undefined {
    return this.clauses?.limit;
  }
  set limit(limit: Quantity | undefined) {
    this.ownClauses.limit = limit;
  }
  get max(): Quantity | undefined {
    return this.clauses?.max;
  }
  set max(max: Quantity | undefined) {
    this.ownClauses.max = max;
  }
  get min(): Quantity | undefined {
    return this.clauses?.min;
  }
  set min(min: Quantity | undefined) {
    this.ownClauses.min = min;
  }
  get gap(): Name | undefined {
    return this.clauses?.gap;
  }
  set gap(gap: Name | undefined) {
    this.ownClauses.gap = gap;
  }
  get aim(): Clauses['aim'] {
    return this.clauses?.aim;
  }
  set aim(aim: Clauses['aim']) {
    this.ownClauses.aim = aim;
  }
  get stock(): ShimPiece[] | undefined {
    return this.clauses?.stock;
  }
  set stock(stock: ShimPiece[] | undefined) {
    this.ownClauses.stock = stock;
  }
  get using(): Name[] | undefined {
    return this.clauses?.using;
  }
  set using(using: Name[] | undefined) {
    this.ownClauses.using = using;
  }
  get keep(): Text | undefined {
    return this.clauses?.keep;
  }
  set keep(keep: Text | undefined) {
    this.ownClauses.keep = keep;
  }
  get see(): Text | undefined {
    return this.clauses?.see;
  }
  set see(see: Text | undefined) {
    this.ownClauses.see = see;
  }
  get extension(): Extension | undefined {
    return this.clauses?.extension;
  }
  set extension(extension: Extension | undefined) {
    this.ownClauses.extension = extension;
  }
  get codes(): Name[] | undefined {
    return this.clauses?.codes;
  }
  set codes(codes: Name[] | undefined) {
    this.ownClauses.codes = codes;
  }
  get branches(): Branch[] | undefined {
    return this.clauses?.branches;
  }
  set branches(branches: Branch[] | undefined) {
    this.ownClauses.branches = branches;
  }
  get closing(): Span | undefined {
    return this.clauses?.closing;
  }
  set closing(closing: Span | undefined) {
    this.ownClauses.closing = closing;
  }
  get words(): Name[] | undefined {
    return this.clauses?.words;
  }
  set words(words: Name[] | undefined) {
    this.ownClauses.words = words;
  }
  get lost(): Name[] | undefined {
    return this.clauses?.lost;
  }
  set lost(lost: Name[] | undefined) {
    this.ownClauses.lost = lost;
  }
}

export interface Comment extends Span {
  readonly text: string;
  /** Nothing but blanks before it on its line. */
  readonly ownLine: boolean;
}

export interface SyntaxIssue extends Span {
  readonly message: string;
  /** Text that would mend it in place, where that is certain. */
  readonly replacement?: string;
  /** A reserved word that is read as the name it stands for. */
  readonly isReservedName?: true;
}

export type Item = Head | Use | Declaration | PhaseLine | Step;

export interface Chunk {
  readonly uri: string;
  readonly text: string;
  /** Absent where the chunk is nothing but comments or unreadable. */
  item?: Item;
  /** Statements behind a declaration, a phase line or the head, outside any step. */
  strayStep?: Step;
  readonly comments: Comment[];
  readonly issues: SyntaxIssue[];
  /** Words of lines that could not be read, outside any step: a declaration may be lost among them. */
  readonly lostWords: string[];
}

export interface SyntaxTree {
  readonly uri: string;
  readonly text: string;
  readonly chunks: readonly Chunk[];
  /** Offset of each chunk in the text; chunks lie end to end. */
  readonly starts: readonly number[];
}

/**
 * A tree whose text is put together when it is first asked for. Where it shows only some of the chunks of a `whole`, its
 * text is that of the whole.
 */
export class LazyTree implements SyntaxTree {
  readonly uri: string;
  readonly chunks: readonly Chunk[];
  readonly starts: readonly number[];
  readonly #whole: SyntaxTree | undefined;
  #text: string | undefined;

  constructor(uri: string, chunks: readonly Chunk[], starts: readonly number[], whole?: SyntaxTree) {
    this.uri = uri;
    this.chunks = chunks;
    this.starts = starts;
    this.#whole = whole;
  }

  get text(): string {
    this.#text ??= this.#whole?.text ?? textOf(this.chunks);
    return this.#text;
  }
}

export const textOf = (chunks: readonly Chunk[]): string => chunks.map(({ text }) => text).join('');

/** Offsets of `span` in the whole text of `tree`. */
export function offsetsOf(tree: SyntaxTree, span: Span): { start: number; end: number } {
  const base = tree.starts[indexOf(tree, span.chunk)] ?? 0;
  return { start: base + span.start, end: base + span.end };
}

/** What is known of the places of a tree's chunks: all, or how often one was looked for. */
const places = new WeakMap<SyntaxTree, Map<Chunk, number> | number>();
/** So many are found sooner by going over the chunks. */
const fewLooks = 16;

function indexOf(tree: SyntaxTree, chunk: Chunk): number {
  let known = places.get(tree) ?? 0;
  if (typeof known === 'number') {
    if (known < fewLooks) {
      places.set(tree, known + 1);
      return Math.max(0, tree.chunks.indexOf(chunk));
    }
    known = new Map(tree.chunks.map((each, i) => [each, i]));
    places.set(tree, known);
  }
  return known.get(chunk) ?? 0;
}

/** The chunk that holds `offset` (the last one that starts at or before it). */
export const chunkAt = ({ starts }: SyntaxTree, offset: number): number => lastFrom(starts, offset);

/** The last of `starts`, which rise, that is not behind `offset`; the first where all are. */
const lastFrom = (starts: readonly number[], offset: number): number =>
  Math.max(0, countFirst(starts, (start) => start <= offset) - 1);

/** Offsets at which the lines of `text` begin; a line ends with LF, CR, or both. */
export function lineStarts(text: string): number[] {
  const starts = [0];
  for (const { 0: end, index } of text.matchAll(/\r\n|[\r\n]/g)) starts.push(index + end.length);
  return starts;
}

/** Gives the line of an offset in `text`, counted from 0. */
export function lineFinder(text: string): (offset: number) => number {
  const starts = lineStarts(text);
  return (offset) => lastFrom(starts, offset);
}

export const spanText = (span: Span): string => span.chunk.text.slice(span.start, span.end);

export const contains = (span: Span, at: number): boolean => span.start <= at && at <= span.end;

/** Every statement of `statements`, outermost first, in the order of the text. */
export function walk(statements: readonly Statement[]): Statement[] {
  const all: Statement[] = [];
  addAll(statements, all);
  return all;
}

function addAll(statements: readonly Statement[], all: Statement[]): void {
  for (const statement of statements) {
    all.push(statement);
    if (statement.branches !== undefined) for (const branch of statement.branches) addAll(branch.statements, all);
  }
}
