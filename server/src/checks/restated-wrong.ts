import type { Quantity } from '../../../grammar/syntax.ts';
import { type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import { agreesAsRounded, convert, convertDifference, figure, roundingStep, say, written } from '../model/quantity.ts';
import type { Check, Raw } from './check.ts';
import { replaceSpan } from './edits.ts';
import { digitsApart } from './rounding.ts';

export const restatedWrong: Check = {
  code: 'restated-wrong',
  severity: 'error',
  section: 'Units',
  local: true,
  fires: 'the value in brackets does not equal the first as rounded.',
  why: 'Two values for one torque: somebody will use the wrong one.',
  bad: 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m (25 lbf·ft)',
  good: 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m (18 lbf·ft)',
  *run({ model }): Generator<Raw> {
    for (const { quantity } of quantitiesOf(model).filter(isRestated)) {
      const raw = judged(quantity, quantity.restated!);
      if (raw !== undefined) yield raw;
    }
  },
  repairs(finding, { model }) {
    const right = finding.data?.['right'];
    if (typeof right !== 'string') return [];
    return [
      {
        title: `Correct the restatement to ${right}`,
        edits: [replaceSpan(model.tree, finding.span, right)],
        safe: false,
      },
    ];
  },
};

const isRestated = ({ quantity }: QuantityPlace): boolean => quantity.restated !== undefined;

/** The numbers of `quantity`, low and high of a range or middle and half-width of a tolerance, as `form` has them. */
function numbersAs(form: Quantity['form'], { form: own, numbers }: Quantity): readonly number[] {
  const values = numbers.map(({ value }) => value);
  if (form === own) return values;
  const [first = 0, second = 0] = values;
  return form === 'range' ? [first - second, first + second] : [(first + second) / 2, (second - first) / 2];
}

/** What is wrong with `again`, the restatement of `quantity`. */
function judged(quantity: Quantity, again: Quantity): Raw | undefined {
  const from = quantity.inUnit;
  const to = again.inUnit;
  if (from === undefined || to === undefined || from.kind !== to.kind) return undefined;
  if (quantity.form === 'single' && again.form === 'single') {
    if (agreesAsRounded(convert(quantity.value, from, to), again.first)) return undefined;
  }
  // A tolerance may be restated as the range that it means, and the other way round.
  const isPair = quantity.form !== 'single' && again.form !== 'single';
  const form = isPair ? again.form : quantity.form;
  const numbers = numbersAs(form, quantity);
  const convertedBy = (value: typeof convert): number[] =>
    numbers.map((number, i) =>
      i === 1 && form === 'tolerance' ? convertDifference(number, from, to) : value(number, from, to),
    );
  const sameShape = again.form === form;
  const agrees = (exact: readonly number[]): boolean =>
    sameShape && again.numbers.every((number, i) => agreesAsRounded(exact[i]!, number));
  const exact = convertedBy(convert);
  if (agrees(exact)) return undefined;
  // Kelvin state a temperature or, more often, a rise: 80 K are 144 °F of difference.
  if ((from.symbol === 'K' || to.symbol === 'K') && agrees(convertedBy(convertDifference))) return undefined;
  if (from === to)
    return {
      span: again,
      message: `${written(quantity)} and ${written(again)} are in the same unit and differ: the second value restates the first in another one, so correct the unit of one of them, or the value.`,
      related: [],
    };
  const right = exact
    .map((value, i) => {
      const step = again.numbers[i] === undefined ? 0 : roundingStep(again.numbers[i]!);
      return step === 0
        ? figure(value)
        : step >= 1
          ? String(Math.round(value / step) * step)
          : value.toFixed(again.numbers[i]!.decimals);
    })
    .join(form === 'range' ? '..' : ' ± ');
  const rightText = `${right}${to.symbol === '°' ? '' : ' '}${to.symbol}`;
  return {
    span: again,
    message: `${written(quantity)} is ${exact.length === 1 ? say(exact[0]!, to, digitsApart(exact[0]!, again.numbers[0]?.value ?? 0, 4)) : rightText}, not ${written(again)}: write (${rightText}).`,
    related: [],
    data: { right: rightText },
  };
}
