import { countHoles, type Holes } from '../mechanics/index.ts';
import { addTo } from '../model/grouped.ts';
import { type Html, html } from './html.ts';

interface Point {
  readonly x: number;
  readonly y: number;
}
interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** 11 pt in mm: no text in a drawing is smaller. */
const textSize = 3.88;
/** Widths of figures and letters as shares of their size, generous for any sans-serif. */
const glyph = 0.68;
const gap = 1.2;
const widest = 150;
/** Lines from hole to hole help the eye only while they are few. */
const mostLines = 12;

const widthOf = (text: string): number => text.length * textSize * glyph;
const boxAt = (at: Point, width: number, height: number): Box => ({
  left: at.x - width / 2,
  right: at.x + width / 2,
  top: at.y - height / 2,
  bottom: at.y + height / 2,
});
const middleOf = ({ left, right, top, bottom }: Box): Point => ({ x: (left + right) / 2, y: (top + bottom) / 2 });
const overlap = (a: Box, b: Box): boolean =>
  a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;

/** Boxes by the squares of a grid that they touch, so that thousands can be asked. */
class Taken {
  private readonly squares = new Map<string, Box[]>();
  private *keys({ left, right, top, bottom }: Box): Generator<string> {
    for (let x = Math.floor(left / 10); x <= Math.floor(right / 10); x++)
      for (let y = Math.floor(top / 10); y <= Math.floor(bottom / 10); y++) yield `${x} ${y}`;
  }
  /** Whether none of the boxes nearby is in the way. */
  isFree(box: Box, inTheWay = (other: Box): boolean => overlap(box, other)): boolean {
    for (const key of this.keys(box)) if (this.squares.get(key)?.some(inTheWay)) return false;
    return true;
  }
  add(box: Box): void {
    for (const key of this.keys(box)) {
      addTo(this.squares, key, box);
    }
  }
}

/** `1st`, `22nd` */
export function ordinal(n: number): string {
  const teen = n % 100 >= 11 && n % 100 <= 13;
  return `${n}${teen ? 'th' : (['th', 'st', 'nd', 'rd'][n % 10] ?? 'th')}`;
}

/** Where the holes lie, in mm on paper, y downwards, the middle of a circle at 0; and the circle they lie on. */
function layOut(holes: Holes, disc: number): { places: Point[]; radius?: number } {
  if (holes.kind !== 'points') {
    const angles =
      holes.kind === 'angles' ? holes.angles : Array.from({ length: holes.count }, (_, i) => (i * 360) / holes.count);
    const around = (angles.length * (2 * disc + 2)) / (2 * Math.PI);
    const greatest = widest / 2 - 2 * disc - 8;
    // A circle that has no room for all its numbers need not fill the page either.
    const radius = around > greatest ? 42 : Math.max(15, around);
    return {
      radius,
      places: angles.map((angle) => ({
        x: radius * Math.sin((angle * Math.PI) / 180),
        y: -radius * Math.cos((angle * Math.PI) / 180),
      })),
    };
  }
  const { points } = holes;
  const xs = points.map(({ x }) => x);
  const ys = points.map(({ y }) => y);
  const least = { x: minOf(xs), y: minOf(ys) };
  const wide = maxOf(xs) - least.x;
  const high = maxOf(ys) - least.y;
  // As large as its labels ask for, as small as the page asks for.
  const near = nearest(points);
  const wanted = near > 0 ? (2 * disc + textSize + 5) / near : Number.POSITIVE_INFINITY;
  const room = Math.min(wide > 0 ? (widest - 24) / wide : Infinity, high > 0 ? 90 / high : Infinity);
  const scale = Math.min(room, wanted);
  const at = (value: number, from: number): number => (Number.isFinite(scale) ? (value - from) * scale : 0);
  return { places: points.map(({ x, y }) => ({ x: at(x, least.x), y: -at(y, least.y) })) };
}

const minOf = (values: readonly number[]): number => values.reduce((a, b) => Math.min(a, b), Infinity);
const maxOf = (values: readonly number[]): number => values.reduce((a, b) => Math.max(a, b), -Infinity);

/** The least distance between two points that do not coincide; of many, sampled by neighbours in x. */
function nearest(points: readonly Point[]): number {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  let least = Infinity;
  for (let i = 0; i < sorted.length; i++) {
    for (let j = i + 1; j < sorted.length && j <= i + 200; j++) {
      const far = Math.hypot(sorted[i]!.x - sorted[j]!.x, sorted[i]!.y - sorted[j]!.y);
      if (far > 0) least = Math.min(least, far);
    }
  }
  return Number.isFinite(least) ? least : 0;
}

/** Directions tried for the turn beside a hole: outwards first. */
const turns = [0, 180, 90, -90, 45, -45, 135, -135];

/** Room for words beside a ring, outwards (`away`, radians) if there is any, as near as it can be. */
function freeBox(taken: Taken, ring: Point, away: number, disc: number, text: string): Box | undefined {
  for (const turned of turns) {
    const angle = away + (turned * Math.PI) / 180;
    for (let reach = disc + gap; reach < disc + gap + 7; reach += 0.5) {
      const at = { x: ring.x + reach * Math.cos(angle), y: ring.y + reach * Math.sin(angle) };
      const box = boxAt(at, widthOf(text), textSize);
      if (taken.isFree(box)) return box;
    }
  }
  return undefined;
}

interface Word {
  readonly at: Point;
  readonly text: string;
}

/** The rings that have room for their number, hole 1 first. */
function ringsOf(places: readonly Point[], disc: number, taken: Taken): number[] {
  const rings = new Taken();
  const near = 2 * disc + 0.6;
  return [...places.keys()].filter((i) => {
    const place = places[i]!;
    const box = boxAt(place, near, near);
    const meets = (other: Box): boolean => Math.hypot(middleOf(other).x - place.x, middleOf(other).y - place.y) < near;
    if (!rings.isFree(box, meets)) return false;
    rings.add(box);
    taken.add(box);
    return true;
  });
}

/** The turn of each hole beside its ring; none where one of them has no room, for a part of them would mislead. */
function wordsOf(
  places: readonly Point[],
  order: readonly number[],
  disc: number,
  middle: Point,
  taken: Taken,
): Word[] {
  const words: Word[] = [];
  for (const [i, hole] of order.entries()) {
    const place = places[hole - 1];
    if (place === undefined || order.indexOf(hole) < i) continue;
    const text = ordinal(i + 1);
    const away =
      place.x === middle.x && place.y === middle.y ? Math.PI / 2 : Math.atan2(place.y - middle.y, place.x - middle.x);
    const box = freeBox(taken, place, away, disc, text);
    if (box === undefined) return [];
    taken.add(box);
    words.push({ at: middleOf(box), text });
  }
  return words;
}

export interface Drawing {
  readonly svg: Html;
  /** Holes whose number is in the drawing; where there is no room for all, no turns are. */
  readonly numbered: number;
  readonly turned: boolean;
}

/** A hole pattern in mm: rings with the number of their hole, beside each the turn in which it is tightened. */
export function drawPattern(holes: Holes, order: readonly number[], title: string, id: string): Drawing {
  const count = countHoles(holes);
  const disc = Math.max(3.4, widthOf(String(count)) / 2 + 0.9);
  const { places, radius } = layOut(holes, disc);
  const taken = new Taken();
  const rings = ringsOf(places, disc, taken);
  const whole = rings.length === count;
  const middle = radius === undefined ? centre(places) : { x: 0, y: 0 };
  const words = whole ? wordsOf(places, order, disc, middle, taken) : [];
  const ways = whole && order.length <= mostLines ? order.filter((hole) => places[hole - 1] !== undefined) : [];
  const tightened = new Set(order);
  const numbered = new Set(rings);
  const { left, top, right, bottom } = boundsOf(places, disc, words);
  const [width, height] = [f(right - left), f(bottom - top)];
  const label = ({ x, y }: Point): Html =>
    html`x="${f(x)}" y="${f(y + textSize * 0.36)}" font-size="${textSize}" text-anchor="middle"`;
  const svg = html`<svg role="img" aria-labelledby="${id}-title ${id}-order" width="${width}mm" height="${height}mm" viewBox="${f(left)} ${f(top)} ${width} ${height}" xmlns="http://www.w3.org/2000/svg">
<title id="${id}-title">${title}</title>
<desc id="${id}-order">Order of the holes: ${order.join(', ')}.</desc>
${radius !== undefined && html`<circle r="${f(radius)}" fill="none" stroke="#767676" stroke-width="0.25"/>\n`}${ways
  .slice(1)
  .map((hole, i) => arrow(places[ways[i]! - 1]!, places[hole - 1]!, disc))}${places
  .filter((_, i) => !numbered.has(i))
  .map(({ x, y }) => html`<circle class="dot" cx="${f(x)}" cy="${f(y)}" r="0.5"/>\n`)}${rings.map((i) => {
  const place = places[i]!;
  const dashed = !tightened.has(i + 1) && html` stroke-dasharray="0.8 0.8"`;
  return html`<g class="hole" data-hole="${i + 1}"><circle cx="${f(place.x)}" cy="${f(place.y)}" r="${f(disc)}" fill="#fff" stroke="#000" stroke-width="0.5"${dashed}/><text ${label(place)} font-weight="700">${i + 1}</text></g>\n`;
})}${words.map(
  ({ at, text }) =>
    html`<rect x="${f(at.x - widthOf(text) / 2)}" y="${f(at.y - textSize / 2)}" width="${f(widthOf(text))}" height="${textSize}" fill="#fff"/><text class="turn" ${label(at)}>${text}</text>\n`,
)}</svg>`;
  return { svg, numbered: rings.length, turned: words.length > 0 };
}

/** A hundredth of a mm is enough. */
const f = (value: number): string => String(Math.round(value * 100) / 100);

const centre = (places: readonly Point[]): Point => ({
  x: (minOf(places.map(({ x }) => x)) + maxOf(places.map(({ x }) => x))) / 2,
  y: (minOf(places.map(({ y }) => y)) + maxOf(places.map(({ y }) => y))) / 2,
});

function boundsOf(places: readonly Point[], disc: number, words: readonly Word[]): Box {
  const boxes = [
    ...places.map((place) => boxAt(place, 2 * disc + 0.6, 2 * disc + 0.6)),
    ...words.map(({ at, text }) => boxAt(at, widthOf(text), textSize * 1.2)),
  ];
  return {
    left: minOf(boxes.map(({ left }) => left)) - 0.5,
    right: maxOf(boxes.map(({ right }) => right)) + 0.5,
    top: minOf(boxes.map(({ top }) => top)) - 0.5,
    bottom: maxOf(boxes.map(({ bottom }) => bottom)) + 0.5,
  };
}

/** From ring to ring, with an open head at its end. */
function arrow(from: Point, to: Point, disc: number): Html | string {
  const far = Math.hypot(to.x - from.x, to.y - from.y);
  if (far <= 2 * disc + 1) return '';
  const [ux, uy] = [(to.x - from.x) / far, (to.y - from.y) / far];
  const start = { x: from.x + ux * disc, y: from.y + uy * disc };
  const end = { x: to.x - ux * (disc + 0.4), y: to.y - uy * (disc + 0.4) };
  const barb = (side: number): string => `${f(end.x - 2 * ux - side * uy)} ${f(end.y - 2 * uy + side * ux)}`;
  return html`<path class="way" d="M${f(start.x)} ${f(start.y)}L${f(end.x)} ${f(end.y)}M${barb(0.9)}L${f(end.x)} ${f(end.y)}L${barb(-0.9)}" fill="none" stroke="#767676" stroke-width="0.3"/>
`;
}
