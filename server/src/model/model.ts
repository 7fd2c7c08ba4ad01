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
import { declarationWords, type PhaseWord } from '../../../grammar/tokens.ts';
import { amended } from './amended.ts';
import { changedChunks } from './changed-chunks.ts';
import { isDeclaration } from './mentions.ts';
import { Beside } from './noted.ts';
import { carryOccurrences } from './occurrences.ts';
import {
  type NameKind,
  type Reference,
  referencesOf,
  referencesOfDeclaration,
  referencesOfStep,
} from './references.ts';
import { statementsByKind, statementsIn } from './statements.ts';
import { stockOf } from './stock.ts';
import { carryKinds, isSupply, type Missing, missingIn, resurvey, Survey, type Tables } from './survey.ts';

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
  /** The same object only where an edit has left the names in these six tables as they were. */
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

/** The statements of a chunk, in or outside a step. */
export function stepsOfChunk(chunk: Chunk): Step[] {
  const steps: Step[] = [];
  if (chunk.item?.kind === 'step') steps.push(chunk.item);
  if (chunk.strayStep !== undefined) steps.push(chunk.strayStep);
  return steps;
}

const isPhase = (item: Chunk['item']): item is PhaseLine =>
  item !== undefined &&
  (item.kind === 'teardown' || item.kind === 'inspection' || item.kind === 'reassembly' || item.kind === 'proving');

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
  if (earlier !== undefined && useTroubles.length === 0 && earlier.useTroubles.length === 0) {
    const same =
      files.length === earlier.files.length && files.every((file, i) => i === 0 || file === earlier.files[i]);
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
      const entry =
        known !== undefined && known.step === step && known.phase === phase
          ? known
          : { step, phase, index: steps.length };
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
    } else if (isPhase(item)) {
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
  const codeNames = new Map<string, Name>();
  for (const code of head?.codes ?? []) if (!codeNames.has(code.text)) codeNames.set(code.text, code);
  const measures = head?.measures?.text;
  const names = { tables, stepNames, readings, codeNames, lost };
  const unknown = unknownAmong(missing, names, tree, piece);
  const model = modelOf(names, {
    tree,
    files,
    head,
    extraHeads,
    codes: [...codeNames.keys()],
    measures: measures === 'metric' || measures === 'imperial' ? measures : undefined,
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
  if (files.length === 1 && !ahead.some((name) => leadsOn(name, tables))) loopFree.set(model, true);
  // Steps that are taken in were gone through behind those of the file.
  if (takenIn.size === 0) {
    statementsByKind.set(model, byKind);
    if (stock !== undefined) stockOf.set(model, stock);
  }
  return model;
}

/** Models of which it is known that no parts wait for, or sit on, each other in a loop. */
export const loopFree = new Beside<Model, true>();

/** True for a part that a declaration waits for, or sits on, and that itself does. */
function leadsOn(name: Name, { part }: Tables): boolean {
  const target = part.get(name.text);
  if (target === undefined) return false;
  const isSeat = (name.chunk.item as Declaration).carriedBy === name;
  return isSeat ? target.carriedBy !== undefined : target.heldBy.length + target.behind.length > 0;
}

const sameNames = (a: readonly Name[], b: readonly Name[]): boolean =>
  a.length === b.length && a.every(({ text }, i) => text === b[i]!.text);

/** True where two declarations wait for, and sit on, the same. */
const standAlike = (a: Declaration, b: Declaration): boolean =>
  a.carriedBy?.text === b.carriedBy?.text && sameNames(a.heldBy, b.heldBy) && sameNames(a.behind, b.behind);

/** What each name stands for. */
interface Names {
  readonly tables: Tables;
  readonly stepNames: ReadonlyMap<string, StepEntry>;
  readonly readings: ReadonlyMap<string, Statement>;
  readonly codeNames: ReadonlyMap<string, Name>;
  readonly lost: ReadonlySet<string>;
}

type Rest = Omit<Model, 'parts' | 'tools' | 'supplies' | 'patterns' | 'stepNames' | 'readings' | 'references' | 'lost'>;

function modelOf(names: Names, rest: Rest): Model {
  const { tables, stepNames, readings, lost } = names;
  return {
    ...rest,
    parts: tables.part,
    tools: tables.tool,
    supplies: tables.supply,
    patterns: tables.pattern,
    stepNames,
    readings,
    lost,
    references: new References(rest, names),
  };
}

/**
 * Found when first asked for. An object of its own: with an accessor in the literal of a model, or a model as prototype of
 * another, the engine keeps every model in its table of shapes until the next full garbage collection.
 */
class References {
  private readonly rest: Rest;
  private readonly names: Names;
  private found: ReadonlyMap<Definition, readonly Name[]> | undefined;

  constructor(rest: Rest, names: Names) {
    this.rest = rest;
    this.names = names;
  }

  get all(): ReadonlyMap<Definition, readonly Name[]> {
    this.found ??= referencesIn(this.rest, this.names);
    return this.found;
  }

  to(definition: Definition): readonly Name[] {
    return this.all.get(definition) ?? [];
  }
}

/** The chunks of this file, and those of shared files whose steps it takes in. */
export const chunksOf = ({ tree, takenIn }: Model): readonly Chunk[] =>
  takenIn.size === 0 ? tree.chunks : [...tree.chunks, ...takenIn.keys()];

/** `span`, or for what stands in a step that is taken in the path of the `use` that brings it; nothing of other files. */
export function placeIn({ tree, takenIn }: Model, span: Span): Span | undefined {
  return span.chunk.uri === tree.uri ? span : takenIn.get(span.chunk)?.path;
}

/** False for a step that is taken in from a shared file. */
export const isOwn = ({ tree }: Model, { step }: StepEntry): boolean => step.chunk.uri === tree.uri;

/**
 * A comment says so. Without it, a file with phases and no head is taken for a procedure in the making, of which nothing
 * must be passed over in silence.
 */
const isPiece = ({ chunks }: SyntaxTree, head: Head | undefined, phases: readonly PhaseLine[]): boolean =>
  head === undefined &&
  phases.length > 0 &&
  chunks.some(({ comments }) => comments.some(({ text, ownLine }) => ownLine && sharedMark.test(text)));

/** The comment that marks steps for other procedures to take in. */
export const sharedComment = '# fettle-shared';
const sharedMark = /^#\s*fettle-shared\b/;

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
    if (isPhase(item)) within = item.kind;
    if (within !== phase) continue;
    const target = item?.kind === 'use' && !again ? targets.get(item) : undefined;
    // A loop has no target.
    if (target !== undefined) yield* chunksFor(phase, target, targets, entered);
    if (isPhase(item) || stepsOfChunk(chunk).length > 0) yield chunk;
    if (again && stepsOfChunk(chunk).length > 0) return;
  }
}

/**
 * Steps that procedures share may single out codes of any of them; those in `piece` may also come after steps, and use
 * readings, that are in the procedure only.
 */
function unknownAmong(missing: readonly Missing[], names: Names, tree: SyntaxTree, piece: boolean): UnknownName[] {
  const { tables, stepNames, readings, codeNames, lost } = names;
  const tableOf: Readonly<Record<NameKind, ReadonlyMap<string, unknown>>> = {
    ...tables,
    step: stepNames,
    reading: readings,
    code: codeNames,
  };
  const candidates = new Map<NameKind, readonly string[]>();
  const unknown: UnknownName[] = [];
  for (const { name, kind } of missing) {
    const table = tableOf[kind];
    if (table.has(name.text) || lost.has(name.text)) continue;
    if (kind === 'code' && (piece || name.chunk.uri !== tree.uri)) continue;
    if (piece && (kind === 'step' || kind === 'reading')) continue;
    let known = candidates.get(kind);
    if (known === undefined) {
      known = [...table.keys()];
      candidates.set(kind, known);
    }
    const otherKind = declarationWords.find((other) => tables[other].has(name.text));
    unknown.push({ name, kind, candidates: known, otherKind });
  }
  return unknown;
}

/** Uses of each definition: those in declarations of this file, in its steps, and in declarations of shared files. */
function referencesIn({ files, steps, ownDeclarations }: Rest, names: Names): Map<Definition, Name[]> {
  const { tables, stepNames, readings, codeNames } = names;
  const referencesTo = new Map<Definition, Name[]>();
  const add = (definition: Definition | undefined, name: Name): void => {
    if (definition === undefined) return;
    const known = referencesTo.get(definition);
    if (known === undefined) referencesTo.set(definition, [name]);
    else known.push(name);
  };
  const record = ({ kind, name }: Reference): void => {
    const text = name.text;
    if (kind === 'step') add(stepNames.get(text)?.step, name);
    else if (kind === 'reading') add(readings.get(text), name);
    else if (kind === 'code') add(codeNames.get(text), name);
    else add(tables[kind].get(text), name);
  };
  for (const declaration of ownDeclarations) referencesOfDeclaration(declaration).forEach(record);
  for (const { step } of steps) {
    referencesOfStep(step).forEach(record);
    for (const statement of statementsIn(step)) {
      referencesOf(statement, (name) => isSupply(name, tables)).forEach(record);
      if (statement.kind === 'measure' && statement.name !== undefined) {
        const first = readings.get(statement.name.text)!;
        if (first !== statement) add(first, statement.name);
      }
    }
  }
  // Shared declarations refer to each other, too: that keeps `never-used` and the parts they hold honest.
  for (const file of files.slice(1))
    for (const { item } of file.chunks) if (isDeclaration(item)) referencesOfDeclaration(item).forEach(record);
  return referencesTo;
}

/** Chunks from the first that an edit changed to the last: beyond these, to look up what each names takes longer than to bind anew. */
const mostRebound = 16;

/**
 * The model after an edit within declarations and steps that leaves all of them in place under their names; nothing where
 * the edit did more than that, or went far.
 */
function rebind(tree: SyntaxTree, earlier: Model, files: readonly SyntaxTree[]): Model | undefined {
  if (earlier.duplicates.length > 0) return undefined;
  const { from, to, until } = changedChunks(earlier.tree, tree);
  if (to !== until || to - from > mostRebound) return undefined;
  const tables: Record<DeclarationKind, ReadonlyMap<string, Declaration>> = {
    part: earlier.parts,
    tool: earlier.tools,
    supply: earlier.supplies,
    pattern: earlier.patterns,
  };
  let { ownDeclarations, phases, steps, stepNames } = earlier;
  let isLoopFree = loopFree.get(earlier) === true;
  const replaced = <T>(list: readonly T[], before: T, now: T): T[] => list.with(list.indexOf(before), now);
  const meanings: Partial<Record<DeclarationKind, Map<string, Declaration>>> = {};
  for (let c = from; c < to; c++) {
    const old = earlier.tree.chunks[c]!;
    const chunk = tree.chunks[c]!;
    // Between two that an edit changed.
    if (chunk === old) continue;
    if (!sameWords(old.lostWords, chunk.lostWords)) return undefined;
    const was = old.item;
    const is = chunk.item;
    if (was?.kind !== is?.kind || was?.kind === 'procedure' || was?.kind === 'use') return undefined;
    if (isDeclaration(was) && isDeclaration(is)) {
      if (was.name?.text !== is.name?.text) return undefined;
      ownDeclarations = replaced(ownDeclarations, was, is);
      isLoopFree &&= standAlike(was, is);
      if (is.name !== undefined) {
        meanings[is.kind] ??= new Map();
        meanings[is.kind]!.set(is.name.text, is);
      }
    } else if (isPhase(was) && isPhase(is)) phases = replaced(phases, was, is);
    const oldSteps = stepsOfChunk(old);
    const newSteps = stepsOfChunk(chunk);
    if (oldSteps.length !== newSteps.length) return undefined;
    for (const [i, step] of newSteps.entries()) {
      const before = oldSteps[i]!;
      if (before.name?.text !== step.name?.text) return undefined;
      const at = indexOfStep(earlier.steps, before);
      const entry: StepEntry = { step, phase: earlier.steps[at]!.phase, index: at };
      steps = steps.with(at, entry);
      if (step.name !== undefined) {
        const map = new Map(stepNames);
        map.set(step.name.text, entry);
        stepNames = map;
      }
    }
  }
  for (const kind of declarationWords) {
    const now = meanings[kind];
    if (now !== undefined) tables[kind] = amended(tables[kind], now);
  }
  const { sequences, takenIn, targets } = earlier;
  const piece = isPiece(tree, earlier.head, phases);
  if (piece !== earlier.piece) return undefined;
  const edited = { before: earlier.tree.chunks.slice(from, to), now: tree.chunks.slice(from, until) };
  const surveyed = resurvey(earlier, edited, tables, files);
  if (surveyed === undefined) return undefined;
  const { readings, fasteners, unused } = surveyed;
  const codeNames = new Map<string, Name>();
  for (const code of earlier.head?.codes ?? []) if (!codeNames.has(code.text)) codeNames.set(code.text, code);
  const names: Names = { tables, stepNames, readings, codeNames, lost: earlier.lost };
  // With the same names declared, nothing changes for names in other chunks.
  const { above, below } = unknownAround(earlier, from, to);
  const unknown = [...above, ...unknownAmong(missingIn(edited.now, tables), names, tree, piece), ...below];
  const { head, extraHeads, codes, measures } = earlier;
  const model = modelOf(names, {
    tree,
    files,
    head,
    extraHeads,
    codes,
    measures,
    phases,
    steps,
    sequences,
    takenIn,
    targets,
    piece,
    ownDeclarations,
    unknown,
    duplicates: [],
    useTroubles: [],
    fasteners,
    unused,
    naming: earlier.naming,
  });
  if (isLoopFree) loopFree.set(model, true);
  if (takenIn.size === 0) carryKinds(earlier, model, edited);
  return model;
}

const sameWords = (a: readonly string[], b: readonly string[]): boolean =>
  a.length === b.length && a.every((word, i) => word === b[i]);

/** Unknown names in chunks above the one at `from`, and in those from `to` on. */
function unknownAround({ unknown, tree }: Model, from: number, to: number): Record<'above' | 'below', UnknownName[]> {
  const around = { above: [] as UnknownName[], below: [] as UnknownName[] };
  let c = 0;
  // They stand in the order of the text; those in steps that are taken in come last.
  for (const each of unknown) {
    while (c < tree.chunks.length && tree.chunks[c] !== each.name.chunk) c++;
    if (c < from) around.above.push(each);
    else if (c >= to) around.below.push(each);
  }
  return around;
}

const indexOfStep = (steps: readonly StepEntry[], step: Step): number =>
  steps.findIndex((entry) => entry.step === step);

/** Follows every `use` into `targets`, unless it leads nowhere or round; gives, for each file that was found, the line of `tree` that it comes by. */
function gather(
  tree: SyntaxTree,
  resolve: Resolve,
  files: SyntaxTree[],
  troubles: UseTrouble[],
  targets: Map<Use, SyntaxTree>,
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
      else {
        targets.set(use, target);
        if (files.some((known) => known.uri === target.uri)) continue;
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
