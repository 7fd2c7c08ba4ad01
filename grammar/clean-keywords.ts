import { clausesOf, headClauses, propertiesOf, repeatable, rivalsOf, stepClauses } from './clauses.ts';
import { beginsChunk, isBlock, isBlockPart, isDeclaration, isStatement } from './heads.ts';
import { contextualWords, reservedWords } from './tokens.ts';

/** A keyword, with what has to be known of it at every turn. */
export interface Keyword {
  readonly word: string;
  readonly does: 'chunk' | 'statement' | 'block' | 'part of a block' | 'clause';
  /** Number of the clause that it begins. */
  readonly clause: number;
  /** By number, whether a clause may stand behind it. */
  readonly takes: readonly boolean[];
}

/** Clauses by number. */
export const clauses = [
  ...new Set([
    'xN',
    'text',
    'quantity',
    ...contextualWords,
    ...Object.values(clausesOf).flat(),
    ...Object.values(propertiesOf).flat(),
  ]),
];
const numberOf = new Map(clauses.map((clause, number) => [clause, number]));
export const countClause = numberOf.get('xN')!;
export const textClause = numberOf.get('text')!;
export const quantityClause = numberOf.get('quantity')!;
/** Codes of a second `applies` are left to the grammar. */
export const mayRepeat = clauses.map((clause) => repeatable.has(clause) && clause !== 'applies');
export const rivals = clauses.map((clause) => rivalsOf.get(clause)?.map((rival) => numberOf.get(rival)!));

const taken = (word: string): readonly string[] =>
  isStatement(word)
    ? clausesOf[word]
    : isDeclaration(word)
      ? propertiesOf[word]
      : word === 'procedure'
        ? headClauses
        : word === 'step'
          ? stepClauses
          : [];

/** Keywords by a number made of their length and letters: no string has to be made to look one up. */
export const byHash: Keyword[][] = Array.from({ length: 512 }, () => []);
export const hashOf = (length: number, first: number, last: number): number =>
  (length * 67 + first * 5 + last * 31) & 511;
for (const word of [...reservedWords, ...contextualWords]) {
  byHash[hashOf(word.length, word.charCodeAt(0), word.charCodeAt(word.length - 1))]!.push({
    word,
    does: beginsChunk(word)
      ? 'chunk'
      : isStatement(word)
        ? 'statement'
        : isBlock(word)
          ? 'block'
          : isBlockPart(word)
            ? 'part of a block'
            : 'clause',
    clause: numberOf.get(word) ?? -1,
    takes: clauses.map((clause) => taken(word).includes(clause)),
  });
}
