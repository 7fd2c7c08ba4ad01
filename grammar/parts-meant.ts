/** What was most likely meant by several parts in one statement. */
import { supplied } from './clauses.ts';
import { type Advice, type Stopped, takeOut } from './mend.ts';
import type { Statement } from './syntax.ts';
import { Comma, endOf, isNumber, Slash, Times, Word } from './tokens.ts';

/** So many are written as statements of their own. */
const most = 20;
const mostIndent = 100;

/** `remove bolt, plug`, `remove bolt x4 and plug`: another part behind that of the statement, led to by the sign or word at `at`. */
export function partsMeant(here: Stopped, at: number): Advice | undefined {
  const { kind, name, keyword, fresh } = here.node as Statement;
  const named = here.tokens[at - 1]?.tokenType === Times ? at - 2 : at - 1;
  if (name === undefined || here.tokens[named]?.startOffset !== name.start + here.base || !isBetween(here, at))
    return undefined;
  // `fit bolt, hand tight`
  const behind = here.onLine(at + 1);
  if (/^(?:hand|finger)/.test(behind?.image ?? '') && /^tight|^$/.test(here.onLine(at + 2)?.image ?? ''))
    return kind === 'fit' ? [`write \`tighten ${name.text} by hand\` below`] : takeOut;
  if (isNumber(behind)) return undefined;
  const words = `\`${kind}\` takes one ${supplied.has(kind) ? 'supply' : 'part'}, give each a line of its own`;
  const start = keyword.start + here.base;
  // A line may be long: what begins it is looked for near by.
  const [, indent] = /(?:^|[\r\n])([ \t]*)$/.exec(here.text.slice(Math.max(0, start - mostIndent), start)) ?? [];
  // `fit new seal, plug`: whether the other is a new one, too, is not said.
  if (supplied.has(kind) || indent === undefined || fresh !== undefined) return [words];
  const others: string[] = [];
  let last = at - 1;
  while (others.length < most && isBetween(here, last + 1)) {
    let next = last + 2;
    if (isBetween(here, next)) next++;
    if (here.onLine(next)?.tokenType !== Word) break;
    const counted = here.onLine(next + 1)?.tokenType === Times ? next + 1 : next;
    others.push(here.written(next, counted));
    last = counted;
  }
  const isWhole = others.length > 0 && here.onLine(last + 1) === undefined;
  if (!isWhole) return named === at - 1 ? [words] : undefined;
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  const end = endOf(here.tokens[at - 1]!);
  const newline = /\r?\n|\r/.exec(here.text.slice(end, end + 200))?.[0] ?? '\n';
  return [words, others.map((other) => `${newline}${indent}${kind} ${other}`).join(''), last];
}

const isBetween = (here: Stopped, i: number): boolean => {
  const token = here.onLine(i);
  if (token === undefined || (token.tokenType === Slash && here.tokens[i + 1]?.tokenType === Slash)) return false;
  return token.tokenType === Comma || /^(?:and|[&+/])$/.test(token.image);
};
