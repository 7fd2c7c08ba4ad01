import type { Statement } from '../../../grammar/syntax.ts';

/** When a branch of `if` or `either` is taken, in the author's words; a way without any has the letter that it has on the card. */
export function conditionOf({ kind, branches }: Statement, place: number): string {
  const text = branches?.[place]?.text?.value;
  if (text !== undefined) return text;
  if (kind === 'either') return `way ${letterOf(place)}`;
  const other = branches?.[0]?.text?.value;
  return place === 0 || other === undefined ? 'it is so' : `not so: ${other}`;
}

/** `A` for the first way, from the twenty-seventh on its number. */
export const letterOf = (way: number): string => (way < 26 ? String.fromCharCode(65 + way) : String(way + 1));
