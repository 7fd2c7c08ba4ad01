import { alike } from '../../../grammar/alike.ts';
import type { Chunk, Declaration, Name } from '../../../grammar/syntax.ts';
import { stepsAsking } from '../ledger/asking.ts';
import type { Variant } from '../ledger/ledger.ts';
import { namesChanged } from '../model/amended.ts';
import { changedChunks, changedSteps, placeBefore } from '../model/changed-chunks.ts';
import { isDeclaration } from '../model/mentions.ts';
import { isOwn, type Model } from '../model/model.ts';
import { chunksNaming } from '../model/occurrences.ts';
import { checkOf } from './all.ts';
import { askedOfTools, type Context, type Finding } from './check.ts';

type Asked = (typeof askedOfTools)[number];

/** Places of chunks whose findings may be others than before an edit. */
export interface Touched {
  /** For any check. */
  readonly all: ReadonlySet<number>;
  /** For those that ask for this property of tools, and no other. */
  readonly byTools: Readonly<Record<Asked, ReadonlySet<number>>>;
}

/** What an edit has touched; `byChunk` lists the findings of the chunks before. */
export function touchedChunks(before: Context, now: Context, byChunk: readonly (readonly Finding[])[]): Touched {
  const { model, ledger } = now;
  const { chunks } = model.tree;
  const { from, to, until } = changedChunks(before.model.tree, model.tree);
  // Whether the text begins with a mark is asked of the first chunk, and of the one that has been the first.
  const touched = new Set<number>([0]);
  const first = before.model.tree.chunks[0]!;
  if (chunks[0] !== first && chunks.includes(first)) touched.add(chunks.indexOf(first));
  for (let c = from; c < until; c++) touched.add(c);
  // Of two heads the other may count now.
  if (before.model.head !== model.head)
    for (const head of [before.model.head, model.head])
      if (head !== undefined && chunks.includes(head.chunk)) touched.add(chunks.indexOf(head.chunk));
  const changed = new Set<string>();
  for (const table of ['parts', 'supplies', 'patterns', 'readings'] as const)
    for (const name of namesChanged(before.model[table], model[table])) changed.add(name);
  for (const name of namesChanged(before.model.tools, model.tools)) {
    const [old, tool] = [before.model.tools.get(name), model.tools.get(name)];
    if (old?.chunk.uri !== tool?.chunk.uri) changed.add(name);
    // Of two of one name the other may count now.
    else for (const each of [old, tool]) touched.add(Math.max(0, chunks.indexOf(each!.chunk)));
  }
  const byTools = { hazards: new Set<number>(), range: new Set<number>() };
  const isDoubtful = doubtAbout(before.model, model);
  if (isDoubtful !== undefined) {
    for (let place = 0; place < byChunk.length; place++) {
      if (byChunk[place]!.length === 0 || (place >= from && place < to)) continue;
      const c = place < from ? place : place + until - to;
      for (const finding of byChunk[place]!) {
        if (!isDoubtful(finding)) continue;
        const asked = askedFor(finding);
        (asked === undefined ? touched : byTools[asked]).add(c);
      }
    }
  }
  if (changed.size > 0) spread(changed, model);
  for (const name of changed) for (const c of chunksNaming(model.tree, name)) touched.add(c);
  const steps = new Set<number>();
  const moved = changedSteps(before.model, model);
  // Codes that see the same procedure share its replay.
  const seen = new Map<Variant['records'], Variant['records']>();
  for (const [v, variant] of ledger.variants.entries()) {
    const { records } = variant;
    const old = (before.ledger.variants[v] ?? before.ledger.variants[0]!).records;
    if (seen.get(records) === old) continue;
    seen.set(records, old);
    for (let s = 0; s < records.length; s++) if (records[s] !== old[placeBefore(moved, s)]) steps.add(s);
    for (const name of changed) for (const s of stepsAsking(variant, name)) steps.add(s);
  }
  // Steps of this file stand in the order of their chunks; those of others are always looked at.
  let c = 0;
  for (const s of [...steps].sort((a, b) => a - b)) {
    const entry = model.steps[s]!;
    if (!isOwn(model, entry)) continue;
    c = chunks.indexOf(entry.step.chunk, c);
    touched.add(c);
  }
  for (const asked of askedOfTools) {
    for (const name of toolsOtherwise(before.model, model, asked))
      for (const c of chunksNaming(model.tree, name)) byTools[asked].add(c);
    for (const each of touched) byTools[asked].delete(each);
  }
  return { all: touched, byTools };
}

/** What the check that found it asks of tools. */
export const askedFor = ({ code }: Finding): Asked | undefined => checkOf(code)?.asksOfTools;

/**
 * Tells findings that name a tool, or point to a head or tool, that is no longer the same; nothing where all are. What these
 * mean is asked in many places, and only the few where something was found tell where they stand.
 */
function doubtAbout(before: Model, now: Model): ((finding: Finding) => boolean) | undefined {
  const isToolOther = before.tools !== now.tools;
  if (before.head === now.head && !isToolOther) return undefined;
  const gone = new Set<Chunk | undefined>();
  if (before.head !== now.head) gone.add(before.head?.chunk);
  for (const name of namesChanged(before.tools, now.tools)) gone.add(before.tools.get(name)?.chunk);
  return ({ code, related }) =>
    (isToolOther && checkOf(code)?.namesOtherTools === true) || related.some(({ span }) => gone.has(span.chunk));
}

/** Tools of which `asked` is declared otherwise: the steps of a whole job may use one. */
function toolsOtherwise({ tools }: Model, now: Model, asked: Asked): readonly string[] {
  const isOtherwise = (name: string): boolean => {
    const [old, tool] = [tools.get(name), now.tools.get(name)];
    return old === undefined || tool === undefined || !alike(old[asked], tool[asked], isPlace);
  };
  return namesChanged(tools, now.tools).filter(isOtherwise);
}

const isPlace = (_node: object, field: string): boolean => field === 'start' || field === 'end';

/** Adds the names of declarations that refer to changed ones, on and on. */
function spread(changed: Set<string>, model: Model): void {
  const take = ({ item }: Chunk): void => {
    if (isDeclaration(item) && item.name !== undefined && isRelatedTo(changed, item)) changed.add(item.name.text);
  };
  const { tree, files } = model;
  for (let size = -1; size !== changed.size; ) {
    size = changed.size;
    // What is added meanwhile is come by, too.
    for (const name of changed) for (const c of chunksNaming(tree, name)) take(tree.chunks[c]!);
    for (const file of files.slice(1)) file.chunks.forEach(take);
  }
}

const isAmong = (names: ReadonlySet<string>, name: Name | undefined): boolean =>
  name !== undefined && names.has(name.text);

const isRelatedTo = (names: ReadonlySet<string>, { heldBy, behind, carriedBy, holes }: Declaration): boolean =>
  isAmong(names, carriedBy) ||
  isAmong(names, holes) ||
  heldBy.some((each) => isAmong(names, each)) ||
  behind.some((each) => isAmong(names, each));
