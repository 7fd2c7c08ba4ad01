import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import type { Unit } from '../../../grammar/units.ts';
import { rangeUse } from '../mechanics/index.ts';
import { countOf, type Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { convert, extentOf, figure, fromSI, toSI, written } from '../model/quantity.ts';
import { holdsAlone } from './clips.ts';
import { holeCount, patternOf } from './holes.ts';
import { counterpart, restatement } from './mixed-units.ts';
import { isSoundTorque } from './sound.ts';
import { byFineness, type Wrench, wrenchesIn } from './wrenches.ts';

/** From this many pieces on, stages and an order are written. */
const many = 4;

/** ` xN` where not all pieces are meant. */
export const times = (count: number, whole: number): string => (count === whole ? '' : ` x${count}`);

/** A quantity as it was declared, restated where the procedure measures otherwise. */
export function restated(model: Model, quantity: Quantity): string {
  if (quantity.restated !== undefined) return `${written(quantity)} (${written(quantity.restated)})`;
  const other = otherSystem(model, quantity);
  return other === undefined ? written(quantity) : `${written(quantity)} (${restatement(quantity, ...other)})`;
}

function otherSystem(model: Model, { unit }: Quantity): [Unit, 'metric' | 'imperial'] | undefined {
  const own = unit?.unit;
  return own === undefined || model.measures === undefined || own.system === 'neutral' || own.system === model.measures
    ? undefined
    : [own, model.measures];
}

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
    .filter(({ low, high }) => [extent.low, extent.high].every((end) => rangeUse(end, low, high)?.verdict === 'good'))
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
  if (part !== undefined && torque !== undefined && !isSoundTorque(part)) {
    // What is wrong with it is told of where it is declared, and mended there.
    words.push(...orderWords(model, part, count));
    const { wrench } = tighteningOf(model, torque, false);
    if (wrench !== undefined) words.push(`using ${wrench}`);
  } else if (torque !== undefined) {
    const staged =
      count >= many && !isAlone(model, part) && torque.form === 'single' && torque.inUnit?.kind === 'torque';
    const { first, wrench } = tighteningOf(model, torque, staged);
    const last = restated(model, torque);
    const angle = part?.angle === undefined ? '' : ` then ${written(part.angle)}`;
    if (first === undefined) words.push(`to ${last}${angle}`);
    else {
      if (angle !== '') words.push(`to ${last}${angle}`);
      words.push(`in stages ${stageText(model, first, torque)}, ${last}`);
    }
    words.push(...orderWords(model, part, count));
    const turner = angle === '' ? undefined : angleTool(model.tools).name;
    const tools = [wrench, turner].filter((tool) => tool !== undefined);
    if (tools.length > 0) words.push(`using ${tools.join(', ')}`);
  } else words.push(...orderWords(model, part, count));
  return words.join(' ');
}

/** The same of a part with a torque; without one, by hand, as what a repair or proposal writes is to have no finding of its own. */
export const tightenAsDeclared = (model: Model, name: string, count: number): string => {
  const part = model.parts.get(name);
  return part?.torque === undefined
    ? `tighten ${name}${times(count, countOf(part))} by hand`
    : tightenLine(model, name, count, countOf(part));
};

const isAlone = (model: Model, part: Declaration | undefined): boolean => part !== undefined && holdsAlone(model, part);

/** On a circle from three pieces on, elsewhere from four; a field of points is worked from the middle outwards. */
function orderWords(model: Model, part: Declaration | undefined, count: number): string[] {
  if (isAlone(model, part)) return [];
  const pattern = patternOf(model, part)?.pattern;
  const holes = holeCount(patternOf(model, part));
  if (count < (pattern?.form === 'circle' ? many - 1 : many)) return [];
  return [pattern?.form === 'points' && holes === count && count > many ? 'order spiral' : 'order star'];
}

/** The wrenches that a procedure declares cover no torque of `name`. */
export const lacksWrench = (model: Model, name: string): boolean => {
  const part = model.parts.get(name);
  const torque = part?.torque;
  return (
    torque !== undefined &&
    wrenchesIn(model.tools).length > 0 &&
    tighteningOf(model, torque, countOf(part) >= many && !isAlone(model, part)).wrench === undefined
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
