import type { Span } from '../../../grammar/syntax.ts';
import { exampleOf, pointUnits, type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import { written } from '../model/quantity.ts';
import type { Check, Raw } from './check.ts';

/** `5 to 100 N·m`, `5 - 100 N·m`, `1 1/4 in`, `2"`: a range written otherwise, a fraction or an inch mark is told of as one. */
const isTold = ({ chunk, end }: Span): boolean =>
  /^(?: to | ?[-−–—…~] ?[0-9]|(?:[ -][0-9]+)?\/[0-9])/.test(chunk.text.slice(end, end + 12)) ||
  (chunk.text[end] === '"' && /^"[^"\r\n]*(?:[\r\n]|$)/.test(chunk.text.slice(end)));
const lacksUnit = ({ quantity: { unit, restated } }: QuantityPlace): boolean =>
  unit === undefined || (restated !== undefined && restated.unit === undefined);

/** Most tools that have one turn something. */
const ranges = '100 N·m, or 25 mm of what measures a length';

export const noUnit: Check = {
  code: 'no-unit',
  severity: 'error',
  section: 'Units',
  local: true,
  fires: 'a number that needs a unit has none.',
  why: 'Twenty-five of what? Newton metres and pound-feet differ by a third.',
  bad: 'part bolt "Bolt" thread M8 class 8.8 torque 25',
  good: 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m',
  *run({ model }): Generator<Raw> {
    for (const { quantity, kinds, where } of quantitiesOf(model).filter(lacksUnit)) {
      if (quantity.unit === undefined && !isTold(quantity)) {
        yield {
          span: quantity,
          message: `${written(quantity)} has no unit, and ${where} needs one: write it as in ${where === '`range`' ? ranges : exampleOf(kinds)}.`,
          related: [],
        };
      }
      const again = quantity.restated;
      if (again !== undefined && again.unit === undefined) {
        yield {
          span: again,
          message: `${written(again)} in brackets has no unit: write the other unit behind it.`,
          related: [],
        };
      }
    }
    for (const { unit, span } of pointUnits(model)) {
      if (unit === undefined)
        yield { span, message: 'the points have no unit: write one behind the last point, such as `mm`.', related: [] };
    }
  },
};
