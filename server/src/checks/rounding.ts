import { decimalsOf, figure } from '../model/quantity.ts';

/** Beyond these, figures differ by no more than how they were reckoned. */
const most = 12;

/** Significant digits, `least` or as many more as it takes, with which two figures that differ are not printed alike. */
export function digitsApart(one: number, other: number, least = 3): number {
  let digits = least;
  while (digits < most && figure(one, digits) === figure(other, digits)) digits++;
  return digits;
}

/** The nearest number of three significant digits that is not below `value`: what must at least be reached. */
export const roundedUp = (value: number): number => rounded(value, Math.ceil, -1);

/** The nearest number of three significant digits that is not above `value`: what must not be passed. */
export const roundedDown = (value: number): number => rounded(value, Math.floor, 1);

/** As many decimals as `figure` prints. */
function rounded(value: number, towards: (value: number) => number, against: 1 | -1): number {
  if (value === 0 || !Number.isFinite(value)) return value;
  const scale = 10 ** decimalsOf(value, 3);
  // What is whole but for how it was reckoned stays.
  return towards(value * scale + against * Math.max(1, Math.abs(value * scale)) * 1e-9) / scale;
}
