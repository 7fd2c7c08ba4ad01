import type { Declaration, Name, Statement, Step } from '../../../grammar/syntax.ts';

/** What a name in the text can stand for. */
export type NameKind = 'part' | 'tool' | 'supply' | 'pattern' | 'step' | 'reading' | 'code';

export interface Reference {
  readonly name: Name;
  readonly kind: NameKind;
}

type Found = (name: Name, kind: NameKind) => void;

/**
 * Finds every name that `statement` itself refers to (not those of its branches), in the order of the text. A `measure`
 * defines its reading instead. `isSupply` tells which names stand for a supply only: `omit` takes those as well as parts.
 */
export function eachReference(statement: Statement, found: Found, isSupply?: (name: string) => boolean): void {
  const { kind, name, source, targets, together, using, gap, codes } = statement;
  if (kind === 'unknown') return;
  if (name !== undefined && kind !== 'measure') {
    const onSupply =
      kind === 'drain' ||
      kind === 'fill' ||
      kind === 'apply' ||
      (kind === 'omit' && isSupply !== undefined && isSupply(name.text));
    found(name, onSupply ? 'supply' : 'part');
  }
  if (source !== undefined) found(source, 'part');
  if (targets !== undefined) for (const target of targets) found(target, 'part');
  if (together !== undefined) for (const each of together) found(each.name, 'part');
  if (using !== undefined) for (const tool of using) found(tool, 'tool');
  if (gap !== undefined) found(gap, 'reading');
  if (codes !== undefined) for (const code of codes) found(code, 'code');
}

/** As {@link eachReference}, in a list. */
export function referencesOf(statement: Statement, isSupply?: (name: string) => boolean): Reference[] {
  const references: Reference[] = [];
  eachReference(statement, (name, kind) => references.push({ name, kind }), isSupply);
  return references;
}

/** Finds every name that a declaration refers to. */
export function eachReferenceOfDeclaration({ heldBy, behind, carriedBy, holes }: Declaration, found: Found): void {
  for (const name of heldBy) found(name, 'part');
  for (const name of behind) found(name, 'part');
  if (carriedBy !== undefined) found(carriedBy, 'part');
  if (holes !== undefined) found(holes, 'pattern');
}

/** As {@link eachReferenceOfDeclaration}, in a list. */
export function referencesOfDeclaration(declaration: Declaration): Reference[] {
  const references: Reference[] = [];
  eachReferenceOfDeclaration(declaration, (name, kind) => references.push({ name, kind }));
  return references;
}

export const referencesOfStep = (step: Step): Reference[] => step.after.map((name) => ({ name, kind: 'step' }));
