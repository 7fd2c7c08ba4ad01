/** What was most likely meant by a thread, a class or a fit that is written otherwise than in its standard. */
import type { IToken } from 'chevrotain';
import { pipeThreadMeant, pipeThreadMend, pipeThreadWritten } from './meant.ts';
import { type Advice, isClauseWord, type Stopped, takeOut, touches, write } from './mend.ts';
import {
  Comma,
  DashedNumber,
  FitPair,
  isNumber,
  isShaftClass,
  isStainlessClass,
  isUnit,
  keyword as k,
  PipeThread,
  Slash,
  Word,
} from './tokens.ts';

export function threadMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  return pipeMeant(here, at, expected) ?? pitchMeant(here, at) ?? classMeant(here, at, expected) ?? fitMeant(here, at);
}

/** `thread M8x1,25` */
function pitchMeant(here: Stopped, at: number): Advice | undefined {
  const [thread, comma, rest] = [here.tokens[at - 1], here.tokens[at]!, here.onLine(at + 1)];
  if (comma.tokenType !== Comma || !/^M[0-9]+[x×][0-9]$/.test(thread?.image ?? '')) return undefined;
  if (!touches(thread!, comma) || !touches(comma, rest) || !/^[0-9]{1,2}$/.test(rest!.image)) return undefined;
  here.trouble(at + 1);
  const written = `${thread!.image}.${rest!.image}`;
  return [`a decimal point stands there, write \`${written}\``, written, at + 1, at - 1];
}

function pipeMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  const token = here.tokens[at]!;
  const before = here.tokens[at - 1];
  if (token.tokenType === PipeThread || (token.tokenType === Word && /^(?:G|R[pc]?)[1-6]$/.test(token.image))) {
    const isLacking = expected === '' && here.allowed.has('thread') && !here.seen.has('thread');
    return isLacking ? write(`thread ${token.image}`) : undefined;
  }
  if (before === undefined || here.tokens[at - 2]?.tokenType !== k.thread) return undefined;
  if (token.tokenType === Slash || isNumber(token)) return pipeThreadAt(here, at);
  if (token.tokenType !== Word) return undefined;
  if (/^(?:G|R[pc]?)[0-9]/.test(before.image) && /^BSP[PT]?$/i.test(token.image)) return takeOut;
  const isTolerance = /^G[0-9]+$/.test(before.image) && /^[AB]$/.test(token.image);
  const meant = isTolerance ? before.image + token.image : pipeThreadMeant(before.image, token.image);
  return meant === undefined ? undefined : [pipeThreadMend(meant), meant, at, at - 1];
}

/** `thread R 3`, `thread BSP 1/2`, `thread g1/2`, `thread G1/2-14`: how its standard writes what goes on at `at`. */
export function pipeThreadAt(here: Stopped, at: number): Advice | undefined {
  if (here.tokens[at - 2]?.tokenType !== k.thread) return undefined;
  let last = at;
  while (isPartOfSize(here.onLine(last + 1))) last++;
  const meant = pipeThreadWritten(here.written(at - 1, last));
  return meant === undefined ? undefined : [pipeThreadMend(meant), meant, last, at - 1];
}

const isPartOfSize = (token: IToken | undefined): boolean =>
  isNumber(token) || token?.tokenType === Slash || token?.tokenType === DashedNumber;

function classMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  const { image } = here.tokens[at]!;
  const lead = here.tokens[at - 1]?.tokenType;
  const steel = isStainlessClass(image.toUpperCase()) ? image.toUpperCase() : undefined;
  if (steel !== undefined) {
    if (lead === k.class) return write(steel);
    if (lead === k.grade) return [`write \`class ${steel}\``, `class ${steel}`, at, at - 1];
    return expected === '' && here.allowed.has('class') && !here.seen.has('class')
      ? write(`class ${steel}`)
      : undefined;
  }
  if (lead === k.class && isStainlessClass(`${image}-70`)) {
    // `A2/70`, `A2 70`
    const digits = here.tokens[at + 1]?.tokenType === Slash ? at + 2 : at + 1;
    const whole = `${image}-${here.onLine(digits)?.image}`;
    return isStainlessClass(whole)
      ? [`write \`${whole}\``, whole, digits]
      : [`the class stands behind the steel, as in \`${image}-70\``];
  }
  // `18-8`, `B7`
  if (lead === k.grade && expected === 'a number' && !isClauseWord(here.tokens[at]!, here.allowed))
    return ['no grade of SAE J429, take it out and name it in the title', '', at, at - 1];
  return undefined;
}

/** `bore 50 mm k6/H7`, `bore 50 mm fit k6` */
function fitMeant(here: Stopped, at: number): Advice | undefined {
  const { image, tokenType: type } = here.tokens[at]!;
  const [before, next] = [here.tokens[at - 1], here.tokens[at + 1]];
  if (!here.allowed.has('bore') || next === undefined) return undefined;
  if (type === Slash && isShaftClass(before?.image ?? '') && /^[A-Z]{1,2}[0-9]{1,2}$/.test(next.image)) {
    const turned = `${next.image}/${before!.image}`;
    return [`a fit names the hole first, \`${turned}\``, turned, at + 1, at - 1];
  }
  return image === 'fit' && (next.tokenType === FitPair || isShaftClass(next.image)) ? takeOut : undefined;
}

/** `M8x40 8.8`, `M8x1.25x40`: a bolt as lists of parts have it, with its length; no pitch of ISO 261 is above 8 mm. */
export function boltMeant(here: Stopped, at: number): Advice | undefined {
  const token = here.tokens[at]!;
  const [, size, pitch = ''] = /^(M[0-9]+)(?:[x×]([0-9.]+))?$/.exec(token.image) ?? [];
  if (size === undefined) return undefined;
  const behind = here.onLine(at + 1);
  const isThird = /^[x×][0-9]+$/.test(behind?.image ?? '') && touches(token, behind);
  // `M8 x 40 mm`
  const isApart = /^[x×]$/i.test(behind?.image ?? '') && /^[0-9]{2,3}$/.test(here.onLine(at + 2)?.image ?? '');
  const isLength = /^[0-9]{2,3}$/.test(pitch);
  if (!isThird && !isApart && !isLength) return undefined;
  const length = isThird ? behind!.image.slice(1) : isApart ? here.tokens[at + 2]!.image : pitch;
  let last = isThird ? at + 1 : isApart ? at + 2 : at;
  if (here.onLine(last + 1)?.image === 'mm') last++;
  const strength = here.onLine(last + 1);
  const isClass = /^[0-9]{1,2}\.[0-9]$/.test(strength?.image ?? '') && !isUnit(here.onLine(last + 2));
  if (isClass) last++;
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  const thread = isLength ? size : token.image.replace('×', 'x');
  const written = `thread ${thread} length ${length} mm${isClass ? ` class ${strength!.image}` : ''}`;
  return [`write \`${written}\``, written, last];
}

/** `anti-seize`, `anti-seize paste`, `moly compound` */
export function conditionMeant(here: Pick<Stopped, 'onLine' | 'trouble'>, at: number, condition: string): Advice {
  const next = here.onLine(at + 1);
  if (condition !== 'paste' || !/^(?:compound|grease|paste)$/i.test(next?.image ?? '')) return write(condition);
  here.trouble(at + 1);
  return [...write(condition), at + 1];
}

/** `thread M8x1.25-6g` */
export function toleranceMeant(here: Stopped, at: number): Advice | undefined {
  const [token, letter] = [here.tokens[at]!, here.onLine(at + 1)];
  if (here.tokens[at - 2]?.tokenType !== k.thread || !touches(here.tokens[at - 1]!, token)) return undefined;
  if (!/^-[3-9]$/.test(token.image) || !/^[a-hGH]$/.test(letter?.image ?? '')) return undefined;
  here.trouble(at + 1);
  return [`a thread is written without its tolerance, take ${here.shownFrom(at, at + 1)} out`, '', at + 1];
}
