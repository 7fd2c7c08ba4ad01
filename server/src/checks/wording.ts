import type { Action } from '../ledger/ledger.ts';

/** What mends it where only some codes have parts in the way. */
export const noneThere = (many: boolean): string =>
  `, or \`omit\` ${many ? 'them' : 'it'} with the reason in a \`for\` where there ${many ? 'are' : 'is'} none`;

/** What mends it besides where only some of several like pieces are in the way: a spacer lies between two bearings. */
export const betweenPieces = (part: string): string =>
  `, or declare the pieces of ${named(part)} apart where it lies between them`;

/** `` `bolt` `` */
export const named = (name: string): string => `\`${name}\``;

const ofLines: Readonly<Record<string, string>> = { disconnect: 'disconnected', connect: 'connected' };

/** What an action does, as in `the part cannot be fitted`: the words for its verb, but of a line or hose those of the text. */
export const participle = ({ verb, statement }: Action, words: Readonly<Record<string, string>>): string | undefined =>
  words[verb] === undefined ? undefined : (ofLines[statement.kind] ?? words[verb]);

/** `a`, `a and b`, `a, b and c` */
export const listed = (said: readonly (string | number)[]): string =>
  said.length < 2 ? String(said[0] ?? '') : `${said.slice(0, -1).join(', ')} and ${said.at(-1)}`;

/** So many of a list a message tells of; the last of one longer by one takes no more room than `and 1 more`. */
export const mostTold = 10;

/** What of `all` a message tells of, and how many it leaves out. */
export function shortened<T>(all: readonly T[], most = mostTold): { told: readonly T[]; more: number } {
  return all.length <= most + 1 ? { told: all, more: 0 } : { told: all.slice(0, most), more: all.length - most };
}

/** ` and 2,997 more`, of which there may be none. */
export const andMore = (more: number): string =>
  more === 0 ? '' : ` and ${String(more).replace(/\B(?=(?:\d{3})+$)/g, ',')} more`;

/** `a`, `a and b`, `a, b and c`, `a, b, c and 2,997 more`: a message that tells of a stranger's file has an end. */
export function listedInShort<T>(all: readonly T[], say: (each: T) => string | number): string {
  const { told, more } = shortened(all);
  return more === 0 ? listed(told.map(say)) : told.map(say).join(', ') + andMore(more);
}

/** `a, b, c`, `a, b, c and 2,997 more` */
export function joinedInShort(all: readonly string[]): string {
  const { told, more } = shortened(all);
  return told.join(', ') + andMore(more);
}
