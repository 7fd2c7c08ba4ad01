import type { Quantity } from '../../../grammar/syntax.ts';
import type { Limits } from '../mechanics/fits.ts';
import { bearingOnShaft, type Fit, fit, kelvinFor } from '../mechanics/index.ts';
import { figure, siValueOf } from '../model/quantity.ts';

const diameterOf = (bore: Quantity | undefined): number => 1000 * (siValueOf(bore, 'length') ?? 0);

/** The fit of `classes` on a bore: `H7/k6`, or `k6` for a bearing of Normal class on that shaft. Undefined where no table has it. */
export const fitOnBore = (bore: Quantity | undefined, classes: string): Fit | undefined =>
  (classes.includes('/') ? fit : bearingOnShaft)(diameterOf(bore), classes);

/** The clearance and interference of a fit, in µm. */
export function sayPlay({ kind, interference: { min, max } }: Fit): string {
  if (kind === 'clearance') return `${figure(-max)} to ${figure(-min)} µm of clearance`;
  return `${kind === 'transition' ? `${figure(-min)} µm of clearance` : figure(min)} to ${figure(max)} µm of interference`;
}

/** What a fit comes to on a bore, as Markdown lines; none where no table has it. */
export function fitFacts(bore: Quantity | undefined, classes: string): string[] {
  const found = fitOnBore(bore, classes);
  if (found === undefined) return [];
  const diameter = diameterOf(bore);
  const { max } = found.interference;
  const limits = ({ upper, lower }: Limits): string =>
    `${[upper, lower].map((each) => (each > 0 ? `+${figure(each)}` : figure(each))).join('/')} µm`;
  const kelvin = max > 0 ? kelvinFor(diameter, max) : undefined;
  return [
    `**${classes}** on ${figure(diameter, 5)} mm: ${found.kind} fit, ISO 286`,
    `- ${classes.includes('/') ? 'hole' : 'bore of a bearing of Normal class (ISO 492)'} ${limits(found.bore)}, shaft ${limits(found.shaft)}`,
    `- ${sayPlay(found)}${kelvin === undefined ? '' : `, which ${figure(kelvin, 3)} K of heat open, and some more for clearance`}`,
  ];
}
