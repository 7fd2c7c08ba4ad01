/** What may be said of each declaration and in each statement; `xN`, `text` and `quantity` stand for what begins with no word. */
import type { DeclarationWord, StatementWord } from './tokens.ts';

const modifiers = ['text', 'using', 'extension', 'keep', 'see'];
const withCount = ['xN', ...modifiers];
/** The clauses that each kind of statement takes. */
export const clausesOf: Record<StatementWord, readonly string[]> = {
  remove: [...withCount, 'spoiled', 'with'],
  disconnect: withCount,
  discard: withCount,
  replace: withCount,
  fit: [...withCount, 'with'],
  connect: withCount,
  swap: withCount,
  transfer: withCount,
  omit: withCount,
  try: modifiers,
  loosen: [...withCount, 'order'],
  tighten: [...withCount, 'to', 'then', 'in', 'order', 'at', 'by'],
  drain: ['quantity', ...modifiers],
  fill: ['quantity', ...modifiers],
  apply: modifiers,
  wait: ['quantity', ...modifiers],
  heat: ['to', ...withCount],
  cool: ['to', ...withCount],
  press: ['max', ...withCount],
  mark: withCount,
  support: withCount,
  clean: withCount,
  inspect: withCount,
  measure: ['limit', 'max', 'min', ...modifiers],
  shim: withCount,
  sign: modifiers,
  identify: modifiers,
  check: modifiers,
  do: modifiers,
  danger: modifiers,
  warning: modifiers,
  caution: modifiers,
  notice: modifiers,
};
const partProperties = [
  'xN',
  'text',
  'thread',
  'class',
  'grade',
  'dry',
  'oiled',
  'threadlock',
  'length',
  'torque',
  'then',
  'holes',
  'renew',
  'lead',
  'held',
  'behind',
  'carried',
  'index',
  'hazard',
  'bore',
  'interference',
  'limit',
  'sealed',
  'diameter',
  'greased',
  'number',
];
export const propertiesOf: Record<DeclarationWord, readonly string[]> = {
  part: partProperties,
  tool: ['xN', 'text', 'range', 'lead', 'number', 'hazard'],
  supply: ['xN', 'text', 'quantity', 'spec', 'cure', 'hazard', 'lead', 'number'],
  pattern: ['text', 'circle', 'angles', 'diameter', 'points'],
};
export const headClauses: readonly string[] = ['text', 'applies', 'code', 'measures'];
export const stepClauses: readonly string[] = ['text', 'takes', 'after'];
/** Clauses that may stand more than once and add up. */
export const repeatable: ReadonlySet<string> = new Set(['held', 'behind', 'hazard', 'using', 'after', 'applies']);
export const needsText: ReadonlySet<string> = new Set([
  'omit',
  'sign',
  'identify',
  'check',
  'do',
  'danger',
  'warning',
  'caution',
  'notice',
]);
