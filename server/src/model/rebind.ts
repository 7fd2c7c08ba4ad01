import type { Chunk, Declaration, Head, Name, PhaseLine, Step, SyntaxTree, Use } from '../../../grammar/syntax.ts';
import { declarationWords, type PhaseWord } from '../../../grammar/tokens.ts';
import { amended, exchanged } from './amended.ts';
import { changedChunks } from './changed-chunks.ts';
import { loopFree, stayFree } from './loop-free.ts';
import { isDeclaration, isPhaseLine } from './mentions.ts';
import type { DeclarationKind, Model, StepEntry } from './model.ts';
import { codeNamesOf, headFieldsOf, modelOf, type Names } from './names.ts';
import { renaming } from './naming.ts';
import { chunksNaming } from './occurrences.ts';
import { isPiece } from './piece.ts';
import { stepsOfChunk } from './statements.ts';
import { carryKinds, differing, type Edited, type Missing, missingIn, resurvey, type Tables } from './survey.ts';
import { unknownAmong } from './unknown.ts';

/** Chunks from the first that an edit changed to the last: beyond these, to look up what each names takes longer than to bind anew. */
const mostRebound = 16;

/**
 * The model after an edit that left `use` lines and phases in place, and no head came or went; nothing where it did more than
 * that, went far, or touched a name that is declared twice. The outcome is that of binding anew.
 */
export function rebind(tree: SyntaxTree, earlier: Model, files: readonly SyntaxTree[]): Model | undefined {
  const { from, to, until } = changedChunks(earlier.tree, tree);
  if (Math.max(to, until) - from > mostRebound) return undefined;
  const edited: Edited = { before: earlier.tree.chunks.slice(from, to), now: tree.chunks.slice(from, until) };
  const { duplicates } = earlier;
  if (duplicates.some(({ name, first }) => [name, first].some(({ chunk }) => edited.before.includes(chunk))))
    return undefined;
  const sequence = sequenceAfter(earlier, edited, tree, from, until);
  const declared = declaredAfter(earlier, edited, tree, until);
  if (sequence === undefined || declared === undefined) return undefined;
  const { head, phases, steps, stepNames } = sequence;
  const { tables, was, is } = declared;
  const codeNames = codeNamesOf(head);
  const codes = differing(new Set(earlier.codes), new Set(codeNames.keys()));
  const renamed: ReadonlySet<string> = new Set([...sequence.renamed, ...declared.renamed, ...codes]);
  if (duplicates.some(({ name }) => renamed.has(name.text))) return undefined;
  /** What stands elsewhere may mean something else by them. */
  const doubtful = new Set(renamed);

  const lost = lostAfter(earlier, edited, files);
  for (const word of lost) if (!earlier.lost.has(word)) doubtful.add(word);
  for (const word of earlier.lost) if (!lost.has(word)) doubtful.add(word);
  const { sequences, takenIn, targets } = earlier;
  const piece = isPiece(tree, head, phases);
  if (piece !== earlier.piece) return undefined;
  const surveyed = resurvey(earlier, edited, tables, files, doubtful);
  if (surveyed === undefined) return undefined;
  const { readings, fasteners, unused } = surveyed;
  const names: Names = { tables, stepNames, readings, codeNames, lost };
  const model = modelOf(names, {
    tree,
    files,
    ...headFieldsOf(head, codeNames),
    extraHeads: earlier.extraHeads,
    phases,
    steps,
    sequences,
    takenIn,
    targets,
    piece,
    ownDeclarations: spliced(earlier.ownDeclarations, was, is, () => declarationFrom(tree, until)),
    unknown: unknownAmong(missingAfter(earlier, tree, doubtful, tables), names, tree, piece),
    duplicates,
    useTroubles: earlier.useTroubles,
    fasteners,
    unused,
    naming: renamed.size === 0 ? earlier.naming : renaming(earlier.naming, renamed),
  });
  const inPlace = was.length === is.length && is.every((each, i) => isCalledAlike(each, was[i]!));
  const placed = inPlace ? is.filter((each, i) => !standAlike(each, was[i]!)) : is;
  if (loopFree.get(earlier) === true && stayFree(placed, files, tables)) loopFree.set(model, true);
  carryKinds(earlier, model, edited);
  return model;
}

/** Phases and steps after an edit, and names that steps had or have now; nothing where head, `use` lines or phases came or went. */
function sequenceAfter(
  earlier: Model,
  { before, now }: Edited,
  tree: SyntaxTree,
  from: number,
  until: number,
): (Pick<Model, 'head' | 'phases' | 'steps' | 'stepNames'> & { readonly renamed: readonly string[] }) | undefined {
  const fixed = fixedIn(before);
  const standing = fixedIn(now);
  if (fixed.length !== standing.length || !fixed.every((item, i) => isAlike(item, standing[i]!))) return undefined;
  const head = standing.find(isHead) ?? earlier.head;
  // Which of several comes first, and is called like it, is for the survey of all to tell.
  if (head !== earlier.head && earlier.extraHeads.length > 0) return undefined;
  const lines = fixed.filter(isPhaseLine);
  const phases = spliced(earlier.phases, lines, standing.filter(isPhaseLine), () => undefined);
  const gone = new Set(before.flatMap(stepsOfChunk));
  const old = gone.size === 0 ? [] : earlier.steps.filter(({ step }) => gone.has(step));
  const entries: StepEntry[] = [];
  let phase: PhaseWord | undefined;
  let isKnown = false;
  for (const chunk of now) {
    if (isPhaseLine(chunk.item)) {
      phase = chunk.item.kind;
      isKnown = true;
    }
    for (const step of stepsOfChunk(chunk)) {
      if (!isKnown) phase = phaseAbove(tree, from);
      isKnown = true;
      entries.push(old.find((entry) => entry.step === step && entry.phase === phase) ?? { step, phase });
    }
  }
  // Steps that are taken in would stand in between.
  if (earlier.takenIn.size > 0 && fixed.some(({ kind }) => kind === 'use')) return undefined;
  const steps = spliced(earlier.steps, old, entries, () => stepFrom(earlier, tree, until));
  const outgoing = namedSteps(old);
  const incoming = namedSteps(entries);
  if (incoming.size < entries.filter(({ step }) => step.name !== undefined).length) return undefined;
  if (isSameList([...outgoing.keys()], [...incoming.keys()])) {
    const changed = [...incoming].filter(([name, entry]) => outgoing.get(name) !== entry);
    const stepNames = changed.length === 0 ? earlier.stepNames : amended(earlier.stepNames, new Map(changed));
    return { head, phases, steps, stepNames, renamed: [] };
  }
  if ([...incoming.keys()].some((name) => earlier.stepNames.has(name) && !outgoing.has(name))) return undefined;
  const isListed = (step: Step): boolean => earlier.stepNames.get(step.name?.text ?? '')?.step === step;
  const next = stepFrom(earlier, tree, until, isListed)?.step.name?.text;
  const exchange = { outgoing: [...outgoing.keys()], incoming: [...incoming.keys()], next };
  const stepNames = exchanged(earlier.stepNames, exchange, (name) => incoming.get(name)!);
  const renamed = [...outgoing.keys(), ...incoming.keys()].filter((name) => outgoing.has(name) !== incoming.has(name));
  return { head, phases, steps, stepNames, renamed };
}

const namedSteps = (entries: readonly StepEntry[]): ReadonlyMap<string, StepEntry> =>
  new Map(entries.flatMap((entry) => (entry.step.name === undefined ? [] : [[entry.step.name.text, entry]])));

function phaseAbove({ chunks }: SyntaxTree, place: number): PhaseWord | undefined {
  for (let c = place - 1; c >= 0; c--) {
    const { item } = chunks[c]!;
    if (isPhaseLine(item)) return item.kind;
  }
  return undefined;
}

/** The first step in the chunks from `place` on, or in what they take in, of those that are `asked` for. */
function stepFrom(
  { steps, sequences }: Model,
  { chunks }: SyntaxTree,
  place: number,
  asked: (step: Step) => boolean = () => true,
): StepEntry | undefined {
  for (let c = place; c < chunks.length; c++) {
    const { item } = chunks[c]!;
    const taken = item?.kind === 'use' ? sequences.get(item)?.steps.find(({ step }) => asked(step)) : undefined;
    if (taken !== undefined) return taken;
    const found = stepsOfChunk(chunks[c]!).find(asked);
    if (found !== undefined) return steps.find(({ step }) => step === found);
  }
  return undefined;
}

interface Declared {
  readonly tables: Tables;
  /** Declarations in the chunks that the edit changed, before and now. */
  readonly was: readonly Declaration[];
  readonly is: readonly Declaration[];
  /** Names that are declared no longer, or only now. */
  readonly renamed: readonly string[];
}

/** What is declared after an edit; nothing where a name comes twice. */
function declaredAfter(earlier: Model, { before, now }: Edited, tree: SyntaxTree, until: number): Declared | undefined {
  const was = declaredIn(before);
  const is = declaredIn(now);
  const renamed: string[] = [];
  const tables: Record<DeclarationKind, ReadonlyMap<string, Declaration>> = {
    part: earlier.parts,
    tool: earlier.tools,
    supply: earlier.supplies,
    pattern: earlier.patterns,
  };
  for (const kind of declarationWords) {
    const old = new Map(namedIn(was, kind));
    const listed = namedIn(is, kind);
    const entries = new Map(listed);
    const outgoing = [...old.keys()];
    const incoming = [...entries.keys()];
    if (entries.size < listed.length) return undefined;
    if (isSameList(outgoing, incoming)) {
      const changed = listed.filter(([name, declaration]) => declaration !== old.get(name));
      if (changed.length > 0) tables[kind] = amended(tables[kind], new Map(changed));
      continue;
    }
    if (incoming.some((name) => tables[kind].has(name) && !old.has(name))) return undefined;
    for (const name of outgoing) if (!entries.has(name)) renamed.push(name);
    for (const name of incoming) if (!old.has(name)) renamed.push(name);
    const next = declarationFrom(tree, until, (each) => tables[kind].get(each.name?.text ?? '') === each);
    const exchange = { outgoing, incoming, next: next?.name?.text };
    tables[kind] = exchanged(tables[kind], exchange, (name) => entries.get(name)!);
  }
  return { tables, was, is, renamed };
}

type Fixed = Head | Use | PhaseLine;

/** What has to stay in place. */
const fixedIn = (chunks: readonly Chunk[]): readonly Fixed[] =>
  chunks.flatMap(({ item }) => (item === undefined || item.kind === 'step' || isDeclaration(item) ? [] : [item]));

const isAlike = (before: Fixed, now: Fixed): boolean =>
  before === now || (before.kind === now.kind && (isPhaseLine(now) || isHead(now)));

const isHead = (item: Fixed): item is Head => item.kind === 'procedure';

const declaredIn = (chunks: readonly Chunk[]): readonly Declaration[] =>
  chunks.flatMap(({ item }) => (isDeclaration(item) ? [item] : []));

const namedIn = (declarations: readonly Declaration[], kind: DeclarationKind): [name: string, Declaration][] =>
  declarations.flatMap((each) => (each.kind === kind && each.name !== undefined ? [[each.name.text, each]] : []));

/** The first declaration in the chunks from `place` on, of those that are `asked` for. */
function declarationFrom(
  { chunks }: SyntaxTree,
  place: number,
  asked: (declaration: Declaration) => boolean = () => true,
): Declaration | undefined {
  for (let c = place; c < chunks.length; c++) {
    const { item } = chunks[c]!;
    if (isDeclaration(item) && asked(item)) return item;
  }
  return undefined;
}

/** `list` with `now` for `before`, which lie side by side in it; with nothing before, in front of what `next` gives. */
function spliced<T>(
  list: readonly T[],
  before: readonly T[],
  now: readonly T[],
  next: () => T | undefined,
): readonly T[] {
  if (isSameList(before, now)) return list;
  const follower = before[0] ?? next();
  const at = follower === undefined ? list.length : list.indexOf(follower);
  return list.toSpliced(at, before.length, ...now);
}

/** Words of lines that could not be read, in all files. */
function lostAfter(earlier: Model, { before, now }: Edited, files: readonly SyntaxTree[]): ReadonlySet<string> {
  const wordsOf = (chunks: readonly Chunk[]): readonly string[] => chunks.flatMap(({ lostWords }) => lostWords);
  if (isSameList(wordsOf(before), wordsOf(now))) return earlier.lost;
  const lost = new Set<string>();
  for (const { chunks } of files)
    for (const { lostWords } of chunks) if (lostWords.length > 0) for (const word of lostWords) lost.add(word);
  return lost;
}

/**
 * What is missing after an edit: in chunks that it changed or that name what is `doubtful`, looked for anew; in all others
 * what was. In the order of the text; what stands in steps that are taken in comes last.
 */
function missingAfter(
  earlier: Model,
  tree: SyntaxTree,
  doubtful: ReadonlySet<string>,
  tables: Tables,
): readonly Missing[] {
  const { from, to, until } = changedChunks(earlier.tree, tree);
  const places = new Set<number>();
  for (let c = from; c < until; c++) places.add(c);
  for (const name of doubtful) for (const c of chunksNaming(tree, name)) places.add(c);
  const missing: [place: number, Missing][] = [];
  let c = 0;
  const { chunks } = earlier.tree;
  const { takenIn } = earlier;
  for (const each of earlier.unknown) {
    if (takenIn.has(each.name.chunk)) continue;
    while (c < chunks.length && chunks[c] !== each.name.chunk) c++;
    if (c >= from && c < to) continue;
    const place = c < from ? c : c + until - to;
    if (!places.has(place)) missing.push([place, each]);
  }
  for (const place of places) for (const each of missingIn([tree.chunks[place]!], tables)) missing.push([place, each]);
  const own = missing.sort(([a], [b]) => a - b).map(([, each]) => each);
  return takenIn.size === 0 ? own : [...own, ...missingIn([...takenIn.keys()], tables)];
}

const isSameList = (a: readonly unknown[], b: readonly unknown[]): boolean =>
  a.length === b.length && a.every((each, i) => each === b[i]);

const isCalledAlike = (a: Declaration, b: Declaration): boolean => a.kind === b.kind && a.name?.text === b.name?.text;

const textsOf = (names: readonly Name[]): readonly string[] => names.map(({ text }) => text);

/** True where two declarations wait for, and sit on, the same. */
const standAlike = (a: Declaration, b: Declaration): boolean =>
  a.carriedBy?.text === b.carriedBy?.text &&
  isSameList(textsOf(a.heldBy), textsOf(b.heldBy)) &&
  isSameList(textsOf(a.behind), textsOf(b.behind));
