import type { Declaration, Name, Statement, Step } from '../../../grammar/syntax.ts';

/** What a name in the text can stand for. */
export type NameKind = 'part' | 'tool' | 'supply' | 'pattern' | 'step' | 'reading' | 'code';

export interface Reference {
  readonly name: Name;
  readonly kind: NameKind;
}

const actsOnSupply: ReadonlySet<string> = new Set(['drain', 'fill', 'apply']);

/**
 * Every name that `statement` itself refers to (not those of its branches). A `measure` defines its reading instead.
 * `isSupply` tells which names stand for a supply only: `omit` takes those as well as parts.
 */
export function referencesOf(statement: Statement, isSupply: (name: string) => boolean = () => false): Reference[] {
  const found: Reference[] = [];
  const add = (name: Name | undefined, kind: NameKind): void => {
    if (name !== undefined) found.push({ name, kind });
  };
  if (statement.kind === 'unknown') return found;
  const onSupply =
    actsOnSupply.has(statement.kind) || (statement.kind === 'omit' && isSupply(statement.name?.text ?? ''));
  if (statement.kind !== 'measure') add(statement.name, onSupply ? 'supply' : 'part');
  add(statement.source, 'part');
  for (const name of statement.targets ?? []) add(name, 'part');
  for (const { name } of statement.together ?? []) add(name, 'part');
  for (const name of statement.using ?? []) add(name, 'tool');
  add(statement.gap, 'reading');
  for (const name of statement.codes ?? []) add(name, 'code');
  return found;
}

/** Every name that a declaration refers to. */
export function referencesOfDeclaration(declaration: Declaration): Reference[] {
  const found: Reference[] = [];
  for (const name of declaration.heldBy) found.push({ name, kind: 'part' });
  for (const name of declaration.behind) found.push({ name, kind: 'part' });
  if (declaration.carriedBy !== undefined) found.push({ name: declaration.carriedBy, kind: 'part' });
  if (declaration.holes !== undefined) found.push({ name: declaration.holes, kind: 'pattern' });
  return found;
}

export const referencesOfStep = (step: Step): Reference[] => step.after.map((name) => ({ name, kind: 'step' }));
