import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boreLimits, fit, shaftLimits, standardTolerance } from '../../server/src/mechanics/fits.ts';
import { between } from './sane.ts';

const SHAFTS = ['g5', 'g6', 'h5', 'h6', 'h7', 'h8', 'js5', 'js6', 'k5', 'k6', 'm5', 'm6', 'n5', 'n6', 'p6', 'r6'];
const BORES = ['H6', 'H7', 'H8', 'G7', 'JS7', 'K7', 'M7', 'N7', 'P7'];
const diameter = between(1, 500);

describe('limits', () => {
  it('are as far apart as their grade, at every size from 1 to 500 mm', () => {
    fc.assert(
      fc.property(diameter, fc.constantFrom(...SHAFTS), fc.constantFrom(...BORES), (d, shaft, bore) => {
        const [s, b] = [shaftLimits(d, shaft)!, boreLimits(d, bore)!];
        expect(s.upper - s.lower).toBe(standardTolerance(d, Number(shaft.at(-1))));
        expect(b.upper - b.lower).toBe(standardTolerance(d, Number(bore.at(-1))));
      }),
    );
  });

  it('grow tighter from g to r and from G to P', () => {
    fc.assert(
      fc.property(diameter, (d) => {
        const lows = ['g6', 'h6', 'js6', 'k6', 'm6', 'n6', 'p6', 'r6'].map((c) => shaftLimits(d, c)!.lower);
        expect(lows).toEqual([...lows].sort((a, b) => a - b));
        const highs = ['G7', 'H7', 'JS7', 'K7', 'M7', 'N7', 'P7'].map((c) => boreLimits(d, c)!.upper);
        expect(highs).toEqual([...highs].sort((a, b) => b - a));
      }),
    );
  });

  it('a fit and its mirror are the same: H7/k6 as K7/h6, within the Δ rule', () => {
    fc.assert(
      fc.property(between(3.001, 500), fc.constantFrom('K', 'M', 'N', 'P'), (d, letter) => {
        const hole = fit(d, `H7/${letter.toLowerCase()}6`)!.interference;
        expect(fit(d, `${letter}7/h6`)!.interference).toEqual(hole);
      }),
    );
  });

  it('the band is the sum of the grades', () => {
    fc.assert(
      fc.property(diameter, fc.constantFrom(...SHAFTS), fc.constantFrom(...BORES), (d, shaft, bore) => {
        const { interference, kind } = fit(d, `${bore}/${shaft}`)!;
        const widths = [shaft, bore].map((name) => standardTolerance(d, Number(name.at(-1)))!);
        expect(interference.max - interference.min).toBe(widths[0]! + widths[1]!);
        expect(kind === 'interference').toBe(interference.min > 0);
        expect(kind === 'clearance').toBe(interference.max <= 0);
      }),
    );
  });

  it.each(['H7', 'H7/', '/k6', 'H7/k6/m6', 'k6/H7', 'H7/z6', 'H4/k6', 'K8/h7', 'H7/k8', '', '__proto__/k6'])(
    '%s is no fit',
    (text) => {
      expect(fit(50, text)).toBeUndefined();
    },
  );

  it.each([0, 0.99, 500.01, -50, Number.NaN, Number.POSITIVE_INFINITY])('%d mm is out of the tables', (d) => {
    expect(fit(d, 'H7/k6')).toBeUndefined();
  });

  // ISO 286-1 (from memory): K, M, N and P of grade 5 have steps of their own, which are not here.
  it.each(['K5', 'M5', 'N5', 'P5', 'K8', 'P9'])('%s is not told', (name) => {
    for (const diameter of [2, 50]) expect(boreLimits(diameter, name)).toBeUndefined();
  });
});
