/**
 * Tightening orders and the symmetry of hole patterns. Holes are numbered from 1, clockwise on a circle; an order is a
 * list of those numbers. Angles in degrees, points in mm (any unit, as long as it is one).
 */
import { isAmount, isPositive, isSigned } from './guard.ts';

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** A pattern of holes: evenly on a circle, on a circle at stated angles, or at points. */
export type Holes =
  | { readonly kind: 'circle'; readonly count: number }
  | { readonly kind: 'angles'; readonly angles: readonly number[] }
  | { readonly kind: 'points'; readonly points: readonly Point[] };

export type OrderStyle = 'star' | 'spiral';

/** Most holes a pattern may have here. */
const MOST_HOLES = 2000;

// --- Making an order --------------------------------------------------------------------------------------------

/**
 * Star order of a circle of evenly spaced holes. An even circle is the star of half its holes, each followed by its
 * opposite; an odd circle steps (n − 1)/2 holes at a time, the nearest to straight across. This one rule gives the
 * published orders: 1-3-2-4, 1-5-3-7-2-6-4-8, 1-7-4-10…, 1-9-5-13… (ASME PCC-1 legacy pattern, from memory; 12 read).
 * From five holes on no two neighbours follow each other, and the pull stays near the middle: see {@link starBound}.
 */
export function starOrder(count: number): number[] | undefined {
  if (!Number.isInteger(count) || count < 1 || count > MOST_HOLES) return undefined;
  return spread(count).map((hole) => hole + 1);
}

function spread(count: number): number[] {
  if (count === 1) return [0];
  if (count % 2 === 1) return Array.from({ length: count }, (_, i) => (i * ((count - 1) / 2)) % count);
  return spread(count / 2).flatMap((hole) => [hole, hole + count / 2]);
}

/**
 * Spiral order of a circle: across and back, the line turning one hole at a time: 1-5-2-6-3-7-4-8.
 * Balanced as the star is; from five holes on no two neighbours follow each other.
 */
export function spiralOrder(count: number): number[] | undefined {
  if (!Number.isInteger(count) || count < 1 || count > MOST_HOLES) return undefined;
  if (count % 2 === 1) return starOrder(count);
  return Array.from({ length: count }, (_, i) => Math.floor(i / 2) + (i % 2) * (count / 2) + 1);
}

/**
 * Bound on the balance of {@link starOrder} and {@link spiralOrder}: after any number of holes the pull of the tightened
 * bolts, added as arrows of length 1 from the middle to each hole, is no longer than this. 1 for an even count,
 * because opposites cancel; 1/cos(90°/n) for an odd one, the sum of a geometric row of turning arrows.
 */
export function starBound(count: number): number | undefined {
  if (!Number.isInteger(count) || count < 1 || count > MOST_HOLES) return undefined;
  return count % 2 === 0 || count === 1 ? 1 : 1 / Math.cos(Math.PI / (2 * count));
}

/**
 * An order for any pattern. Even circles: {@link starOrder}, {@link spiralOrder}, from the first clockwise. Uneven circles: the holes ranked by
 * angle and taken as an even circle, or the more balanced order that always takes the hole that best evens the pull.
 * Points: from the innermost ring outwards, within each ring a star, or turning, or from five holes on the spiral of a circle. Undefined for an empty or invalid pattern.
 */
export function tighteningOrder(holes: Holes, style: OrderStyle = 'star'): number[] | undefined {
  if (!isPattern(holes)) return undefined;
  const around = style === 'star' ? starOrder : spiralOrder;
  if (holes.kind === 'circle') return around(holes.count);
  if (holes.kind === 'angles') return unevenOrder(holes.angles, around);
  return pointsOrder(holes.points, style);
}

/** The holes of these numbers as a pattern of their own, in the order of `numbers`; undefined where one is no hole of it. */
export function holesAmong(holes: Holes, numbers: readonly number[]): Holes | undefined {
  const count = isPattern(holes) ? countHoles(holes) : 0;
  if (numbers.length === 0 || !numbers.every((n) => Number.isInteger(n) && n >= 1 && n <= count)) return undefined;
  if (holes.kind === 'points') return { kind: 'points', points: numbers.map((n) => holes.points[n - 1]!) };
  const angleOf = (n: number): number => (holes.kind === 'angles' ? holes.angles[n - 1]! : ((n - 1) * 360) / count);
  return { kind: 'angles', angles: numbers.map(angleOf) };
}

/**
 * An order for some holes of a pattern, by their numbers, or for all: that of a pattern which has these alone. The order of the whole with
 * the others left out would go round the circle, where every other hole is taken.
 */
export function orderAmong(
  holes: Holes,
  numbers: readonly number[] | undefined,
  style: OrderStyle = 'star',
): number[] | undefined {
  if (numbers === undefined) return tighteningOrder(holes, style);
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const among = holesAmong(holes, sorted);
  if (among === undefined) return undefined;
  if (sorted.length === countHoles(holes)) return tighteningOrder(holes, style);
  return tighteningOrder(among, style)?.map((at) => sorted[at - 1]!);
}

/** An order by the places that its holes have among `numbers`, with these as a pattern, or both as they are; undefined where one is no hole of it. */
export function orderWithin(
  order: readonly number[],
  holes: Holes,
  numbers: readonly number[] | undefined,
): { readonly order: readonly number[]; readonly holes: Holes } | undefined {
  if (numbers === undefined) return { order, holes };
  const among = holesAmong(holes, numbers);
  return among && { order: order.map((hole) => numbers.indexOf(hole) + 1), holes: among };
}

function isPattern(holes: Holes): boolean {
  const count = countHoles(holes);
  if (!Number.isInteger(count) || count < 1 || count > MOST_HOLES) return false;
  if (holes.kind === 'angles') return holes.angles.every(isSigned);
  return holes.kind === 'circle' || holes.points.every(({ x, y }) => isSigned(x) && isSigned(y));
}

/** How many holes a pattern has. */
export function countHoles(holes: Holes): number {
  if (holes.kind === 'circle') return holes.count;
  return holes.kind === 'angles' ? holes.angles.length : holes.points.length;
}

/** Indices sorted by angle, 0 to 360°. */
const ranked = (angles: readonly number[]): number[] =>
  angles.map((_, i) => i).sort((a, b) => turn(angles[a]!) - turn(angles[b]!));

const turn = (angle: number): number => ((angle % 360) + 360) % 360;

function unevenOrder(angles: readonly number[], around: typeof starOrder): number[] {
  const rank = ranked(angles);
  const byRank = around(angles.length)!.map((hole) => rank[hole - 1]! + 1);
  const holes: Holes = { kind: 'angles', angles };
  // Even holes have the published order, wherever the first one is; one as balanced differs by dust.
  if (rotationalSymmetry(holes) === angles.length) return byRank;
  const byPull = pullOrder(angles, rank);
  if (!byPull || judgeOrder(byPull, holes).nextDoor.length > 0) return byRank;
  return orderImbalance(byPull, holes)! < orderImbalance(byRank, holes)! ? byPull : byRank;
}

/** Greedy: always the hole that keeps the pull nearest to its even course, never a neighbour of the last one. */
function pullOrder(angles: readonly number[], rank: readonly number[]): number[] | undefined {
  const n = angles.length;
  const places = rank.map((hole) => onCircle(angles[hole]!));
  const whole = places.reduce((sum, p) => ({ x: sum.x + p.x, y: sum.y + p.y }), { x: 0, y: 0 });
  const left = new Set(places.keys());
  const order: number[] = [];
  let pull = { x: 0, y: 0 };
  let last = rank.indexOf(0);
  const take = (at: number) => {
    left.delete(at);
    order.push(rank[at]! + 1);
    pull = { x: pull.x + places[at]!.x, y: pull.y + places[at]!.y };
    last = at;
  };
  take(last);
  while (left.size > 0) {
    const share = (order.length + 1) / n;
    let best: number | undefined;
    let least = Number.POSITIVE_INFINITY;
    for (const at of left) {
      if (n >= 5 && areNeighbours(at, last, n)) continue;
      const off = Math.hypot(pull.x + places[at]!.x - share * whole.x, pull.y + places[at]!.y - share * whole.y);
      if (off < least - 1e-12) [best, least] = [at, off];
    }
    if (best === undefined) return undefined;
    take(best);
  }
  return order;
}

const areNeighbours = (a: number, b: number, count: number): boolean => {
  const apart = Math.abs(a - b);
  return apart === 1 || apart === count - 1;
};

/** Clockwise from 12 o'clock, y upwards. */
const onCircle = (angle: number): Point => ({
  x: Math.sin((angle * Math.PI) / 180),
  y: Math.cos((angle * Math.PI) / 180),
});

function pointsOrder(points: readonly Point[], style: OrderStyle): number[] {
  const middle = centroid(points);
  const far = points.map((p) => Math.hypot(p.x - middle.x, p.y - middle.y));
  const greatest = Math.max(...far);
  const inward = points.map((_, i) => i).sort((a, b) => far[a]! - far[b]!);
  // Holes within a hundredth of the greatest distance of each other count as one ring.
  const rings: number[][] = [];
  for (const hole of inward) {
    const ring = rings.at(-1);
    if (ring && far[hole]! - far[ring[0]!]! <= greatest / 100) ring.push(hole);
    else rings.push([hole]);
  }
  return rings.flatMap((ring) => {
    const bearings = ring.map((i) => bearing(points[i]!, middle));
    const rank = ranked(bearings);
    // From five holes on, a ring is a flange of its own: to go round it would take neighbours one after the other.
    if (style === 'spiral' && ring.length < 5) return rank.map((at) => ring[at]! + 1);
    const around = style === 'star' ? starOrder : spiralOrder;
    return around(ring.length)!.map((at) => ring[rank[at - 1]!]! + 1);
  });
}

/** Degrees clockwise from 12 o'clock, y upwards. */
const bearing = (p: Point, from: Point): number => (Math.atan2(p.x - from.x, p.y - from.y) * 180) / Math.PI;

const centroid = (points: readonly Point[]): Point => ({
  x: points.reduce((sum, p) => sum + p.x, 0) / points.length,
  y: points.reduce((sum, p) => sum + p.y, 0) / points.length,
});

// --- Stages -----------------------------------------------------------------------------------------------------

export interface Pass {
  /** N·m. */
  readonly torque: number;
  readonly order: readonly number[];
}

/** Shares of the final torque, one pass each: common practice in flange work, 30, 60, 100 % (read). */
export const STAGE_SHARES: readonly number[] = [0.3, 0.6, 1];

/**
 * Passes in the given order at rising torques, then one round in sequence at the last: neighbours relax each other, so
 * the last round goes from hole to hole. Torques in N·m; undefined where there is no torque or a torque is none.
 */
export function stagedPasses(order: readonly number[], torques: readonly number[]): Pass[] | undefined {
  const last = torques.at(-1);
  if (last === undefined || !torques.every(isAmount)) return undefined;
  const sequence = [...order].sort((a, b) => a - b);
  return [...torques.map((torque) => ({ torque, order })), { torque: last, order: sequence }];
}

// --- Judging an order -------------------------------------------------------------------------------------------

export interface OrderVerdict {
  /** Holes that the order leaves out. */
  readonly missing: readonly number[];
  /** Holes that it takes more than once. */
  readonly repeated: readonly number[];
  /** Numbers that are no hole of the pattern. */
  readonly outside: readonly number[];
  /** Neighbours on a circle of five or more, one straight after the other; from the last back to the first not counted. */
  readonly nextDoor: readonly (readonly [number, number])[];
  /** Whether an order on points works from the edge inwards. */
  readonly inwards: boolean;
}

/**
 * Judges one pass of a stated order. Any balanced order passes, not only those made here. An order on points works
 * inwards if, of all pairs of holes at different distances from the middle, three in four take the farther one first.
 */
export function judgeOrder(order: readonly number[], holes: Holes): OrderVerdict {
  const count = isPattern(holes) ? countHoles(holes) : 0;
  const isHole = (n: number) => Number.isInteger(n) && n >= 1 && n <= count;
  const times = new Map<number, number>();
  for (const n of order) times.set(n, (times.get(n) ?? 0) + 1);
  return {
    missing: Array.from({ length: count }, (_, i) => i + 1).filter((n) => !times.has(n)),
    repeated: [...times].filter(([n, k]) => isHole(n) && k > 1).map(([n]) => n),
    outside: [...times.keys()].filter((n) => !isHole(n)),
    nextDoor: holes.kind === 'points' || count < 5 ? [] : successions(order.filter(isHole), holes, count),
    inwards: holes.kind === 'points' && count > 0 && worksInwards(order.filter(isHole), holes.points),
  };
}

function successions(
  order: readonly number[],
  holes: Exclude<Holes, { kind: 'points' }>,
  count: number,
): [number, number][] {
  const place = new Map<number, number>();
  if (holes.kind === 'angles') ranked(holes.angles).forEach((hole, at) => void place.set(hole + 1, at));
  const at = (hole: number) => place.get(hole) ?? hole - 1;
  return order.flatMap((hole, i): [number, number][] => {
    const next = order[i + 1];
    return next !== undefined && areNeighbours(at(hole), at(next), count) ? [[hole, next]] : [];
  });
}

function worksInwards(order: readonly number[], points: readonly Point[]): boolean {
  const middle = centroid(points);
  const far = [...new Set(order)].map((hole) =>
    Math.hypot(points[hole - 1]!.x - middle.x, points[hole - 1]!.y - middle.y),
  );
  const alike = Math.max(0, ...far) / 100;
  let inwards = 0;
  let outwards = 0;
  for (let i = 0; i < far.length; i++) {
    for (let j = i + 1; j < far.length; j++) {
      if (far[i]! - far[j]! > alike) inwards++;
      else if (far[j]! - far[i]! > alike) outwards++;
    }
  }
  return inwards > 0 && inwards >= 3 * outwards;
}

/**
 * How far the pull of the tightened bolts strays while an order runs: the greatest distance of the sum of their arrows
 * (from the middle to the hole, the longest arrow 1) from its even course towards the sum of all. 0 is perfect; see
 * {@link starBound} for even circles. Undefined for an order that is no permutation of the pattern.
 */
export function orderImbalance(order: readonly number[], holes: Holes): number | undefined {
  const places = placesOf(holes);
  const sorted = [...order].sort((a, b) => a - b);
  if (!places || order.length !== places.length || !sorted.every((n, i) => n === i + 1)) return undefined;
  const whole = places.reduce((sum, p) => ({ x: sum.x + p.x, y: sum.y + p.y }), { x: 0, y: 0 });
  let [x, y, worst] = [0, 0, 0];
  order.forEach((hole, i) => {
    x += places[hole - 1]!.x;
    y += places[hole - 1]!.y;
    const share = (i + 1) / order.length;
    worst = Math.max(worst, Math.hypot(x - share * whole.x, y - share * whole.y));
  });
  return worst;
}

/** Holes as arrows from the middle, the longest of length 1. */
function placesOf(holes: Holes): Point[] | undefined {
  if (!isPattern(holes)) return undefined;
  if (holes.kind === 'circle') return Array.from({ length: holes.count }, (_, i) => onCircle((360 * i) / holes.count));
  if (holes.kind === 'angles') return holes.angles.map(onCircle);
  const middle = centroid(holes.points);
  const longest = Math.max(...holes.points.map((p) => Math.hypot(p.x - middle.x, p.y - middle.y)));
  const unit = isPositive(longest) ? longest : 1;
  return holes.points.map((p) => ({ x: (p.x - middle.x) / unit, y: (p.y - middle.y) / unit }));
}

// --- Symmetry ---------------------------------------------------------------------------------------------------

/** Degrees within which two holes line up. */
export const HOLE_TOLERANCE = 0.5;

/**
 * In how many positions a part with this pattern goes on when it is turned: the order of rotational symmetry, 1 if one
 * way only. Tolerance in degrees, on points as seen from the middle at the radius of the farthest hole.
 * Undefined for an empty or invalid pattern.
 */
export function rotationalSymmetry(holes: Holes, tolerance = HOLE_TOLERANCE): number | undefined {
  if (!isPattern(holes) || !isAmount(tolerance) || tolerance > 180) return undefined;
  if (holes.kind === 'circle') return holes.count;
  const places = holes.kind === 'angles' ? holes.angles.map(onCircle) : placesOf(holes)!;
  // The chord that the tolerance spans on the outermost radius, plus room for rounding.
  const chord = 2 * Math.sin((tolerance * Math.PI) / 360) + 1e-9;
  const middle = holes.kind === 'points' ? places.filter((p) => Math.hypot(p.x, p.y) <= chord) : [];
  const outer = places.filter((p) => !middle.includes(p));
  if (outer.length === 0) return undefined;
  for (let fold = outer.length; fold > 1; fold--) {
    if (outer.length % fold === 0 && turnsOnto(outer, 360 / fold, chord)) return fold;
  }
  return 1;
}

/** Whether a turn by an angle lays the holes onto themselves, each onto one of its own. */
function turnsOnto(places: readonly Point[], angle: number, chord: number): boolean {
  const [sin, cos] = [Math.sin((angle * Math.PI) / 180), Math.cos((angle * Math.PI) / 180)];
  const taken = new Uint8Array(places.length);
  return places.every((p) => {
    const [x, y] = [p.x * cos + p.y * sin, p.y * cos - p.x * sin];
    let best = -1;
    let least = chord * chord;
    for (let i = 0; i < places.length; i++) {
      const [dx, dy] = [places[i]!.x - x, places[i]!.y - y];
      const off = dx * dx + dy * dy;
      if (off > least || taken[i] === 1) continue;
      best = i;
      least = off;
    }
    if (best === -1) return false;
    taken[best] = 1;
    return true;
  });
}
