import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import { joinedInShort } from '../checks/check.ts';
import { counterpart } from '../checks/mixed-units.ts';
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
  const { thread, propertyClass, grade, condition, length, torque, angle, holes } = declaration;
  const screw = [
    thread === undefined ? '' : `thread ${escaped(thread.text)}`,
    propertyClass === undefined ? '' : `class ${escaped(propertyClass.image)}`,
    grade === undefined ? '' : `grade ${escaped(grade.image)}`,
    condition === undefined ? '' : condition.text,
    length === undefined ? '' : `length ${quantityWithOther(length, units)}`,
    torque === undefined
      ? ''
      : `torque ${quantityWithOther(torque, units)}${angle === undefined ? '' : ` then ${escaped(written(angle))}`}`,
    holes === undefined ? '' : `holes \`${holes.text}\``,
  ].filter((each) => each !== '');
  const facts: string[] = screw.length > 0 ? [screw.join(', ')] : [];
  const say = (condition: unknown, line: () => string): void => {
    if (condition !== undefined && condition !== false) facts.push(line());
  };
  say(declaration.renew, () => 'single-use: renew');
  say(declaration.index, () => 'goes back as it came off: mark it');
  say(declaration.carriedBy, () => `carried by ${names([declaration.carriedBy!])}`);
  say(declaration.heldBy.length > 0, () => `held by ${names(declaration.heldBy)}`);
  say(declaration.behind.length > 0, () => `behind ${names(declaration.behind)}`);
  say(
    declaration.hazards.length > 0,
    () => `hazard: ${declaration.hazards.map(({ text }) => escaped(text)).join(', ')}`,
  );
  say(declaration.bore, () =>
    [
      `bore ${quantityWithOther(declaration.bore!, units)}`,
      ...(declaration.fit === undefined ? [] : [escaped(declaration.fit.text)]),
      ...(declaration.interference === undefined
        ? []
        : [`interference ${quantityWithOther(declaration.interference, units)}`]),
    ].join(', '),
  );
  say(declaration.limit, () => `heat to ${quantityWithOther(declaration.limit!, units)} at most`);
  say(declaration.number, () => `marking ${escaped(declaration.number!.value)}`);
  say(declaration.lead, () => `lead ${quantityWithOther(declaration.lead!, units)}`);
  say(declaration.range, () => `range ${quantityWithOther(declaration.range!, units)}`);
  say(declaration.amount, () => `quantity ${quantityWithOther(declaration.amount!, units)}`);
  say(declaration.spec, () => escaped(declaration.spec!.value));
  say(declaration.cure, () => `cure ${quantityWithOther(declaration.cure!, units)}`);
  const { pattern } = declaration;
  say(pattern, () =>
    pattern!.form === 'points'
      ? `${pattern!.points?.length ?? 0} holes at points`
      : `circle of ${pattern!.angles?.length ?? pattern!.count?.value ?? 0} holes${pattern!.diameter === undefined ? '' : `, diameter ${quantityWithOther(pattern!.diameter, units)}`}`,
  );
  return facts;
}
