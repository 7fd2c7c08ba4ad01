import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { adapterSetting, rangeUse, torqueAtSetting } from '../../server/src/mechanics/wrench.ts';
import { between } from './sane.ts';

describe('adapters', () => {
  it('setting and torque invert each other, at any angle that leaves an arm', () => {
    fc.assert(
      fc.property(
        between(0, 1000),
        between(100, 2000),
        between(0, 99),
        between(-720, 720),
        (torque, wrench, extension, angle) => {
          const adapter = { wrench, extension, angle };
          expect(torqueAtSetting(adapterSetting(torque, adapter)!, adapter)).toBeCloseTo(torque, 8);
        },
      ),
    );
  });

  it('is the same in any unit of length, and to either side', () => {
    fc.assert(
      fc.property(
        between(1, 500),
        between(200, 900),
        between(0, 100),
        between(0, 360),
        between(0.01, 100),
        (t, wrench, extension, angle, k) => {
          const setting = adapterSetting(t, { wrench, extension, angle })!;
          expect(adapterSetting(t, { wrench: k * wrench, extension: k * extension, angle })! / setting).toBeCloseTo(
            1,
            9,
          );
          expect(adapterSetting(t, { wrench, extension, angle: -angle })! / setting).toBeCloseTo(1, 9);
        },
      ),
    );
  });

  it('lowers the setting for a forward extension, raises it for a backward one, and refuses one past the grip', () => {
    expect(adapterSetting(100, { wrench: 400, extension: 50 })).toBeLessThan(100);
    expect(adapterSetting(100, { wrench: 400, extension: 50, angle: 180 })).toBeGreaterThan(100);
    expect(adapterSetting(100, { wrench: 40, extension: 50, angle: 180 })).toBeUndefined();
    expect(adapterSetting(100, { wrench: 40, extension: 40, angle: 180 })).toBeUndefined();
  });

  it('takes an adapter for straight whose angle is not told', () => {
    expect(adapterSetting(100, { wrench: 400, extension: 100 })).toBe(80);
    expect(torqueAtSetting(80, { wrench: 400, extension: 100 })).toBe(100);
  });

  it('refuses figures that are none: the bare torque would be taken for the setting', () => {
    expect(adapterSetting(100, { wrench: Number.NaN, extension: 100 })).toBeUndefined();
    expect(adapterSetting(100, { wrench: 400, extension: -100 })).toBeUndefined();
    expect(adapterSetting(100, { wrench: 400, extension: 100, angle: Number.NaN })).toBeUndefined();
  });
});

describe('range', () => {
  it.each([
    [4, 'below'],
    [5, 'low'],
    [19.9, 'low'],
    [20, 'good'],
    [100, 'good'],
    [100.1, 'above'],
  ] as const)('%d N·m of 5..100 is %s', (torque, verdict) => {
    expect(rangeUse(torque, 5, 100)).toEqual({ verdict, share: torque / 100 });
  });

  // lbf·ft and inch as in NIST SP 811: 25 lbf·ft at a 16 in wrench with 4 in more is 20 lbf·ft, the lower mark itself.
  it.each([
    [25, 20, 150, 'low'],
    [187.5, 20, 150, 'good'],
    [37.5, 5, 150, 'good'],
  ] as const)('%d lbf·ft through an adapter of a quarter stays at the mark of %d..%d', (torque, from, to, verdict) => {
    const newtonMetres = 1.3558179483314;
    const setting = adapterSetting(torque * newtonMetres, { wrench: 16 * 25.4, extension: 4 * 25.4 })!;
    for (const off of [1 - 1e-15, 1, 1 + 1e-15])
      expect(rangeUse(setting * off, from * newtonMetres, to * newtonMetres)?.verdict).toBe(verdict);
  });

  it('a wrench that is set for one torque suits that one', () => {
    expect(rangeUse(25, 25, 25)).toEqual({ verdict: 'good', share: 1 });
    expect(rangeUse(24, 25, 25)?.verdict).toBe('below');
    expect(rangeUse(25, 26, 25)).toBeUndefined();
  });
});
