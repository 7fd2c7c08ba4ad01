import type {
  Chunk,
  Declaration,
  Head,
  Name,
  PhaseLine,
  Span,
  Statement,
  Step,
  SyntaxTree,
  Use,
} from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import { endInShared, leadsOn, loopFree } from './loop-free.ts';
import { isDeclaration, isPhaseLine } from './mentions.ts';
import { codeNamesOf, headFieldsOf, modelOf, type References } from './names.ts';
import { noted } from './noted.ts';
import { carryOccurrences } from './occurrences.ts';
import { isPiece } from './piece.ts';
import { rebind } from './rebind.ts';
import type { NameKind, Reference } from './references.ts';
import { statementsByKind, stepsOfChunk } from './statements.ts';
import { stockOf } from './stock.ts';
import { Survey } from './survey.ts';
import { unknownAmong } from './unknown.ts';

/** A step, with the phase it stands in. */
export interface StepEntry {
  readonly step: Step;
  readonly phase: PhaseWord | undefined;
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
  /** Where a shared file declares it again, the `use` in this file that brings that in; `name` is `first` where it comes twice. */
  readonly use?: Use;
}

export interface UseTrouble {
  readonly use: Use;
  readonly trouble: 'missing' | 'loop' | 'refused';
  readonly reason?: string;
  /** The line in a shared file that has the trouble, where `use` is the one in this file that leads there. */
  readonly inner?: Use;
}

/** What a `use` within a phase takes in. */
export interface Sequence {
  readonly phase: PhaseWord;
  /** Empty where the file holds none for the phase, or all of them have been taken in by an earlier line. */
  readonly steps: readonly StepEntry[];
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
  /** The same object only where an edit has left the names in these six tables, and the codes, as they were. */
  readonly naming: object;
  readonly phases: readonly PhaseLine[];
  /** Steps of this file, and where a `use` stands in a phase those that it takes in. */
  readonly steps: readonly StepEntry[];
  /** Each `use` of this file that stands in a phase and could be followed. */
  readonly sequences: ReadonlyMap<Use, Sequence>;
  /** Chunks of shared files whose steps this file takes in, with its own `use` that brings them; each once. */
  readonly takenIn: ReadonlyMap<Chunk, Use>;
  /** Where each `use` leads, of this file and of those it uses; not those that lead nowhere or round. */
  readonly targets: ReadonlyMap<Use, SyntaxTree>;
  /**
   * Steps for other procedures to take in. Where their parts are when they begin cannot be told: the replay is not judged.
   */
  readonly piece: boolean;
  /** Declarations that stand in this file itself. */
  readonly ownDeclarations: readonly Declaration[];
  /** Uses in this file, by what they are bound to. */
  readonly references: References;
  readonly unknown: readonly UnknownName[];
  readonly duplicates: readonly Duplicate[];
  readonly useTroubles: readonly UseTrouble[];
  /** Parts that something loosens, tightens, threads or torques. */
  readonly fasteners: ReadonlySet<string>;
  /** Names of declarations that nothing refers to, by kind. */
  readonly unused: Unused;
  /** Words of lines outside any step that could not be read: a declaration may be lost among them. */
  readonly lost: ReadonlySet<string>;
}

export type DeclarationKind = Declaration['kind'];
export type Unused = Readonly<Record<DeclarationKind, ReadonlySet<string>>>;

/** Gives the tree behind a `use` path, or why it cannot be had. */
export type Resolve = (path: string, from: string) => SyntaxTree | { readonly missing: true; readonly reason?: string };

/** A resolver for files that stand alone. */
export const noFiles: Resolve = () => ({ missing: true });

/**
 * Binds every name of `tree`. Total: what cannot be bound is listed. Of an `earlier` model of the same file, what an edit
 * has not touched is kept; the outcome is the same.
 */
export function bind(tree: SyntaxTree, resolve: Resolve = noFiles, earlier?: Model): Model {
  const files: SyntaxTree[] = [];
  const useTroubles: UseTrouble[] = [];
  const targets = new Map<Use, SyntaxTree>();
  const broughtIn = gather(tree, resolve, files, useTroubles, targets);
  if (earlier !== undefined) carryOccurrences(earlier.tree, tree);
  if (earlier !== undefined) {
    const { files: were, useTroubles: troubled } = earlier;
    const same =
      files.length === were.length &&
      files.every((file, i) => i === 0 || file === were[i]) &&
      useTroubles.length === troubled.length &&
      useTroubles.every((each, i) => isSameTrouble(each, troubled[i]!));
    const model = same ? rebind(tree, earlier, files) : undefined;
    if (model !== undefined) return model;
  }

  const tables: Record<DeclarationKind, Map<string, Declaration>> = {
    part: new Map(),
    tool: new Map(),
    supply: new Map(),
    pattern: new Map(),
  };
  const duplicates: Duplicate[] = [];
  const ownDeclarations: Declaration[] = [];
  const lost = new Set<string>();
  const survey = new Survey();
  const declare = (chunk: Chunk, own: boolean): void => {
    for (const word of chunk.lostWords) lost.add(word);
    const item = chunk.item;
    if (!isDeclaration(item)) return;
    if (own) ownDeclarations.push(item);
    if (item.name === undefined) return;
    const { name, kind } = item;
    if (survey.declare(item)) {
      tables[kind].set(name.text, item);
      return;
    }
    const { name: first, chunk: other } = tables[kind].get(name.text)!;
    if (own) duplicates.push({ name, first: first!, kind });
    else if (other.uri !== chunk.uri) duplicates.push({ name, first: first!, kind, use: broughtIn.get(chunk.uri) });
  };
  // Shared files first: what stands twice is reported in the file that the author has open.
  for (const file of files.slice(1)) for (const chunk of file.chunks) declare(chunk, false);

  let head: Head | undefined;
  const extraHeads: Head[] = [];
  const phases: PhaseLine[] = [];
  const steps: StepEntry[] = [];
  const stepNames = new Map<string, StepEntry>();
  const sequences = new Map<Use, Sequence>();
  const takenIn = new Map<Chunk, Use>();
  const add = (chunk: Chunk, phase: PhaseWord | undefined, use?: Use): void => {
    for (const step of stepsOfChunk(chunk)) {
      const known = earlier?.steps[steps.length];
      const entry = known !== undefined && known.step === step && known.phase === phase ? known : { step, phase };
      steps.push(entry);
      if (step.name !== undefined) {
        const first = stepNames.get(step.name.text);
        if (first === undefined) stepNames.set(step.name.text, entry);
        else duplicates.push({ name: step.name, first: first.step.name!, kind: 'step', ...(use && { use }) });
      }
    }
  };
  let phase: PhaseWord | undefined;
  // All that is asked of a chunk, while it is at hand: a long file is fetched from far away each time it is gone through.
  for (const chunk of tree.chunks) {
    survey.visit(chunk);
    declare(chunk, true);
    const item = chunk.item;
    if (item?.kind === 'procedure') {
      if (head === undefined) head = item;
      else {
        extraHeads.push(item);
        if (item.name !== undefined && head.name !== undefined) {
          duplicates.push({ name: item.name, first: head.name, kind: 'procedure' });
        }
      }
    } else if (isPhaseLine(item)) {
      phases.push(item);
      phase = item.kind;
    }
    if (item?.kind === 'use' && phase !== undefined) {
      const target = targets.get(item);
      if (target === undefined) {
        // Statements behind it in the chunk stand all the same.
        add(chunk, phase);
        continue;
      }
      const from = steps.length;
      let again: Name | undefined;
      for (const shared of chunksFor(phase, target, targets)) {
        if (takenIn.has(shared)) again ??= stepsOfChunk(shared).find((step) => step.name !== undefined)?.name;
        else {
          takenIn.set(shared, item);
          add(shared, phase, item);
        }
      }
      if (again !== undefined) duplicates.push({ name: again, first: again, kind: 'step', use: item });
      sequences.set(item, { phase, steps: steps.slice(from) });
    }
    add(chunk, phase);
  }
  for (const chunk of takenIn.keys()) survey.visit(chunk);
  survey.visitShared(files, takenIn);
  const piece = isPiece(tree, head, phases);
  const { readings, fasteners, unused, byKind, ahead, missing, stock } = survey.finish();
  const codeNames = codeNamesOf(head);
  const names = { tables, stepNames, readings, codeNames, lost };
  const unknown = unknownAmong(missing, names, tree, piece);
  const model = modelOf(names, {
    tree,
    files,
    ...headFieldsOf(head, codeNames),
    extraHeads,
    phases,
    steps,
    sequences,
    takenIn,
    targets,
    piece,
    ownDeclarations,
    unknown,
    duplicates,
    useTroubles,
    fasteners,
    unused,
    naming: {},
  });
  if (!ahead.some((name) => leadsOn(name, tables)) && endInShared(files.slice(1), tables)) loopFree.set(model, true);
  // Steps that are taken in were gone through behind those of the file.
  if (takenIn.size === 0) {
    statementsByKind.set(model, byKind);
    if (stock !== undefined) stockOf.set(model, stock);
  }
  return model;
}

const isSameTrouble = (a: UseTrouble, b: UseTrouble): boolean =>
  a.use === b.use && a.trouble === b.trouble && a.reason === b.reason && a.inner === b.inner;

/** The chunks of this file, and those of shared files whose steps it takes in. */
export const chunksOf = ({ tree, takenIn }: Model): readonly Chunk[] =>
  takenIn.size === 0 ? tree.chunks : [...tree.chunks, ...takenIn.keys()];

/** `span`, or for what stands in a step that is taken in the path of the `use` that brings it; nothing of other files. */
export function placeIn({ tree, takenIn }: Model, span: Span): Span | undefined {
  return span.chunk.uri === tree.uri ? span : takenIn.get(span.chunk)?.path;
}

const stepPlaces = noted(
  (steps: readonly StepEntry[]): ReadonlyMap<StepEntry, number> => new Map(steps.map((entry, place) => [entry, place])),
);
/** Where `entry` stands among the steps of its model, counted from 0. */
export const placeOfStep = ({ steps }: Model, entry: StepEntry): number => stepPlaces(steps).get(entry)!;

/** False for a step that is taken in from a shared file. */
export const isOwn = ({ tree }: Model, { step }: StepEntry): boolean => step.chunk.uri === tree.uri;

/** Chunks of `file` that stand under `phase`, its line among them; where a `use` stands there, those that it takes in. */
function* chunksFor(
  phase: PhaseWord,
  file: SyntaxTree,
  targets: ReadonlyMap<Use, SyntaxTree>,
  entered = new Set<SyntaxTree>(),
): Generator<Chunk> {
  let within: PhaseWord | undefined;
  // Files that use each other over and over are gone through once; of a second time, one step tells.
  const again = entered.has(file);
  entered.add(file);
  for (const chunk of file.chunks) {
    const { item } = chunk;
    if (isPhaseLine(item)) within = item.kind;
    if (within !== phase) continue;
    const target = item?.kind === 'use' && !again ? targets.get(item) : undefined;
    // A loop has no target.
    if (target !== undefined) yield* chunksFor(phase, target, targets, entered);
    if (isPhaseLine(item) || stepsOfChunk(chunk).length > 0) yield chunk;
    if (again && stepsOfChunk(chunk).length > 0) return;
  }
}

/** Follows every `use` into `targets`, unless it leads nowhere or round; gives, for each file that was found, the line of `tree` that it comes by. */
function gather(
  tree: SyntaxTree,
  resolve: Resolve,
  files: SyntaxTree[],
  troubles: UseTrouble[],
  targets: Map<Use, SyntaxTree>,
): ReadonlyMap<string, Use> {
  const open = new Set<string>();
  const visited = new Set<string>();
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
    visited.add(file.uri);
    open.add(file.uri);
    for (const chunk of file.chunks) {
      const use = chunk.item;
      if (use?.kind !== 'use' || use.path === undefined) continue;
      const target = resolve(use.path.value, file.uri);
      if ('missing' in target) tell(file, use, 'missing', target.reason);
      else if (open.has(target.uri)) tell(file, use, 'loop');
      else {
        targets.set(use, target);
        if (visited.has(target.uri)) continue;
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

/** Where a model keeps the declarations of each kind. */
export const tableOf = {
  part: 'parts',
  tool: 'tools',
  supply: 'supplies',
  pattern: 'patterns',
} as const satisfies Readonly<Record<DeclarationKind, keyof Model>>;

/** Quantity declared: 1 where no `xN` stands. */
export const countOf = (declaration: Declaration | undefined): number => declaration?.count?.value ?? 1;

/** The title, else the name, for messages. */
export const titleOf = (model: Model, part: string): string => model.parts.get(part)?.title?.value ?? part;

export type { Span };
