/**
 * The syntax tree. A file is cut into chunks (the head, a `use`, a declaration, a phase line, a step); every place is
 * counted from the start of its chunk, so that a chunk nobody touched can be kept as it is while text above it moves.
 * All of it is immutable once parsed, and any field that recovery could not fill is absent.
 */
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

  constructor(
    first: NumberLiteral,
    end: number,
    form: Quantity['form'],
    second: NumberLiteral | undefined,
    unit: UnitName | undefined,
  ) {
    this.chunk = first.chunk;
    this.start = first.start;
    this.end = end;
    this.form = form;
    this.value = first.value;
    this.second = second;
    this.inUnit = unit?.unit;
    this.restated = undefined;
    this.firstEnd = first.end;
    this.unitStart = unit === undefined ? 0 : unit.start;
    this.unitEnd = unit === undefined ? 0 : unit.end;
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
  const point = image.search(/[.,]/);
  if (point < 0) return 0;
  const behind = image.indexOf(',', point + 1);
  return (behind < 0 ? image.length : behind) - point - 1;
}

export interface Torque extends Span {
  readonly torque: Quantity;
  readonly angle?: Quantity;
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
export interface Declaration extends Span {
  readonly kind: DeclarationWord;
  readonly keyword: Span;
  name?: Name;
  title?: Text;
  count?: Count;
  thread?: Name;
  propertyClass?: PropertyClass;
  grade?: NumberLiteral;
  condition?: Name;
  length?: Quantity;
  torque?: Quantity;
  /** `torque 40 N·m then 90°` */
  angle?: Quantity;
  holes?: Name;
  renew?: Span;
  lead?: Quantity;
  heldBy: Name[];
  behind: Name[];
  carriedBy?: Name;
  index?: Span;
  hazards: Name[];
  bore?: Quantity;
  fit?: Name;
  /** Outside diameter of a part that is pressed on: `diameter 90 mm`. */
  outside?: Quantity;
  interference?: Quantity;
  limit?: Quantity;
  /** `sealed` or `greased`: a bearing that must stay cooler. */
  filled?: Name;
  number?: Text;
  range?: Quantity;
  amount?: Quantity;
  spec?: Text;
  cure?: Quantity;
  pattern?: Pattern;
  /** Something in it could not be read; do not conclude from what is absent. */
  broken: boolean;
}

export interface PhaseLine extends Span {
  readonly kind: PhaseWord;
  readonly keyword: Span;
  /** Something in it could not be read. */
  broken?: boolean;
}

export interface Step extends Span {
  readonly kind: 'step';
  /** Absent where statements stand outside any step. */
  readonly keyword?: Span;
  name?: Name;
  title?: Text;
  takes?: Quantity;
  after: Name[];
  readonly statements: Statement[];
  /** Something in it could not be read. */
  broken?: boolean;
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

/** A statement, or a block of alternatives (`either`, `if`, `for`), or a line that could not be read (`unknown`). */
export interface Statement extends Span {
  readonly kind: StatementWord | BlockWord | 'unknown';
  readonly keyword: Span;
  /** The part, supply or reading that the statement acts on. */
  name?: Name;
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
  text?: Text;
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
  broken: boolean;
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
function lastFrom(starts: readonly number[], offset: number): number {
  let low = 0;
  let high = starts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (starts[middle]! <= offset) low = middle;
    else high = middle - 1;
  }
  return low;
}

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
