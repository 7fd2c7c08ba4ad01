/** What was most likely meant by words for a reader that lack their quotes. */
import { shownText } from './chunk-tokens.ts';
import { codeLike, isNameless, isStatement } from './heads.ts';
import { type Advice, isClauseWord, type Stopped } from './mend.ts';
import { Comma, isKeyword, keyword as k, NumberToken, Text, Word } from './tokens.ts';
import { unitMeant, unitOf } from './units.ts';

/**
 * `caution Hot surface`, `if bearing is worn`: words for a reader to the end of the line, where nothing acts on a name. What
 * can be nothing but a clause ends them, as does a statement of alternatives in one line.
 */
export function proseMeant(here: Stopped, at: number): Advice | undefined {
  const { kind } = here.node!;
  const before = here.tokens[at - 1];
  if (!(isNameless(kind) && kind !== 'wait') && kind !== 'if') return undefined;
  // `if A-41` is told of as a code.
  if (before?.image !== kind || (kind === 'if' && codeLike.test(here.tokens[at]!.image))) return undefined;
  if (kind === 'if') return conditionMeant(here, at);
  const prose = proseFrom(here, at);
  // `do not heat it`
  if (kind !== 'do' || prose?.[1] === undefined || !/^not$/i.test(here.tokens[at]!.image)) return prose;
  const text = `"Do ${prose[1].slice(1)}`;
  return [`write ${shownText(text)}`, text, prose[2]];
}

export function proseFrom(here: Stopped, at: number): Advice | undefined {
  let last = at;
  while (here.onLine(last + 1) !== undefined && !isClauseToEnd(here, last + 1)) last++;
  return inQuotes(here, at, last);
}

/** `see "Fig. 4"`, `keep in "bag"`, or `using gloves` and no more: such words are no prose. */
function isClauseToEnd(here: Stopped, at: number): boolean {
  const { tokenType } = here.tokens[at]!;
  if (tokenType === k.see) return here.onLine(at + 1)?.tokenType === Text;
  if (tokenType === k.keep) return here.onLine(at + 2)?.tokenType === Text;
  if (tokenType !== k.using) return false;
  let last = at + 1;
  while (here.onLine(last + 1)?.tokenType === Comma) last += 2;
  if (here.onLine(last)?.tokenType !== Word) return false;
  return here.onLine(last + 1) === undefined || isClauseToEnd(here, last + 1);
}

/** `if lip worn replace lip end`: a statement that its `end` or `else` stands right behind is none of the condition. */
function conditionMeant(here: Stopped, at: number): Advice | undefined {
  let last = at;
  let act: number | undefined;
  while (here.onLine(last + 1) !== undefined && !isBlockPartAt(here, last + 1)) {
    last++;
    const isAct = isStatement(here.tokens[last]!.tokenType.name) && here.onLine(last + 1)?.tokenType === Word;
    if (isAct && !leadsOn.test(here.tokens[last - 1]!.image)) act ??= last;
  }
  // No other can stand in the block.
  const behind = here.tokens[last + 1];
  const isOneLine = behind !== undefined && here.isOwn(behind) && isBlockPartAt(here, last + 1);
  if (act === undefined || !isOneLine) {
    // `if lip worn:`
    const end = last > at && /^[:,]$/.test(here.tokens[last]!.image) ? last - 1 : last;
    const [words, text] = inQuotes(here, at, end) ?? [];
    return words === undefined ? undefined : [words, text, last];
  }
  if (here.tokens[act - 1]!.image !== 'then') return inQuotes(here, at, act - 1);
  const [words, text] = inQuotes(here, at, act - 2) ?? [];
  return words === undefined ? undefined : [words, text, act - 1];
}

/** Words that a sentence goes on behind. */
const leadsOn = /^(?:an?|the|is|are|was|no|not|or|and|to|of|for)$/i;

const isBlockPartAt = (here: Stopped, at: number): boolean => /^(?:end|else)$/.test(here.tokens[at]!.tokenType.name);

/** The words from `at` to `last` as one text, where nothing in them would break it. */
export function inQuotes(here: Stopped, at: number, last: number): Advice | undefined {
  const words = here.written(at, last);
  const text = `"${words}"`;
  return isPlain.test(words) ? [`write ${shownText(text)}`, text, last] : undefined;
}

/** What is in a text as it stands outside of one. */
const isPlain = /^[\p{L}\d\p{No} .,:;!?'’&+=~<>≤≥±×/()%°–—-]+$/u;

/** `spec ISO 1234`, `number B-100`, `see figure 3` */
export function quoteMeant(here: Stopped, at: number): Advice | undefined {
  const last = endOfWords(here, at);
  return last === undefined ? undefined : inQuotes(here, at, last);
}

/** The last of the words from `at` on that were to be a text behind `spec`, `see` or the like; the next clause is none of them. */
export function endOfWords(here: Stopped, at: number): number | undefined {
  if (!/^(?:in|number|plate|see|spec)$/.test(here.tokens[at - 1]?.image ?? '')) return undefined;
  let last = at - 1;
  for (let next = here.onLine(at); next !== undefined; next = here.onLine(last + 1)) {
    const isClause = next.tokenType === NumberToken ? isAmount(here, last + 1) : isClauseWord(next, here.allowed);
    if (isKeyword(next) || isClause) break;
    last++;
  }
  return last < at ? undefined : last;
}

/** Whether the number at `at` begins the quantity that the node may have, as its unit shows. */
function isAmount(here: Stopped, at: number): boolean {
  if (!here.allowed.has('quantity')) return false;
  const { image } = here.tokens[here.endOfQuantity(at) ?? at]!;
  return unitOf(image) !== undefined || unitMeant(image) !== undefined;
}
