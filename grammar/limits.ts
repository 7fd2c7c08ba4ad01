/** Alternatives within alternatives, at most. */
export const maxNesting = 32;
/** Codes that one procedure may cover. */
export const mostCodes = 200;
/** Of one part on one unit; also keeps a slip of the keyboard from being counted out. */
export const maxCount = 9999;

/** Hundreds of digits would be Infinity, and so would all that is reckoned with them. */
export const finite = (value: number): number =>
  Math.max(-Number.MAX_SAFE_INTEGER, Math.min(value, Number.MAX_SAFE_INTEGER));
