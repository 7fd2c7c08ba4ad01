import { describe, expect, it } from 'vitest';
import { chooseShims, type ShimChoice } from '../../server/src/mechanics/shims.ts';

describe('published shim arithmetic', () => {
  // Read: 0.65 trial + 0.30 measured + 0.20 preload = 1.15 mm, from stock 0.65 to 1.40 by 0.05 mm.
  it('preload adds', () => {
    const stock = Array.from({ length: 16 }, (_, i) => ({ thickness: 650 + 50 * i }));
    const choice = chooseShims(650 + 300, { kind: 'preload', low: 200, high: 200 }, stock) as ShimChoice;
    expect(choice).toEqual({ reached: true, stack: { pieces: [1150], total: 1150, result: 200 } });
  });

  // Read: 11.70 − 11.30 − 0.05 = 0.35 mm. The stock is invented.
  it('end play subtracts', () => {
    const stock = [100, 150, 200, 500].map((thickness) => ({ thickness }));
    const choice = chooseShims(11_700 - 11_300, { kind: 'endplay', low: 50, high: 50 }, stock) as ShimChoice;
    expect(choice).toEqual({ reached: true, stack: { pieces: [200, 150], total: 350, result: 50 } });
  });

  // Recomputed: 0.010 in + 0.002 in is exactly 304.8 µm.
  it('is exact in thousandths of an inch', () => {
    const stock = [2, 3, 5, 10].map((thou) => ({ thickness: thou * 25.4 }));
    const choice = chooseShims(14 * 25.4, { kind: 'endplay', low: 2 * 25.4, high: 2 * 25.4 }, stock) as ShimChoice;
    expect(choice.reached).toBe(true);
    expect(choice.stack.pieces).toEqual([254, 50.8]);
  });
});
