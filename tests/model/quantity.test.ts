import fc from 'fast-check';
import * as mathjs from 'mathjs';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import type { NumberLiteral, Quantity } from '../../grammar/syntax.ts';
import { knownSize, type Unit, unitOf, units } from '../../grammar/units.ts';
import { restatement } from '../../server/src/checks/mixed-units.ts';
import {
  agreesAsRounded,
  convert,
  convertDifference,
  extentOf,
  figure,
  fromSI,
  roundingStep,
  say,
  siValueOf,
  toSI,
  unitsOfKind,
  writtenIn,
} from '../../server/src/model/quantity.ts';

const unit = (symbol: string): Unit => unitOf(symbol)!;
const relative = (a: number, b: number): number => Math.abs(a - b) / Math.max(Math.abs(b), Number.MIN_VALUE);

/** The quantity behind `torque` of a part, as the parser reads it. */
function read(text: string): Quantity {
  const item = parse('test.fettle', `part bolt "Bolt" torque ${text}\n`).chunks[0]!.item;
  return (item as { torque?: Quantity }).torque!;
}
const literal = (image: string): NumberLiteral => read(image).numbers[0]!;

describe('a unit that people write by habit is offered in one that the language knows, as great as mathjs has it', () => {
  test.each([
    ['w', 'week', 'd', 'day'],
    ['wk', 'week', 'd', 'day'],
    ['wks', 'week', 'd', 'day'],
    ['week', 'week', 'd', 'day'],
    ['Weeks', 'week', 'd', 'day'],
    ['cm', 'cm', 'mm', 'mm'],
    ['ft', 'ft', 'in', 'inch'],
    ['feet', 'ft', 'in', 'inch'],
    ['foot', 'ft', 'in', 'inch'],
    ['thou', 'mil', 'in', 'inch'],
    ['mil', 'mil', 'in', 'inch'],
    ['mils', 'mil', 'in', 'inch'],
    ['cNm', 'cN m', 'N·m', 'N m'],
    ['N.mm', 'N mm', 'N·m', 'N m'],
    ['Nmm', 'N mm', 'N·m', 'N m'],
    ['daN·m', 'daN m', 'N·m', 'N m'],
    ['daNm', 'daN m', 'N·m', 'N m'],
    ['kN⋅m', 'kN m', 'N·m', 'N m'],
    ['kNm', 'kN m', 'N·m', 'N m'],
    ['cL', 'cl', 'mL', 'ml'],
    ['mbar', 'mbar', 'kPa', 'kPa'],
    ['hPa', 'hPa', 'kPa', 'kPa'],
    ['ksi', 'kip/in^2', 'psi', 'lbf/in^2'],
    ['turn', 'cycle', '°', 'deg'],
    ['turns', 'cycle', '°', 'deg'],
  ])('%s', (spelling, theirs, symbol, known) => {
    const [, value, offered] = /^([\d.]+) ?(.+)$/.exec(knownSize(3, spelling)!)!;
    expect(offered).toBe(symbol);
    // Its kip is rounded to eight figures.
    expect(relative(Number(value), mathjs.unit(3, theirs).toNumber(known))).toBeLessThan(1e-8);
  });
  test('but not one that is too great to be told, or that nobody writes', () => {
    expect(knownSize(1e308, 'kNm')).toBeUndefined();
    expect(knownSize(1, 'furlong')).toBeUndefined();
  });
});

describe('factors to SI', () => {
  // NIST SP 811 (2008), appendix B: exact by definition, or the product of exact ones (inch 25.4 mm, pound 0.453 592 37 kg,
  // standard gravity 9.806 65 m/s², US gallon 231 in³); the imperial pint is 568.261 25 mL (UK Weights and Measures Act
  // 1985, schedule 1, from memory).
  test.each([
    ['N·m', 1],
    ['lbf·ft', 1.3558179483314],
    ['lbf·in', 0.1129848290276167],
    ['kgf·m', 9.80665],
    ['kgf·cm', 0.0980665],
    ['mm', 1e-3],
    ['µm', 1e-6],
    ['m', 1],
    ['in', 0.0254],
    ['°', Math.PI / 180],
    ['s', 1],
    ['min', 60],
    ['h', 3600],
    ['d', 86_400],
    ['L', 1e-3],
    ['mL', 1e-6],
    ['qt', 946.352946e-6],
    ['pt', 568.26125e-6],
    ['N', 1],
    ['kN', 1e3],
    ['lbf', 4.4482216152605],
    ['kgf', 9.80665],
    ['bar', 1e5],
    ['kPa', 1e3],
    ['MPa', 1e6],
    ['psi', 6894.757293168361],
    ['g', 1e-3],
    ['kg', 1],
    ['lb', 0.45359237],
  ])('one %s', (symbol, si) => {
    expect(relative(toSI(1, unit(symbol)), si)).toBeLessThan(1e-15 * 4);
  });

  // The rounded factors that SP 811 prints in appendix B.8 (seven figures), as a check of the digits above.
  test.each([
    ['lbf·ft', 1.355818],
    ['lbf·in', 1.129848e-1],
    ['lbf', 4.448222],
    ['psi', 6.894757e3],
    ['qt', 9.463529e-4],
  ])('one %s agrees with the seven figures printed in SP 811', (symbol, printed) => {
    expect(Number(toSI(1, unit(symbol)).toPrecision(7))).toBe(printed);
  });

  // SP 811, appendix B.8, seven figures: gallon and fluid ounce (U.S.), gallon, pint's share and fluid ounce (Imperial), as so many of ours.
  test.each([
    ['US gallon', 4, 'qt', 3.785412e-3],
    ['US fluid ounce', 1 / 32, 'qt', 2.957353e-5],
    ['US liquid pint', 1 / 2, 'qt', 4.731765e-4],
    ['imperial gallon', 8, 'pt', 4.54609e-3],
    ['imperial fluid ounce', 1 / 20, 'pt', 2.841306e-5],
    ['foot', 12, 'in', 0.3048],
    ['mil', 1e-3, 'in', 2.54e-5],
    ['ounce', 1 / 16, 'lb', 2.834952e-2],
    ['kip', 1000, 'lbf', 4.448222e3],
    ['kip per square inch', 1000, 'psi', 6.894757e6],
    ['ounce-force inch', 1 / 16, 'lbf·in', 7.061552e-3],
    ['pound-force inch, twelfth of the foot', 1 / 12, 'lbf·ft', 1.129848e-1],
    ['kilogram-force per hundred newton metres', 1, 'kgf·m', 9.80665],
  ])('%s: %d %s', (_, value, symbol, printed) => {
    expect(Number(toSI(value, unit(symbol)).toPrecision(7))).toBe(printed);
  });

  test('every unit of the language is among the tested ones', () => {
    const temperatures = ['°C', '°F', 'K'];
    expect(units.map(({ symbol }) => symbol).filter((symbol) => !temperatures.includes(symbol))).toHaveLength(29);
  });
});

describe('temperatures', () => {
  // SP 811, B.8: K = °C + 273.15; K = (°F + 459.67)/1.8.
  test.each([
    [0, '°C', 273.15],
    [100, '°C', 373.15],
    [212, '°F', 373.15],
    [32, '°F', 273.15],
    [-459.67, '°F', 0],
    [-40, '°F', 233.15],
    [-40, '°C', 233.15],
  ])('%d %s is %d K', (value, symbol, kelvin) => expect(toSI(value, unit(symbol))).toBeCloseTo(kelvin, 10));

  test('differences have no zero point: 80 to 90 K are 144 to 162 °F', () => {
    expect(convertDifference(80, unit('K'), unit('°F'))).toBeCloseTo(144, 12);
    expect(convertDifference(90, unit('°C'), unit('°F'))).toBeCloseTo(162, 12);
    expect(convert(80, unit('°C'), unit('°F'))).toBeCloseTo(176, 12);
  });
});

describe('against mathjs', () => {
  // Its psi is off by 6e-11; its pint is the US one and left out.
  const names: Record<string, string> = {
    N·m: 'N m',
    lbf·ft: 'lbf ft',
    lbf·in: 'lbf in',
    kgf·m: 'kgf m',
    kgf·cm: 'kgf cm',
    mm: 'mm',
    µm: 'um',
    m: 'm',
    in: 'in',
    '°': 'deg',
    '°C': 'degC',
    '°F': 'degF',
    K: 'K',
    s: 's',
    min: 'minute',
    h: 'hour',
    d: 'day',
    L: 'L',
    mL: 'mL',
    qt: 'qt',
    N: 'N',
    kN: 'kN',
    lbf: 'lbf',
    kgf: 'kgf',
    bar: 'bar',
    kPa: 'kPa',
    MPa: 'MPa',
    psi: 'psi',
    g: 'g',
    kg: 'kg',
    lb: 'lbm',
  };
  const pairs = units.flatMap((from) =>
    unitsOfKind(from.kind)
      .filter((to) => to !== from && names[from.symbol] !== undefined && names[to.symbol] !== undefined)
      .map((to) => [from.symbol, to.symbol] as const),
  );
  test('all pairs but those of the pint are compared', () => {
    const all = units.reduce((sum, { kind }) => sum + unitsOfKind(kind).length - 1, 0);
    expect(pairs).toHaveLength(all - 6);
  });
  test.each(pairs)('%s in %s', (from, to) => {
    for (const value of [0.04, 1, 18, 62, 1234.5]) {
      const theirs = mathjs.unit(value, names[from]!).toNumber(names[to]!);
      expect(relative(convert(value, unit(from), unit(to)), theirs)).toBeLessThan(1e-9);
    }
  });
});

describe('round trips', () => {
  const anyPair = fc
    .constantFrom(...units)
    .chain((from) => fc.tuple(fc.constant(from), fc.constantFrom(...unitsOfKind(from.kind))));
  const amount = fc.double({ min: 1e-6, max: 1e6, noNaN: true });

  test('there and back gives the same value', () => {
    fc.assert(
      fc.property(anyPair, amount, ([from, to], value) => {
        const back = convert(convert(value, from, to), to, from);
        // A zero point of its own costs digits of small values.
        const lost = from.kind === 'temperature' ? 1e-9 : 0;
        expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-12 * value + lost);
      }),
    );
  });
  test('SI and back', () => {
    fc.assert(
      fc.property(fc.constantFrom(...units), amount, (each, value) => {
        const lost = each.kind === 'temperature' ? 1e-9 : 0;
        expect(Math.abs(fromSI(toSI(value, each), each) - value)).toBeLessThanOrEqual(1e-12 * value + lost);
      }),
    );
  });
  test('a difference adds to a temperature in any unit', () => {
    const temperatures = fc.constantFrom(unit('°C'), unit('°F'), unit('K'));
    const degrees = fc.double({ min: -200, max: 500, noNaN: true });
    fc.assert(
      fc.property(temperatures, temperatures, degrees, degrees, (from, to, at, rise) => {
        const sum = convert(at, from, to) + convertDifference(rise, from, to);
        expect(sum).toBeCloseTo(convert(at + rise, from, to), 8);
      }),
    );
  });
});

describe('extents', () => {
  test('a single value is as wide as nothing', () =>
    expect(extentOf(read('25 N·m'))).toEqual({ kind: 'torque', low: 25, high: 25 }));
  test('a range reaches from end to end, whichever stands first', () => {
    expect(extentOf(read('20..100 N·m'))).toEqual({ kind: 'torque', low: 20, high: 100 });
    expect(extentOf(read('100..20 N·m'))).toEqual({ kind: 'torque', low: 20, high: 100 });
  });
  test('a tolerance spreads to both sides, in either spelling', () => {
    expect(extentOf(read('25 ± 2 N·m'))).toEqual({ kind: 'torque', low: 23, high: 27 });
    expect(extentOf(read('25 +/- 2 N·m'))).toEqual({ kind: 'torque', low: 23, high: 27 });
  });
  test('the tolerance of a temperature is a difference', () => {
    const extent = extentOf(read('176 ± 9 °F'))!;
    expect(extent.low).toBeCloseTo(273.15 + 75, 9);
    expect(extent.high).toBeCloseTo(273.15 + 85, 9);
  });
  test('no unit, no extent', () => {
    expect(extentOf(read('25'))).toBeUndefined();
    expect(extentOf(undefined)).toBeUndefined();
  });
  test('the value of a range is its middle, and of another kind nothing', () => {
    expect(siValueOf(read('20..30 N·m'), 'torque')).toBe(25);
    expect(siValueOf(read('20..30 N·m'), 'length')).toBeUndefined();
  });
});

describe('as rounded', () => {
  test.each([
    ['18', 1],
    ['18.4', 0.1],
    ['0.0004', 0.0001],
    ['20', 1],
    ['120', 1],
    ['1110', 10],
    ['1234', 1],
    ['1201', 1],
    ['0120', 1],
    ['100000', 1000],
    ['2700', 10],
    ['12000', 100],
    ['-20', 1],
    ['18.0', 0.1],
    ['0', 1],
  ])('%s was rounded to steps of %d', (image, step) => expect(roundingStep(literal(image))).toBeCloseTo(step, 12));

  test.each([
    [18.439, '18', true],
    [18.439, '18.4', true],
    [18.439, '18.44', true],
    [18.439, '18.5', false],
    [18.439, '19', false],
    [18.439, '20', false],
    [18.5, '18', true],
    [18.5, '19', true],
    [18.51, '18', false],
    [2697.7, '2700', true],
    [2697.7, '2698', true],
    [2697.7, '2690', false],
    [0.00177, '0.0018', true],
    [0.00177, '0.0017', false],
    [-4, '-4', true],
  ])('%d as %s: %s', (exact, image, agrees) => expect(agreesAsRounded(exact, literal(image))).toBe(agrees));

  test('whatever is rounded to its digits agrees, and a step further off does not', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-3, max: 1e5, noNaN: true }),
        fc.integer({ min: 1, max: 4 }),
        (exact, decimals) => {
          const image = exact.toFixed(decimals);
          const step = 10 ** -decimals;
          expect(agreesAsRounded(exact, literal(image))).toBe(true);
          expect(agreesAsRounded(exact, literal((Number(image) + 2 * step).toFixed(decimals)))).toBe(false);
        },
      ),
    );
  });

  test('a restatement that Fettle writes agrees with the first value and stays within one percent of it', () => {
    const metric = units.filter(({ system }) => system === 'metric');
    const imperial = units.filter(({ system }) => system === 'imperial');
    const number = fc.integer({ min: 1, max: 99_999 }).map((n) => String(n / 10 ** (n % 3)));
    fc.assert(
      fc.property(
        fc.constantFrom(...metric, ...imperial),
        number,
        fc.constantFrom('', '..', ' ± '),
        (from, image, joint) => {
          const system = from.system === 'metric' ? 'imperial' : 'metric';
          const second = joint === ' ± ' ? String(Number(image) / 10) : `${Number(image) + 7}`;
          const quantity = read(joint === '' ? `${image} ${from.symbol}` : `${image}${joint}${second} ${from.symbol}`);
          const written = restatement(quantity, from, system);
          const again = read(written);
          const to = again.unit!.unit!;
          expect(to.system).toBe(system);
          for (const [i, printed] of again.numbers.entries()) {
            const value = quantity.numbers[i]!.value;
            const exact = i === 1 && joint === ' ± ' ? convertDifference(value, from, to) : convert(value, from, to);
            expect(agreesAsRounded(exact, printed), `${written} for ${exact}`).toBe(true);
            if (from.kind !== 'temperature') expect(relative(printed.value, exact)).toBeLessThan(0.01);
          }
        },
      ),
    );
  });
});

describe('figures for people', () => {
  test.each([
    [0, '0'],
    [18.439, '18.4'],
    [1000, '1000'],
    [12_345.6, '12346'],
    [0.000123456, '0.000123'],
    [25, '25'],
    [-40, '-40'],
    [99.96, '100'],
    [Number.NaN, '–'],
    [Number.POSITIVE_INFINITY, '–'],
    [3.937e-15, '0.00000000000000394'],
    [-3.937e-15, '-0.00000000000000394'],
    [1e-300, '0'],
  ])('%d is written %s', (value, text) => expect(figure(value)).toBe(text));

  test('whatever is told can be read again as the number that it tells', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -Number.MAX_SAFE_INTEGER, max: Number.MAX_SAFE_INTEGER, noNaN: true }),
        fc.integer({ min: 1, max: 6 }),
        (value, digits) => {
          const text = figure(value, digits);
          expect(text).toMatch(/^-?\d+(?:\.\d+)?$/);
          expect(Math.abs(Number(text) - value)).toBeLessThanOrEqual(Math.abs(value) * 10 ** (1 - digits) + 1e-100);
        },
      ),
    );
  });

  test('an angle keeps its sign close, other units stand apart', () => {
    expect(say(90, unit('°'))).toBe('90°');
    expect(say(25, unit('N·m'))).toBe('25 N·m');
  });
  test('a quantity in another unit: range, tolerance, difference', () => {
    expect(writtenIn(read('20..25 N·m'), unit('lbf·ft'))).toBe('14.8..18.4 lbf·ft');
    expect(writtenIn(read('80 ± 5 °C'), unit('°F'))).toBe('176 ± 9 °F');
    expect(writtenIn(read('25 N·m'), unit('mm'))).toBeUndefined();
  });
  test('a length that is written to the hundredth keeps it in another unit, and a band its width', () => {
    // 1 in = 25.4 mm (ISO 31-1, now ISO 80000-3).
    expect(writtenIn(read('24.985..25.000 mm'), unit('in'))).toBe('0.98366..0.98425 in');
    expect(writtenIn(read('28.060 mm'), unit('in'))).toBe('1.10472 in');
    expect(writtenIn(read('1.1047 in'), unit('mm'))).toBe('28.059 mm');
    expect(writtenIn(read('0.9837..0.9843 in'), unit('mm'))).toBe('24.986..25.001 mm');
    expect(writtenIn(read('25 ± 0.05 mm'), unit('in'))).toBe('0.9843 ± 0.00197 in');
    expect(writtenIn(read('1000..1002 N·m'), unit('lbf·ft'))).toBe('737.6..739 lbf·ft');
    // What is no finer than three digits stays at three.
    expect(writtenIn(read('60 mm'), unit('in'))).toBe('2.36 in');
    expect(writtenIn(read('0.10..0.40 mm'), unit('in'))).toBe('0.00394..0.0157 in');
    expect(writtenIn(read('112.5 N·m'), unit('lbf·ft'))).toBe('83 lbf·ft');
    expect(writtenIn(read('10..45 µm'), unit('in'))).toBe('0.000394..0.00177 in');
  });
  test('what is written loses no more than half its last place, and no more than a twentieth of its band', () => {
    const number = fc
      .tuple(fc.integer({ min: 1, max: 99_999 }), fc.integer({ min: 0, max: 3 }))
      .map(([whole, decimals]) => (whole / 10 ** decimals).toFixed(decimals));
    fc.assert(
      fc.property(number, number, fc.constantFrom('mm', 'in'), (one, other, symbol) => {
        const [low, high] = Number(one) < Number(other) ? [one, other] : [other, one];
        const quantity = read(`${low}..${high} ${symbol}`);
        const to = symbol === 'mm' ? 'in' : 'mm';
        const back = read(writtenIn(quantity, unit(to))!).numbers.map(({ value }) =>
          convert(value, unit(to), unit(symbol)),
        );
        const decimals = Math.max(...[low, high].map((each) => each.split('.')[1]?.length ?? 0));
        const width = Number(high) - Number(low);
        for (const [i, value] of [low, high].entries()) {
          const lost = Math.abs(back[i]! - Number(value));
          if (decimals > 0) expect(lost).toBeLessThanOrEqual(0.5 * 10 ** -decimals + 1e-9);
          if (width > 0) expect(lost).toBeLessThanOrEqual(width / 20 + 1e-9);
        }
      }),
    );
  });
});
