import { clausesOf, headClauses, propertiesOf, stepClauses } from '../../../grammar/clauses.ts';

/** Clauses without which a statement is not whole, in their order. */
export const requiredOf: Readonly<Partial<Record<string, readonly string[]>>> = {
  swap: ['for'],
  transfer: ['from', 'to'],
  try: ['on'],
  apply: ['to'],
  shim: ['gap', 'endplay|preload', 'from'],
  heat: ['to'],
  cool: ['to'],
};

const followers: ReadonlyMap<string, readonly string[]> = new Map(
  Object.entries({ ...clausesOf, ...propertiesOf, procedure: headClauses, step: stepClauses }).map(
    ([segment, clauses]) => [segment, clauses.filter((clause) => clause !== 'quantity')] as const,
  ),
);

/** The clauses that may follow in `segment`, the usual first, each by its first word; `xN` and `text` stand for a count and a text. */
export const followersOf = (segment: string): readonly string[] => followers.get(segment) ?? [];
