/** What may be said of each declaration and in each statement; `xN`, `text` and `quantity` stand for what begins with no word. */
import type { Statement } from './syntax.ts';
import { conditionWords, type DeclarationWord, type StatementWord, textStatements } from './tokens.ts';

const modifiers = ['text', 'using', 'keep', 'see', 'extension'];
const withCount = ['xN', ...modifiers];
/** The clauses that each kind of statement takes, the usual first. */
export const clausesOf: Readonly<Record<StatementWord, readonly string[]>> = {
  remove: ['xN', 'keep', 'using', 'with', 'spoiled', 'text', 'see', 'extension'],
  disconnect: withCount,
  discard: withCount,
  replace: withCount,
  fit: ['xN', 'using', 'with', 'text', 'keep', 'see', 'extension'],
  connect: withCount,
  swap: withCount,
  transfer: withCount,
  omit: withCount,
  try: modifiers,
  loosen: [...withCount, 'order'],
  tighten: ['to', 'in', 'order', 'using', 'by', 'at', 'then', 'xN', 'extension', 'text', 'keep', 'see'],
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
/** The properties that each kind of declaration takes, the usual first. */
export const propertiesOf: Readonly<Record<DeclarationWord, readonly string[]>> = {
  part: [
    'xN',
    'text',
    'held',
    'behind',
    'carried',
    'thread',
    'class',
    'grade',
    'torque',
    'then',
    'length',
    'holes',
    ...conditionWords,
    'prevailing',
    'head',
    'renew',
    'lead',
    'index',
    'hazard',
    'bore',
    'interference',
    'diameter',
    'limit',
    'sealed',
    'greased',
    'number',
  ],
  tool: ['text', 'range', 'xN', 'lead', 'number', 'hazard'],
  supply: ['text', 'quantity', 'spec', 'cure', 'hazard', 'lead', 'number', 'xN'],
  pattern: ['circle', 'points', 'angles', 'diameter', 'text'],
};
export const headClauses: readonly string[] = ['text', 'applies', 'code', 'measures'];
export const stepClauses: readonly string[] = ['text', 'takes', 'after'];
/** Clauses that may stand more than once and add up. */
export const repeatable: ReadonlySet<string> = new Set(['held', 'behind', 'hazard', 'using', 'after', 'applies']);
/** To each of these clauses, those that cannot stand beside it: they say otherwise what it says. */
export const rivalsOf: ReadonlyMap<string, readonly string[]> = new Map([
  ['class', ['grade']],
  ['grade', ['class']],
  ...conditionWords.map((condition) => [condition, conditionWords.filter((other) => other !== condition)] as const),
  ['circle', ['points']],
  ['angles', ['points']],
  ['diameter', ['points']],
  ['points', ['circle', 'angles', 'diameter']],
  ['by', ['to', 'in', 'then']],
  ['to', ['by']],
  ['in', ['by']],
  ['then', ['by']],
]);
/** The kind of quantity that each of these statements sets. */
export const setBy: Readonly<Record<string, string>> = {
  tighten: 'torque',
  press: 'force',
  heat: 'temperature',
  cool: 'temperature',
};
/** Statements that act on a supply. */
export const supplied: ReadonlySet<string> = new Set(['drain', 'fill', 'apply']);
export const needsText: ReadonlySet<string> = new Set(['omit', ...textStatements]);

/** What a statement needs and has not, in words. */
export function lackOf(statement: Statement): string | undefined {
  const { kind } = statement;
  if (needsText.has(kind) && statement.text === undefined) return 'a text in double quotes';
  if (kind === 'wait' && statement.amount === undefined) return 'a time such as `60 min`';
  if (kind === 'fill' && statement.amount === undefined) return 'a quantity such as `1.8 L`';
  if ((kind === 'heat' || kind === 'cool') && statement.to === undefined) return '`to` and a temperature';
  if (kind === 'tighten' && statement.angle !== undefined && statement.to === undefined)
    return '`to 40 N·m` before `then`';
  return undefined;
}
