/** What was most likely meant by words for the order of tightening. */
import { type Advice, type Stopped, write } from './mend.ts';
import type { Statement } from './syntax.ts';
import { DashedNumber, isKeyword, isNumber, keyword as k } from './tokens.ts';

/** `in a star pattern`, whose `in` stands at `at` */
export function orderIn(here: Stopped, at: number): Advice | undefined {
  const shape = here.behindFillers(at + 1);
  const last = here.onLine(shape + 1)?.image === 'pattern' ? shape + 1 : shape;
  const again = orderAgain(here, at, shape, last);
  if (again !== undefined) return again;
  const order = orderMeant(here, shape);
  return order === undefined ? undefined : [...write(order), last, at];
}

/** `in order 1, 3, 2, 4`, `in the sequence 1-3-2-4`: hole numbers behind the `in` that stands before `at`. */
export function orderListed(here: Stopped, at: number): Advice | undefined {
  const word = here.behindFillers(at);
  if (!/^(?:order|sequence|turn)$/.test(here.onLine(word)?.image ?? '') || !here.allowed.has('order')) return undefined;
  const numbers = here.onLine(word + 1)?.image === ':' ? word + 2 : word + 1;
  const behind = here.onLine(numbers);
  const isDashed = behind?.tokenType === DashedNumber;
  if (!(isDashed || isNumber(behind) || behind?.tokenType === k.star)) {
    // `in sequence order star`
    const isSaid = here.seen.has('order') || (behind?.tokenType === k.order && numbers === word + 1);
    const last = /^(?:order|sequence)$/.test(behind?.image ?? '') && !isSaid ? word + 1 : word;
    if (isSaid) return [`take ${here.shownFrom(at - 1, word)} out`, '', word, at - 1];
    return ['an order is told as in `order star`, `order spiral` or `order 1 3 2 4`', undefined, last, at - 1];
  }
  if (here.seen.has('order')) return undefined;
  if (!isDashed) return [...write('order'), numbers - 1, at - 1];
  const order = `order ${behind.image.replaceAll('-', ' ')}`;
  return [...write(order), numbers, at - 1];
}

/** `order cross`, `order 1 - 3 - 2 - 4`, `order 1→3→2→4` */
export function orderNumbered(here: Stopped, at: number, expected: string): Advice | undefined {
  if (here.tokens[at - 1]?.tokenType === k.order) {
    const called = orderCalled(here.tokens[at]!.image);
    return called !== undefined && expected !== '' ? write(called.slice('order '.length)) : undefined;
  }
  if (!isLink(here, at) || here.tokens[at - 2]?.tokenType !== k.order) return undefined;
  const numbers = [here.tokens[at - 1]!.image];
  let last = at - 1;
  while (numbers.length < mostHoles && isLink(here, last + 1) && isNumber(here.onLine(last + 2))) {
    numbers.push(here.tokens[last + 2]!.image);
    last += 2;
  }
  if (last < at || !numbers.every((each) => /^[0-9]+$/.test(each))) return undefined;
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  return [...write(`order ${numbers.join(' ')}`), last, at - 2];
}
const isLink = (here: Stopped, i: number): boolean => /^(?:[–—→>/-]|->|then)$/.test(here.onLine(i)?.image ?? '');
const mostHoles = 100;

/** `order star in a cross pattern`: what the word at `shape` says, an order on the line says already. */
export function orderAgain(here: Stopped, first: number, shape: number, last: number): Advice | undefined {
  if (!here.allowed.has('order') || orderCalled(here.onLine(shape)?.image ?? '') === undefined) return undefined;
  let form = (here.node as Statement).order?.form;
  for (let i = last + 1; form === undefined; i++) {
    const token = here.onLine(i);
    if (token === undefined || isKeyword(token)) return undefined;
    if (token.tokenType === k.order) form = here.onLine(i + 1)?.tokenType === k.star ? 'star' : 'list';
  }
  const said = form === 'list' ? 'order' : `order ${form}`;
  return [`\`${said}\` says it already, take ${here.shownFrom(first, last)} out`, '', last, first];
}

/** The order that a word stands for where the node may have one: `crosswise`, `in a star pattern`. */
export const orderMeant = (here: Stopped, at: number): string | undefined =>
  here.allowed.has('order') && !here.seen.has('order') ? orderCalled(here.onLine(at)?.image ?? '') : undefined;

export function orderCalled(image: string): string | undefined {
  if (image === 'star' || image === 'spiral') return `order ${image}`;
  return /^(?:criss-?)?cross(?:-?wise)?$|^diagonal(?:ly)?$/i.test(image) ? 'order star' : undefined;
}
