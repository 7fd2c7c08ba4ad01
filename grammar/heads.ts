import type { IToken } from 'chevrotain';
import { phaseFor, statementFor } from './meant.ts';
import { haveSameLetters, nearest } from './nearest.ts';
import type { SyntaxTree } from './syntax.ts';
import {
  asName,
  blockPartWords,
  blockWords,
  Comma,
  declarationWords,
  endOf,
  isContextual,
  isKeyword,
  isLineFirst,
  isNumber,
  isUnit,
  keyword as k,
  lex,
  Name,
  namelessStatements,
  OpenText,
  type PhaseWord,
  phaseWords,
  ReservedName,
  type StatementWord,
  Stray,
  setType,
  statementWords,
  Text,
  Times,
  Word,
} from './tokens.ts';

const isOneOf = <T extends string>(words: readonly T[]) => {
  const set: ReadonlySet<string> = new Set(words);
  return (word: string): word is T => set.has(word);
};
export const isDeclaration = isOneOf(declarationWords);
export const isPhase = isOneOf(phaseWords);
export const isStatement = isOneOf(statementWords);
export const isBlock = isOneOf(blockWords);
export const isBlockPart = isOneOf(blockPartWords);
/** True where a phase line stands above the chunk at `place`: a `use` there takes in steps. */
export const standsInPhase = ({ chunks }: SyntaxTree, place: number): boolean => {
  for (let c = place - 1; c >= 0; c--) if (isPhase(chunks[c]!.item?.kind ?? '')) return true;
  return false;
};
export const beginsChunk = (word: string): boolean =>
  word === 'procedure' || word === 'use' || word === 'step' || isDeclaration(word) || isPhase(word);
/** Statements that act on nothing that has a name. */
export const isNameless = isOneOf(namelessStatements);

export const hazards = ['heat', 'pressure', 'spring', 'charge', 'chemical', 'weight'];

/** How codes are stamped on units; words for a reader seldom look so. */
export const codeLike = /^(?=.*\p{Lu})(?=.*\p{N})[\p{L}\p{N}-]+$/u;

/** What the next token is read as; `free` where keywords count. Behind `step` and `after` any word is a name. */
type Slot = 'free' | 'name' | 'fit' | 'step' | 'after' | 'hazard' | 'code';

type Unwritten = 'use' | 'step';

export interface Read {
  readonly tokens: IToken[];
  readonly comments: IToken[];
  /** Indexes of the tokens that begin something, in order. */
  readonly heads: number[];
  /** For heads before which a keyword was forgotten, that keyword: the token is the first behind it. */
  readonly unwritten: ReadonlyMap<number, Unwritten>;
  /** Indexes of the tokens that codes are made of: those of one code stand without a blank. */
  readonly codes: ReadonlySet<number>;
}

/** What the token at `head` begins. */
export const headWord = ({ tokens, unwritten }: Read, head: number): string =>
  unwritten.get(head) ?? tokens[head]!.tokenType.name;

/**
 * Splits `text` into tokens and finds those that begin a declaration, phase, step or statement. A keyword that stands
 * where a name stands becomes a `Word`, a reserved one that may not be a name a `ReservedName`.
 */
export function read(text: string): Read {
  const { tokens, comments } = lex(text);
  const heads: number[] = [];
  const codes = new Set<number>();
  const unwritten = new Map<number, Unwritten>();
  let segment = '';
  let slot: Slot = 'free';
  let list: Slot = 'free';
  let forSeen = false;
  let titled = false;
  let inStep = false;
  const torn = tornTexts(text, tokens);
  for (let i = 0; i < tokens.length; i++) {
    const token = tokens[i]!;
    const type = token.tokenType;
    const here: Slot = slot;
    slot = 'free';
    if (type === Comma) {
      slot = list;
      continue;
    }
    if (list === 'code' && here === 'free' && endOf(tokens[i - 1]!) === token.startOffset && type !== Text) {
      asPieceOfCode(token);
      codes.add(i);
      continue;
    }
    let word = token.image;
    const forgotten: Unwritten | undefined =
      here === 'free' ? keywordForgotten(text, tokens, i, segment, titled) : undefined;
    if (forgotten !== undefined) {
      unwritten.set(i, forgotten);
      heads.push(i);
      inStep = forgotten === 'step';
      segment = forgotten;
      list = 'free';
      titled = forgotten === 'use';
      continue;
    }
    if (type === Word && here === 'free') {
      list = 'free';
      const meant = isLineFirst(text, token.startOffset) ? headMeant(text, tokens, i, inStep) : undefined;
      if (meant === undefined) {
        // The `for` of `sawp a for b` opens no block, nor does that of `a for b`.
        const behind = tokens[i + 2];
        const isSwap =
          behind?.tokenType === k.for &&
          !isLineFirst(text, behind.startOffset) &&
          nearest(word, ['swap']) !== undefined;
        if (inStep && (isSwap || isSwapForgotten(text, tokens, i))) {
          segment = 'swap';
          forSeen = false;
        }
        continue;
      }
      setType(token, k[meant]);
      word = meant;
    }
    if (isKeyword(token)) {
      const isTorn = torn?.has(i) && word !== 'new' && !(word === 'for' && segment === 'swap' && !forSeen);
      if (here === 'free' && (isTorn || belongsToName(text, tokens, i, segment, heads.at(-1)))) {
        asName(token, Word);
        list = 'free';
        continue;
      }
      // `in star pattern`, `in a cross pattern`: nothing else may stand before it so.
      const shape = tokens[i - 1]?.tokenType;
      const isPattern = word === 'pattern' && !isLineFirst(text, token.startOffset);
      if (isPattern && (shape === k.star || shape === k.spiral || shape === Word)) {
        const before = tokens[i - 2]?.tokenType === Word ? i - 3 : i - 2;
        // Behind the number of a hole it is read as inches.
        if (tokens[before]?.image === 'in' && isStatement(segment)) {
          asName(token, Word);
          continue;
        }
      }
      // `single use`
      if (word === 'use' && isSingleUse(text, tokens, i)) {
        asName(token, Word);
        continue;
      }
      const lineFirst = here !== 'free' && isLineFirst(text, token.startOffset);
      const isName =
        here === 'step' || here === 'after'
          ? !lineFirst || mayStandAsStepName(text, tokens, i, titled)
          : here === 'hazard'
            ? !lineFirst || hazards.includes(word)
            : here !== 'free' && !lineFirst;
      if (here === 'fit' && word === 'new') {
        slot = 'name';
        list = 'free';
        continue;
      }
      if (isName) {
        asName(token, here === 'name' || here === 'fit' || here === 'code' ? ReservedName : Word);
        if (here === 'code') codes.add(i);
        list = listOf(here);
        continue;
      }
      list = 'free';
      if (word === 'new') continue;
      if (word === 'for' && segment === 'swap' && !forSeen) {
        forSeen = true;
        slot = 'name';
        continue;
      }
      heads.push(i);
      if (beginsChunk(word)) inStep = word === 'step';
      segment = word;
      forSeen = false;
      titled = false;
      slot = slotBehindHead(word);
      continue;
    }
    if (here === 'code' && !beginsHeadClause(text, tokens, i)) {
      asPieceOfCode(token);
      codes.add(i);
      list = 'code';
      continue;
    }
    if (here !== 'free' && here !== 'code' && isNameLike(token)) {
      if (type !== Word) asName(token);
      list = listOf(here);
      continue;
    }
    if (type === Times && list === 'name') continue;
    list = 'free';
    if (type === Text && !isOfClause(tokens[i - 1])) titled = true;
    // `circle 6 holes diameter 100 mm`: what a part says, and no name follows.
    if (type === k.holes && segment === 'pattern') asName(token, Word);
    else if (type.name === word && isContextual(word)) slot = slotBehind(word, segment);
  }
  return { tokens, comments, heads, unwritten, codes };
}

/**
 * Which word was meant by one that begins a line and is no keyword, where the line goes on as that of no other word does: one
 * that begins a chunk, or a statement that acts on nothing that has a name. What such a line says is then not lost.
 */
function headMeant(
  text: string,
  tokens: readonly IToken[],
  i: number,
  inStep: boolean,
): 'step' | 'use' | PhaseWord | StatementWord | undefined {
  const { image } = tokens[i]!;
  const next = tokens[i + 1];
  if (next === undefined) return undefined;
  // A step that follows on the same line is laid out below.
  if (isLineFirst(text, next.startOffset) || next.tokenType === k.step) {
    if (!isSlip(next.image, 'step')) return undefined;
    return (phaseFor(image) ?? meantBy(image, phaseWords)) as PhaseWord | undefined;
  }
  const behind = tokens[i + 2];
  const isLast =
    behind === undefined || isLineFirst(text, behind.startOffset) || (isKeyword(behind) && beginsChunk(behind.image));
  if (next.tokenType === Text && isLast && isSlip(image, 'use')) return 'use';
  if (isNameLike(next) && isSlip(image, 'step')) {
    const type = behind?.tokenType;
    if (isLast || type === Text || type === k.takes || type === k.after) return 'step';
  }
  if (!inStep) return undefined;
  const word = statementFor(image) ?? meantBy(image, told);
  const isMeant = word === 'wait' ? isNumber(next) : next.tokenType === Text && isNameless(word ?? '');
  return isMeant ? (word as StatementWord) : undefined;
}

/**
 * Which keyword was forgotten before the token at `i` where it begins a line that goes on as that of no other does:
 * `open "Open the cover" takes 20 min`, and a path behind what has its text.
 */
function keywordForgotten(
  text: string,
  tokens: readonly IToken[],
  i: number,
  segment: string,
  titled: boolean,
): Unwritten | undefined {
  const { image, startOffset, tokenType } = tokens[i]!;
  if ((tokenType !== Word && tokenType !== Text) || !isLineFirst(text, startOffset)) return undefined;
  const next = tokens[i + 1];
  const goesOn = next !== undefined && !isLineFirst(text, next.startOffset);
  if (tokenType === Text) {
    const takesText = segment !== '' && !isPhase(segment) && !titled;
    return !goesOn && !takesText && /\.fettle"$/.test(image) ? 'use' : undefined;
  }
  if (!goesOn) return undefined;
  const clause = next.tokenType === Text ? tokens[i + 2] : next;
  if (clause === undefined || isLineFirst(text, clause.startOffset)) return undefined;
  const isOfStep = clause.tokenType === k.takes || (clause.tokenType === k.after && clause !== next);
  return isOfStep ? 'step' : undefined;
}

/** `old-shaft for new-shaft` on a line of its own */
export function isSwapForgotten(text: string, tokens: readonly IToken[], i: number): boolean {
  const [lead, name, behind] = [tokens[i + 1], tokens[i + 2], tokens[i + 3]];
  return (
    lead?.tokenType === k.for &&
    name?.tokenType === Word &&
    isLineFirst(text, tokens[i]!.startOffset) &&
    !isLineFirst(text, lead.startOffset) &&
    !isLineFirst(text, name.startOffset) &&
    !codeLike.test(name.image) &&
    (behind === undefined || isLineFirst(text, behind.startOffset))
  );
}

/** Whether a text behind `before` belongs to its clause. */
const isOfClause = (before: IToken | undefined): boolean => /^(?:in|see|plate|number|spec)$/.test(before?.image ?? '');

/** Whether a line goes on with the head where a code is missing above it. */
function beginsHeadClause(text: string, tokens: readonly IToken[], i: number): boolean {
  const { tokenType, startOffset } = tokens[i]!;
  const next = tokens[i + 1]?.tokenType;
  return (
    ((tokenType === k.code && next === k.plate) ||
      (tokenType === k.measures && (next === k.metric || next === k.imperial))) &&
    isLineFirst(text, startOffset)
  );
}

/** True for a word in other letters, with one too many or too few, or with two that changed places. */
function isSlip(image: string, word: string): boolean {
  const is = image.toLowerCase();
  if (is === word) return true;
  if (meantBy(is, [word]) === undefined) return false;
  return is.length !== word.length || haveSameLetters(is, word);
}
const meantBy = (image: string, words: readonly string[]): string | undefined =>
  realWords.has(image.toLowerCase()) ? undefined : nearest(image, words);
/** What a line with a text may be near to; that a `do` is lost does no harm, and many short words are near to it. */
const told = [...statementWords, ...blockWords, ...blockPartWords].filter((word) => word !== 'do');
/** Words of the trade that are near to a keyword and are no slip of it. */
const realWords: ReadonlySet<string> = new Set([
  ...['fuse', 'set', 'steep', 'used', 'user', 'uses'],
  ...['chuck', 'clock', 'hanger', 'priming', 'sight', 'single', 'warming'],
]);

/** Whether a keyword within the line of a declaration or statement, whose own begins at `head`, can be nothing but a word of a name. */
function belongsToName(
  text: string,
  tokens: readonly IToken[],
  i: number,
  segment: string,
  head: number | undefined,
): boolean {
  const { image, startOffset } = tokens[i]!;
  if (isLineFirst(text, startOffset)) return false;
  // `tool arbor press "Arbor press"`
  if (isDeclaration(segment)) return !beginsChunk(image);
  // `remove idler shim "Keep them together"`, `swap idler shim for other-shim`
  const next = tokens[i + 1]?.tokenType;
  return (
    head === i - 2 &&
    isStatement(segment) &&
    isStatement(image) &&
    !isNameless(image) &&
    tokens[i - 1]!.tokenType === Word &&
    (next === Text || (segment === 'swap' && next === k.for))
  );
}

/** Indexes of the tokens that stand where the opening quote of a text is missing: `danger Live wires. Lock off the supply."` */
function tornTexts(text: string, tokens: readonly IToken[]): ReadonlySet<number> | undefined {
  let torn: Set<number> | undefined;
  for (let last = 0; last < tokens.length; last++) {
    if (tokens[last]!.tokenType !== OpenText) continue;
    // Of several texts on the line each quote behind the missing one is taken for its counterpart.
    let first = last;
    while (first > 0 && !isLineFirst(text, tokens[first]!.startOffset)) first--;
    let close = first + 1;
    while (close <= last && !isQuoteBehind(tokens, close)) close++;
    if (close > last) continue;
    torn ??= new Set();
    for (let i = first + 1; i <= last; i++) torn.add(i);
  }
  return torn;
}

/** Whether the quote of the text at `i` stands right behind a word, as one that closes does. */
export const isQuoteBehind = (tokens: readonly IToken[], i: number): boolean => {
  const { tokenType, startOffset } = tokens[i]!;
  return (tokenType === OpenText || tokenType === Text) && endOf(tokens[i - 1]!) === startOffset;
};

function isSingleUse(text: string, tokens: readonly IToken[], i: number): boolean {
  const next = tokens[i + 1]?.tokenType;
  return (
    tokens[i - 1]?.tokenType === Word &&
    /^single$/i.test(tokens[i - 1]!.image) &&
    !isLineFirst(text, tokens[i]!.startOffset) &&
    next !== Text
  );
}

/** A step has one name; all other names may be lists. */
const listOf = (slot: Slot): Slot => (slot === 'step' ? 'free' : slot === 'fit' ? 'name' : slot);
const isNameLike = (token: IToken): boolean => token.tokenType.CATEGORIES?.includes(Name) ?? false;

function asPieceOfCode(token: IToken): void {
  const type = token.tokenType;
  if (isNumber(token) || type === Word || type === Times) return;
  if (type === Stray ? /^\p{L}/u.test(token.image) : isNameLike(token) || isUnit(token) || isKeyword(token))
    asName(token);
}

function slotBehindHead(word: string): Slot {
  if (word === 'step') return 'step';
  if (word === 'fit') return 'fit';
  if (word === 'for') return 'code';
  return word === 'procedure' || isDeclaration(word) || (isStatement(word) && !isNameless(word)) ? 'name' : 'free';
}

function slotBehind(word: string, segment: string): Slot {
  switch (word) {
    case 'after':
      return segment === 'step' ? 'after' : 'free';
    case 'hazard':
      return isDeclaration(segment) ? 'hazard' : 'free';
    case 'by':
    case 'holes':
    case 'behind':
      return isDeclaration(segment) ? 'name' : 'free';
    case 'to':
      return segment === 'procedure' ? 'code' : segment === 'apply' || segment === 'transfer' ? 'name' : 'free';
    case 'from':
      return segment === 'transfer' ? 'name' : 'free';
    case 'on':
      return segment === 'try' ? 'name' : 'free';
    case 'with':
    case 'using':
    case 'gap':
      return isStatement(segment) ? 'name' : 'free';
    default:
      return 'free';
  }
}

/**
 * Behind `step` and `after` any word is a name; but where such a word begins a line and goes on as no step line can
 * (`remove bolt`, `part b`), the name was forgotten, and the line is what it looks like.
 */
function mayStandAsStepName(text: string, tokens: readonly IToken[], i: number, titled: boolean): boolean {
  const next = tokens[i + 1];
  if (next === undefined) return true;
  if (isLineFirst(text, next.startOffset)) {
    // A phase line, and a step below it?
    const name = tokens[i + 2];
    return !(
      isPhase(tokens[i]!.image) &&
      next.tokenType === k.step &&
      name !== undefined &&
      !isLineFirst(text, name.startOffset)
    );
  }
  return (
    (next.tokenType === Text && !titled) ||
    next.tokenType === Comma ||
    next.tokenType === k.takes ||
    next.tokenType === k.after ||
    (isKeyword(next) && next.tokenType !== k.new)
  );
}
