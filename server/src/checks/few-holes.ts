import type { Declaration, NumberLiteral, Span } from '../../../grammar/syntax.ts';
import { namesWhere } from '../model/amended.ts';
import { countOf, type Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { holeCount, isHole, namedAgain, patternOf, sidesOf } from './holes.ts';
import { named } from './wording.ts';

const hasHoles = ({ kind, holes }: Declaration): boolean => kind === 'pattern' || holes !== undefined;

/** The first hole, counted from 1, that lies where an earlier one is. */
function sharedPlace({ pattern }: Declaration): { hole: number; earlier: number; span: Span } | undefined {
  const angles = pattern?.angles?.map((angle) => ({
    place: String((((angle.numbers[0]?.value ?? Number.NaN) % 360) + 360) % 360),
    span: angle as Span,
  }));
  const points = pattern?.points?.map(({ x, y }) => ({ place: `${x.value} ${y.value}`, span: x as Span }));
  const seen = new Map<string, number>();
  for (const [i, { place, span }] of (angles ?? points ?? []).entries()) {
    const earlier = seen.get(place);
    if (earlier !== undefined && place !== 'NaN') return { hole: i + 1, earlier, span };
    seen.set(place, i + 1);
  }
  return undefined;
}

/** What is wrong with the holes that a part is said to be in: one that there is not, one twice, or not as many as pieces. */
function troubleAt(part: Declaration, holes: number | undefined): Pick<Raw, 'span' | 'message'> | undefined {
  const { holesAt = [], name } = part;
  const pattern = named(part.holes?.text ?? '');
  const again = namedAgain(holesAt);
  const bad = holesAt.find((hole) => hole === again || (holes !== undefined && !isHole(hole.value, holes)));
  if (bad !== undefined)
    return {
      span: bad,
      message:
        bad === again
          ? `hole ${bad.image} of ${pattern} stands twice: name each hole once.`
          : `there is no hole ${bad.image}: ${pattern} has holes 1 to ${holes}.`,
    };
  const pieces = countOf(part);
  if (holesAt.length === 0 || pieces === holesAt.length) return undefined;
  return {
    span: part.count ?? name!,
    message: `${pieces === 1 ? 'one' : pieces} ${named(name!.text)} and ${holesAt.length === 1 ? 'one hole' : `${holesAt.length} holes`} behind \`at\`: name the hole of each, or correct the count.`,
  };
}

export const fewHoles: Check = {
  code: 'few-holes',
  severity: 'warning',
  section: 'Tightening',
  fires:
    'a pattern says no number of holes, says another than it gives angles of, has two at one place, a part is said to be in a hole that it has not, in one twice, in one of another that holds the same part (but for those that share all of their holes), or in more or fewer than it has pieces, or it has fewer than a part that goes into it has pieces and is not filled by them several times over.',
  why: 'An order over holes that are not there orders nothing. Fewer pieces than holes are well: several parts may share a pattern. So are twice as many: they go into two like covers.',
  bad: `pattern rim circle 8 diameter 90 mm
part bolt x10 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim`,
  good: `pattern rim circle 8 diameter 90 mm
part bolt x6 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim
part dowel-screw x2 "Dowel screw" thread M8 class 8.8 torque 25 N·m holes rim`,
  *run({ model }): Generator<Raw> {
    for (const { hole, taken, by, part, held } of sharedHoles(model))
      yield {
        span: hole,
        message: `hole ${hole.image} of ${named(part.holes!.text)} is that of ${named(by)} already, which holds ${named(held)} as well: correct the hole numbers of one of the two.`,
        related: related(taken, `${named(by)} is in it`),
        data: { subject: part.name?.text ?? '' },
      };
  },
  *runLocally({ model }): Generator<Raw> {
    for (const declaration of model.ownDeclarations.filter(hasHoles)) {
      const { kind, name, broken } = declaration;
      if (name === undefined || broken) continue;
      if (kind === 'pattern' && holeCount(declaration) === undefined) {
        const stated = declaration.pattern?.count;
        yield {
          span: stated ?? name,
          message: `the pattern ${named(name.text)} ${stated === undefined ? 'does not say how many holes it has' : `cannot have ${stated.image} holes`}: write \`circle\` and their number, their \`angles\`, or their \`points\`.`,
          related: [],
          data: { subject: name.text },
        };
      }
      const { count: said, angles } = declaration.pattern ?? {};
      if (said !== undefined && angles !== undefined && said.value !== angles.length) {
        yield {
          span: said,
          message: `the pattern ${named(name.text)} says ${said.value === 1 ? 'one hole' : `${said.image} holes`} and gives the angles of ${angles.length}: correct the number or the angles.`,
          related: [],
          data: { subject: name.text },
        };
      }
      const twice = sharedPlace(declaration);
      if (twice !== undefined) {
        yield {
          span: twice.span,
          message: `hole ${twice.hole} of ${named(name.text)} lies where hole ${twice.earlier} is: correct one of the two.`,
          related: [],
          data: { subject: name.text },
        };
      }
      if (kind !== 'part') continue;
      const pattern = patternOf(model, declaration);
      const holes = holeCount(pattern);
      const pieces = countOf(declaration);
      const trouble = troubleAt(declaration, holes);
      if (trouble !== undefined) {
        yield {
          ...trouble,
          related: related(pattern?.name, 'the pattern is declared here'),
          data: { subject: name.text },
        };
        continue;
      }
      if (holes === undefined || pieces <= holes || sidesOf(pieces, holes) > 1) continue;
      yield {
        span: declaration.count ?? name,
        message: `${pieces} ${named(name.text)} do not go into the ${holes === 1 ? 'one hole' : `${holes} holes`} of ${named(declaration.holes!.text)}: correct the count or the pattern.`,
        related: related(
          pattern?.pattern?.count ?? pattern?.name,
          `${holes === 1 ? 'one hole' : `${holes} holes`} by this declaration`,
        ),
        data: { subject: name.text },
      };
    }
  },
};

interface SharedHole {
  readonly hole: NumberLiteral;
  readonly part: Declaration;
  /** Where the other part is said to be in it, and that part. */
  readonly taken: NumberLiteral;
  readonly by: string;
  /** What both of them hold. */
  readonly held: string;
}

const isInSome = ({ holesAt, broken }: Declaration): boolean => holesAt !== undefined && !broken;
const isJoint = ({ heldBy }: Declaration): boolean => heldBy.length > 1;

/**
 * Holes of a joint that two parts are said to be in. Where one is in no others than the other, it may be the nut to a bolt, or a
 * dowel round it; two that fill more holes than there are sit at either end of what they hold; a part that some codes have not
 * may leave its holes to another.
 */
function sharedHoles(model: Model): readonly SharedHole[] {
  const { parts } = model;
  if (namesWhere(parts, isInSome).length < 2) return [];
  const found = new Map<NumberLiteral, SharedHole>();
  const looked = new Set<string>();
  for (const held of namesWhere(parts, isJoint)) {
    const { heldBy } = parts.get(held)!;
    // The same screws may hold thousands of parts.
    const screws = heldBy.map(({ text }) => text).join(' ');
    if (looked.has(screws)) continue;
    looked.add(screws);
    const taken = new Map<string, { part: Declaration; hole: NumberLiteral }>();
    for (const { text } of heldBy) {
      const part = parts.get(text);
      if (part?.holesAt === undefined || part.broken) continue;
      // A bolt and its nut may have thousands in common.
      const akin = new Set([part]);
      for (const hole of part.holesAt) {
        const place = `${hole.value} ${part.holes?.text}`;
        const first = taken.get(place);
        if (first === undefined) taken.set(place, { part, hole });
        else if (akin.has(first.part)) continue;
        else if (isWithin(first.part, part) || isWithin(part, first.part) || areAtTwoEnds(model, first.part, part))
          akin.add(first.part);
        else {
          found.set(hole, { hole, part, taken: first.hole, by: first.part.name?.text ?? '', held });
          break;
        }
      }
    }
  }
  if (found.size === 0) return [];
  const left = new Set(statementsOf(model, 'omit').map(({ name }) => name?.text));
  return [...found.values()].filter(({ part, by }) => !left.has(part.name?.text) && !left.has(by));
}

function areAtTwoEnds(model: Model, { holesAt: holes = [] }: Declaration, part: Declaration): boolean {
  const there = holeCount(patternOf(model, part));
  return there !== undefined && holes.length + (part.holesAt ?? []).length > there;
}

const isWithin = (one: Declaration, other: Declaration): boolean => {
  const [places, others] = [placesOf(one), placesOf(other)];
  return places.size <= others.size && [...places].every((place) => others.has(place));
};
const placesOf = noted(
  ({ holesAt = [] }: Declaration): ReadonlySet<number> => new Set(holesAt.map(({ value }) => value)),
);
