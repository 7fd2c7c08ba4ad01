import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import { holesOfPart } from '../checks/holes.ts';
import { counterpart } from '../checks/mixed-units.ts';
import { joinedInShort } from '../checks/wording.ts';
import { written, writtenIn } from '../model/quantity.ts';
import type { ShownUnits } from '../settings.ts';
import { escaped } from './markdown.ts';

export const names = (list: readonly { text: string }[]): string =>
  joinedInShort(list.map(({ text }) => `\`${text}\``));

/** As written, with its restatement, or else with the value in the system that the reader wants. */
export function quantityWithOther(quantity: Quantity, units: ShownUnits): string {
  const other = quantity.restated === undefined ? wanted(quantity, units) : written(quantity.restated);
  return escaped(written(quantity)) + (other === undefined ? '' : ` (${escaped(other)})`);
}

function wanted(quantity: Quantity, units: ShownUnits): string | undefined {
  const unit = quantity.inUnit;
  if (units === 'asWritten' || unit === undefined || unit.system === 'neutral' || unit.system === units)
    return undefined;
  return writtenIn(quantity, counterpart(unit, units));
}

/** What a declaration says, each fact a line. */
export function factsOf(declaration: Declaration, units: ShownUnits = 'asWritten'): string[] {
  const { angle, heldBy, behind, hazards } = declaration;
  const quantity = (word: string, value: Quantity | undefined): string[] =>
    said(value, (each) => `${word} ${quantityWithOther(each, units)}`);
  const then = angle === undefined ? '' : ` then ${escaped(written(angle))}`;
  return [
    ...joined([
      ...said(declaration.thread, ({ text }) => `thread ${escaped(text)}`),
      ...said(declaration.propertyClass, ({ image }) => `class ${escaped(image)}`),
      ...said(declaration.grade, ({ image }) => `grade ${escaped(image)}`),
      ...said(declaration.condition, ({ text }) => text),
      ...quantity('length', declaration.length),
      ...quantity('torque', declaration.torque).map((torque) => torque + then),
      ...quantity('prevailing', declaration.prevailing),
      ...said(declaration.head, ({ text }) => `${escaped(text)} head`),
      ...said(declaration.holes, ({ text }) => `holes \`${text}\`${atHoles(declaration)}`),
    ]),
    ...said(declaration.renew, () => 'single-use: renew'),
    ...said(declaration.index, () => 'goes back as it came off: mark it'),
    ...said(declaration.carriedBy, (carrier) => `carried by ${names([carrier])}`),
    ...(heldBy.length === 0 ? [] : [`held by ${names(heldBy)}`]),
    ...(behind.length === 0 ? [] : [`behind ${names(behind)}`]),
    ...(hazards.length === 0 ? [] : [`hazard: ${hazards.map(({ text }) => escaped(text)).join(', ')}`]),
    ...joined([
      ...quantity('bore', declaration.bore),
      ...said(declaration.fit, ({ text }) => escaped(text)),
      ...quantity('interference', declaration.interference),
      ...quantity('diameter', declaration.outside),
      ...said(declaration.filled, ({ text }) => text),
    ]),
    ...quantity('heat to', declaration.limit).map((limit) => `${limit} at most`),
    ...said(declaration.number, ({ value }) => `marking ${escaped(value)}`),
    ...quantity('lead', declaration.lead),
    ...quantity('range', declaration.range),
    ...quantity('quantity', declaration.amount),
    ...said(declaration.spec, ({ value }) => escaped(value)),
    ...quantity('cure', declaration.cure),
    ...said(declaration.pattern, ({ form, points, angles, count, diameter }) =>
      form === 'points'
        ? `${points?.length ?? 0} holes at points`
        : [`circle of ${angles?.length ?? count?.value ?? 0} holes`, ...quantity('diameter', diameter)].join(', '),
    ),
  ];
}

const atHoles = (part: Declaration): string => {
  const holes = holesOfPart(part);
  return holes === undefined ? '' : ` at ${holes.join(', ')}`;
};

/** Nothing of what is not there. */
const said = <Value>(value: Value | undefined, say: (value: Value) => string): string[] =>
  value === undefined ? [] : [say(value)];

const joined = (words: readonly string[]): string[] => (words.length === 0 ? [] : [words.join(', ')]);
