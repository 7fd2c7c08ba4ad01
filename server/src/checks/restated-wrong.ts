import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import { type ClampVerdict, judgeClamp } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import {
  agreesAsRounded,
  convert,
  convertDifference,
  extentOf,
  figure,
  roundingStep,
  say,
  written,
} from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Raw, Settings, Statement } from './check.ts';
import { replaceSpan } from './edits.ts';
import { ByPlace, beginAlike } from './entries.ts';
import { clampOf, fastenerOf, torqueEnds } from './fastening.ts';
import { celsius, heatLimitOf } from './mounting.ts';
import { digitsApart } from './rounding.ts';
import { reads, wrenchUse } from './wrenches.ts';

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
  repairs(finding, { model, settings }) {
    const right = finding.data?.['right'];
    const quantity = restatedAt(model).get(finding.span);
    if (typeof right !== 'string' || quantity === undefined) return [];
    const again = quantity.restated!;
    const repairs = [
      {
        title: `Keep ${written(quantity)}, restate it as (${right})`,
        edits: [replaceSpan(model.tree, finding.span, right)],
        safe: false,
      },
    ];
    // The author may have looked up the second and slipped in the first.
    const first = firstFrom(again, quantity);
    if (first !== undefined && quantity.unit !== undefined && mayBeRight(again, quantity, model, settings)) {
      const { chunk, start, unit } = quantity;
      repairs.push({
        title: `Keep ${written(again)}, write ${first} before it`,
        edits: [replaceSpan(model.tree, { chunk, start, end: unit.end }, first)],
        safe: false,
      });
    }
    return repairs;
  },
};

/** What restates each quantity of the file, with that quantity. */
const restatedAt = noted(
  (model: Model): ByPlace<Quantity> =>
    new ByPlace(
      quantitiesOf(model).flatMap(({ quantity }) => (quantity.restated ? [[quantity.restated, quantity]] : [])),
    ),
);

/** The statements that tighten, heat, drain or fill to a quantity. */
const statedAt = noted((model: Model): ByPlace<Statement> => {
  const found = new ByPlace<Statement>();
  for (const kind of ['tighten', 'heat', 'drain', 'fill'] as const)
    for (const statement of statementsOf(model, kind))
      for (const quantity of [statement.to, statement.amount, ...(statement.stages ?? [])])
        if (quantity !== undefined) found.set(quantity, statement);
  return found;
});

/** False where what else is known tells that `again` is the wrong one: the bolt or part would not bear it, or `quantity` is as declared. */
function mayBeRight(again: Quantity, quantity: Quantity, model: Model, settings: Settings): boolean {
  const statement = statedAt(model).get(quantity);
  const { item } = quantity.chunk;
  const name = statement?.name?.text ?? '';
  if (statement?.kind === 'drain' || statement?.kind === 'fill') {
    const declared = model.supplies.get(name)?.amount;
    return declared === undefined || !isAsDeclared(quantity, declared);
  }
  const part = statement !== undefined ? model.parts.get(name) : item?.kind === 'part' ? item : undefined;
  if (part === undefined) return true;
  if (statement?.kind === 'heat') {
    const heat = extentOf(again);
    return heat?.kind !== 'temperature' || celsius(heat.high) <= heatLimitOf(part, settings);
  }
  if (statement === undefined && (part.torque === undefined || !beginAlike(part.torque, quantity))) return true;
  if (statement !== undefined && part.torque !== undefined && isAsDeclared(quantity, part.torque)) return false;
  return (
    isBetweenStages(again, quantity, statement) &&
    clampsAsWell(again, quantity, part, settings) &&
    isReadAsWell(again, quantity, model, part, statement)
  );
}

/** Whether the bolt of `part` bears `again`, and is drawn no less by it than it should be where `quantity` does better. */
function clampsAsWell(again: Quantity, quantity: Quantity, part: Declaration, settings: Settings): boolean {
  const fastener = fastenerOf(part, settings);
  const verdictOf = (torque: number | undefined): ClampVerdict | undefined => {
    const band = torque === undefined ? undefined : clampOf(fastener, torque);
    return band && judgeClamp(band);
  };
  const [ends, now] = [torqueEnds(again), torqueEnds(quantity)];
  if (verdictOf(ends?.high)?.over !== undefined) return false;
  const isUnder = (low: number | undefined): boolean => verdictOf(low)?.under === true;
  return part.angle !== undefined || !isUnder(ends?.low) || isUnder(now?.low);
}

/** The first tightening of each part that names a tool and no torque of its own. */
const firstAsDeclared = noted((model: Model): ReadonlyMap<string, Statement> => {
  const found = new Map<string, Statement>();
  for (const statement of statementsOf(model, 'tighten')) {
    const name = statement.name?.text;
    if (name !== undefined && !found.has(name) && statement.using && !statement.to && !statement.stages)
      found.set(name, statement);
  }
  return found;
});

/** Whether the wrench that is named for it reads `again` well, where it reads `quantity` so. */
function isReadAsWell(
  again: Quantity,
  quantity: Quantity,
  model: Model,
  part: Declaration,
  statement = firstAsDeclared(model).get(part.name?.text ?? ''),
): boolean {
  const use = statement && wrenchUse(model, statement);
  const [ends, now] = [torqueEnds(again), torqueEnds(quantity)];
  if (use === undefined || ends === undefined || now === undefined) return true;
  const isRead = ({ low, high }: { low: number; high: number }): boolean =>
    use.wrenches.some((wrench) => reads(wrench, [use.setting(low), use.setting(high)]));
  return isRead(ends) || !isRead(now);
}

/** Whether `quantity`, whatever restates it, says as much as `declared`, as rounded. */
function isAsDeclared(quantity: Quantity, declared: Quantity): boolean {
  const [from, to] = [declared.inUnit, quantity.inUnit];
  if (from === undefined || to === undefined || quantity.form !== declared.form) return false;
  if (from === to) return quantity.numbers.every(({ value }, i) => value === declared.numbers[i]?.value);
  return (
    from.kind === to.kind &&
    quantity.form === 'single' &&
    agreesAsRounded(convert(declared.value, from, to), quantity.first)
  );
}

/** Whether the stages of `statement` still rise with `again` for `quantity`. */
function isBetweenStages(again: Quantity, quantity: Quantity, statement: Statement | undefined): boolean {
  const stages = statement?.stages ?? [];
  const at = stages.indexOf(quantity);
  const [before, it, behind] = [stages[at - 1], again, stages[at + 1]].map(torqueEnds);
  if (at < 0 || it === undefined) return true;
  return (before?.high ?? 0) < it.low && it.high < (behind?.low ?? Number.POSITIVE_INFINITY);
}

/** More decimals than `quantity` has, where it takes them to be `again` as rounded. */
const mostFiner = 4;

/** What `quantity` is where its restatement `again` is right: as coarse as it was written, or as that asks for. */
function firstFrom(again: Quantity, quantity: Quantity): string | undefined {
  const [from, to] = [again.inUnit, quantity.inUnit];
  if (from === undefined || to === undefined || again.form !== quantity.form) return undefined;
  const { form, numbers } = quantity;
  const turnedBy = (i: number): typeof convert => (form === 'tolerance' && i === 1 ? convertDifference : convert);
  const said: string[] = [];
  for (const [i, literal] of again.numbers.entries()) {
    const old = numbers[i];
    if (old === undefined) return undefined;
    const turn = turnedBy(i);
    // What agrees already stays as it is written.
    if (agreesAsRounded(turn(old.value, to, from), literal)) {
      said.push(old.image);
      continue;
    }
    const exact = turn(literal.value, from, to);
    let finer = 0;
    let value = exact.toFixed(old.decimals);
    while (!agreesAsRounded(turn(Number(value), to, from), literal)) {
      if (++finer > mostFiner) return undefined;
      value = exact.toFixed(old.decimals + finer);
    }
    said.push(value);
  }
  return `${said.join(form === 'range' ? '..' : ' ± ')}${to.symbol === '°' ? '' : ' '}${to.symbol}`;
}

const isRestated = ({ quantity }: QuantityPlace): boolean => quantity.restated !== undefined;

/** The numbers of `quantity`, low and high of a range or middle and half-width of a tolerance, as `form` has them. */
function numbersAs(form: Quantity['form'], { form: own, numbers }: Quantity): readonly number[] {
  const values = numbers.map(({ value }) => value);
  if (form === own) return values;
  const [first = 0, second = 0] = values;
  return form === 'range' ? [first - second, first + second] : [(first + second) / 2, (second - first) / 2];
}

/** Whether `quantity` is restated as what it is not. */
export const isRestatedWrong = (quantity: Quantity): boolean =>
  quantity.restated !== undefined && judged(quantity, quantity.restated) !== undefined;

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
