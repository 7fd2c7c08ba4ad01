/** What was most likely meant by words that belong to a name. */
import type { IToken } from 'chevrotain';
import { isStatement } from './heads.ts';
import { fillers } from './meant.ts';
import { type Advice, isClauseWord, quoteIt, type Stopped } from './mend.ts';
import { proseMeant } from './prose-meant.ts';
import type { Declaration, Statement } from './syntax.ts';
import { isContextual, keyword as k, Text, Word } from './tokens.ts';

/** The name that somebody who wrote the text `image` in place of one most likely gave. */
export const slugOf = (image: string): string =>
  image
    .slice(1, -1)
    .toLowerCase()
    .replace(/[^\p{L}\d]+/gu, '-')
    .replace(/^[-\d]+|-+$/g, '');

/** What a word was meant as that stands where a clause belongs: of a line with its text, it is part of the name before it. */
export function wordMeant(here: Stopped, at: number): Advice | undefined {
  const { name } = here.node as Statement | Declaration;
  const before = here.tokens[at - 1];
  const isBehindName = name !== undefined && before?.startOffset === name.start + here.base;
  // `the` is told of where names are looked up; `a` may well be one.
  if (isBehindName && name.text !== 'a' && fillers.has(name.text.toLowerCase())) return undefined;
  const hasText = titleBehind(here, at) !== undefined || (here.node!.kind === 'pattern' && hasShapeBehind(here, at));
  if (!hasText && isBehindName && isStatement(here.node!.kind) && isListed(here, at, name.text))
    return [`\`${here.node!.kind}\` takes one part, give each a line of its own`];
  if (!hasText)
    return here.allowed.has('text') && !here.seen.has('text') ? (proseMeant(here, at) ?? quoteIt) : undefined;
  return isBehindName ? nameInWords(here, at) : undefined;
}

/** `remove a1 a2 a3`, `remove top-lid side-lid`: words that are formed as names are, to the end of the line. */
function isListed(here: Stopped, at: number, name: string): boolean {
  const [tail] = /-[^-]+$/.exec(name) ?? [];
  const isName = (word: string): boolean =>
    /^\p{Ll}[\p{Ll}-]*[0-9]+$/u.test(word) || (tail !== undefined && word.endsWith(tail));
  for (let i = at; ; i++) {
    const token = i === at ? here.tokens[i] : here.onLine(i);
    if (token === undefined) return true;
    if (token.tokenType !== Word || !isName(token.image)) return false;
  }
}

/** `part lid screw "Lid screw"`, `held by lid screw`: the word at `at` goes on with the name before it. */
export function nameInWords(here: Stopped, at: number): Advice {
  let last = at;
  while (isWordOfName(here, here.onLine(last + 1))) last++;
  const joined = here.tokens
    .slice(at - 1, last + 1)
    .map(({ image }) => image)
    .join('-');
  const said = `a name is one word, such as \`${joined}\``;
  return isStatement(here.node!.kind) ? [said] : [said, joined, last, at - 1];
}

/** A word that is special elsewhere only, as the `plate` of `part top cover plate`, is one of the name as well. */
const isWordOfName = (here: Stopped, token: IToken | undefined): boolean =>
  token?.tokenType === Word || (isContextual(token?.image ?? '') && !isClauseWord(token!, here.allowed));

/** The text that stands for itself on the line, at `at` or behind it. */
function titleBehind(here: Stopped, at: number): IToken | undefined {
  const last = here.nextLine(at, here.tokens.length);
  for (let i = at; i < last; i++) {
    const token = here.tokens[i]!;
    if (token.tokenType === Text && here.isOwn(token) && !/^(?:in|see|number|spec)$/.test(here.tokens[i - 1]!.image))
      return token;
  }
  return undefined;
}

/** A pattern has no title as a rule; what is being typed may become its shape. */
const hasShapeBehind = (here: Stopped, at: number): boolean => {
  const last = here.nextLine(at, here.tokens.length);
  const isShape = ({ tokenType }: IToken): boolean => tokenType === k.circle || tokenType === k.points;
  return here.tokens.slice(at, last).some((token) => isShape(token) && here.isOwn(token));
};

/** Whether the word at `at` is one of the title of what is being read. */
export function isInTitle(here: Stopped, at: number): boolean {
  const title = titleBehind(here, at);
  return title !== undefined && slugOf(title.image).split('-').includes(here.tokens[at]!.image);
}

/** Whether what stands before `at` on its line is a list of names. */
export function isInList(here: Stopped, at: number): boolean {
  for (let i = at - 1; i >= 0 && !here.lineFirst(i) && here.isOwn(here.tokens[i]!); i--) {
    const { image } = here.tokens[i]!;
    if (image === 'by') return here.tokens[i - 1]?.tokenType === k.held;
    if (image === 'to') return here.tokens[i - 1]?.tokenType === k.applies || here.node!.kind === 'apply';
    if (/^(?:behind|using|after|with|hazard)$/.test(image)) return true;
    if (here.tokens[i]!.tokenType === Text) return false;
  }
  return false;
}
