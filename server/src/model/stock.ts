import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from './model.ts';
import { Beside } from './noted.ts';

/** What tells whether a part is on at the start or in stock. */
export type Coming = 'swapped in' | 'fitted new' | 'taken off' | 'loosened';

/** Tells of what `statement` itself does, not of what its branches do. */
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
  }
}

/** Gathers, from statements in the order of the text, the parts that only ever come from stock. */
export class Stock {
  private readonly takenOff = new Set<string>();
  private readonly fittedNew = new Set<string>();
  private readonly swappedIn = new Set<string>();

  private readonly tell = (how: Coming, name: string): void => {
    if (how === 'swapped in') this.swappedIn.add(name);
    else if (how === 'fitted new') this.fittedNew.add(name);
    // What is loosened first was on; what is loosened after it was fitted new may come from stock.
    else if (how === 'taken off' || !this.fittedNew.has(name)) this.takenOff.add(name);
  };

  take(statement: Statement): void {
    eachComing(statement, this.tell);
  }

  names(): ReadonlySet<string> {
    const names = new Set(this.swappedIn);
    for (const name of this.fittedNew) if (!this.takenOff.has(name)) names.add(name);
    return names;
  }
}

/** Parts that only ever come from stock, of models whose codes all see the same statements. */
export const stockOf = new Beside<Model, ReadonlySet<string>>();
