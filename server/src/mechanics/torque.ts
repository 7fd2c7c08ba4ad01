/**
 * Tightening torque and the clamp load it makes. Torque in N·m, force in N, length in mm, stress in MPa, angle in
 * degrees. Sources: VDI 2230 (long form, utilisation of the yield point), ISO 4014, ISO 4762 and ASME B18 heads,
 * ISO 273 clearance holes.
 */
import { isAmount, isPositive } from './guard.ts';
import { propertyClass, type Strength, strengthLoads } from './strength.ts';
import { INCH, type Thread, threadGeometry } from './threads.ts';

// --- Friction ---------------------------------------------------------------------------------------------------

/** What is on a thread and under its head, as a declaration says it; of most, nothing is said. */
export const threadConditions = ['dry', 'oiled', 'paste', 'threadlock', 'unstated'] as const;
export type ThreadCondition = (typeof threadConditions)[number];
export type Condition = ThreadCondition | 'coated';

export interface FrictionBand {
  readonly low: number;
  readonly mid: number;
  readonly high: number;
}

/**
 * Friction in the thread and under the head by condition. Defaults of this project (ISO 16047 sets no band); a caller
 * with better knowledge passes a band of its own. Coated, zinc and the like with a lubricant: class B of VDI 2230, read.
 * Pastes with MoS2, graphite and the like lie there in class A, 0.04 to 0.10, or B, 0.08 to 0.16: about where the two meet.
 */
export const FRICTION_BANDS: Readonly<Record<Condition, FrictionBand>> = {
  dry: { low: 0.12, mid: 0.15, high: 0.18 },
  oiled: { low: 0.08, mid: 0.11, high: 0.14 },
  paste: { low: 0.06, mid: 0.09, high: 0.12 },
  threadlock: { low: 0.1, mid: 0.13, high: 0.16 },
  coated: { low: 0.08, mid: 0.12, high: 0.16 },
  unstated: { low: 0.1, mid: 0.14, high: 0.18 },
};

/**
 * The same for bolts of stainless steel, which gall. VDI 2230, friction classes of austenitic steel, read: with waxes or pastes, as
 * bolts often come, and for adhesives 0.14 to 0.24; with solid lubricants in pastes 0.08 to 0.16; with oil 0.20 to 0.35; with nothing from
 * 0.30, the upper end from memory.
 */
export const STAINLESS_FRICTION: Readonly<Record<ThreadCondition, FrictionBand>> = {
  dry: { low: 0.3, mid: 0.4, high: 0.5 },
  oiled: { low: 0.2, mid: 0.27, high: 0.35 },
  paste: { low: 0.08, mid: 0.12, high: 0.16 },
  threadlock: { low: 0.14, mid: 0.19, high: 0.24 },
  unstated: { low: 0.14, mid: 0.19, high: 0.24 },
};

const isFriction = (mu: number): boolean => isAmount(mu) && mu <= 2;

// --- Bearing face -----------------------------------------------------------------------------------------------

export const heads = ['hexagon', 'socket', 'flange'] as const;
export type Head = (typeof heads)[number];

export interface BearingFace {
  /** Outer diameter of the bearing face dw, mm. */
  readonly outer: number;
  /** Diameter of the clearance hole dh, mm. */
  readonly hole: number;
  /** Mean bearing diameter DKm = (dw + dh)/2, mm (VDI 2230). */
  readonly mean: number;
  /** Whether the size is in the tables; otherwise interpolated or scaled from the nearest sizes. */
  readonly tabulated: boolean;
}

/** Nominal diameter and size of one face or hole, mm, rising. */
type SizeTable = readonly (readonly [diameter: number, size: number])[];

/** dw, least, of ISO 4014 product grades A and B. From memory; a public copy rounded to 0.1 mm agrees. */
// biome-ignore format: a table
const HEXAGON_FACE: SizeTable = [
  [1.6, 2.27], [2, 3.07], [2.5, 4.07], [3, 4.57], [3.5, 5.07], [4, 5.88], [5, 6.88], [6, 8.88], [8, 11.63],
  [10, 14.63], [12, 16.63], [14, 19.64], [16, 22.49], [18, 25.34], [20, 28.19], [22, 31.71], [24, 33.61], [27, 38],
  [30, 42.75], [33, 46.55], [36, 51.11], [39, 55.86], [42, 59.95], [45, 64.7], [48, 69.45], [52, 74.2], [56, 78.66],
  [60, 83.41], [64, 88.16],
];

/** dw, least, of ISO 4762. Read in a public copy. */
// biome-ignore format: a table
const SOCKET_FACE: SizeTable = [
  [1.6, 2.72], [2, 3.48], [2.5, 4.18], [3, 5.07], [4, 6.53], [5, 8.03], [6, 9.38], [8, 12.33], [10, 15.33],
  [12, 17.23], [14, 20.17], [16, 23.17], [20, 28.87], [24, 34.81], [30, 43.61], [36, 52.54], [42, 61.34], [48, 70.34],
  [56, 82.26], [64, 94.26],
];

/**
 * dw, least, of flange bolts (EN 1665, ISO 4162) and nuts (ISO 4161, the same). Of nuts M5 and M6 read in a public copy, the rest
 * from memory.
 */
// biome-ignore format: a table
const FLANGE_FACE: SizeTable = [
  [5, 9.8], [6, 12.2], [8, 15.8], [10, 19.6], [12, 23.8], [14, 27.6], [16, 31.9], [20, 39.9],
];

/** Inch flange heads, in proportion to metric ones. Common practice, no source. Inches. */
const INCH_FLANGE_FACE: SizeTable = inches([
  [0.19, 0.375],
  [1, 1.97],
]);

/** ISO 273, medium series. Read in public copies up to M36, the rest from memory. */
// biome-ignore format: a table
const MEDIUM_HOLE: SizeTable = [
  [1.6, 1.8], [2, 2.4], [2.5, 2.9], [3, 3.4], [3.5, 3.9], [4, 4.5], [5, 5.5], [6, 6.6], [7, 7.6], [8, 9], [10, 11],
  [12, 13.5], [14, 15.5], [16, 17.5], [18, 20], [20, 22], [22, 24], [24, 26], [27, 30], [30, 33], [33, 36], [36, 39],
  [39, 42], [42, 45], [45, 48], [48, 52], [52, 56], [56, 62], [60, 66], [64, 70],
];

/**
 * Bearing face of inch hexagon bolts: 0.95 of the width across flats of ASME B18.2.1 (read), below 1/4 in the head
 * diameter of socket screws, ASME B18.3 (from memory). Inches.
 */
// biome-ignore format: a table
const INCH_HEXAGON_FACE: SizeTable = inches([
  [0.06, 0.091], [0.086, 0.133], [0.112, 0.174], [0.138, 0.215], [0.164, 0.257], [0.19, 0.296],
  [1 / 4, (0.95 * 7) / 16], [5 / 16, 0.475], [3 / 8, (0.95 * 9) / 16], [7 / 16, (0.95 * 5) / 8], [1 / 2, 0.7125],
  [9 / 16, (0.95 * 13) / 16], [5 / 8, (0.95 * 15) / 16], [3 / 4, 0.95 * 1.125], [1, 1.425], [1.5, 2.1375], [2, 2.85],
  [4, 5.7],
]);

/** Inch socket heads: 0.95 of 1.5 diameters, ASME B18.3, from memory. */
// biome-ignore format: a table
const INCH_SOCKET_FACE: SizeTable = inches([
  [0.06, 0.091], [0.086, 0.133], [0.112, 0.174], [0.138, 0.215], [0.164, 0.257], [0.19, 0.296], [1 / 4, 0.356],
  [1 / 2, 0.7125], [1, 1.425], [4, 5.7],
]);

/** ASME B18.2.8, normal fit, from memory. Inches. */
// biome-ignore format: a table
const INCH_HOLE: SizeTable = inches([
  [0.06, 0.076], [0.086, 0.102], [0.112, 0.128], [0.138, 0.17], [0.164, 0.196], [0.19, 0.221], [1 / 4, 9 / 32],
  [5 / 16, 11 / 32], [3 / 8, 13 / 32], [7 / 16, 15 / 32], [1 / 2, 9 / 16], [5 / 8, 11 / 16], [3 / 4, 13 / 16],
  [7 / 8, 15 / 16], [1, 35 / 32], [1.125, 39 / 32], [1.25, 43 / 32], [1.375, 1.5], [1.5, 1.625], [4, 4.25],
]);

const METRIC_FACES: Readonly<Record<Head, SizeTable>> = {
  hexagon: HEXAGON_FACE,
  socket: SOCKET_FACE,
  flange: FLANGE_FACE,
};
const INCH_FACES: Readonly<Record<Head, SizeTable>> = {
  hexagon: INCH_HEXAGON_FACE,
  socket: INCH_SOCKET_FACE,
  flange: INCH_FLANGE_FACE,
};

function inches(table: SizeTable): SizeTable {
  return table.map(([d, size]) => [d * INCH, size * INCH]);
}

/** Linear between listed sizes, in proportion beyond the ends. */
function lookUp(table: SizeTable, diameter: number): { size: number; exact: boolean } {
  const above = table.findIndex(([d]) => d >= diameter - 1e-9);
  const [d1, s1] = above === -1 ? table.at(-1)! : table[above]!;
  if (Math.abs(d1 - diameter) < 1e-6) return { size: s1, exact: true };
  if (above <= 0) return { size: (s1 * diameter) / d1, exact: false };
  const [d0, s0] = table[above - 1]!;
  return { size: s0 + ((s1 - s0) * (diameter - d0)) / (d1 - d0), exact: false };
}

/**
 * The face a standard bolt bears on: hexagon (ISO 4014, ASME B18.2.1), socket head (ISO 4762, ASME B18.3) or flange over a
 * clearance hole (ISO 273 medium, ASME B18.2.8 normal). Undefined for a thread without diameter.
 */
export function bearingFace(thread: Thread, head: Head = 'hexagon'): BearingFace | undefined {
  if (!isPositive(thread.diameter)) return undefined;
  const metric = thread.system === 'metric';
  const face = lookUp((metric ? METRIC_FACES : INCH_FACES)[head], thread.diameter);
  const hole = lookUp(metric ? MEDIUM_HOLE : INCH_HOLE, thread.diameter);
  return {
    outer: face.size,
    hole: hole.size,
    mean: (face.size + hole.size) / 2,
    tabulated: face.exact && hole.exact,
  };
}

// --- Torque and clamp load --------------------------------------------------------------------------------------

export interface Joint {
  readonly thread: Thread;
  /** Friction in the thread, µG. */
  readonly threadFriction: number;
  /** Friction under the turned face, µK; as in the thread if absent. */
  readonly headFriction?: number;
  /** Mean bearing diameter DKm, mm; that of a standard head if absent. */
  readonly bearingDiameter?: number;
  readonly head?: Head;
  /** Torque that a locking feature takes before any clamp load appears, N·m. */
  readonly prevailing?: number;
}

export interface TorqueShares {
  /** What stretches the bolt, N·m. */
  readonly pitch: number;
  /** Lost to friction in the thread, N·m. */
  readonly thread: number;
  /** Lost to friction under the turned face, N·m. */
  readonly bearing: number;
  /** Lost to a locking feature, N·m. */
  readonly prevailing: number;
  readonly total: number;
}

/** Lever arms in mm: torque in N·mm for each N of clamp load. */
interface Arms {
  readonly pitch: number;
  readonly thread: number;
  readonly bearing: number;
  readonly prevailing: number;
}

/** 60° thread: the flank leans 30°, so that friction acts with 1/cos 30°. */
const FLANK = 1 / Math.cos(Math.PI / 6);

function arms(joint: Joint): Arms | undefined {
  const geometry = threadGeometry(joint.thread);
  const head = joint.headFriction ?? joint.threadFriction;
  const bearing = joint.bearingDiameter ?? bearingFace(joint.thread, joint.head)?.mean;
  const prevailing = joint.prevailing ?? 0;
  if (!geometry || !isFriction(joint.threadFriction) || !isFriction(head)) return undefined;
  if (!isPositive(bearing) || !isAmount(prevailing)) return undefined;
  return {
    pitch: joint.thread.pitch / (2 * Math.PI),
    thread: (FLANK * joint.threadFriction * geometry.pitchDiameter) / 2,
    bearing: (head * bearing) / 2,
    prevailing,
  };
}

/**
 * Torque that makes a clamp load, split into its shares: T = F·(P/2π + 0.577 µG d2 + ½ µK DKm) + prevailing torque
 * (VDI 2230, from memory). Clamp in N, at least 0; friction 0 to 2. Undefined outside.
 */
export function torqueForClamp(clamp: number, joint: Joint): TorqueShares | undefined {
  const arm = arms(joint);
  if (!arm || !isAmount(clamp)) return undefined;
  const [pitch, thread, bearing] = [arm.pitch, arm.thread, arm.bearing].map((a) => (a * clamp) / 1000) as [
    number,
    number,
    number,
  ];
  return { pitch, thread, bearing, prevailing: arm.prevailing, total: pitch + thread + bearing + arm.prevailing };
}

/**
 * Clamp load in N that a torque in N·m makes: the exact inverse of {@link torqueForClamp}; 0 where the prevailing
 * torque takes it all.
 */
export function clampForTorque(torque: number, joint: Joint): number | undefined {
  const arm = arms(joint);
  if (!arm || !isAmount(torque)) return undefined;
  return (Math.max(0, torque - arm.prevailing) * 1000) / (arm.pitch + arm.thread + arm.bearing);
}

/** Short form T = K·F·d: N·m from N and mm. K is the nut factor, above 0. */
export function shortTorque(K: number, clamp: number, diameter: number): number | undefined {
  return isPositive(K) && isAmount(clamp) && isPositive(diameter) ? (K * clamp * diameter) / 1000 : undefined;
}

/** The nut factor K that the long form amounts to, without prevailing torque. */
export function nutFactor(joint: Joint): number | undefined {
  const arm = arms(joint);
  return arm && (arm.pitch + arm.thread + arm.bearing) / joint.thread.diameter;
}

/** Nut factors by surface: Shigley & Mischke, Mechanical Engineering Design, table of torque factors (read). */
export const NUT_FACTORS = { black: 0.3, zinc: 0.2, lubricated: 0.18, cadmium: 0.16, antiSeize: 0.12 } as const;

/** Torsion over tension in the bolt: τ/σ with the plastic section π d0³/12 that VDI 2230 uses since 2001. */
function torsionRatio(thread: Thread, friction: number): number | undefined {
  const geometry = threadGeometry(thread);
  if (!geometry || !isFriction(friction)) return undefined;
  const { pitchDiameter: d2, stressDiameter: d0 } = geometry;
  return 1.5 * (d2 / d0) * (thread.pitch / (Math.PI * d2) + FLANK * friction);
}

/**
 * Clamp load in N at which tension and torsion together use a share of the yield point (VDI 2230, from memory):
 * F = ν·Rp·A0/√(1 + 3·[1.5·(d2/d0)·(P/(π d2) + 1.155 µG)]²). Yield in MPa; utilisation above 0, 0.9 by default.
 */
export function clampAtUtilisation(
  thread: Thread,
  yieldPoint: number,
  friction: number,
  utilisation = 0.9,
): number | undefined {
  const ratio = torsionRatio(thread, friction);
  const area = threadGeometry(thread)?.stressArea;
  if (ratio === undefined || !area || !isPositive(yieldPoint) || !isPositive(utilisation)) return undefined;
  return (utilisation * yieldPoint * area) / Math.sqrt(1 + 3 * ratio ** 2);
}

/**
 * Von Mises equivalent stress in MPa while tightening, from clamp load (N), friction in the thread and prevailing
 * torque (N·m): √(σ² + 3 τ²). Torsion falls away by about half once the wrench is off.
 */
export function equivalentStress(thread: Thread, clamp: number, friction: number, prevailing = 0): number | undefined {
  const geometry = threadGeometry(thread);
  const ratio = torsionRatio(thread, friction);
  if (!geometry || ratio === undefined || !isAmount(clamp) || !isAmount(prevailing)) return undefined;
  const tension = clamp / geometry.stressArea;
  const torsion = ratio * tension + (prevailing * 1000) / ((Math.PI / 12) * geometry.stressDiameter ** 3);
  return Math.hypot(tension, Math.sqrt(3) * torsion);
}

// --- Clamp band -------------------------------------------------------------------------------------------------

export interface Tightening {
  readonly thread: Thread;
  /** N·m, at least 0. */
  readonly torque: number;
  /** `unstated` if absent. */
  readonly condition?: Condition;
  /** In place of the condition's band. */
  readonly friction?: FrictionBand;
  readonly head?: Head;
  /** DKm, mm. */
  readonly bearingDiameter?: number;
  /** N·m. The least clamp is that of the high end. */
  readonly prevailing?: TorqueRange;
  /** Without it the shares stay undefined. */
  readonly strength?: Strength;
}

export interface ClampEstimate {
  /** Friction that this estimate assumes in the thread and under the head. */
  readonly friction: number;
  /** N. */
  readonly clamp: number;
  /** Of the proof load; 1 is the proof load. */
  readonly proofShare: number | undefined;
  /** Of the yield load in plain tension. */
  readonly yieldShare: number | undefined;
  /** Von Mises, while tightening, MPa. */
  readonly equivalentStress: number;
}

export interface ClampBand {
  /** Least clamp: at the high end of the friction band. */
  readonly low: ClampEstimate;
  readonly mid: ClampEstimate;
  /** Greatest clamp: at the low end of the friction band. */
  readonly high: ClampEstimate;
}

/** Clamp load that a torque makes over a band of friction. Undefined where the thread, torque or band is none. */
export function clampBand(tightening: Tightening): ClampBand | undefined {
  const band = tightening.friction ?? FRICTION_BANDS[tightening.condition ?? 'unstated'];
  if (!band || !(band.low <= band.mid && band.mid <= band.high)) return undefined;
  const { thread, strength, prevailing = { low: 0, high: 0 } } = tightening;
  const loads = strength && strengthLoads(thread, strength);
  const estimate = (friction: number, lost: number): ClampEstimate | undefined => {
    const clamp = clampForTorque(tightening.torque, { ...tightening, threadFriction: friction, prevailing: lost });
    const stress = clamp === undefined ? undefined : equivalentStress(thread, clamp, friction, lost);
    if (clamp === undefined || stress === undefined) return undefined;
    return {
      friction,
      clamp,
      proofShare: loads && clamp / loads.proof,
      yieldShare: loads && clamp / loads.yield,
      equivalentStress: stress,
    };
  };
  const [low, mid, high] = [
    estimate(band.high, prevailing.high),
    estimate(band.mid, (prevailing.low + prevailing.high) / 2),
    estimate(band.low, prevailing.low),
  ];
  return low && mid && high && { low, mid, high };
}

export interface ClampVerdict {
  /** `proof`: past the proof load at mid friction. `yield`: past the yield load at low friction. */
  readonly over: 'proof' | 'yield' | undefined;
  /** Under a third of the proof load at high friction. */
  readonly under: boolean;
}

/**
 * How far past the yield load the low end of the friction band may come before it counts. A handbook torque is
 * reckoned at one friction, 0.14 say; at the low end of an unstated band, 0.10, it passes the yield load: by up to
 * 7.5 % on coarse threads to M39, 8 % on fine ones to M14x1.5, 8.4 % in a worked set for inch threads of grade 2, 11 % on
 * larger fine ones. 1 counts all of those.
 */
const YIELD_MARGIN = 1.085;

/** Judges a band against the strength it was computed with; undefined where it was computed with none. */
export function judgeClamp(band: ClampBand, yieldMargin = YIELD_MARGIN): ClampVerdict | undefined {
  const { low, mid, high } = band;
  if (mid.proofShare === undefined || high.yieldShare === undefined || low.proofShare === undefined) return undefined;
  if (!isPositive(yieldMargin)) return undefined;
  const over = mid.proofShare > 1 ? 'proof' : high.yieldShare > yieldMargin ? 'yield' : undefined;
  return { over, under: low.proofShare < 1 / 3 };
}

// --- Torque, then an angle --------------------------------------------------------------------------------------

export interface AngleStage {
  readonly thread: Thread;
  /** Degrees turned after the torque, at least 0. */
  readonly angle: number;
  /** Thickness clamped between the bearing faces, mm. Without it only the travel is known. */
  readonly grip?: number;
  /** Part of the grip that the plain shank fills, mm; 0 if absent. */
  readonly shank?: number;
  /** Modulus of bolt and clamped parts, MPa; steel if absent. */
  readonly boltModulus?: number;
  readonly partModulus?: number;
}

export interface AngleGain {
  /** Axial travel of the thread, mm: angle/360 × pitch. */
  readonly travel: number;
  /** Of the bolt and of the clamped parts, N/mm. */
  readonly stiffness: { readonly bolt: number; readonly parts: number } | undefined;
  /** Part of the travel that stretches the bolt, mm. */
  readonly stretch: number | undefined;
  /** Clamp load gained while nothing yields, N. */
  readonly clamp: number | undefined;
}

/** Modulus of steel, MPa; common value. */
export const STEEL_MODULUS = 205_000;

/**
 * What an angle adds after a torque. Bolt: Ad·At·E/(Ad·lt + At·ld). Parts: pressure cones of 30°,
 * 0.5774 π E d / (2 ln[5 (0.5774 l + 0.5 d)/(0.5774 l + 2.5 d)]) (Shigley, Mechanical Engineering Design, ch. 8, read).
 * Elastic: past the yield load the gain is less than it says.
 */
export function angleGain(stage: AngleStage): AngleGain | undefined {
  const geometry = threadGeometry(stage.thread);
  if (!geometry || !isAmount(stage.angle)) return undefined;
  const travel = (stage.angle / 360) * stage.thread.pitch;
  if (stage.grip === undefined) return { travel, stiffness: undefined, stretch: undefined, clamp: undefined };
  const { grip, shank = 0, boltModulus = STEEL_MODULUS, partModulus = STEEL_MODULUS } = stage;
  if (!isPositive(grip) || !isAmount(shank) || shank > grip || !isPositive(boltModulus) || !isPositive(partModulus)) {
    return undefined;
  }
  const d = stage.thread.diameter;
  const shankArea = (Math.PI / 4) * d ** 2;
  const bolt =
    (shankArea * geometry.stressArea * boltModulus) / (shankArea * (grip - shank) + geometry.stressArea * shank);
  // Written with log1p: for a grip of nothing the quotient is 1 and the logarithm must not round to 0.
  const cone = 2 * Math.log1p((4 * 0.5774 * grip) / (0.5774 * grip + 2.5 * d));
  const parts = (0.5774 * Math.PI * partModulus * d) / cone;
  const stretch = (travel * parts) / (bolt + parts);
  return { travel, stiffness: { bolt, parts }, stretch, clamp: stretch * bolt };
}

// --- Odd sizes --------------------------------------------------------------------------------------------------

export type TorqueUnit = 'N·m' | 'lbf·ft' | 'lbf·in' | 'kgf·m' | 'kgf·cm';

/** Newton metres in one of each unit (NIST SP 811; exact). */
export const TORQUE_UNITS: Readonly<Record<TorqueUnit, number>> = {
  N·m: 1,
  lbf·ft: 1.3558179483314003,
  lbf·in: 0.1129848290276167,
  kgf·m: 9.80665,
  kgf·cm: 0.0980665,
};

export interface TorqueRange {
  readonly low: number;
  readonly high: number;
}

/**
 * The torque a thread could plausibly be given, N·m: from a tenth of the proof load of class 4.6 at friction 0.08 to
 * the tensile load of class 12.9 at friction 0.20. Wide on purpose: outside it something is wrong with the number.
 */
export function plausibleTorque(thread: Thread): TorqueRange | undefined {
  const [weak, strong] = [propertyClass('4.6', thread.diameter), propertyClass('12.9', thread.diameter)];
  const weakest = weak && strengthLoads(thread, weak);
  const strongest = strong && strengthLoads(thread, strong);
  if (!weakest || !strongest) return undefined;
  const low = torqueForClamp(weakest.proof / 10, { thread, threadFriction: 0.08 })?.total;
  const high = torqueForClamp(strongest.tensile, { thread, threadFriction: 0.2 })?.total;
  return low === undefined || high === undefined ? undefined : { low, high };
}

/** A reading of an odd number that would make sense. */
export type Slip =
  | { readonly kind: 'slipped decimal'; readonly factor: number; readonly torque: number }
  | { readonly kind: 'swapped unit'; readonly unit: TorqueUnit; readonly torque: number };

export interface OddTorque {
  readonly size: 'too great' | 'too small';
  readonly plausible: TorqueRange;
  /** What would make sense, likeliest first, N·m: the number shifted by 10 or 100, or read in another unit. */
  readonly slips: readonly Slip[];
}

const SHIFTS = [0.1, 0.01, 10, 100];

/**
 * Whether a torque is far outside what the thread can take, and which slip explains it. Slips are sorted by how near
 * they come to the torque for 75 % of the proof load at friction 0.14 (of the strength given, else of class 8.8).
 * Undefined for a plausible torque, and where the thread is none.
 */
export function oddTorque(value: number, unit: TorqueUnit, thread: Thread, strength?: Strength): OddTorque | undefined {
  const plausible = plausibleTorque(thread);
  const factor = TORQUE_UNITS[unit];
  const usual = strength ?? propertyClass('8.8', thread.diameter);
  const proof = usual && strengthLoads(thread, usual)?.proof;
  if (!plausible || !isAmount(value) || proof === undefined) return undefined;
  const within = (torque: number) => torque >= plausible.low && torque <= plausible.high;
  const stated = value * factor;
  if (within(stated)) return undefined;
  const typical = torqueForClamp(0.75 * proof, { thread, threadFriction: 0.14 })?.total;
  if (typical === undefined) return undefined;
  const slips: Slip[] = [
    ...SHIFTS.map((shift) => ({ kind: 'slipped decimal' as const, factor: shift, torque: stated * shift })),
    ...(Object.keys(TORQUE_UNITS) as TorqueUnit[])
      .filter((other) => other !== unit)
      .map((other) => ({ kind: 'swapped unit' as const, unit: other, torque: value * TORQUE_UNITS[other] })),
  ];
  const off = (slip: Slip) => Math.abs(Math.log(slip.torque / typical));
  return {
    size: stated > plausible.high ? 'too great' : 'too small',
    plausible,
    slips: slips.filter((slip) => within(slip.torque)).sort((a, b) => off(a) - off(b)),
  };
}
