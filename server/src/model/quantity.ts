import type { NumberLiteral, Quantity } from '../../../grammar/syntax.ts';
import { type QuantityKind, type Unit, unitOf, units } from '../../../grammar/units.ts';

const lbf = 0.45359237 * 9.80665;
const inch = 0.0254;
const foot = 12 * inch;

/**
 * Factor to the SI unit of the kind: N·m, m, rad, K, s, m³, N, Pa, kg.
 * Source: NIST SP 811 (2008), appendix B; every factor here is exact by definition.
 */
const factors: Readonly<Record<string, number>> = {
  N·m: 1,
  lbf·ft: lbf * foot,
  lbf·in: lbf * inch,
  kgf·m: 9.80665,
  kgf·cm: 0.0980665,
  mm: 1e-3,
  µm: 1e-6,
  m: 1,
  in: inch,
  '°': Math.PI / 180,
  '°C': 1,
  '°F': 5 / 9,
  K: 1,
  s: 1,
  min: 60,
  h: 3600,
  d: 86400,
  L: 1e-3,
  mL: 1e-6,
  qt: 231 * inch ** 3 * 0.25,
  pt: 0.56826125e-3,
  N: 1,
  kN: 1000,
  lbf,
  kgf: 9.80665,
  bar: 1e5,
  kPa: 1e3,
  MPa: 1e6,
  psi: lbf / inch ** 2,
  g: 1e-3,
  kg: 1,
  lb: 0.45359237,
};
/** Added after scaling, for temperatures: °C and °F have zero points of their own. */
const offsets: Readonly<Record<string, number>> = { '°C': 273.15, '°F': (459.67 * 5) / 9 };

/** `value` in the SI unit of its kind. */
export const toSI = (value: number, unit: Unit): number => value * factors[unit.symbol]! + (offsets[unit.symbol] ?? 0);

/** The inverse of {@link toSI}. */
export const fromSI = (value: number, unit: Unit): number =>
  (value - (offsets[unit.symbol] ?? 0)) / factors[unit.symbol]!;

/** `value` in `from`, expressed in `to` (same kind). 100 °C is 212 °F. */
export const convert = (value: number, from: Unit, to: Unit): number =>
  from === to ? value : fromSI(toSI(value, from), to);

/** A difference or tolerance: 80 K of difference are 144 °F of difference. */
export const convertDifference = (value: number, from: Unit, to: Unit): number =>
  from === to ? value : (value * factors[from.symbol]!) / factors[to.symbol]!;

/** What a quantity allows, in SI: `low` = `high` for a single value; a tolerance is spread to its two ends. */
export interface Extent {
  readonly kind: QuantityKind;
  readonly low: number;
  readonly high: number;
}

/** Nothing where the quantity has no unit, an unknown one, or no number. */
export function extentOf(quantity: Quantity | undefined): Extent | undefined {
  const unit = quantity?.inUnit;
  if (quantity === undefined || unit === undefined) return undefined;
  const { value, second } = quantity;
  const from = toSI(value, unit);
  if (quantity.form === 'single' || second === undefined) return { kind: unit.kind, low: from, high: from };
  if (quantity.form === 'range') {
    const to = toSI(second.value, unit);
    return { kind: unit.kind, low: Math.min(from, to), high: Math.max(from, to) };
  }
  const spread = Math.abs(second.value * factors[unit.symbol]!);
  return { kind: unit.kind, low: from - spread, high: from + spread };
}

/** One number with the same unit: the quick way to what nearly always holds. */
export const saysTheSame = (a: Quantity, b: Quantity): boolean =>
  a.form === 'single' && b.form === 'single' && a.inUnit === b.inUnit && a.value === b.value;

/** The SI value of the lower end of a quantity of `kind`: what is certain of it. */
export const leastOf = (quantity: Quantity | undefined, kind: QuantityKind): number | undefined =>
  extentOfKind(quantity, kind)?.low;

/** The SI value of the upper end of a quantity of `kind`: what it may come to. */
export const mostOf = (quantity: Quantity | undefined, kind: QuantityKind): number | undefined =>
  extentOfKind(quantity, kind)?.high;

function extentOfKind(quantity: Quantity | undefined, kind: QuantityKind): Extent | undefined {
  const extent = extentOf(quantity);
  return extent?.kind === kind ? extent : undefined;
}

/** The SI value of a quantity of `kind`: the middle of a range, the nominal value of a tolerance. */
export function siValueOf(quantity: Quantity | undefined, kind: QuantityKind): number | undefined {
  const extent = extentOfKind(quantity, kind);
  return extent && (extent.low + extent.high) / 2;
}

/**
 * The step that a printed number was rounded to: one of its last decimal, or, of a whole number with at least three
 * leading digits left, one of its last digit that is not zero (`1110` may be rounded to tens, `20` may not).
 */
export function roundingStep({ decimals, image }: NumberLiteral): number {
  if (decimals > 0) return 10 ** -decimals;
  const last = image.length - 1;
  let first = image.startsWith('-') ? 1 : 0;
  while (first < last && image[first] === '0') first++;
  let behind = last;
  while (behind >= first && image[behind] === '0') behind--;
  return 10 ** Math.max(0, Math.min(last - behind, last - first - 2));
}

/** True when `exact` rounds to the printed number. */
export function agreesAsRounded(exact: number, printed: NumberLiteral): boolean {
  const apart = Math.abs(exact - printed.value);
  // No step is greater than one, or than a hundredth of the number.
  const slack = Math.abs(exact) * 1e-12;
  if (apart > 1 + Math.abs(printed.value) * 0.01 + slack) return false;
  return apart <= roundingStep(printed) * 0.5 * (1 + 1e-9) + slack;
}

const siUnits: Readonly<Record<QuantityKind, string>> = {
  torque: 'N·m',
  length: 'mm',
  angle: '°',
  temperature: '°C',
  time: 'min',
  volume: 'L',
  force: 'kN',
  pressure: 'MPa',
  mass: 'kg',
};
const imperialUnits: Readonly<Record<QuantityKind, string>> = {
  ...siUnits,
  torque: 'lbf·ft',
  length: 'in',
  temperature: '°F',
  volume: 'qt',
  force: 'lbf',
  pressure: 'psi',
  mass: 'lb',
};

/** The unit in which a reader who measures in `system` expects a quantity of `kind`. */
export const customaryUnit = (kind: QuantityKind, system: 'metric' | 'imperial'): Unit =>
  unitOf((system === 'imperial' ? imperialUnits : siUnits)[kind])!;

/** Units of one kind, in the order of the language reference. */
export const unitsOfKind = (kind: QuantityKind): readonly Unit[] => units.filter((unit) => unit.kind === kind);

/** Decimals with which `value`, not 0, has `digits` significant digits; all digits before the point stay. */
export const decimalsOf = (value: number, digits: number): number =>
  Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))));

/** A number for people: three significant digits, no exponent, no trailing zeros behind the point. */
export function figure(value: number, digits = 3): string {
  if (!Number.isFinite(value)) return '–';
  if (value === 0) return '0';
  // More than a hundred decimals cannot be asked for.
  const rounded = value.toFixed(Math.min(100, decimalsOf(value, digits)));
  return rounded.includes('.') && !rounded.includes('e') ? rounded.replace(/0+$/, '').replace(/\.$/, '') : rounded;
}

/** The unit of a force that follows from `quantity`: of the system that its author wrote it in. */
export const forceUnitFor = ({ inUnit }: Quantity): Unit =>
  customaryUnit('force', inUnit?.system === 'imperial' ? 'imperial' : 'metric');

/** `18.4 lbf·ft`; an angle keeps its sign close: `90°`. */
export const say = (value: number, unit: Unit, digits = 3): string =>
  `${figure(value, digits)}${unit.symbol === '°' ? '' : ' '}${unit.symbol}`;

/** A force in newtons, in the unit of one that follows from `quantity`. */
export function sayForce(newton: number, quantity: Quantity): string {
  const unit = forceUnitFor(quantity);
  return say(fromSI(newton, unit), unit);
}

/** A quantity as written, in the formatter's unit spelling. */
export function written(quantity: Quantity): string {
  const { first, second } = quantity;
  const sign = quantity.form === 'range' ? '..' : ' ± ';
  const numbers = second === undefined ? first.image : `${first.image}${sign}${second.image}`;
  const unit = quantity.inUnit?.symbol ?? quantity.unit?.text;
  return unit === undefined ? numbers : unit === '°' ? `${numbers}°` : `${numbers} ${unit}`;
}

/**
 * Significant digits that `value`, of `quantity` in another unit, needs: `least`, or more where a length would lose what its
 * author wrote (28.060 mm is no 1.1 in), or a range or tolerance a twentieth of its width.
 */
export function digitsKept(
  { inUnit: from, numbers, form }: Quantity,
  value: number,
  unit: Unit,
  least: number,
): number {
  if (from === undefined || value === 0) return least;
  const [first, second] = numbers;
  const width =
    second === undefined ? 0 : Math.abs(form === 'tolerance' ? 2 * second.value : second.value - first!.value);
  const decimals = from.kind === 'length' ? Math.max(...numbers.map((number) => number.decimals)) : 0;
  const step = Math.min(width > 0 ? width / 10 : Infinity, decimals > 0 ? 10 ** -decimals : Infinity);
  if (step === Infinity) return least;
  const places = Math.ceil(-Math.log10(convertDifference(step, from, unit)) - 1e-9);
  return Math.max(least, places + 1 + Math.floor(Math.log10(Math.abs(value))));
}

/** The quantity in another unit of its kind, as text; with more than `digits` where {@link digitsKept} says so. */
export function writtenIn(quantity: Quantity, unit: Unit, digits = 3): string | undefined {
  const from = quantity.inUnit;
  if (from === undefined || from.kind !== unit.kind) return undefined;
  const { value, second } = quantity;
  const told = (number: number): string => figure(number, digitsKept(quantity, number, unit, digits));
  const one = told(convert(value, from, unit));
  if (second === undefined) return `${one}${unit.symbol === '°' ? '' : ' '}${unit.symbol}`;
  const other = told(
    quantity.form === 'tolerance' ? convertDifference(second.value, from, unit) : convert(second.value, from, unit),
  );
  return `${one}${quantity.form === 'range' ? '..' : ' ± '}${other} ${unit.symbol}`;
}
