import type { Declaration, PropertyClass, Quantity, Statement } from '../../../grammar/syntax.ts';
import {
  type AngleGain,
  angleGain,
  type ClampBand,
  type Condition,
  clampBand,
  type FrictionBand,
  type Head,
  type Holes,
  heads,
  isStainless,
  type OddTorque,
  oddTorque,
  parseThread,
  propertyClass,
  type Strength,
  type StrengthLoads,
  saeGrade,
  stainlessClass,
  strengthLoads,
  type Thread,
  type TorqueRange,
  type TorqueUnit,
  threadConditions,
} from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { extentOf, siValueOf } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { keptAsDeclared } from './as-declared.ts';
import { defaultSettings, type Raw, type Settings } from './check.ts';
import { holeCount } from './holes.ts';
import { lastTorque, sameTorque } from './torques.ts';

/** What the mechanics need to know of a fastener; fields that its declaration leaves open are absent. */
export interface Fastener {
  readonly thread: Thread | undefined;
  readonly strength: Strength | undefined;
  readonly loads: StrengthLoads | undefined;
  readonly condition: Condition;
  readonly friction: FrictionBand;
  readonly head: Head;
  /** N·m. */
  readonly prevailing: TorqueRange | undefined;
}

/** What the clamp load of a torque is reckoned with. */
export function clampAssumes(): readonly string[] {
  const { stainless, ...friction } = defaultSettings.friction;
  const bands = (all: Settings['friction']['stainless']): string =>
    threadConditions
      .map((each) => {
        const { low, mid, high } = all[each];
        return `${each} ${low}, ${mid}, ${high}`;
      })
      .join('; ');
  return [
    'The clamp load is by VDI 2230, long form, that of a hexagon where no `head` is stated, less what `prevailing` takes; the strength that of ISO 898-1, ISO 3506-1 or SAE J429. Stainless steel has no proof load: the load at its 0.2 % proof strength stands for it.',
    `Friction in the thread and under the head, low, middle and high: ${bands(friction)}.`,
    `Of stainless steel: ${bands(stainless)}. \`friction\` in a \`fettle.json\` sets other figures.`,
  ];
}

/** Fasteners by what their declarations say: a unit has many parts and few kinds of bolts. */
const known = new WeakMap<Settings['friction'], Map<string, Fastener>>();
/** A server may run for weeks. */
const mostKnown = 1000;

/** What a declaration says of a fastener; kept on it, as it is asked for again and again. */
const saidOf = noted(({ thread, propertyClass, grade, condition, head, prevailing }: Declaration) => {
  const lost = torqueEnds(prevailing);
  return {
    said: `${thread?.text} ${propertyClass?.image} ${grade?.image} ${condition?.text} ${head?.text} ${lost?.low} ${lost?.high}`,
  };
});
const noFastener = '';

export function fastenerOf(part: Declaration, { friction }: Settings): Fastener {
  let fasteners = known.get(friction);
  if (fasteners === undefined) {
    fasteners = new Map();
    known.set(friction, fasteners);
  }
  const said =
    (part.thread ?? part.propertyClass ?? part.grade ?? part.condition) === undefined ? noFastener : saidOf(part).said;
  let fastener = fasteners.get(said);
  if (fastener === undefined) {
    if (fasteners.size >= mostKnown) fasteners.clear();
    fastener = readFastener(part, friction);
    fasteners.set(said, fastener);
  }
  return fastener;
}

function readFastener(part: Declaration, bands: Settings['friction']): Fastener {
  const thread = part.thread === undefined ? undefined : parseThread(part.thread.text);
  const named = part.propertyClass === undefined ? undefined : pointed(part.propertyClass);
  const strength =
    thread === undefined
      ? undefined
      : named !== undefined
        ? isStainless(named)
          ? stainlessClass(named, thread.diameter)
          : propertyClass(named, thread.diameter)
        : part.grade !== undefined
          ? saeGrade(pointed(part.grade), thread.diameter)
          : undefined;
  const condition = threadConditions.find((each) => each === part.condition?.text) ?? 'unstated';
  const lost = torqueEnds(part.prevailing);
  return {
    thread,
    strength,
    loads: thread === undefined || strength === undefined ? undefined : strengthLoads(thread, strength),
    condition,
    friction: (named !== undefined && isStainless(named) ? bands.stainless : bands)[condition],
    head: heads.find((each) => each === part.head?.text) ?? 'hexagon',
    prevailing: lost !== undefined && lost.low >= 0 ? lost : undefined,
  };
}

/** `8,8` is told of as a slip of the pen, and read as 8.8. */
const pointed = ({ image }: PropertyClass): string => image.replace(',', '.');

/** `reckon`, kept by fastener and `key`. */
function kept<Value>(reckon: (fastener: Fastener, key: string) => Value): (fastener: Fastener, key: string) => Value {
  const all = new WeakMap<Fastener, Map<string, Value>>();
  return (fastener, key) => {
    let values = all.get(fastener);
    if (values === undefined) {
      values = new Map();
      all.set(fastener, values);
    }
    if (values.has(key)) return values.get(key)!;
    if (values.size >= mostKnown) values.clear();
    const value = reckon(fastener, key);
    values.set(key, value);
    return value;
  };
}

const clampAt = kept(({ thread, strength, friction, condition, head, prevailing }, torque) =>
  thread === undefined
    ? undefined
    : clampBand({ thread, strength, friction, condition, head, prevailing, torque: Number(torque) }),
);
const oddAt = kept(({ thread, strength }, said) => {
  const [value, unit] = said.split(' ') as [string, TorqueUnit];
  return thread === undefined ? undefined : oddTorque(Number(value), unit, thread, strength);
});

/** Clamp load of `torque` (N·m) on the fastener over its friction band. */
export const clampOf = (fastener: Fastener, torque: number): ClampBand | undefined => clampAt(fastener, `${torque}`);

/** What an angle behind a torque does. */
export interface AngleUse extends AngleGain {
  readonly degrees: number;
  /** Thickness that the bolt is taken to clamp, mm; undefined where no length is declared, or too small a one. */
  readonly grip: number | undefined;
}

/** Elastic gain of `angle` on the bolts of `part`: of their length a diameter is taken to be in the thread. Common practice, no source. */
export function angleUse(part: Declaration, angle: Quantity | undefined, settings: Settings): AngleUse | undefined {
  const { thread } = fastenerOf(part, settings);
  const radians = siValueOf(angle, 'angle');
  if (thread === undefined || radians === undefined) return undefined;
  const degrees = (radians * 180) / Math.PI;
  const beyond = (siValueOf(part.length, 'length') ?? 0) * 1000 - thread.diameter;
  const grip = beyond > 0 ? beyond : undefined;
  const gain = angleGain({ thread, angle: degrees, ...(grip === undefined ? {} : { grip }) });
  return gain && { ...gain, degrees, grip };
}

/**
 * Threads of nuts that set the play of bearings and of setting screws, which may be turned ever so lightly: thick, and at
 * least so many pitches to a diameter. Coarse ones have 11 at most (M64x6). Common practice, no source.
 */
const adjusts = ({ diameter, pitch }: Thread): boolean => diameter >= 18 && diameter >= 12 * pitch;

/** What is odd about a torque in the text; nothing where it can be. */
export function oddTorqueAt({ torque, angle, part, final }: TorquePlace, settings: Settings): OddTorque | undefined {
  const fastener = fastenerOf(part, settings);
  const unit = torque.inUnit;
  if (fastener.thread === undefined || unit?.kind !== 'torque') return undefined;
  const odd = oddAt(fastener, `${torque.value} ${unit.symbol as TorqueUnit}`);
  if (odd?.size !== 'too small') return odd;
  // A lower stage, or a torque that an angle follows, may be as light as one likes.
  return !final || angle !== undefined || adjusts(fastener.thread) ? undefined : odd;
}

/** A torque in the text, with the part it turns. */
export interface TorquePlace {
  readonly torque: Quantity;
  readonly angle: Quantity | undefined;
  readonly part: Declaration;
  /** The last torque of the part's last tightening, not a lower stage or an earlier pass, nor one below a stage before it. */
  readonly final: boolean;
}

/** The declared torques of this file, then those in its statements that say something else. */
export const torquesOf = (model: Model): readonly TorquePlace[] => [
  ...declaredTorquesOf(model),
  ...statedTorquesOf(model),
];

/** The torques of the parts that this file declares. */
export function declaredTorquesOf({ ownDeclarations }: Model): readonly TorquePlace[] {
  const places: TorquePlace[] = [];
  for (const part of ownDeclarations) {
    if (part.kind === 'part' && part.torque !== undefined)
      places.push({ torque: part.torque, angle: part.angle, part, final: true });
  }
  return places;
}

/** The torques of tightenings that say something else than the declaration of the part: the same list as long as they do. */
export const statedTorquesOf = (model: Model): readonly TorquePlace[] =>
  statedIn(statementsOf(model, 'tighten'), model.parts);

const statedIn = keptAsDeclared(
  ({ name }) => [name],
  (statements, parts): readonly TorquePlace[] => {
    const places: TorquePlace[] = [];
    const lastOf = new Map<string, Statement>();
    for (const statement of statements)
      if (statement.byHand === undefined && statement.name !== undefined) lastOf.set(statement.name.text, statement);
    for (const statement of statements) {
      const part = parts.get(statement.name?.text ?? '');
      if (part === undefined) continue;
      for (const torque of torquesOtherThan(part.torque, statement)) {
        places.push({
          torque,
          angle: torque === lastTorque(statement) ? statement.angle : undefined,
          part,
          final:
            torque === lastTorque(statement) && lastOf.get(statement.name!.text) === statement && !falls(statement),
        });
      }
    }
    return places;
  },
);

/** What `judge` finds in torques, kept on the list of them: as long as that is the same, they and their parts are. */
export function judging(
  judge: (places: readonly TorquePlace[], settings: Settings) => Iterable<Raw>,
): (places: readonly TorquePlace[], settings: Settings) => readonly Raw[] {
  const known = new Beside<readonly TorquePlace[], { readonly settings: Settings; readonly found: readonly Raw[] }>();
  return (places, settings) => {
    const kept = known.get(places);
    if (kept?.settings === settings) return kept.found;
    const found = [...judge(places, settings)];
    known.set(places, { settings, found });
    return found;
  };
}

/** Whether a stage is higher than the last: the joint keeps what that one gave it. */
function falls({ stages = [], to }: Statement): boolean {
  const all = (to === undefined ? stages : [...stages, to]).map((each) => torqueEnds(each)?.low ?? 0);
  const last = all.at(-1) ?? 0;
  return all.some((each) => each > last);
}

const others = new Beside<Statement, { readonly than: Quantity | undefined; readonly torques: readonly Quantity[] }>();

/** Stages and final torque of a tightening that say something else than the declared one; kept, as few edits bear on them. */
function torquesOtherThan(declared: Quantity | undefined, tightening: Statement): readonly Quantity[] {
  const { stages = none, to } = tightening;
  const all = to === undefined ? stages : [...stages, to];
  if (declared === undefined || all.length === 0) return all;
  let known = others.get(tightening);
  if (known?.than !== declared) {
    known = { than: declared, torques: all.filter((torque) => !sameTorque(torque, declared)) };
    others.set(tightening, known);
  }
  return known.torques;
}
const none: readonly Quantity[] = [];

/** N·m at the upper and lower end of what the quantity allows. */
export function torqueEnds(quantity: Quantity | undefined): { low: number; high: number } | undefined {
  const extent = extentOf(quantity);
  return extent?.kind === 'torque' ? extent : undefined;
}

/** A declared pattern as the mechanics take it: degrees, mm. */
export function holesOf(pattern: Declaration | undefined): Holes | undefined {
  const layout = pattern?.pattern;
  const count = holeCount(pattern);
  if (layout === undefined || count === undefined) return undefined;
  if (layout.form === 'points') {
    return { kind: 'points', points: (layout.points ?? []).map(({ x, y }) => ({ x: x.value, y: y.value })) };
  }
  if (layout.angles === undefined) return { kind: 'circle', count };
  const angles = layout.angles.map((angle) => siValueOf(angle, 'angle'));
  if (angles.some((angle) => angle === undefined)) return undefined;
  return { kind: 'angles', angles: angles.map((angle) => (angle! * 180) / Math.PI) };
}
