/** What was most likely meant by words for the order of tightening. */
import { type Advice, type Stopped, write } from './mend.ts';
import type { Statement } from './syntax.ts';
import { isKeyword, keyword as k } from './tokens.ts';

/** `in a star pattern`, whose `in` stands at `at` */
export function orderIn(here: Stopped, at: number): Advice | undefined {
  const shape = here.behindFillers(at + 1);
  const last = here.onLine(shape + 1)?.image === 'pattern' ? shape + 1 : shape;
  const again = orderAgain(here, at, shape, last);
  if (again !== undefined) return again;
  const order = orderMeant(here, shape);
  return order === undefined ? undefined : [...write(order), last, at];
}

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
