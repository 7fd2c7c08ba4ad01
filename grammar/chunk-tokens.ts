import type { IToken } from 'chevrotain';
import { fillers } from './meant.ts';
import { countFirst } from './sorted.ts';
import type { Chunk } from './syntax.ts';
import { endOf, isLineFirst, isNumber, isUnit, PlusMinus, To } from './tokens.ts';
import { type Unit, unitOf } from './units.ts';

/** The tokens of a text, as the reader of one chunk goes through them: by their indexes. */
export class ChunkTokens {
  readonly text: string;
  readonly chunk: Chunk;
  /** Offset of the chunk in the text. */
  readonly base: number;
  readonly tokens: readonly IToken[];

  constructor(text: string, chunk: Chunk, base: number, tokens: readonly IToken[]) {
    this.text = text;
    this.chunk = chunk;
    this.base = base;
    this.tokens = tokens;
  }

  lineFirst(i: number): boolean {
    return isLineFirst(this.text, this.tokens[i]!.startOffset);
  }

  /** The first token behind `i`, below `to`, that begins a line. */
  nextLine(i: number, to: number): number {
    let next = i + 1;
    while (next < to && !this.lineFirst(next)) next++;
    return next;
  }

  /** Index of the token that begins at `offset` of the text. */
  indexOf(offset: number): number {
    return countFirst(this.tokens, ({ startOffset }) => startOffset < offset);
  }

  /** Whether a token stands in this chunk: others on its line may be changed without this one being read again. */
  isOwn({ startOffset }: IToken): boolean {
    return startOffset >= this.base && startOffset < this.base + this.chunk.text.length;
  }

  /** The token at `i`, where it stands in this chunk and goes on the line of the one before. */
  onLine(i: number): IToken | undefined {
    const token = this.tokens[i];
    return token !== undefined && this.isOwn(token) && !this.lineFirst(i) ? token : undefined;
  }

  behindFillers(i: number): number {
    let next = i;
    while (fillers.has(this.onLine(next)?.image.toLowerCase() ?? '')) next++;
    return next;
  }

  /** Index of the unit, or of the last number, of the quantity that begins at `i`. */
  endOfQuantity(i: number): number | undefined {
    if (!isNumber(this.onLine(i))) return undefined;
    const spread = this.onLine(i + 1)?.tokenType;
    const last = (spread === To || spread === PlusMinus) && isNumber(this.onLine(i + 2)) ? i + 2 : i;
    return isUnit(this.onLine(last + 1)) ? last + 1 : last;
  }

  /** The unit at `i`, if one stands there. */
  unitAt(i: number): Unit | undefined {
    return unitOf(this.tokens[i]?.image ?? '');
  }

  written(first: number, last: number): string {
    return this.text.slice(this.tokens[first]!.startOffset, endOf(this.tokens[last]!));
  }

  /** As `shown`, from one token to another, behind `lead`. */
  shownFrom(first: number, last: number, lead = ''): string {
    return shownText(lead + this.written(first, last));
  }
}

/** An image in backquotes, of a long one the beginning. */
export const shown = ({ image }: IToken): string => `\`${image.length > 40 ? `${image.slice(0, 39)}…` : image}\``;

/** A text of several tokens in backquotes, of a long one the beginning. */
export const shownText = (text: string): string => `\`${text.length > 60 ? `${text.slice(0, 59)}…` : text}\``;
