import type { Declaration, NumberLiteral, Statement } from '../../../grammar/syntax.ts';
import { countOf, type Model } from '../model/model.ts';

/** Holes of a pattern; nothing where it states none. */
export function holeCount(pattern: Declaration | undefined): number | undefined {
  const layout = pattern?.pattern;
  if (layout === undefined) return undefined;
  const count = layout.angles?.length ?? layout.points?.length ?? layout.count?.value;
  return count !== undefined && Number.isInteger(count) && count > 0 ? count : undefined;
}

/** The pattern that a part's `holes` names. */
export const patternOf = (model: Model, part: Declaration | undefined): Declaration | undefined =>
  part?.holes === undefined ? undefined : model.patterns.get(part.holes.text);

/** How many like sides the pieces fill, each with as many holes: 16 bolts for two covers of 8. */
export const sidesOf = (pieces: number, holes: number): number =>
  holes > 1 && pieces % holes === 0 ? pieces / holes : 1;

/** Whether a pattern of `count` holes has one of that number. */
export const isHole = (hole: number, count: number): boolean => Number.isInteger(hole) && hole >= 1 && hole <= count;

/** The first hole that is named once more. */
export function namedAgain(holes: readonly NumberLiteral[]): NumberLiteral | undefined {
  const seen = new Set<number>();
  return holes.find(({ value }) => seen.size === seen.add(value).size);
}

/** The holes that `at` names behind the pattern of a part. */
export const holesOfPart = (part: Declaration | undefined): readonly number[] | undefined =>
  part?.holesAt?.map(({ value }) => value);

/** The holes that are named for what `statement` turns: behind its own `at holes`, else where the part is declared. */
export function holesNamed(model: Model, { name, holes }: Statement): readonly number[] | undefined {
  return holes === undefined ? holesOfPart(model.parts.get(name?.text ?? '')) : holes.map(({ value }) => value);
}

/** The same, each once and by number; nothing where all are meant. */
export function holesAtWork(model: Model, statement: Statement): readonly number[] | undefined {
  const named = holesNamed(model, statement) ?? [];
  return named.length === 0 ? undefined : [...new Set(named)].sort((a, b) => a - b);
}

/**
 * The hole numbers that a `tighten` works through: those that are named, else all of the part's pattern, else one for
 * each piece tightened.
 */
export function holesTightened(model: Model, statement: Statement, pieces: number): number[] {
  const named = holesNamed(model, statement);
  if (named !== undefined && named.length > 0) return [...named];
  const part = model.parts.get(statement.name?.text ?? '');
  const count = holeCount(patternOf(model, part)) ?? statement.count?.value ?? (pieces > 0 ? pieces : countOf(part));
  return Array.from({ length: Math.min(count, 10_000) }, (_, i) => i + 1);
}
