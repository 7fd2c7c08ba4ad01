/**
 * Screw threads: what a designation means, and the geometry that follows from it.
 * Lengths in mm, areas in mm².
 */
import { isPositive } from './guard.ts';

export type ThreadSystem = 'metric' | 'unified';
export type ThreadSeries = 'coarse' | 'fine' | 'extra-fine' | 'constant-pitch';

export interface Thread {
  readonly system: ThreadSystem;
  /** As the standard writes it: `M8x1.25`, `1/4-20`, `10-32`, `1-1/8-7`, `M20x1.5-LH`. */
  readonly designation: string;
  /** Turned clockwise it comes loose. */
  readonly leftHand: boolean;
  /** Nominal (major) diameter, mm. */
  readonly diameter: number;
  /** Pitch, mm. */
  readonly pitch: number;
  /** The standard's series; undefined where no standard lists the pair of diameter and pitch. */
  readonly series: ThreadSeries | undefined;
  /** Whether ISO 261 or ASME B1.1 (UNC, UNF, UNEF, 4-UN to 32-UN) lists the pair. */
  readonly listed: boolean;
}

export interface ThreadGeometry {
  /** d2, mm. */
  readonly pitchDiameter: number;
  /** d3, minor diameter of the bolt, mm. */
  readonly minorDiameter: number;
  /** Diameter of the circle whose area is the stress area, mm. */
  readonly stressDiameter: number;
  /** Nominal stress area, mm². */
  readonly stressArea: number;
}

export const INCH = 25.4;

/**
 * ISO 261 (all three choices) from M1.6 to M300: diameter, coarse pitch or undefined, fine pitches, mm.
 * From memory; agrees with a public copy of ISO 262 and with the list of a public CAD program (M26, M38 and all
 * above M64 from memory: those of 2 and 3 mm, which nuts of rolling bearings have, are in ISO 2982-2, too).
 */
// biome-ignore format: a table
export const METRIC_SIZES: readonly (readonly [
  diameter: number,
  coarse: number | undefined,
  fine: readonly number[],
])[] = [
  [1.6, 0.35, [0.2]], [1.8, 0.35, [0.2]], [2, 0.4, [0.25]], [2.2, 0.45, [0.25]], [2.5, 0.45, [0.35]], [3, 0.5, [0.35]],
  [3.5, 0.6, [0.35]], [4, 0.7, [0.5]], [4.5, 0.75, [0.5]], [5, 0.8, [0.5]], [5.5, undefined, [0.5]], [6, 1, [0.75]],
  [7, 1, [0.75]], [8, 1.25, [1, 0.75]], [9, 1.25, [1, 0.75]], [10, 1.5, [1.25, 1, 0.75]], [11, 1.5, [1, 0.75]],
  [12, 1.75, [1.5, 1.25, 1]], [14, 2, [1.5, 1.25, 1]], [15, undefined, [1.5, 1]], [16, 2, [1.5, 1]],
  [17, undefined, [1.5, 1]], [18, 2.5, [2, 1.5, 1]], [20, 2.5, [2, 1.5, 1]], [22, 2.5, [2, 1.5, 1]],
  [24, 3, [2, 1.5, 1]], [25, undefined, [2, 1.5, 1]], [26, undefined, [1.5]], [27, 3, [2, 1.5, 1]],
  [28, undefined, [2, 1.5, 1]], [30, 3.5, [3, 2, 1.5, 1]], [32, undefined, [2, 1.5]], [33, 3.5, [3, 2, 1.5]],
  [35, undefined, [1.5]], [36, 4, [3, 2, 1.5]], [38, undefined, [1.5]], [39, 4, [3, 2, 1.5]],
  [40, undefined, [3, 2, 1.5]], [42, 4.5, [4, 3, 2, 1.5]], [45, 4.5, [4, 3, 2, 1.5]], [48, 5, [4, 3, 2, 1.5]],
  [50, undefined, [3, 2, 1.5]], [52, 5, [4, 3, 2, 1.5]], [55, undefined, [4, 3, 2, 1.5]], [56, 5.5, [4, 3, 2, 1.5]],
  [58, undefined, [4, 3, 2, 1.5]], [60, 5.5, [4, 3, 2, 1.5]], [62, undefined, [4, 3, 2, 1.5]], [64, 6, [4, 3, 2, 1.5]],
  [65, undefined, [4, 3, 2, 1.5]], [68, 6, [4, 3, 2, 1.5]], [70, undefined, [6, 4, 3, 2, 1.5]],
  [72, undefined, [6, 4, 3, 2, 1.5]], [75, undefined, [4, 3, 2, 1.5]], [76, undefined, [6, 4, 3, 2, 1.5]],
  [78, undefined, [2]], [80, undefined, [6, 4, 3, 2, 1.5]], [82, undefined, [2]],
  [85, undefined, [6, 4, 3, 2]], [90, undefined, [6, 4, 3, 2]], [95, undefined, [6, 4, 3, 2]],
  [100, undefined, [6, 4, 3, 2]], [105, undefined, [6, 4, 3, 2]], [110, undefined, [6, 4, 3, 2]],
  [115, undefined, [6, 4, 3, 2]], [120, undefined, [6, 4, 3, 2]], [125, undefined, [8, 6, 4, 3, 2]],
  [130, undefined, [8, 6, 4, 3, 2]], [135, undefined, [6, 4, 3, 2]], [140, undefined, [8, 6, 4, 3, 2]],
  [145, undefined, [6, 4, 3, 2]], [150, undefined, [8, 6, 4, 3, 2]], [155, undefined, [6, 4, 3]],
  [160, undefined, [8, 6, 4, 3]], [165, undefined, [6, 4, 3]], [170, undefined, [8, 6, 4, 3]],
  [175, undefined, [6, 4, 3]], [180, undefined, [8, 6, 4, 3]], [185, undefined, [6, 4, 3]],
  [190, undefined, [8, 6, 4, 3]], [195, undefined, [6, 4, 3]], [200, undefined, [8, 6, 4, 3]],
  [205, undefined, [6, 4, 3]], [210, undefined, [8, 6, 4, 3]], [215, undefined, [6, 4, 3]],
  [220, undefined, [8, 6, 4, 3]], [225, undefined, [6, 4, 3]], [230, undefined, [8, 6, 4, 3]],
  [235, undefined, [6, 4, 3]], [240, undefined, [8, 6, 4, 3]], [245, undefined, [6, 4, 3]],
  [250, undefined, [8, 6, 4, 3]], [255, undefined, [6, 4]], [260, undefined, [8, 6, 4]],
  [265, undefined, [6, 4]], [270, undefined, [8, 6, 4]], [275, undefined, [6, 4]], [280, undefined, [8, 6, 4]],
  [285, undefined, [6, 4]], [290, undefined, [8, 6, 4]], [295, undefined, [6, 4]], [300, undefined, [8, 6, 4]],
];

/** ASME B1.1: size and threads per inch of each series. From memory; public copies agree (1-3/16 UNEF from memory). */
export const UNIFIED_SIZES: Readonly<Record<ThreadSeries, readonly (readonly [size: string, perInch: number])[]>> = {
  coarse: pairs(
    '#1 64 #2 56 #3 48 #4 40 #5 40 #6 32 #8 32 #10 24 #12 24 1/4 20 5/16 18 3/8 16 7/16 14 1/2 13 9/16 12 5/8 11 ' +
      '3/4 10 7/8 9 1 8 1-1/8 7 1-1/4 7 1-3/8 6 1-1/2 6 1-3/4 5 2 4.5 2-1/4 4.5 2-1/2 4 2-3/4 4 3 4 3-1/4 4 3-1/2 4 ' +
      '3-3/4 4 4 4',
  ),
  fine: pairs(
    '#0 80 #1 72 #2 64 #3 56 #4 48 #5 44 #6 40 #8 36 #10 32 #12 28 1/4 28 5/16 24 3/8 24 7/16 20 1/2 20 9/16 18 ' +
      '5/8 18 3/4 16 7/8 14 1 12 1-1/8 12 1-1/4 12 1-3/8 12 1-1/2 12',
  ),
  'extra-fine': pairs(
    '#12 32 1/4 32 5/16 32 3/8 32 7/16 28 1/2 28 9/16 24 5/8 24 11/16 24 3/4 20 13/16 20 7/8 20 15/16 20 1 20 ' +
      '1-1/16 18 1-1/8 18 1-3/16 18 1-1/4 18 1-5/16 18 1-3/8 18 1-7/16 18 1-1/2 18 1-9/16 18 1-5/8 18 1-11/16 18',
  ),
  'constant-pitch': constantPitch(),
};

/**
 * The series 4-UN to 32-UN of ASME B1.1 (from memory): each from one size to another, by sixteenths up to 2 in and by eighths above.
 * What UNC, UNF or UNEF has as well is listed there.
 */
function constantPitch(): [string, number][] {
  const series: readonly (readonly [perInch: number, from: number, to: number])[] = [
    [4, 2.625, 6],
    [6, 1.4375, 6],
    [8, 1.0625, 6],
    [12, 0.625, 6],
    [16, 0.4375, 6],
    [20, 0.3125, 3],
    [28, 0.3125, 1.5],
    [32, 0.4375, 1],
  ];
  return series.flatMap(([perInch, from, to]) => {
    const sizes: [string, number][] = [];
    for (let inches = from; inches <= to; inches += inches < 2 ? 1 / 16 : 1 / 8) sizes.push([sizeOf(inches), perInch]);
    return sizes;
  });
}

/** Inches in sixteenths, as the tables write a size: `2-1/8`. */
function sizeOf(inches: number): string {
  const whole = Math.floor(inches);
  let [top, bottom] = [(inches - whole) * 16, 16];
  while (top > 0 && top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  return [whole > 0 ? `${whole}` : '', top > 0 ? `${top}/${bottom}` : ''].filter((each) => each !== '').join('-');
}

const ALL_SERIES = ['coarse', 'fine', 'extra-fine', 'constant-pitch'] as const;

function pairs(text: string): [string, number][] {
  const words = text.split(' ');
  return words.flatMap((word, i) => (i % 2 === 0 ? [[word, Number(words[i + 1])] as [string, number]] : []));
}

const METRIC = /^M\s*(\d{1,4}(?:\.\d{1,4})?)(?:\s*[x×X*]\s*(\d{1,3}(?:\.\d{1,4})?))?$/;
const UNIFIED =
  /^(#)?(?:(\d{1,2})|(?:(\d{1,2})[-\s])?(\d{1,2})\/(\d{1,2}))\s*-\s*(\d{1,3}(?:\.\d{1,2})?)(?:\s*UN(?:C|F|EF|S|R)?)?$/;

/** ISO 965-1 and ASME B1.1 (from memory): a left-hand thread has `LH` behind a hyphen at its end; right-hand ones have nothing. */
const LEFT_HAND = /\s*-\s*LH$/;
const leftHanded = (thread: Thread): Thread => ({
  ...thread,
  designation: `${thread.designation}-LH`,
  leftHand: true,
});

/**
 * Reads a thread designation: `M8x1.25`, `M8×1`, `M8` (coarse pitch), `1/4-20`, `1-1/8-7`, `1-8`, `10-32`, `#6-32`, each with
 * `-LH` behind it where it is left-hand.
 * A whole number before unified threads per inch is a number size where ASME B1.1 lists it so, an inch size where it
 * lists it so, and otherwise a number size from 20 threads per inch on. Undefined for anything else: {@link threadFault}
 * says why. An unlisted pitch is accepted with `listed: false`.
 */
export function parseThread(text: string): Thread | undefined {
  const outcome = read(text);
  return typeof outcome === 'string' ? undefined : outcome;
}

/** Why a text is no thread, in plain words; undefined if it is one. */
export function threadFault(text: string): string | undefined {
  const outcome = read(text);
  return typeof outcome === 'string' ? outcome : undefined;
}

/** The fault of what is not written like a thread at all. */
export const noThread = 'a thread is written M8x1.25, M8, 1/4-20 or 10-32';

function read(text: string): Thread | string {
  const trimmed = text.trim();
  const hand = LEFT_HAND.exec(trimmed);
  if (hand !== null) {
    const thread = read(trimmed.slice(0, hand.index));
    if (typeof thread === 'string') return thread;
    return thread.leftHand ? '-LH stands twice' : leftHanded(thread);
  }
  const metric = METRIC.exec(trimmed);
  if (metric) return readMetric(Number(metric[1]), metric[2] === undefined ? undefined : Number(metric[2]));
  const unified = UNIFIED.exec(trimmed);
  if (unified) {
    const [, hash, whole, before, top, bottom, perInch] = unified;
    return readUnified(hash !== undefined, whole, before, top, bottom, Number(perInch));
  }
  if (/^#?\d+(?:[-\s]\d+)?(?:\/\d+)?$/.test(trimmed)) return 'the threads per inch are missing, as in 1/4-20';
  if (/L\.?H\.?$/i.test(trimmed)) return 'a left-hand thread ends in -LH';
  return noThread;
}

function readMetric(diameter: number, stated: number | undefined): Thread | string {
  if (diameter < 0.25 || diameter > 1000) return `no metric thread has a diameter of ${diameter} mm`;
  const row = METRIC_SIZES.find(([size]) => size === diameter);
  const pitch = stated ?? row?.[1];
  if (pitch === undefined) return `M${diameter} has no coarse pitch in ISO 261: state the pitch`;
  if (pitch <= 0 || pitch * 1.5 > diameter) return `a pitch of ${pitch} mm does not fit on M${diameter}`;
  const series = pitch === row?.[1] ? 'coarse' : row?.[2].includes(pitch) ? 'fine' : undefined;
  const designation = `M${diameter}x${pitch}`;
  return { system: 'metric', designation, leftHand: false, diameter, pitch, series, listed: series !== undefined };
}

function readUnified(
  hash: boolean,
  whole: string | undefined,
  before: string | undefined,
  top: string | undefined,
  bottom: string | undefined,
  perInch: number,
): Thread | string {
  let size: string;
  let inches: number;
  if (whole !== undefined) {
    const n = Number(whole);
    const number = `#${n}`;
    const isNumber =
      hash || (n <= 12 && (seriesOf(number, perInch) ? true : !seriesOf(`${n}`, perInch) && perInch >= 20));
    if (isNumber && n > 12) return 'number sizes end at 12';
    size = isNumber ? number : `${n}`;
    inches = isNumber ? numberSize(n) : n;
  } else {
    if (hash) return 'a number size is a whole number, as in 10-32';
    if (Number(bottom) === 0 || Number(top) >= Number(bottom)) return 'the fraction of an inch must be below one';
    size = before === undefined ? `${top}/${bottom}` : `${Number(before)}-${top}/${bottom}`;
    inches = Number(before ?? 0) + Number(top) / Number(bottom);
  }
  if (inches <= 0) return 'the diameter is zero';
  if (perInch <= 0 || 1.5 / perInch > inches) return `${perInch} threads per inch do not fit on that diameter`;
  const series = seriesOf(size, perInch);
  return {
    system: 'unified',
    designation: `${size.replace('#', '')}-${perInch}`,
    leftHand: false,
    diameter: inches * INCH,
    pitch: INCH / perInch,
    series,
    listed: series !== undefined,
  };
}

/** Diameter of a number size in inches (ASME B1.1): 0.060 + 0.013 n. */
const numberSize = (n: number): number => (60 + 13 * n) / 1000;

function seriesOf(size: string, perInch: number): ThreadSeries | undefined {
  for (const series of ALL_SERIES) {
    if (UNIFIED_SIZES[series].some(([s, n]) => s === size && n === perInch)) return series;
  }
  return undefined;
}

/** Inches of a size as the tables write it (`#10`, `3/8`, `1-1/8`, `2`). */
export function sizeInches(size: string): number {
  if (size.startsWith('#')) return numberSize(Number(size.slice(1)));
  return size
    .split('-')
    .map((part) => part.split('/').map(Number))
    .reduce((sum, [top = 0, bottom = 1]) => sum + top / bottom, 0);
}

/**
 * The listed thread nearest to an unlisted one: same system and hand, nearest diameter first, then nearest pitch, one of a
 * constant-pitch series only where that diameter has no other.
 * Undefined for a thread that is not a thread of this module. For messages: 'M8x1.1 is in no standard; M8x1 is'.
 */
export function nearestListed(thread: Thread): Thread | undefined {
  if (!isPositive(thread.diameter) || !isPositive(thread.pitch)) return undefined;
  const candidates: Thread[] =
    thread.system === 'metric'
      ? METRIC_SIZES.flatMap(([d, coarse, fine]) =>
          (coarse === undefined ? fine : [coarse, ...fine]).map((p) => [d, p] as const),
        )
          .map(([d, p]) => readMetric(d, p))
          .filter((t) => typeof t !== 'string')
      : ALL_SERIES.flatMap((series) =>
          UNIFIED_SIZES[series].map(([size, perInch]) => ({
            system: 'unified' as const,
            designation: `${size.replace('#', '')}-${perInch}`,
            leftHand: false,
            diameter: sizeInches(size) * INCH,
            pitch: INCH / perInch,
            series,
            listed: true,
          })),
        );
  const far = (t: Thread) => Math.abs(t.diameter - thread.diameter);
  const coarse = (t: Thread) => Math.abs(t.pitch - thread.pitch);
  const special = (t: Thread) => Number(t.series === 'constant-pitch' && coarse(t) > 0);
  const nearest = candidates.reduce<Thread | undefined>((best, t) => {
    const nearer = best && (far(t) - far(best) || special(t) - special(best) || coarse(t) - coarse(best));
    return nearer === undefined || nearer < 0 ? t : best;
  }, undefined);
  return nearest !== undefined && thread.leftHand ? leftHanded(nearest) : nearest;
}

/**
 * Pitch, minor and stress diameters and the stress area of a thread, mm and mm².
 * Metric: d2 = d − 0.649519 P, d3 = d − 1.226869 P, As = π/4·((d2 + d3)/2)² (ISO 724, ISO 898-1).
 * Unified: d3 = D − 1.190785 P (UNR, ASME B1.1-2003), At = π/4·(D − 0.974279 P)² (ASME B1.1).
 * Undefined where the pitch leaves no core.
 */
export function threadGeometry(thread: Thread): ThreadGeometry | undefined {
  const { system, diameter: d, pitch: P } = thread;
  if (!isPositive(d) || !isPositive(P)) return undefined;
  const pitchDiameter = d - 0.649519 * P;
  const minorDiameter = d - (system === 'metric' ? 1.226869 : 1.190785) * P;
  const stressDiameter = system === 'metric' ? (pitchDiameter + minorDiameter) / 2 : d - 0.974279 * P;
  if (minorDiameter <= 0 || stressDiameter <= 0) return undefined;
  return { pitchDiameter, minorDiameter, stressDiameter, stressArea: (Math.PI / 4) * stressDiameter ** 2 };
}
