import type { Declaration, Name, Statement } from '../../../grammar/syntax.ts';
import { bearingOnShaft, type Fit, fit, opensFit } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { extentOf, siValueOf } from '../model/quantity.ts';
import type { Settings } from './check.ts';
import { named } from './wording.ts';

/** No fit of ISO 286 has an interference of a twentieth of its bore; from memory, the closest is 2 % (zc8 to 3 mm). */
const widest = 0.05;

/** The greatest interference stated for a part as a share of its bore, where it is past what any fit has: a slip, told by `odd-size`. */
export function slippedInterference({ bore, interference }: Declaration): number | undefined {
  const diameter = siValueOf(bore, 'length');
  const most = extentOf(interference);
  if (diameter === undefined || diameter <= 0 || most?.kind !== 'length' || most.high <= diameter * widest)
    return undefined;
  return most.high / diameter;
}

/** The fit that a part states, with the limits of hole and shaft; of a shaft alone, on which a bearing of Normal class sits. */
export function fitOf({ bore, fit: classes }: Declaration): Fit | undefined {
  const diameter = siValueOf(bore, 'length');
  if (diameter === undefined || classes === undefined) return undefined;
  return (classes.text.includes('/') ? fit : bearingOnShaft)(diameter * 1000, classes.text);
}

/** Greatest and least interference of a part's joint in µm on the diameter in mm; nothing where neither is declared, or it has slipped. */
export function interferenceOf(
  part: Declaration | undefined,
): { diameter: number; min: number; max: number } | undefined {
  const bore = siValueOf(part?.bore, 'length');
  if (part === undefined || bore === undefined || slippedInterference(part) !== undefined) return undefined;
  const diameter = bore * 1000;
  const stated = extentOf(part.interference);
  if (stated?.kind === 'length') return { diameter, min: stated.low * 1e6, max: stated.high * 1e6 };
  const band = fitOf(part)?.interference;
  return band === undefined ? undefined : { diameter, ...band };
}

/** The fit of a part that no interference can be told of: a class or a size that the tables have not. */
export const unknownFit = (part: Declaration | undefined): Name | undefined =>
  part?.interference === undefined &&
  siValueOf(part?.bore, 'length') !== undefined &&
  interferenceOf(part) === undefined
    ? part?.fit
    : undefined;

export const inNoTable = ({ text }: Name): string =>
  `${named(text)} of that size is in no table here, state its \`interference\` as the maker does`;

/**
 * What the temperature of a `heat` or `cool` does to the fit of its part, at its end that opens least: degrees Celsius, millimetres,
 * micrometres. Nothing where no fit or no temperature is stated. `ambient` is that of the workshop.
 */
export function mountingBy(statement: Statement, model: Model, ambient: number) {
  const part = model.parts.get(statement.name?.text ?? '');
  const joint = interferenceOf(part);
  const heat = extentOf(statement.to);
  if (part === undefined || joint === undefined || heat?.kind !== 'temperature') return undefined;
  const outer = statement.kind === 'heat';
  const temperature = celsius(outer ? heat.low : heat.high);
  const verdict = opensFit({
    diameter: joint.diameter,
    interference: joint.max,
    temperature,
    ambient,
    part: outer ? 'outer' : 'inner',
  });
  return verdict && { part, joint, outer, temperature, verdict };
}

export const celsius = (kelvin: number): number => kelvin - 273.15;

/** The temperature in °C that a part may be heated to: as declared, else by what the bearing is filled with. */
export function heatLimitOf(part: Declaration, { heatLimit, filledHeatLimit }: Settings): number {
  const declared = extentOf(part.limit);
  if (declared?.kind === 'temperature') return celsius(declared.high);
  return fillingOf(part) === undefined ? heatLimit : filledHeatLimit;
}

/** What a bearing is filled with: as declared, else as its marking (2RS, 2Z: DIN 623-1, from memory; ZZ) or its title says. */
export function fillingOf({ filled, number, title }: Declaration): string | undefined {
  if (filled !== undefined) return filled.text;
  if (marksSeals.test(number?.value ?? '')) return 'sealed';
  const says = saysFilled.exec(title?.value ?? '');
  return (says?.[1] ?? says?.[2])?.toLowerCase();
}
/** The teeth of a gear are marked `22Z`. */
const marksSeals = /\d(?:[\s./-]+2Z|[\s./-]*(?:2RS|ZZ))/i;
/** Not of what is for such a bearing, or holds it: `Sealed bearing housing`. */
const saysFilled =
  /(?<!\b(?:not|never|non|un)[ -]?)(?<!\b(?:behind|beside|by|for|from|of|on|over|to|under|with)(?: the| an?)? )\b(sealed|greased) (?:(?!(?:by|for|in|of|on|to|with) )[a-z]+ ){0,2}bearing(?!s? (?:block|bore|bracket|cap|carrier|cover|housing|journal|plate|retainer|seat|shaft|shell|support)\b)|\bbearing, (sealed|greased)(?! (?:by|in|with))\b/i;
