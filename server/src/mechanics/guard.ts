/**
 * What counts as a number one can compute with. Every public function of the mechanics answers `undefined` outside
 * these ranges, so that no product or quotient of accepted figures overflows into NaN or Infinity.
 */

const LEAST = 1e-12;
const GREATEST = 1e12;

/** A quantity above zero: 1e-12 to 1e12 in whatever unit the caller states. */
export const isPositive = (x: number | undefined): x is number => x !== undefined && x >= LEAST && x <= GREATEST;

/** A quantity that may be zero, and that nothing is divided by: 0 to 1e12. */
export const isAmount = (x: number | undefined): x is number => x !== undefined && x >= 0 && x <= GREATEST;

/** A quantity of either sign, at most 1e12 in size. */
export const isSigned = (x: number | undefined): x is number => x !== undefined && Math.abs(x) <= GREATEST;
