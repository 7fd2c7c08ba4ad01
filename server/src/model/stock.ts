import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from './model.ts';
import { Beside } from './noted.ts';

/** What tells whether a part is on at the start or in stock. */
export type Coming = 'swapped in' | 'fitted new' | 'taken off' | 'loosened' | 'moved';

/** Tells of what `statement` itself does, not of what its branches do; but for what one of them moves, which was there for the others, too. */
export function eachComing(statement: Statement, tell: (how: Coming, name: string) => void): void {
  const { kind, name } = statement;
  switch (kind) {
    case 'swap':
      for (const { text } of statement.targets ?? []) tell('swapped in', text);
      break;
    case 'fit':
      if (name !== undefined) tell(statement.fresh === undefined ? 'taken off' : 'fitted new', name.text);
      break;
    case 'remove':
      if (name === undefined) break;
      tell('taken off', name.text);
      for (const along of statement.together ?? []) tell('taken off', along.name.text);
      break;
    case 'connect':
    case 'disconnect':
    case 'discard':
    case 'replace':
      if (name !== undefined) tell('taken off', name.text);
      break;
    case 'loosen':
      if (name !== undefined) tell('loosened', name.text);
      break;
    case 'transfer':
      if (name !== undefined) tell('moved', name.text);
      break;
    case 'either':
    case 'if':
      for (const { statements } of statement.branches ?? []) eachMovedFirst(statements, new Set(), tell);
  }
}

/** Tells of what `statements` move, but for what they have `fitted` new before. */
function eachMovedFirst(
  statements: readonly Statement[],
  fitted: Set<string>,
  tell: (how: Coming, name: string) => void,
): void {
  for (const { kind, name, fresh, branches } of statements) {
    if (kind === 'fit' && fresh !== undefined && name !== undefined) fitted.add(name.text);
    else if (kind === 'transfer' && name !== undefined && !fitted.has(name.text)) tell('moved', name.text);
    else if (kind === 'either' || kind === 'if')
      for (const branch of branches ?? []) eachMovedFirst(branch.statements, new Set(fitted), tell);
  }
}

const swappedIn = 1;
const fittedNew = 2;
const takenOff = 4;
/** Bits that {@link withComing} may set. */
export const comingBits = 3;

/** `bits`, which tell how a part has come by so far, with one thing more. */
export function withComing(bits: number, how: Coming): number {
  if (how === 'swapped in') return bits | swappedIn;
  if (how === 'fitted new') return bits | fittedNew;
  // What is loosened or moved first was there; what is so after it was fitted new may come from stock.
  return how === 'taken off' || (bits & fittedNew) === 0 ? bits | takenOff : bits;
}

/** True for a part that only ever comes from stock. */
export const isFromStock = (bits: number): boolean =>
  (bits & swappedIn) !== 0 || (bits & (fittedNew | takenOff)) === fittedNew;

/** Gathers, from statements in the order of the text, the parts that only ever come from stock. */
export class Stock {
  private readonly comings = new Map<string, number>();

  private readonly tell = (how: Coming, name: string): void => {
    this.comings.set(name, withComing(this.comings.get(name) ?? 0, how));
  };

  take(statement: Statement): void {
    eachComing(statement, this.tell);
  }

  names(): ReadonlySet<string> {
    const names = new Set<string>();
    for (const [name, bits] of this.comings) if (isFromStock(bits)) names.add(name);
    return names;
  }
}

/** Parts that only ever come from stock, of models whose codes all see the same statements. */
export const stockOf = new Beside<Model, ReadonlySet<string>>();
