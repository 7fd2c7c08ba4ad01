import { expect } from 'vitest';

/** Agreement within a share of the published value, such as 0.005 for a table rounded to three figures. */
export function expectNear(computed: number | undefined, published: number, share: number): void {
  expect(computed, `nothing computed for ${published}`).toBeDefined();
  const off = Math.abs(computed! - published) / Math.abs(published);
  expect(off, `computed ${computed}, published ${published}`).toBeLessThanOrEqual(share);
}

/** Agreement as rounded: within half a unit of the last figure published. */
export function expectRounded(computed: number | undefined, published: number, unit: number): void {
  expect(computed, `nothing computed for ${published}`).toBeDefined();
  const off = Math.abs(computed! - published);
  expect(off, `computed ${computed}, published ${published}`).toBeLessThanOrEqual(unit / 2 + 1e-9);
}
