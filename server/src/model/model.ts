import {
  type Chunk,
  type Declaration,
  type Head,
  type Name,
  type PhaseLine,
  type Span,
  type Statement,
  type Step,
  type SyntaxTree,
  type Use,
  walk,
} from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import {
  type NameKind,
  type Reference,
  referencesOf,
  referencesOfDeclaration,
  referencesOfStep,
} from './references.ts';

/** A step in the order of the text, with the phase it stands in. */
export interface StepEntry {
  readonly step: Step;
  readonly phase: PhaseWord | undefined;
  readonly index: number;
}

/** What a name is bound to: a declaration, a step, the `measure` that takes a reading, or a code in the head. */
export type Definition = Declaration | Step | Statement | Name;

export interface UnknownName extends Reference {
  /** Names of the same kind that exist. */
  readonly candidates: readonly string[];
  /** What exists under this name in another kind. */
  readonly otherKind?: NameKind;
}

export interface Duplicate {
  readonly name: Name;
  readonly first: Name;
  readonly kind: NameKind | 'procedure';
  /** Where two shared files declare it, the `use` in this file that brings in the second. */
  readonly use?: Use;
}

export interface UseTrouble {
  readonly use: Use;
  readonly trouble: 'missing' | 'loop' | 'refused';
  readonly reason?: string;
  /** The line in a shared file that has the trouble, where `use` is the one in this file that leads there. */
  readonly inner?: Use;
}

/** One file with everything it `use`s, every name bound. Immutable. */
export interface Model {
  readonly tree: SyntaxTree;
  /** This file first, then every file reached through `use`, each once. */
  readonly files: readonly SyntaxTree[];
  readonly head: Head | undefined;
  /** Heads behind the first. */
  readonly extraHeads: readonly Head[];
  readonly codes: readonly string[];
  readonly measures: 'metric' | 'imperial' | undefined;
  readonly parts: ReadonlyMap<string, Declaration>;
  readonly tools: ReadonlyMap<string, Declaration>;
  readonly supplies: ReadonlyMap<string, Declaration>;
  readonly patterns: ReadonlyMap<string, Declaration>;
  readonly stepNames: ReadonlyMap<string, StepEntry>;
  readonly readings: ReadonlyMap<string, Statement>;
  readonly phases: readonly PhaseLine[];
  readonly steps: readonly StepEntry[];
  /** Declarations that stand in this file itself. */
  readonly ownDeclarations: readonly Declaration[];
  /** Uses in this file, by what they are bound to. */
  readonly referencesTo: ReadonlyMap<Definition, readonly Name[]>;
  readonly unknown: readonly UnknownName[];
  readonly duplicates: readonly Duplicate[];
  readonly useTroubles: readonly UseTrouble[];
  /** Parts that something loosens, tightens, threads or torques. */
  readonly fasteners: ReadonlySet<string>;
}

/** Gives the tree behind a `use` path, or why it cannot be had. */
export type Resolve = (path: string, from: string) => SyntaxTree | { readonly missing: true; readonly reason?: string };

/** A resolver for files that stand alone. */
export const noFiles: Resolve = () => ({ missing: true });

/** The statements of a chunk, in or outside a step. */
export function stepsOfChunk(chunk: Chunk): Step[] {
  const steps: Step[] = [];
  if (chunk.item?.kind === 'step') steps.push(chunk.item);
  if (chunk.strayStep !== undefined) steps.push(chunk.strayStep);
  return steps;
}

const isDeclaration = (item: Chunk['item']): item is Declaration =>
  item !== undefined &&
  (item.kind === 'part' || item.kind === 'tool' || item.kind === 'supply' || item.kind === 'pattern');
const isPhase = (item: Chunk['item']): item is PhaseLine =>
  item !== undefined &&
  (item.kind === 'teardown' || item.kind === 'inspection' || item.kind === 'reassembly' || item.kind === 'proving');

/** Binds every name of `tree`. Total: what cannot be bound is listed. */
export function bind(tree: SyntaxTree, resolve: Resolve = noFiles): Model {
  const files: SyntaxTree[] = [];
  const useTroubles: UseTrouble[] = [];
  const broughtIn = gather(tree, resolve, files, useTroubles);

  const tables: Record<Declaration['kind'], Map<string, Declaration>> = {
    part: new Map(),
    tool: new Map(),
    supply: new Map(),
    pattern: new Map(),
  };
  const duplicates: Duplicate[] = [];
  const ownDeclarations: Declaration[] = [];
  const lost = new Set<string>();
  // Shared files first: what stands twice is reported in the file that the author has open.
  for (const file of [...files.slice(1), tree]) {
    for (const chunk of file.chunks) {
      for (const word of chunk.lostWords) lost.add(word);
      const item = chunk.item;
      if (!isDeclaration(item)) continue;
      if (file === tree) ownDeclarations.push(item);
      if (item.name === undefined) continue;
      const first = tables[item.kind].get(item.name.text);
      if (first === undefined) tables[item.kind].set(item.name.text, item);
      else if (file === tree) duplicates.push({ name: item.name, first: first.name!, kind: item.kind });
      else if (first.chunk.uri !== file.uri)
        duplicates.push({ name: item.name, first: first.name!, kind: item.kind, use: broughtIn.get(file.uri) });
    }
  }

  let head: Head | undefined;
  const extraHeads: Head[] = [];
  const phases: PhaseLine[] = [];
  const steps: StepEntry[] = [];
  const stepNames = new Map<string, StepEntry>();
  const readings = new Map<string, Statement>();
  const fasteners = new Set<string>();
  let phase: PhaseWord | undefined;
  for (const [name, part] of tables.part)
    if (part.thread !== undefined || part.torque !== undefined) fasteners.add(name);
  for (const chunk of tree.chunks) {
    const item = chunk.item;
    if (item?.kind === 'procedure') {
      if (head === undefined) head = item;
      else {
        extraHeads.push(item);
        if (item.name !== undefined && head.name !== undefined) {
          duplicates.push({ name: item.name, first: head.name, kind: 'procedure' });
        }
      }
    } else if (isPhase(item)) {
      phases.push(item);
      phase = item.kind;
    }
    for (const step of stepsOfChunk(chunk)) {
      const entry = { step, phase, index: steps.length };
      steps.push(entry);
      if (step.name !== undefined) {
        const first = stepNames.get(step.name.text);
        if (first === undefined) stepNames.set(step.name.text, entry);
        else duplicates.push({ name: step.name, first: first.step.name!, kind: 'step' });
      }
      for (const statement of walk(step.statements)) {
        if (statement.kind === 'measure' && statement.name !== undefined && !readings.has(statement.name.text)) {
          readings.set(statement.name.text, statement);
        }
        if ((statement.kind === 'loosen' || statement.kind === 'tighten') && statement.name !== undefined) {
          fasteners.add(statement.name.text);
        }
      }
    }
  }

  const codeNames = new Map<string, Name>();
  for (const code of head?.codes ?? []) if (!codeNames.has(code.text)) codeNames.set(code.text, code);
  const definitionOf = (reference: Reference): Definition | undefined => {
    const text = reference.name.text;
    switch (reference.kind) {
      case 'step':
        return stepNames.get(text)?.step;
      case 'reading':
        return readings.get(text);
      case 'code':
        return codeNames.get(text);
      default:
        return tables[reference.kind].get(text);
    }
  };
  const candidatesOf = (kind: NameKind): readonly string[] => {
    switch (kind) {
      case 'step':
        return [...stepNames.keys()];
      case 'reading':
        return [...readings.keys()];
      case 'code':
        return [...codeNames.keys()];
      default:
        return [...tables[kind].keys()];
    }
  };
  const referencesTo = new Map<Definition, Name[]>();
  const unknown: UnknownName[] = [];
  const record = (reference: Reference): void => {
    const definition = definitionOf(reference);
    if (definition !== undefined) {
      const known = referencesTo.get(definition);
      if (known === undefined) referencesTo.set(definition, [reference.name]);
      else known.push(reference.name);
    } else if (!lost.has(reference.name.text)) {
      const otherKind = (['part', 'tool', 'supply', 'pattern'] as const).find((kind) =>
        tables[kind].has(reference.name.text),
      );
      unknown.push({ ...reference, candidates: candidatesOf(reference.kind), otherKind });
    }
  };
  const isSupply = (name: string): boolean => tables.supply.has(name) && !tables.part.has(name);
  for (const declaration of ownDeclarations)
    for (const reference of referencesOfDeclaration(declaration)) record(reference);
  for (const { step } of steps) {
    for (const reference of referencesOfStep(step)) record(reference);
    for (const statement of walk(step.statements)) {
      for (const reference of referencesOf(statement, isSupply)) record(reference);
      if (statement.kind === 'measure' && statement.name !== undefined) {
        const first = readings.get(statement.name.text)!;
        if (first !== statement) {
          const known = referencesTo.get(first);
          if (known === undefined) referencesTo.set(first, [statement.name]);
          else known.push(statement.name);
        }
      }
    }
  }
  // Shared declarations refer to each other, too: that keeps `never-used` and the parts they hold honest.
  for (const file of files.slice(1)) {
    for (const chunk of file.chunks) {
      if (!isDeclaration(chunk.item)) continue;
      for (const reference of referencesOfDeclaration(chunk.item)) {
        const definition = definitionOf(reference);
        if (definition === undefined) continue;
        const known = referencesTo.get(definition);
        if (known === undefined) referencesTo.set(definition, [reference.name]);
        else known.push(reference.name);
      }
    }
  }

  const measures = head?.measures?.text;
  return {
    tree,
    files,
    head,
    extraHeads,
    codes: [...codeNames.keys()],
    measures: measures === 'metric' || measures === 'imperial' ? measures : undefined,
    parts: tables.part,
    tools: tables.tool,
    supplies: tables.supply,
    patterns: tables.pattern,
    stepNames,
    readings,
    phases,
    steps,
    ownDeclarations,
    referencesTo,
    unknown,
    duplicates,
    useTroubles,
    fasteners,
  };
}

/** Follows every `use`; gives, for each file that was found, the line of `tree` that it comes by. */
function gather(
  tree: SyntaxTree,
  resolve: Resolve,
  files: SyntaxTree[],
  troubles: UseTrouble[],
): ReadonlyMap<string, Use> {
  const open = new Set<string>();
  const broughtIn = new Map<string, Use>();
  // A trouble in a shared file is told at this file's own line that leads there, once a line.
  const tell = (file: SyntaxTree, inner: Use, trouble: UseTrouble['trouble'], reason?: string): void => {
    const use = file === tree ? inner : broughtIn.get(file.uri)!;
    if (use === inner) troubles.push({ use, trouble, reason });
    else if (!troubles.some((known) => known.use === use && known.trouble === trouble))
      troubles.push({ use, trouble, reason, inner });
  };
  const visit = (file: SyntaxTree): void => {
    files.push(file);
    open.add(file.uri);
    for (const chunk of file.chunks) {
      const use = chunk.item;
      if (use?.kind !== 'use' || use.path === undefined) continue;
      const target = resolve(use.path.value, file.uri);
      if ('missing' in target) tell(file, use, 'missing', target.reason);
      else if (open.has(target.uri)) tell(file, use, 'loop');
      else if (!files.some((known) => known.uri === target.uri)) {
        broughtIn.set(target.uri, broughtIn.get(file.uri) ?? use);
        visit(target);
      }
    }
    open.delete(file.uri);
  };
  visit(tree);
  return broughtIn;
}

/** Where a definition's own name stands. */
export function nameOfDefinition(definition: Definition): Name | undefined {
  return 'text' in definition && typeof definition.text === 'string'
    ? (definition as Name)
    : (definition as Declaration | Step | Statement).name;
}

/** Quantity declared: 1 where no `xN` stands. */
export const countOf = (declaration: Declaration | undefined): number => declaration?.count?.value ?? 1;

/** The title, else the name, for messages. */
export const titleOf = (model: Model, part: string): string => model.parts.get(part)?.title?.value ?? part;

export type { Span };
