import * as fc from 'fast-check';

/** The first figure in a value that is NaN or infinite, with its path; undefined if all are sound. */
export function unsound(value: unknown, path = ''): string | undefined {
  if (typeof value === 'number') return Number.isFinite(value) ? undefined : `${path}: ${value}`;
  if (typeof value !== 'object' || value === null) return undefined;
  for (const [key, part] of Object.entries(value)) {
    const found = unsound(part, `${path}.${key}`);
    if (found) return found;
  }
  return undefined;
}

/** Any number at all, among them NaN, infinities, zero, tiny, huge and negative ones. */
export const anyNumber = fc.oneof(
  fc.double(),
  fc.double({ min: -1000, max: 1000 }),
  fc.integer({ min: -20, max: 600 }),
  fc.constantFrom(0, -0, 1e-12, 1e12, 1e-300, 1e300, Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY),
);

/** A usual figure between two bounds, never NaN. */
export const between = (min: number, max: number) => fc.double({ min, max, noNaN: true });
