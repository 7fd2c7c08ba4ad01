import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import type { Unit } from '../../../grammar/units.ts';
import { countOf, type Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { convert, extentOf, figure, fromSI, toSI, written } from '../model/quantity.ts';
import { holeCount, patternOf } from './holes.ts';
import { fewestInJoint, holdsAlone } from './joints.ts';
import { counterpart, otherSystem, restated } from './mixed-units.ts';
import { isSoundTorque } from './sound.ts';
import { byFineness, reads, type Wrench, wrenchesIn } from './wrenches.ts';

/** ` xN` where not all pieces are meant. */
export const times = (count: number, whole: number): string => (count === whole ? '' : ` x${count}`);

/** How a part is tightened: its torque, the stages before it, the wrench for them all. */
interface Tightening {
  /** N·m; absent where there is one pass. */
  readonly first: number | undefined;
  readonly wrench: string | undefined;
}

/** The finest wrench whose range suits the torque; the first stage gives way before the wrench does. */
function tighteningOf(model: Model, torque: Quantity, staged: boolean): Tightening {
  const extent = extentOf(torque);
  const half = extent === undefined ? 0 : extent.low / 2;
  if (extent?.kind !== 'torque' || extent.low <= 0) return { first: undefined, wrench: undefined };
  const own = torque.inUnit;
  const suitable = wrenchesIn(model.tools)
    .filter((wrench) => reads(wrench, [extent.low, extent.high]))
    .sort(byFineness(own));
  if (!staged) return { first: undefined, wrench: suitable[0]?.tool.name?.text };
  const covers = suitable.find(({ low }) => low <= shortened(half, own));
  if (covers !== undefined || suitable.length === 0) return { first: half, wrench: covers?.tool.name?.text };
  const [{ low, tool }] = suitable as [Wrench];
  const raised = shortened(low, own, Math.ceil);
  return { first: raised < 0.8 * extent.low ? raised : undefined, wrench: tool.name?.text };
}

/** To two digits in the unit in which it is written. */
function shortened(torque: number, unit: Unit | undefined, round: (value: number) => number = Math.round): number {
  if (unit === undefined) return torque;
  const value = fromSI(torque, unit);
  const digit = 10 ** (Math.floor(Math.log10(value)) - 1);
  return toSI(round(Number((value / digit).toFixed(9))) * digit, unit);
}

function stageText(model: Model, torque: number, declared: Quantity): string {
  const unit = declared.inUnit!;
  const value = fromSI(shortened(torque, unit), unit);
  const other =
    declared.restated?.inUnit ??
    (otherSystem(model, declared) === undefined ? undefined : counterpart(unit, model.measures!));
  const again = other === undefined ? '' : ` (${figure(convert(value, unit, other))} ${other.symbol})`;
  return `${figure(value)} ${unit.symbol}${again}`;
}

/** The statement that tightens `count` pieces of `name` as declared: stages, order and wrench are computed. */
export function tightenLine(model: Model, name: string, count: number, nowOn: number): string {
  const part = model.parts.get(name);
  const torque = part?.torque;
  const words = [`tighten ${name}${times(count, nowOn)}`];
  const tools: (string | undefined)[] = [];
  // What is wrong with a declared torque is told of there, and mended there.
  const isSound = part !== undefined && isSoundTorque(part);
  if (torque !== undefined) {
    const staged = isSound && count >= fewestInJoint && !holdsAlone(model, part) && torque.form === 'single';
    const { first, wrench } = tighteningOf(model, torque, staged);
    const { angle } = part!;
    const last = restated(model, torque);
    if (isSound && (first === undefined || angle !== undefined))
      words.push(`to ${last}${angle === undefined ? '' : ` then ${written(angle)}`}`);
    if (first !== undefined) words.push(`in stages ${stageText(model, first, torque)}, ${last}`);
    tools.push(wrench, isSound && angle !== undefined ? angleTool(model.tools).name : undefined);
  }
  words.push(...orderWords(model, part, count));
  const named = tools.filter((tool) => tool !== undefined);
  if (named.length > 0) words.push(`using ${named.join(', ')}`);
  return words.join(' ');
}

/** The same of a part with a torque; without one, by hand, as what a repair or proposal writes is to have no finding of its own. */
export const tightenAsDeclared = (model: Model, name: string, count: number): string => {
  const part = model.parts.get(name);
  return part?.torque === undefined
    ? `tighten ${name}${times(count, countOf(part))} by hand`
    : tightenLine(model, name, count, countOf(part));
};

/** On a circle from three pieces on, elsewhere from four; a field of points is worked from the middle outwards. */
function orderWords(model: Model, part: Declaration | undefined, count: number): string[] {
  if (holdsAlone(model, part)) return [];
  const pattern = patternOf(model, part)?.pattern;
  const holes = holeCount(patternOf(model, part));
  if (count < (pattern?.form === 'circle' ? fewestInJoint - 1 : fewestInJoint)) return [];
  return [pattern?.form === 'points' && holes === count && count > fewestInJoint ? 'order spiral' : 'order star'];
}

/** The wrenches that a procedure declares cover no torque of `name`. */
export const lacksWrench = (model: Model, name: string): boolean => {
  const part = model.parts.get(name);
  const torque = part?.torque;
  return (
    torque !== undefined &&
    wrenchesIn(model.tools).length > 0 &&
    tighteningOf(model, torque, countOf(part) >= fewestInJoint && !holdsAlone(model, part)).wrench === undefined
  );
};

const turning = /\bangle[- ]?(?:dial|disc|gauge|indicator|meter)|\b(?:goniometer|protractor)\b/i;

const called = ({ name, title }: Declaration): string => `${name?.text ?? ''} ${title?.value ?? ''}`;

/** Whether a tool shows how far it turns, by what its author calls it; so does a torque wrench that is said to be for angles, too. */
export const tellsAngle = (tool: Declaration): boolean =>
  turning.test(called(tool)) || (tool.range !== undefined && /\bangle\b/i.test(called(tool)));

/** What shows how far a fastener is turned past its torque; nothing where several tools do. */
export const angleTool = noted((tools: Model['tools']): { readonly name: string | undefined } => {
  const [first, second] = [...tools.values()].filter((tool) => turning.test(called(tool)));
  return { name: second === undefined ? first?.name?.text : undefined };
});
