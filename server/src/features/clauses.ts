import { clausesOf, headClauses, propertiesOf, repeatable, rivalsOf, stepClauses } from '../../../grammar/clauses.ts';

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
    ([segment, clauses]) =>
      [
        segment,
        clauses.flatMap((clause) =>
          clause === 'quantity' ? [] : clause === 'holes' && segment === 'part' ? ['holes', 'at'] : [clause],
        ),
      ] as const,
  ),
);

/** The clauses that may follow in `segment`, the usual first, each by its first word; `xN` and `text` stand for a count and a text. */
export const followersOf = (segment: string): readonly string[] => followers.get(segment) ?? [];

/** One stands for the other. */
const excludes: Readonly<Record<string, readonly string[]>> = {
  ...Object.fromEntries(rivalsOf),
  to: ['in', 'by'],
  in: ['to', 'by', 'then'],
  by: ['to', 'in', 'then', 'extension'],
  sealed: ['greased'],
  greased: ['sealed'],
  endplay: ['preload'],
  preload: ['endplay'],
};

/** The clauses that may yet follow in `segment` where those of `used` stand. */
export function openClauses(segment: string, used: ReadonlySet<string>): readonly string[] {
  const barred = new Set([...used].flatMap((clause) => excludes[clause] ?? []));
  return followersOf(segment).filter(
    (clause) =>
      (!used.has(clause) || repeatable.has(clause)) &&
      !barred.has(clause) &&
      (clause !== 'then' || used.has('to') || used.has('torque')) &&
      (clause !== 'at' || segment !== 'part' || used.has('holes')) &&
      (clause !== 'angles' || used.has('circle')) &&
      (clause !== 'diameter' || used.has(segment === 'part' ? 'bore' : 'circle')) &&
      (clause !== 'interference' || used.has('bore')),
  );
}
