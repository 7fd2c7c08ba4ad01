import type { Declaration } from '../../../grammar/syntax.ts';
import { fit } from '../mechanics/index.ts';
import { extentOf, siValueOf } from '../model/quantity.ts';

/** Greatest and least interference of a part's joint in µm on the diameter in mm; nothing where neither is declared. */
export function interferenceOf(
  part: Declaration | undefined,
): { diameter: number; min: number; max: number } | undefined {
  const bore = siValueOf(part?.bore, 'length');
  if (part === undefined || bore === undefined) return undefined;
  const diameter = bore * 1000;
  const stated = extentOf(part.interference);
  if (stated?.kind === 'length') return { diameter, min: stated.low * 1e6, max: stated.high * 1e6 };
  const band = part.fit === undefined ? undefined : fit(diameter, part.fit.text)?.interference;
  return band === undefined ? undefined : { diameter, ...band };
}

export const celsius = (kelvin: number): number => kelvin - 273.15;
