/**
 * The mechanics: plain functions of numbers, with nothing of the language in them. Every function is total: figures it
 * cannot take give `undefined` or a value that names the problem, never an exception, NaN or Infinity.
 * What it computes is a check on a procedure; the maker's data, local codes and licensed practice prevail.
 */
export * from './fits.ts';
export * from './heating.ts';
export * from './orders.ts';
export * from './pipe-threads.ts';
export * from './press.ts';
export * from './schedule.ts';
export * from './shims.ts';
export * from './strength.ts';
export * from './threads.ts';
export * from './torque.ts';
export * from './wrench.ts';
