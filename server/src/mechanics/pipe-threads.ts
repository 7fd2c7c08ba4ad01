/** Pipe threads: what a designation means. They seal or hold fittings and plugs; no property class covers them. Lengths in mm. */
import { INCH, sizeInches } from './threads.ts';

export interface PipeThread {
  readonly standard: 'ISO 228-1' | 'ISO 7-1' | 'ASME B1.20.1' | 'ASME B1.20.3';
  /** `G1/2`, `G1/2A`, `R1-1/4`, `1/2-14 NPT`, each with `-LH` behind it where it is left-hand. */
  readonly designation: string;
  /** Seals in the thread itself. */
  readonly tapered: boolean;
  /** Turned clockwise it comes loose. */
  readonly leftHand: boolean;
  /** Major diameter; of a tapered thread at the gauge plane (ISO 7-1), or the outside of the pipe (ASME). Undefined where the standard has no such size. */
  readonly diameter: number | undefined;
  /** Threads per inch, as stated or else of the standard. */
  readonly perInch: number | undefined;
  /** Whether the standard lists that size with that pitch. */
  readonly listed: boolean;
}

type Sizes = ReadonlyMap<string, readonly [diameter: number, perInch: number]>;

/** ISO 228-1: major diameter, mm. Read in public tables; 2-1/4, 2-3/4, 3-1/2, 4-1/2 and 5-1/2 from memory. */
// biome-ignore format: a table
const PARALLEL: Sizes = new Map([
  ['1/16', [7.723, 28]], ['1/8', [9.728, 28]], ['1/4', [13.157, 19]], ['3/8', [16.662, 19]], ['1/2', [20.955, 14]],
  ['5/8', [22.911, 14]], ['3/4', [26.441, 14]], ['7/8', [30.201, 14]], ['1', [33.249, 11]], ['1-1/8', [37.897, 11]],
  ['1-1/4', [41.91, 11]], ['1-1/2', [47.803, 11]], ['1-3/4', [53.746, 11]], ['2', [59.614, 11]],
  ['2-1/4', [65.71, 11]], ['2-1/2', [75.184, 11]], ['2-3/4', [81.534, 11]], ['3', [87.884, 11]],
  ['3-1/2', [100.33, 11]], ['4', [113.03, 11]], ['4-1/2', [125.73, 11]], ['5', [138.43, 11]], ['5-1/2', [151.13, 11]],
  ['6', [163.83, 11]],
]);

/** ISO 7-1 has these of the sizes of ISO 228-1, with the same pitches and gauge diameters. Read in a public table. */
const SEALING: Sizes = new Map(
  ['1/16', '1/8', '1/4', '3/8', '1/2', '3/4', '1', '1-1/4', '1-1/2', '2', '2-1/2', '3', '4', '5', '6'].map((size) => [
    size,
    PARALLEL.get(size)!,
  ]),
);

/** ASME B1.20.1: outside diameter of the pipe, inches; read in public tables. NPTF (ASME B1.20.3) goes by the same, from memory. */
// biome-ignore format: a table
const AMERICAN: Sizes = inches([
  ['1/16', 0.3125, 27], ['1/8', 0.405, 27], ['1/4', 0.54, 18], ['3/8', 0.675, 18], ['1/2', 0.84, 14],
  ['3/4', 1.05, 14], ['1', 1.315, 11.5], ['1-1/4', 1.66, 11.5], ['1-1/2', 1.9, 11.5], ['2', 2.375, 11.5],
  ['2-1/2', 2.875, 8], ['3', 3.5, 8], ['3-1/2', 4, 8], ['4', 4.5, 8], ['5', 5.563, 8], ['6', 6.625, 8],
]);

function inches(rows: readonly (readonly [size: string, diameter: number, perInch: number])[]): Sizes {
  return new Map(rows.map(([size, diameter, perInch]) => [size, [diameter * INCH, perInch]]));
}

const SIZE = String.raw`((?:\d{1,2}[- ])?\d{1,2}\/\d{1,2}|\d{1,2})`;
const ISO = new RegExp(`^(G|R[pc]?) ?${SIZE}(?: ?([AB]))?(-LH)?$`);
const ASME = new RegExp(String.raw`^(?:(NPTF?) ?)?${SIZE}(?:-(\d{1,2}(?:\.\d)?))?(?: ?(NPTF?))?(-LH)?$`);

/**
 * Reads `G1/2`, `G1/2A`, `G1-1/4`, `R3/8`, `Rp1`, `Rc1/8`, `1/2-14 NPT`, `1/2 NPT`, `NPT 1/2`, `1/8-27 NPTF`, each with `-LH` behind it
 * where it is left-hand. Undefined for anything else. A size or pitch that the standard has not is read with `listed: false`.
 */
export function parsePipeThread(text: string): PipeThread | undefined {
  const iso = ISO.exec(text);
  if (iso !== null) {
    const [, kind, written = '', tolerance = '', hand = ''] = iso;
    const size = written.replace(' ', '-');
    const standard = kind === 'G' ? 'ISO 228-1' : 'ISO 7-1';
    const row = (kind === 'G' ? PARALLEL : SEALING).get(size);
    return {
      standard,
      designation: `${kind}${size}${tolerance}${hand}`,
      tapered: kind === 'R' || kind === 'Rc',
      leftHand: hand !== '',
      diameter: row?.[0],
      perInch: row?.[1],
      // Only external parallel threads come in classes A and B.
      listed: row !== undefined && (tolerance === '' || kind === 'G'),
    };
  }
  const asme = ASME.exec(text);
  if (asme === null) return undefined;
  const [, before, written = '', stated, behind, hand = ''] = asme;
  if ((before === undefined) === (behind === undefined)) return undefined;
  const size = written.replace(' ', '-');
  const series = before ?? behind!;
  const row = AMERICAN.get(size);
  const perInch = stated === undefined ? row?.[1] : Number(stated);
  return {
    standard: series === 'NPT' ? 'ASME B1.20.1' : 'ASME B1.20.3',
    designation: `${size}${perInch === undefined ? '' : `-${perInch}`} ${series}${hand}`,
    tapered: true,
    leftHand: hand !== '',
    diameter: row?.[0],
    perInch,
    listed: row !== undefined && perInch === row[1],
  };
}

/** The designation that the standard lists nearest to the size of an unlisted pipe thread; the same for a listed one. */
export function nearestPipeThread(thread: PipeThread): string {
  const { standard, designation, leftHand } = thread;
  if (thread.listed) return designation;
  const sizes = standard === 'ISO 228-1' ? PARALLEL : standard === 'ISO 7-1' ? SEALING : AMERICAN;
  const [, kind = '', size = '', series = ''] =
    /^(G|R[pc]?)?(\d+(?:-\d+\/\d+)?(?:\/\d+)?)(?:-[\d.]+)?(?: (NPTF?))?/.exec(designation) ?? [];
  const far = (each: string): number => Math.abs(sizeInches(each) - sizeInches(size));
  const [near] = [...sizes.keys()].sort((a, b) => far(a) - far(b));
  const found = series !== '' ? `${near}-${sizes.get(near!)![1]} ${series}` : `${kind}${near}`;
  return leftHand ? `${found}-LH` : found;
}
