import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { defaultSettings, type Settings } from '../../server/src/checks/check.ts';
import { digitsApart, roundedDown, roundedUp } from '../../server/src/checks/rounding.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind, noFiles } from '../../server/src/model/model.ts';
import { figure } from '../../server/src/model/quantity.ts';

const messages = (code: string, text: string, settings: Partial<Settings> = {}): string[] =>
  judge(bind(parse('file:///bench/unit.fettle', text), noFiles), { ...defaultSettings, ...settings }).findings.flatMap(
    (finding) => (finding.code === code ? [finding.message] : []),
  );
const message = (code: string, text: string, settings?: Partial<Settings>): string => {
  const [only, ...more] = messages(code, text, settings);
  expect(more).toEqual([]);
  return only ?? 'nothing';
};

describe('figures that differ are not printed alike', () => {
  const value = fc.double({ min: 1e-6, max: 1e6, noNaN: true });

  test('and show which is the greater', () => {
    fc.assert(
      fc.property(value, fc.double({ min: 1e-8, max: 0.1, noNaN: true }), (less, share) => {
        const more = less * (1 + share);
        const digits = digitsApart(less, more);
        expect(Number(figure(less, digits))).toBeLessThan(Number(figure(more, digits)));
      }),
    );
    expect(digitsApart(20, 30)).toBe(3);
    expect(figure(20, digitsApart(20, 20 + 1e-14))).toBe('20');
  });

  test('a bound is rounded to the side that keeps it', () => {
    fc.assert(
      fc.property(value, fc.boolean(), (size, isBelowZero) => {
        const exact = isBelowZero ? -size : size;
        const slack = Math.max(1, Math.abs(exact)) * 1e-6;
        expect(Number(figure(roundedUp(exact)))).toBeGreaterThanOrEqual(exact - slack);
        expect(Number(figure(roundedDown(exact)))).toBeLessThanOrEqual(exact + slack);
        expect(roundedUp(exact) - roundedDown(exact)).toBeLessThanOrEqual(Math.max(1, Math.abs(exact) / 99));
      }),
    );
    expect([roundedUp(104.4), roundedDown(104.6), roundedDown(-23.41), roundedUp(0), roundedUp(247.99999999999997)])
      // As an inverse of 120 °C in °F comes out.
      .toEqual([105, 104, -23.5, 0, 248]);
  });
});

describe('a message prints no figure like the one that it is held against', () => {
  const bolt = (declared: string, tighten: string, more = ''): string =>
    `part bolt "Bolt" ${declared}\n${more}teardown\n  step open\n    loosen bolt\nreassembly\n  step close\n    ${tighten}\n`;
  const bearing = (mount: string, fit = '10..45 µm'): string =>
    `part race "Bearing" bore 50 mm interference ${fit}
reassembly
  step on
    warning "Hot and cold parts burn. Wear gloves."
    ${mount}
`;
  const wrench = 'tool wrench "Wrench" range 20..100 N·m\n';

  test.each<[string, string, string]>([
    // M8 class 8.8, tensile stress area 36.6 mm² by 580 MPa (ISO 898-1): 21.23 kN.
    ['over-proof', ' 21.24 kN .* 21.23 kN', bolt('thread M8 class 8.8 torque 31.9 N·m', 'tighten bolt')],
    ['odd-size', '^92.03 .* to 92.02 N·m', bolt('thread M8 torque 92.03 N·m', 'tighten bolt')],
    [
      'fill-differs',
      'with 1.8002 L, but 1.8 L',
      'supply oil "Oil" 1.8 L\nteardown\n  step o\n    drain oil\nreassembly\n  step c\n    fill oil 1.8002 L\n',
    ],
    [
      'fill-differs',
      'with 1.8002 L, but 1.80018 L',
      'supply oil "Oil"\nteardown\n  step o\n    drain oil 1.80018 L\nreassembly\n  step c\n    fill oil 1.8002 L\n',
    ],
    [
      'restated-wrong',
      'is 18.439 lbf·ft, not 18.4400 lbf·ft',
      bolt('thread M8 torque 25 N·m (18.4400 lbf·ft)', 'tighten bolt'),
    ],
    [
      'tool-range',
      '100.04 N·m, lies outside .* \\(20..100 N·m',
      bolt('thread M16 torque 110.04 N·m', 'tighten bolt using wrench extension 40 mm on 400 mm', wrench),
    ],
    [
      'tool-range',
      'is only 19.99 %',
      bolt('thread M16 torque 39.98 N·m', 'tighten bolt using wrench', wrench.replace('100', '200')),
    ],
    [
      'adapter-setting',
      'dial in 24.98 N·m for 25 N·m',
      bolt('thread M8 torque 25 N·m', 'tighten bolt using wrench extension 1 mm on 1000 mm', wrench),
    ],
    [
      'not-cured',
      'goes in 18 h 35 min too early: `sealant` cures in 24 h and has had 5 h 25 min; `wait 1115 min` before',
      `part cover "Cover"
supply sealant "Sealant" cure 24 h
supply oil "Oil" 1 L
reassembly
  step close
    apply sealant to cover
    wait 325 min
    fill oil 1 L
`,
    ],
    [
      'not-cured',
      'goes in 1 min too early: `sealant` cures in 60 min and has had 59.5 min; `wait 1 min`',
      `part cover "Cover"
supply sealant "Sealant" cure 60 min
supply oil "Oil" 1 L
reassembly
  step close
    apply sealant to cover
    wait 3570 s
    fill oil 1 L
`,
    ],
    [
      'no-shim',
      'end play 0.1..0.2 mm: .* leaves 0.20004 mm',
      `part shims "Shims"
reassembly
  step set
    measure gap limit 0.50004 mm
    shim shims gap gap endplay 0.1..0.2 mm from 0.3 mm x1
`,
    ],
    // Rounded to the nearest, 104.4 °C were 104 °C.
    ['too-cool', '^104 °C .* at least 105 °C', bearing('heat race to 104 °C', '10..52.75 µm')],
    // 143.2 K from 20 °C: to the nearest, the two did not add up.
    ['too-cool', '^100 °C .* needs 144 K .* at least 164 °C', bearing('heat race to 100 °C', '10..89.5 µm')],
    ['too-cool', '^197 °F .* at least 198 °F', bearing('heat race to 197 °F')],
    ['too-cool', '^-52.3 °C .* at most -52.4 °C', bearing('cool race to -52.3 °C', '10..45.21 µm')],
    ['too-hot', '^393.4 K is past 393 K,', bearing('heat race to 393.4 K')],
  ])('%s: %s', (code, expected, text) => {
    expect(message(code, text)).toMatch(new RegExp(expected));
  });

  test('a limit of the project that is no whole number', () => {
    expect(message('too-hot', bearing('heat race to 121 °C'), { heatLimit: 120.6 })).toMatch('121 °C is past 120 °C');
  });

  test('a temperature that is asked for is enough', () => {
    const kelvin = fc.integer({ min: 20, max: 90 });
    const unit = fc.constantFrom('°C', '°F', 'K');
    fc.assert(
      fc.property(kelvin, unit, fc.constantFrom('heat', 'cool'), (micrometres, symbol, verb) => {
        const at = { '°C': '20', '°F': '68', K: '293' }[symbol];
        const fit = `10..${micrometres}.37 µm`;
        const first = message('too-cool', bearing(`${verb} race to ${at} ${symbol}`, fit));
        const asked = /at (?:least|most) (\S+ \S+),/.exec(first)![1];
        expect(messages('too-cool', bearing(`${verb} race to ${asked}`, fit))).toEqual([]);
      }),
    );
  });
});
