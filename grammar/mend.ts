/** What the files that say what was meant have in common. */
import type { IToken } from 'chevrotain';
import type { ChunkTokens } from './chunk-tokens.ts';
import { ClauseWord, endOf, isContextual, NumberToken, OpenText, Text, Times } from './tokens.ts';

/** What is being read: its fields are filled as reading goes on. */
export type Node = { start: number; end: number; broken?: boolean; readonly kind: string };

/** The reader of a chunk, where it stopped. */
export interface Stopped extends ChunkTokens {
  readonly node: Node | undefined;
  /** Clauses that may stand in the node. */
  readonly allowed: ReadonlySet<string>;
  /** Clauses of the node that have stood already. */
  readonly seen: ReadonlySet<string>;
  /** The token at `i` is told of with this one. */
  trouble(i: number): unknown;
  /** Whether a token from `first` to `last` has been told of. */
  isTroubled(first: number, last: number): boolean;
  /** `number` can be nothing but a count: it counts. */
  countMeant(number: IToken): void;
}

/** Words for the message, a text that mends it where that is certain, and the last and first token that it stands for. */
export type Advice = [words: string, replacement?: string, last?: number, first?: number];

export const write = (text: string): [string, string] => [`write \`${text}\``, text];
export const takeOut: [string, string] = ['take it out', ''];
export const takeOutTo = (here: Stopped, at: number, last: number): Advice =>
  last === at ? takeOut : [`take ${here.shownFrom(at, last)} out`, '', last];

/** Whether a clause that is `allowed` can begin with `token`. */
export function isClauseWord(token: IToken, allowed: ReadonlySet<string>): boolean {
  const type = token.tokenType;
  if (type === Times) return allowed.has('xN');
  if (type === Text || type === OpenText) return allowed.has('text');
  if (type === NumberToken) return allowed.has('quantity');
  if (type === ClauseWord) return allowed.has(token.image);
  return type.name === token.image && isContextual(token.image) && allowed.has(token.image);
}

/** True where no blank stands between two tokens. */
export const touches = (token: IToken, next: IToken | undefined): boolean =>
  next !== undefined && endOf(token) === next.startOffset;

export const quoteIt: [string] = ['a text stands in double quotes'];
