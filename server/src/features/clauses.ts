import type { DeclarationWord, StatementWord } from '../../../grammar/tokens.ts';

/** A clause by the word that it begins with; `xN` and `text` stand for a count and a text. */
type Clause = string;

const anyStatement: readonly Clause[] = ['text', 'using', 'keep', 'see', 'extension'];
const counted: readonly Clause[] = ['xN', ...anyStatement];

/** What may follow in each statement, the usual first. A test holds this table to the parser. */
export const clausesOf: Readonly<Record<StatementWord, readonly Clause[]>> = {
  remove: ['xN', 'keep', 'using', 'with', 'spoiled', 'text', 'see', 'extension'],
  disconnect: counted,
  discard: counted,
  replace: counted,
  fit: ['xN', 'using', 'with', 'text', 'keep', 'see', 'extension'],
  connect: counted,
  swap: counted,
  transfer: counted,
  omit: counted,
  try: anyStatement,
  loosen: [...counted, 'order'],
  tighten: ['to', 'in', 'order', 'using', 'by', 'at', 'then', 'xN', 'extension', 'text', 'keep', 'see'],
  drain: anyStatement,
  fill: anyStatement,
  apply: anyStatement,
  wait: anyStatement,
  heat: ['to', ...counted],
  cool: ['to', ...counted],
  press: ['max', ...counted],
  mark: counted,
  support: counted,
  clean: counted,
  inspect: counted,
  measure: ['limit', 'max', 'min', ...anyStatement],
  shim: counted,
  sign: anyStatement,
  identify: anyStatement,
  check: anyStatement,
  do: anyStatement,
  danger: anyStatement,
  warning: anyStatement,
  caution: anyStatement,
  notice: anyStatement,
};

export const propertiesOf: Readonly<Record<DeclarationWord, readonly Clause[]>> = {
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
    'dry',
    'oiled',
    'threadlock',
    'renew',
    'lead',
    'index',
    'hazard',
    'bore',
    'interference',
    'limit',
    'sealed',
    'greased',
    'number',
  ],
  tool: ['text', 'range', 'xN', 'lead', 'number', 'hazard'],
  supply: ['text', 'spec', 'cure', 'hazard', 'lead', 'number', 'xN'],
  pattern: ['circle', 'points', 'angles', 'diameter', 'text'],
};

export const headClauses: readonly Clause[] = ['text', 'applies', 'code', 'measures'];
export const stepClauses: readonly Clause[] = ['text', 'takes', 'after'];

/** Clauses that may stand more than once. */
export const repeatable: ReadonlySet<Clause> = new Set(['held', 'behind', 'hazard', 'using', 'after', 'applies']);

/** Clauses without which a statement is not whole, in their order. */
export const requiredOf: Readonly<Partial<Record<string, readonly Clause[]>>> = {
  swap: ['for'],
  transfer: ['from', 'to'],
  try: ['on'],
  apply: ['to'],
  shim: ['gap', 'endplay|preload', 'from'],
  heat: ['to'],
  cool: ['to'],
};

export const followersOf = (segment: string): readonly Clause[] =>
  (clausesOf as Record<string, readonly Clause[]>)[segment] ??
  (propertiesOf as Record<string, readonly Clause[]>)[segment] ??
  (segment === 'procedure' ? headClauses : segment === 'step' ? stepClauses : []);
