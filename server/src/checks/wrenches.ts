import type { Declaration, Name, Quantity, Statement } from '../../../grammar/syntax.ts';
import type { Unit } from '../../../grammar/units.ts';
import { adapterSetting, rangeUse } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { extentOf, siValueOf } from '../model/quantity.ts';
import { lastTorque, stagesBefore } from './torques.ts';

/** A tightening with the torques it calls for (N·m), the wrenches it names, and what its adapter makes of them. */
export interface WrenchUse {
  readonly statement: Statement;
  readonly part: Declaration;
  /** In order; the last is the final one. */
  readonly torques: readonly { readonly quantity: Quantity; readonly low: number; readonly high: number }[];
  readonly wrenches: readonly {
    readonly name: Name;
    readonly tool: Declaration;
    readonly low: number;
    readonly high: number;
  }[];
  /** Reading for a torque at the fastener; the same where no adapter changes it. */
  readonly setting: (torque: number) => number;
  readonly adapted: boolean;
}

/** A tool with a range of torque. */
export interface Wrench {
  readonly tool: Declaration;
  /** N·m */
  readonly low: number;
  readonly high: number;
}

export const wrenchesIn = noted((tools: Model['tools']): readonly Wrench[] =>
  [...tools.values()].flatMap((tool) => {
    const extent = extentOf(tool.range);
    return extent?.kind === 'torque' && tool.range!.numbers.length > 1
      ? [{ tool, low: extent.low, high: extent.high }]
      : [];
  }),
);

/** The finest first, those in the unit of the torque ahead of others. */
export const byFineness =
  (own: Unit | undefined) =>
  (a: Wrench, b: Wrench): number =>
    Number(isIn(b, own)) - Number(isIn(a, own)) || a.high - b.high;

const isIn = ({ tool }: Wrench, unit: Unit | undefined): boolean => tool.range?.inUnit === unit;

/** Reading of a wrench for the least and for the most of a torque (N·m). */
export type Ends = readonly [least: number, most: number];

export const settingsOf = ({ torques, setting }: WrenchUse): Ends[] =>
  torques.map(({ low, high }): Ends => [setting(low), setting(high)]);

/** Whether a wrench reads both ends of a torque, the last of a row well. */
export const reads = ({ low, high }: Pick<Wrench, 'low' | 'high'>, ends: Ends, isLast = true): boolean =>
  ends.every((end) => {
    const verdict = rangeUse(end, low, high)?.verdict;
    return verdict === 'good' || (verdict === 'low' && !isLast);
  });

const suits = (wrench: Wrench, settings: readonly Ends[]): boolean =>
  settings.every((ends, i) => reads(wrench, ends, i === settings.length - 1));

/** The name of the finest tool that suits a row of torques, each with its setting at both ends (N·m). */
export function suitingIn({ tools }: Model): (settings: readonly Ends[], own: Unit | undefined) => string | undefined {
  const sorted = new Map<Unit | undefined, readonly Wrench[]>();
  // Thousands of wrenches may be asked in vain for one torque.
  const known = new Map<string, string | undefined>();
  return (settings, own) => {
    const key = `${own?.symbol} ${settings.join(' ')}`;
    if (known.has(key)) return known.get(key);
    const wrenches = sorted.get(own) ?? [...wrenchesIn(tools)].sort(byFineness(own));
    sorted.set(own, wrenches);
    const finest = wrenches.find((wrench) => suits(wrench, settings))?.tool.name?.text;
    known.set(key, finest);
    return finest;
  };
}

/** How the `tighten` is carried out; nothing where it states no torque and none is declared. */
export function wrenchUse(model: Model, statement: Statement): WrenchUse | undefined {
  const part = model.parts.get(statement.name?.text ?? '');
  if (statement.kind !== 'tighten' || part === undefined || statement.byHand !== undefined) return undefined;
  const last = lastTorque(statement) ?? part.torque;
  // The steps of a whole job may use one wrench: all are gone through for a digit of its range.
  const torques: WrenchUse['torques'][number][] = [];
  for (const quantity of last === undefined ? [] : [...stagesBefore(statement), last]) {
    const extent = extentOf(quantity);
    if (extent?.kind === 'torque') torques.push({ quantity, low: extent.low, high: extent.high });
  }
  if (torques.length === 0) return undefined;
  const wrenches: WrenchUse['wrenches'][number][] = [];
  for (const name of statement.using ?? []) {
    const tool = model.tools.get(name.text);
    const range = extentOf(tool?.range);
    if (tool !== undefined && range?.kind === 'torque') wrenches.push({ name, tool, low: range.low, high: range.high });
  }
  const wrench = siValueOf(statement.extension?.on, 'length');
  const extension = siValueOf(statement.extension?.length, 'length');
  const turned = siValueOf(statement.extension?.at, 'angle');
  const angle = turned === undefined ? 0 : (turned * 180) / Math.PI;
  const setting = (torque: number): number =>
    wrench === undefined || extension === undefined
      ? torque
      : (adapterSetting(torque, { wrench: wrench * 1000, extension: extension * 1000, angle }) ?? torque);
  const adapted = Math.abs(setting(1) - 1) > 5e-4;
  return { statement, part, torques, wrenches, setting, adapted };
}
