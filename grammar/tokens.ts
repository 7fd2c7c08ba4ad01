import { createToken, type IToken, Lexer, type TokenType } from 'chevrotain';
import { unitOf } from './units.ts';

/** Letters that may begin a name, from and to; `×` and the degree signs are not among them. */
const letters: readonly (readonly [number, number])[] = [
  [0x41, 0x5a],
  [0x61, 0x7a],
  [0xaa, 0xaa],
  [0xb5, 0xb5],
  [0xc0, 0xd6],
  [0xd8, 0xf6],
  [0xf8, 0x2c1],
  [0x370, 0x1fff],
  [0x2c00, 0x2dff],
  [0x3040, 0xd7ff],
  [0xf900, 0xfdff],
];
const escaped = (code: number): string => `\\u${code.toString(16).padStart(4, '0')}`;
const letter = letters.map(([from, to]) => (from === to ? escaped(from) : `${escaped(from)}-${escaped(to)}`)).join('');
const wordTail = `[${letter}0-9\\u0300-\\u036F-]*`;

const dots = '·⋅∙•.';

/** By character code: 2 for what may begin a name, 1 for what else may stand in it, 3 for a dot. */
const kindOfCode = new Uint8Array(0x10000);
kindOfCode.fill(1, 0x30, 0x3a);
kindOfCode.fill(1, 0x300, 0x370);
kindOfCode[0x2d] = 1;
for (const [from, to] of letters) kindOfCode.fill(2, from, to + 1);
for (const sign of dots) kindOfCode[sign.charCodeAt(0)] = 3;
/** False for NaN, the code behind the end of a text, as the two below. */
export const isLetter = (code: number): boolean => kindOfCode[code] === 2;
export const isTail = (code: number): boolean => kindOfCode[code] === 2 || kindOfCode[code] === 1;
export const isDot = (code: number): boolean => kindOfCode[code] === 3;
const dot = new RegExp(`[${dots}]`);

// Categories
export const Name = createToken({ name: 'Name', pattern: Lexer.NA });
export const AnyNumber = createToken({ name: 'AnyNumber', pattern: Lexer.NA });
export const Unit = createToken({ name: 'Unit', pattern: Lexer.NA });
export const AnyText = createToken({ name: 'AnyText', pattern: Lexer.NA });

/** Letters, with one dot among them (told apart below: to try two patterns for each word would cost more). */
export const Word = createToken({
  name: 'Word',
  pattern: new RegExp(`[${letter}]+(?:[${dots}][${letter}]+|${wordTail})`),
  categories: [Name],
  line_breaks: false,
});
/** A reserved word that stands where only a name can stand. */
export const ReservedName = createToken({ name: 'ReservedName', pattern: Lexer.NA, categories: [Name] });
/** The word of a clause that stands where a name is missing: what is behind it says that it is none. */
export const ClauseWord = createToken({ name: 'ClauseWord', pattern: Lexer.NA });

/** By far the most frequent blank, and the cheapest to match. */
const Blank = createToken({ name: 'Blank', pattern: ' ', group: Lexer.SKIPPED });
const WhiteSpace = createToken({
  name: 'WhiteSpace',
  pattern: /[ \t\r\n\f\v\u00A0\u1680\u2000-\u200A\u2028\u2029\u202F\u205F\u3000\uFEFF]+/,
  group: Lexer.SKIPPED,
  line_breaks: true,
});
const Comment = createToken({ name: 'Comment', pattern: /#[^\r\n]*/, group: 'comments', line_breaks: false });

export const Text = createToken({
  name: 'Text',
  pattern: /"(?:[^"\\\r\n]|\\[^\r\n])*"/,
  categories: [AnyText],
  line_breaks: false,
});
/** A text whose closing quote is missing: it ends with its line. */
export const OpenText = createToken({
  name: 'OpenText',
  pattern: /"(?:[^"\\\r\n]|\\[^\r\n])*\\?/,
  categories: [AnyText],
  line_breaks: false,
});

export const Times = createToken({
  name: 'Times',
  // No word could be read in place of `×10a`; of `x10a` one is.
  pattern: new RegExp(`x[0-9]+(?![${letter}0-9-])|×[0-9]+`),
  line_breaks: false,
});
/** Steel groups of ISO 3506-1, also of low carbon, as part of a pattern; from memory. */
export const stainlessSteels = 'A[1-58]L?|C[134]|F1|D[2468]';
/** `A2-70`, `A4L-080`: steel group and class, also of screws that bear less; from memory. */
const stainlessClass = new RegExp(`^(?:${stainlessSteels})-0?[1-9][0-9]0?$`);
export const isStainlessClass = (word: string): boolean => stainlessClass.test(word);

/** What stands before the size of a pipe thread, as part of a pattern: ISO 228 (G), ISO 7 (R, Rp, Rc), ASME B1.20.1 (NPT); from memory. */
export const pipeThreads = 'G|R[pc]?|NPTF?';
const leftHand = `(?:-LH(?![${letter}0-9-]))?`;
/** `M8x1.25`, `M1.6` and `M20x1.5-LH`; `M8`, `M8x1` and `M8-LH` are words. */
export const MetricThread = createToken({
  name: 'MetricThread',
  pattern: new RegExp(
    `M(?:[0-9]+\\.[0-9]+(?:[x×][0-9]+(?:\\.[0-9]+)?)?|[0-9]+[x×][0-9]+\\.[0-9]+|[0-9]+×[0-9]+)${leftHand}`,
  ),
  line_breaks: false,
});
/** `G1/2`, `G 1 1/4 A`, `R3/8-LH`, `1/2-14 NPT`; `G1` and `Rp2` are words. */
export const PipeThread = createToken({
  name: 'PipeThread',
  pattern: new RegExp(
    `(?:(?:${pipeThreads}) ?(?:[0-9]+[- ])?[0-9]+/[0-9]+(?: ?[AB](?![${letter}0-9]))?|` +
      `(?:[0-9]+[- ](?=[0-9]+/))?[0-9]+(?:/[0-9]+)?(?:-[0-9]+(?:\\.[0-9])?)? ?NPTF?(?![${letter}0-9]))${leftHand}`,
  ),
  line_breaks: false,
});
/** `1/4-20`, `1-1/8-7`, `3/4-16-LH`. */
export const InchThread = createToken({
  name: 'InchThread',
  pattern: new RegExp(`(?:[0-9]+-)?[0-9]+/[0-9]+-[0-9]+${leftHand}`),
  line_breaks: false,
});
/** `10-32`: a number-size thread, or part of a code. */
export const DashedNumber = createToken({
  name: 'DashedNumber',
  pattern: new RegExp(`[0-9]+(?:-[0-9]+)+${leftHand}`),
  line_breaks: false,
});
/** `1,8`: recovered as 1.8, reported. */
export const CommaNumber = createToken({
  name: 'CommaNumber',
  pattern: /[-−]?[0-9]+(?:,[0-9]+)+/,
  categories: [AnyNumber],
  line_breaks: false,
});
export const PointNumber = createToken({
  name: 'PointNumber',
  pattern: /[-−]?\.[0-9]+/,
  categories: [AnyNumber],
  line_breaks: false,
});
export const NumberToken = createToken({
  name: 'Number',
  pattern: /[-−]?[0-9]+(?:\.[0-9]+)?/,
  categories: [AnyNumber],
  line_breaks: false,
});
/** `k6`, `js5`: a tolerance class of ISO 286 for the shaft alone, as it is stated for a rolling bearing. */
const shaftClass = /^(?:[a-hjkmnprstuvyz]|js|z[abc])(?:[1-9]|1[0-8])$/;
export const isShaftClass = (word: string): boolean => shaftClass.test(word);

/** `H7/k6`. */
export const FitPair = createToken({
  name: 'FitPair',
  pattern: /[A-Z]{1,2}[0-9]{1,2}\/[a-z]{1,2}[0-9]{1,2}/,
  line_breaks: false,
});

export const DegreeUnit = createToken({
  name: 'DegreeUnit',
  pattern: /[°º˚](?:[CFcf](?![A-Za-z0-9]))?|[℃℉]/,
  categories: [Unit],
  line_breaks: false,
});
export const UnitWord = createToken({ name: 'UnitWord', pattern: Lexer.NA, categories: [Unit] });
/** A word glued to, or right behind, a number that no unit is spelled like. */
export const UnknownUnit = createToken({ name: 'UnknownUnit', pattern: Lexer.NA, categories: [Unit] });

/** Between the two numbers of a range or a tolerance. */
export const Spread = createToken({ name: 'Spread', pattern: Lexer.NA });
export const To = createToken({ name: 'RangeDots', pattern: /\.\.+/, categories: [Spread], line_breaks: false });
export const PlusMinus = createToken({
  name: 'PlusMinus',
  pattern: /±|\+\/-/,
  categories: [Spread],
  line_breaks: false,
});
export const Comma = createToken({ name: 'Comma', pattern: /,/, line_breaks: false });
export const Open = createToken({ name: 'OpenBracket', pattern: /\(/, line_breaks: false });
export const Close = createToken({ name: 'CloseBracket', pattern: /\)/, line_breaks: false });
export const Slash = createToken({ name: 'Slash', pattern: /\//, line_breaks: false });
/** A character that belongs nowhere (letters and digits have been tried before). */
export const Stray = createToken({
  name: 'Stray',
  pattern:
    // biome-ignore lint/suspicious/noControlCharactersInRegex: a control character in a file must be told of, not stop the lexer
    /[\uD800-\uDBFF][\uDC00-\uDFFF]|[\u0000-\u0008\u000E-\u001F!$%&'*+\-.:;<=>?@[\\\]^_`{|}~\u007F-\u009F\u00A1-\uFFFF]/,
  line_breaks: false,
});

export const declarationWords = ['part', 'tool', 'supply', 'pattern'] as const;
export const phaseWords = ['teardown', 'inspection', 'reassembly', 'proving'] as const;
/** Statements that say all in their text. */
export const textStatements = ['sign', 'identify', 'check', 'do', 'danger', 'warning', 'caution', 'notice'] as const;
/** Statements that act on nothing that has a name. */
export const namelessStatements = ['wait', ...textStatements] as const;
/** Of a thread. */
export const conditionWords = ['dry', 'oiled', 'paste', 'threadlock'] as const;
/** What a bolt or nut bears on. */
export const headWords: readonly string[] = ['hexagon', 'socket', 'flange'];
export const statementWords = [
  'remove',
  'disconnect',
  'discard',
  'replace',
  'fit',
  'connect',
  'swap',
  'transfer',
  'omit',
  'try',
  'loosen',
  'tighten',
  'drain',
  'fill',
  'apply',
  'wait',
  'heat',
  'cool',
  'press',
  'mark',
  'support',
  'clean',
  'inspect',
  'measure',
  'shim',
  ...textStatements,
] as const;
export const blockWords = ['either', 'if', 'for'] as const;
export const blockPartWords = ['or', 'else', 'end'] as const;
/** Special only in their place; names elsewhere. */
export const contextualWords = [
  'applies',
  'to',
  'code',
  'plate',
  'measures',
  'metric',
  'imperial',
  'thread',
  'class',
  'grade',
  ...conditionWords,
  'length',
  'torque',
  'prevailing',
  'head',
  'holes',
  'renew',
  'lead',
  'held',
  'by',
  'behind',
  'carried',
  'index',
  'hazard',
  'bore',
  'interference',
  'limit',
  'number',
  'sealed',
  'greased',
  'range',
  'spec',
  'cure',
  'circle',
  'angles',
  'points',
  'diameter',
  'then',
  'in',
  'stages',
  'order',
  'star',
  'spiral',
  'at',
  'hand',
  'spoiled',
  'with',
  'from',
  'on',
  'max',
  'min',
  'gap',
  'endplay',
  'preload',
  'keep',
  'see',
  'using',
  'extension',
  'takes',
  'after',
] as const;

export type DeclarationWord = (typeof declarationWords)[number];
export type PhaseWord = (typeof phaseWords)[number];
export type StatementWord = (typeof statementWords)[number];
export type BlockWord = (typeof blockWords)[number];
export type ContextualWord = (typeof contextualWords)[number];

export const reservedWords: readonly string[] = [
  'procedure',
  'use',
  ...declarationWords,
  ...phaseWords,
  'step',
  ...statementWords,
  'new',
  ...blockWords,
  ...blockPartWords,
];

type Keyword =
  | ContextualWord
  | 'procedure'
  | 'use'
  | 'step'
  | 'new'
  | DeclarationWord
  | PhaseWord
  | StatementWord
  | BlockWord
  | (typeof blockPartWords)[number];

/** Words that begin a declaration. */
export const Declares = createToken({ name: 'Declares', pattern: Lexer.NA });
/** Statements that name one part and then say more in any order. */
export const PartVerb = createToken({ name: 'PartVerb', pattern: Lexer.NA });
/** Statements about a fluid or a reading: a name, then more. */
export const NamedVerb = createToken({ name: 'NamedVerb', pattern: Lexer.NA });
/** Statements that need no name. */
export const BareVerb = createToken({ name: 'BareVerb', pattern: Lexer.NA });
const partVerbs = [
  'remove',
  'disconnect',
  'discard',
  'replace',
  'connect',
  'omit',
  'loosen',
  'tighten',
  'heat',
  'cool',
  'press',
  'mark',
  'support',
  'clean',
  'inspect',
];
const namedVerbs = ['drain', 'fill', 'measure'];
const categoriesOf = (word: string): TokenType[] =>
  partVerbs.includes(word)
    ? [PartVerb]
    : namedVerbs.includes(word)
      ? [NamedVerb]
      : (namelessStatements as readonly string[]).includes(word)
        ? [BareVerb]
        : (declarationWords as readonly string[]).includes(word)
          ? [Declares]
          : [];

/** Token type of each keyword, by the word itself. */
export const keyword = {} as Record<Keyword, TokenType>;
const keywordOf = new Map<string, TokenType>();
for (const word of reservedWords) {
  const type = createToken({ name: word, pattern: Lexer.NA, categories: categoriesOf(word) });
  keyword[word as Keyword] = type;
  keywordOf.set(word, type);
}
for (const word of contextualWords) {
  const type = createToken({ name: word, pattern: Lexer.NA, categories: [Name] });
  keyword[word] = type;
  keywordOf.set(word, type);
}

const reserved: ReadonlySet<string> = new Set(reservedWords);
const contextual: ReadonlySet<string> = new Set(contextualWords);
/** `1,250`, whose comma may part thousands or stand for the point. */
export const isThousands = (image: string): boolean => /^[1-9][0-9]{0,2},[0-9]{3}$/.test(image);
export const isReserved = (word: string): boolean => reserved.has(word);
export const isContextual = (word: string): word is ContextualWord => contextual.has(word);

const reservedTypes: boolean[] = [];
for (const word of reservedWords) reservedTypes[keywordOf.get(word)!.tokenTypeIdx!] = true;
/** True for a reserved word that has not been made a name. */
export const isKeyword = (token: IToken): boolean => reservedTypes[token.tokenTypeIdx] === true;

const scanned = [
  Blank,
  WhiteSpace,
  Comment,
  Text,
  OpenText,
  Times,
  FitPair,
  MetricThread,
  PipeThread,
  Word,
  InchThread,
  DashedNumber,
  CommaNumber,
  NumberToken,
  PointNumber,
  DegreeUnit,
  To,
  PlusMinus,
  Comma,
  Open,
  Close,
  Slash,
  Stray,
];
/** Every token type, for the parser. */
export const vocabulary: TokenType[] = [
  Name,
  AnyNumber,
  Unit,
  AnyText,
  PartVerb,
  NamedVerb,
  BareVerb,
  Declares,
  Spread,
  ...scanned,
  ReservedName,
  ClauseWord,
  UnitWord,
  UnknownUnit,
  ...keywordOf.values(),
];

let madeLexer: Lexer | undefined;
/** Made for the first text that needs it, as that takes as long as to read thousands of lines. */
const lexer = (): Lexer => {
  madeLexer ??= new Lexer(scanned, {
    positionTracking: 'onlyOffset',
    skipValidations: true,
    ensureOptimizations: true,
  });
  return madeLexer;
};

/** Blanks beside space, tab and line ends. */
export const isBlank = (code: number): boolean =>
  code === 11 ||
  code === 12 ||
  code === 0xa0 ||
  code === 0x1680 ||
  (code >= 0x2000 && code <= 0x200a) ||
  code === 0x2028 ||
  code === 0x2029 ||
  code === 0x202f ||
  code === 0x205f ||
  code === 0x3000 ||
  code === 0xfeff;

/** True when nothing but blanks stands before `offset` on its line. */
export function isLineFirst(text: string, offset: number): boolean {
  for (let at = offset - 1; at >= 0; at--) {
    const code = text.charCodeAt(at);
    if (code === 10 || code === 13) return true;
    if (code !== 32 && code !== 9 && !isBlank(code)) return false;
  }
  return true;
}

export const endOf = (token: IToken): number => token.startOffset + token.image.length;

export function setType(token: IToken, type: TokenType): void {
  token.tokenType = type;
  token.tokenTypeIdx = type.tokenTypeIdx!;
}

export function asName(token: IToken, type: TokenType = Word): void {
  setType(token, type);
}

export const isUnit = (token: IToken | undefined): token is IToken =>
  token?.tokenType.CATEGORIES?.includes(Unit) ?? false;
export const isNumber = (token: IToken | undefined): boolean =>
  token !== undefined &&
  (token.tokenType === NumberToken || token.tokenType === CommaNumber || token.tokenType === PointNumber);

/** The unit behind a list of points: `… (60, 80) mm`. */
function closesPoint(tokens: readonly IToken[], close: number): boolean {
  return (
    tokens[close]?.tokenType === Close &&
    isNumber(tokens[close - 1]) &&
    (tokens[close - 2]?.tokenType === Comma || tokens[close - 1]?.tokenType === CommaNumber)
  );
}

export interface Lexed {
  readonly tokens: IToken[];
  readonly comments: IToken[];
}

/** Splits `text` into tokens. Total: a character that belongs nowhere becomes a `Stray` token. */
export function lex(text: string): Lexed {
  const { tokens, groups } = lexer().tokenize(text);
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    if (token.tokenType !== Word) {
      if (token.tokenType === DegreeUnit && unitOf(token.image) === undefined) setType(token, UnknownUnit);
      continue;
    }
    const word = token.image;
    const before = tokens[i - 1];
    const behindNumber = isNumber(before);
    if (behindNumber || (before?.tokenType === Close && closesPoint(tokens, i - 1))) {
      if (unitOf(word) !== undefined && !(word === 'in' && tokens[i + 1]?.image === 'stages')) {
        setType(token, UnitWord);
        continue;
      }
      if (behindNumber && !keywordOf.has(word) && !isLineFirst(text, token.startOffset)) {
        setType(token, UnknownUnit);
        continue;
      }
    }
    const type = keywordOf.get(word);
    if (type !== undefined) setType(token, type);
    else if (dot.test(word)) setType(token, Stray);
  }
  return { tokens, comments: groups.comments ?? [] };
}
