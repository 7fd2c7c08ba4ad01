import { type Quantity, type Span, spanText } from '../../../grammar/syntax.ts';
import { type QuantityKind, type Unit, type UnitSystem, unitOf } from '../../../grammar/units.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { exampleOf, pointUnits, type QuantityPlace, quantitiesOf } from '../model/quantities.ts';
import { agreesAsRounded, convert, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Raw } from './check.ts';
import { replaceSpan } from './edits.ts';
import { ByPlace } from './entries.ts';

/** `5 to 100 N·m`, `5 - 100 N·m`, `1 1/4 in`, `12½ L`, `1 250 L`, `2"`: a range or number written otherwise or an inch mark is told of as one, as are stages behind `to`. */
const isTold = ({ chunk, end }: Span): boolean =>
  /^(?: to | ?[-−–—…~] ?[0-9]|(?:[ -][0-9]+)?\/[0-9]|[½¼¾⅓⅔⅛⅜⅝⅞]|[ '’][0-9]|,[0-9]|:[0-9]| ?\+ ?[0-9]| then [0-9.]+ ?[Nlk])/.test(
    chunk.text.slice(end, end + 16),
  ) ||
  /^(?:\s*,\s*[0-9.]+(?: ?[\p{L}°·.]+)?)* and [0-9]/u.test(chunk.text.slice(end, end + 80)) ||
  (chunk.text[end] === '"' && /^"[^"\r\n]*(?:[\r\n]|$)/.test(chunk.text.slice(end)));
const lacksUnit = ({ quantity }: QuantityPlace): boolean =>
  isBare(quantity) || (quantity.restated !== undefined && isBare(quantity.restated));
/** Where a unit is known, that its name stands there need not be asked. */
const isBare = (quantity: Quantity): boolean => quantity.inUnit === undefined && quantity.unit === undefined;

/** What is restated by it is told of with it. */
const unitBehind = /^ ?[\p{L}°]/u;
const restatedAs: Readonly<Partial<Record<string, string>>> = {
  torque: '25 N·m (18 lbf·ft)',
  length: '40 mm (1.57 in)',
  temperature: '80 °C (176 °F)',
};

/** `25 N·m (18 lbf·ft)` of `25 (18)`: with those of `units` in which the two agree, parted by commas. */
function bothUnits({ first, form, restated }: Quantity, units: string): string {
  if (restated === undefined || form !== 'single' || restated.form !== 'single') return '';
  const agrees = (symbol: string, other: string): boolean => {
    const [from, to] = [unitOf(symbol), unitOf(other)];
    return from !== undefined && to !== undefined && agreesAsRounded(convert(first.value, from, to), restated.first);
  };
  return units
    .split(' ')
    .flatMap((symbol) => {
      const other = others(unitOf(symbol))
        .split(' ')
        .find((each) => agrees(symbol, each));
      return other === undefined ? [] : `${first.image} ${symbol} (${restated.first.image} ${other})`;
    })
    .join(', ');
}

const isPlain = (quantity: Quantity): boolean =>
  quantity.unit === undefined && quantity.restated === undefined && !isTold(quantity);

/** What parts two of a list that have no unit: a comma, or others that have one. */
const parts = /^\s*,\s*(?:[0-9.]+ ?[\p{L}°µ·.]+\s*,\s*)*$/u;

/** The last of the places from `first` on whose quantities stand in one list. */
function endOfList(places: readonly QuantityPlace[], first: number): number {
  let last = first;
  for (let next = places[last + 1]; next !== undefined; next = places[last + 1]) {
    const { quantity, where } = places[last]!;
    const { start, chunk } = next.quantity;
    if (where !== next.where || quantity.chunk !== chunk || !isPlain(quantity) || !isPlain(next.quantity)) break;
    if (start < quantity.end || start > quantity.end + 80 || !parts.test(chunk.text.slice(quantity.end, start))) break;
    last++;
  }
  return last;
}

/** `angles 0, 90, 180`: numbers of one list, told of as one. */
function inList({ kinds, where }: QuantityPlace, listed: readonly Quantity[], units: string): Raw {
  const { chunk, start } = listed[0]!;
  const span = { chunk, start, end: listed.at(-1)!.end };
  // `angles 0, 90°, 180`, `in stages 10, 20, 30 N·m`
  const inside = /[0-9] ?([\p{L}°][\p{L}°·.]*)/u.exec(spanText(span).slice(0, 200));
  const [, said = ''] =
    inside ?? /^\s*,\s*[0-9.]+ ?([\p{L}°µ·.]+)/u.exec(chunk.text.slice(span.end, span.end + 40)) ?? [];
  const given = unitOf(said);
  const isGiven = given !== undefined && kinds.includes(given.kind);
  const unit = isGiven ? given.symbol : units.split(' ')[0]!;
  const shown = (each: (quantity: Quantity) => string): string => {
    const few = listed.slice(0, mostShown).map(each).join(', ');
    return listed.length > mostShown ? `${few}, …` : few;
  };
  return {
    span,
    message: `${shown(written)} have no unit, and each of ${where} needs one: write ${shown((each) => withUnit(written(each), unit))}.`,
    related: [],
    data: { units: isGiven ? unit : units, list: true },
  };
}
/** Of a long list the beginning is shown. */
const mostShown = 6;
const withUnit = (number: string, unit: string): string => (unit === '°' ? number + unit : `${number} ${unit}`);

/** Units that an author is likely to mean, the usual first; those of time and angle belong to both systems. */
const usual: Readonly<Record<QuantityKind, readonly string[]>> = {
  torque: ['N·m', 'lbf·ft', 'lbf·in'],
  length: ['mm', 'in'],
  angle: ['°'],
  temperature: ['°C', '°F'],
  time: ['min', 'h', 'd', 's'],
  volume: ['L', 'mL', 'qt', 'pt'],
  force: ['kN', 'N', 'lbf'],
  pressure: ['bar', 'kPa', 'psi'],
  mass: ['kg', 'g', 'lb'],
};

/** Where other units are usual than elsewhere; most tools that have a range turn something. */
const usualIn: Readonly<Record<string, readonly string[]>> = {
  '`lead`': ['d', 'h'],
  '`interference`': ['µm', 'in'],
  '`range`': [...usual.torque, ...usual.length],
};
const anyKind: readonly QuantityKind[] = ['length', 'torque'];

/** Units that the place may be meant in, of the system that is measured in. */
const unitsFor = ({ kinds, where }: QuantityPlace, measures: UnitSystem | undefined): string =>
  inSystem(usualIn[where] ?? (kinds.length > 0 ? kinds : anyKind).flatMap((kind) => usual[kind]), measures);

const inSystem = (all: readonly string[], system: UnitSystem | undefined): string =>
  all.filter((each) => system === undefined || [system, 'neutral'].includes(unitOf(each)?.system ?? '')).join(' ');

/** The systems that the quantities of the file are written in. */
const systemsIn = noted((model: Model): ReadonlySet<UnitSystem> => {
  const systems = new Set(quantitiesOf(model).flatMap(({ quantity: { inUnit } }) => inUnit?.system ?? []));
  systems.delete('neutral');
  return systems;
});

/** The one system that they are written in. */
function systemOf(model: Model): UnitSystem | undefined {
  const [only, other] = systemsIn(model);
  return other === undefined ? only : undefined;
}

/** By each quantity that is drained or filled, what its supply is declared by. */
const declaredKinds = noted((model: Model): ByPlace<QuantityKind> => {
  const found = new ByPlace<QuantityKind>();
  for (const kind of ['drain', 'fill'] as const)
    for (const { amount, name } of statementsOf(model, kind)) {
      const declared = model.supplies.get(name?.text ?? '')?.amount?.inUnit?.kind;
      if (amount !== undefined && declared !== undefined) found.set(amount, declared);
    }
  return found;
});

/** What restates a unit is of the other system. */
const others = (unit: Unit | undefined): string =>
  unit === undefined ? '' : usual[unit.kind].filter((each) => unitOf(each)?.system !== unit.system).join(' ');

/** Most tools that have one turn something. */
const ranges = '100 N·m, or 25 mm of what measures a length';

export const noUnit: Check = {
  code: 'no-unit',
  severity: 'error',
  section: 'Units',
  local: true,
  fires: 'a number that needs a unit has none.',
  why: 'Twenty-five of what? Newton metres and pound-feet differ by a third.',
  bad: `procedure joint "Joint"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 25
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `procedure joint "Joint"
  measures metric
part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  *run({ model, settings }): Generator<Raw> {
    const measures = model.measures ?? settings.measures;
    const places = quantitiesOf(model).filter(lacksUnit);
    for (let i = 0; i < places.length; i++) {
      const place = places[i]!;
      const { quantity, kinds, where } = place;
      const last = endOfList(places, i);
      if (last > i) {
        const listed = places.slice(i, last + 1).map((each) => each.quantity);
        yield inList(place, listed, unitsFor(place, measures));
        i = last;
        continue;
      }
      const again = quantity.restated;
      const isTwice = isBare(quantity) && again !== undefined && isBare(again);
      // `25 (18) N·m`
      if (isTwice && unitBehind.test(quantity.chunk.text.slice(quantity.end, quantity.end + 16))) continue;
      if (quantity.unit === undefined && !isTold(quantity)) {
        const example = where === '`range`' ? ranges : exampleOf(kinds);
        yield {
          span: quantity,
          message: isTwice
            ? `${spanText(quantity)} has no units, and ${where} needs one behind each number: write it as in ${restatedAs[kinds[0] ?? ''] ?? example}.`
            : `${written(quantity)} has no unit, and ${where} needs one: write it as in ${example}.`,
          related: [],
          data: isTwice
            ? { both: bothUnits(quantity, unitsFor(place, measures)) }
            : { units: unitsFor(place, measures) },
        };
        if (isTwice) continue;
      }
      if (again !== undefined && again.unit === undefined) {
        yield {
          span: again,
          message: `${written(again)} in brackets has no unit: write the other unit behind it.`,
          related: [],
          data: { units: others(quantity.inUnit), restates: true },
        };
      }
    }
    for (const { unit, span } of pointUnits(model)) {
      if (unit === undefined)
        yield {
          span,
          message: 'the points have no unit: write one behind the last point, such as `mm`.',
          related: [],
          data: { units: inSystem(usual.length, measures), points: true },
        };
    }
  },
  repairs({ span, data }, { model }) {
    const both = data?.['both'];
    if (typeof both === 'string')
      return both
        .split(', ')
        .filter((each) => each !== '')
        .map((each) => ({ title: `Write ${each}`, edits: [replaceSpan(model.tree, span, each)], safe: false }));
    const isPoint = data?.['points'] === true;
    const isList = data?.['list'] === true;
    const [first] = /^[^(]*[^\s(]/.exec(spanText(span)) ?? [''];
    // That of points stands behind the bracket, that of what is restated in one before it.
    const end = isPoint ? span.chunk.text.indexOf(')', span.end) + 1 : span.start + first.length;
    if (end === 0) return [];
    // `62H7/k6`
    const isBeforeWord = /\p{L}/u.test(span.chunk.text[end] ?? '');
    const system = data?.['restates'] === true ? undefined : systemOf(model);
    const declared = declaredKinds(model).get(span);
    return inSystem(String(data?.['units'] ?? '').split(' '), system)
      .split(' ')
      .filter((unit) => unit !== '' && (declared === undefined || unitOf(unit)?.kind === declared))
      .map((unit) => {
        const behind = unit === '°' ? unit : ` ${unit}`;
        if (isList) {
          const all = spanText(span).replace(/(?<=[0-9.])(?=\s*,|$)/g, behind);
          return {
            title: `Write ${behind.trim()} behind each`,
            edits: [replaceSpan(model.tree, span, all)],
            safe: false,
          };
        }
        return {
          title: `Write ${isPoint ? unit : first + behind}`,
          edits: [replaceSpan(model.tree, { ...span, start: end, end }, isBeforeWord ? `${behind} ` : behind)],
          safe: false,
        };
      });
  },
};
