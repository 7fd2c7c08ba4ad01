import { type Chunk, type Declaration, LazyTree, type SyntaxTree } from '../../../grammar/syntax.ts';
import { type Entry, type Ledger, singlesOut, type Variant } from '../ledger/ledger.ts';
import { areStepsNear, changedChunks } from '../model/changed-chunks.ts';
import { addTo } from '../model/grouped.ts';
import { isDeclaration } from '../model/mentions.ts';
import type { Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { replaced } from '../model/replaced.ts';
import { carryPicked } from './actions.ts';
import { allChecks } from './all.ts';
import { askedOfTools, type Check, type Context, type Finding, type Raw } from './check.ts';
import { shownAt } from './elsewhere.ts';
import { onlyTextsDiffer } from './only-texts.ts';
import { askedFor, type Touched, touchedChunks } from './touched.ts';

/** What the checks of a context found, in no order of the text. Findings stand in this file only. */
export interface Gathered {
  readonly findings: readonly Finding[];
  readonly faults: readonly { readonly check: Check; readonly error: unknown }[];
}

/** What was found before an edit; nothing where a check broke off. */
interface Local {
  readonly context: Context;
  /** Findings of local checks by chunk, in the order of `tree.chunks`. */
  readonly byChunk: readonly (readonly Finding[])[];
  /** Findings of the checks in `wholeChecks`. */
  readonly whole: readonly Finding[];
  readonly wholeChecks: readonly Check[];
}

const known = new Beside<Ledger, Local>();
const none: readonly Finding[] = [];
const noChunks: Model['takenIn'] = new Map();

/**
 * Runs every check. Of an `earlier` ledger of the same file that was gone through with the same settings, the findings of
 * local checks are kept for every chunk that an edit has not touched and that finds all it asks about as it was; those of
 * all other checks where an edit has only changed words of texts.
 */
export function gather(context: Context, earlier?: Ledger): Gathered {
  const { model, settings, ledger } = context;
  const faults: { check: Check; error: unknown }[] = [];
  const findings: Finding[] = [];
  const run = (check: Check, found: () => Iterable<Raw>, into: Finding[], elsewhere = findings): void => {
    const start = into.length;
    try {
      for (const raw of found()) {
        const severity = settings.severities[check.code] ?? raw.severity ?? check.severity;
        if (raw.span.chunk.uri === model.tree.uri) into.push({ ...raw, code: check.code, severity });
        else {
          const use = model.takenIn.get(raw.span.chunk);
          if (use?.path !== undefined) elsewhere.push({ ...shownAt(use.path, raw, model), code: check.code, severity });
        }
      }
    } catch (error) {
      // What it found before it broke off stands, as long as it is told.
      if (into.length < start) return;
      if (!faults.some((fault) => fault.check === check)) faults.push({ check, error });
    }
  };
  const old = earlier === undefined ? undefined : known.get(earlier);
  const before = old !== undefined && comparable(old.context, context) ? old : undefined;
  const touched = before === undefined ? undefined : touchedChunks(before.context, context, before.byChunk);
  if (before !== undefined) carryPicked(before.context.ledger, ledger);
  const local: Finding[] = [];
  const checks = allChecks.filter(({ code }) => !settings.off.includes(code));
  const wholeChecks = checks.filter((check) => !isLocal(check, context));
  const kept = before !== undefined && isWholeKept(before, context, wholeChecks);
  const whole: Finding[] = kept ? [...before.whole] : [];
  if (!kept) for (const check of wholeChecks) run(check, () => check.run(context), whole, whole);
  const localChecks = checks.filter((check) => isLocal(check, context));
  const partlyLocal = checks.filter(({ runLocally }) => runLocally !== undefined);
  for (const part of touched === undefined ? stretchesOf(context) : [within(context, touched.all)]) {
    for (const check of localChecks) run(check, () => check.run(part), local);
    for (const check of partlyLocal) run(check, () => check.runLocally!(part), local);
  }
  for (const asked of askedOfTools) {
    const places = touched?.byTools[asked];
    if (places === undefined || places.size === 0) continue;
    // What is taken in has been looked at.
    const part = within(context, places, noChunks);
    for (const check of localChecks) if (check.asksOfTools === asked) run(check, () => check.run(part), local);
  }
  if (faults.length > 0 && touched !== undefined) return gather(context);
  const byChunk = distribute(model.tree, local, before, touched);
  if (faults.length === 0) known.set(ledger, { context, byChunk, whole, wholeChecks });
  for (const finding of whole) findings.push(finding);
  // Most chunks have none.
  for (const each of byChunk) if (each.length > 0) for (const finding of each) findings.push(finding);
  return { findings, faults };
}

/** True where the findings of whole checks are what they were: none of them stands in, or points to, what an edit has changed. */
function isWholeKept({ context, whole, wholeChecks }: Local, now: Context, checks: readonly Check[]): boolean {
  if (wholeChecks.length !== checks.length || wholeChecks.some((check, i) => check !== checks[i])) return false;
  if (!onlyTextsDiffer(context.model, now.model)) return false;
  if (whole.length === 0) return true;
  const { from, to } = changedChunks(context.model.tree, now.model.tree);
  const changed = new Set(context.model.tree.chunks.slice(from, to));
  return whole.every(
    ({ span, related }) => !changed.has(span.chunk) && related.every((each) => !changed.has(each.span.chunk)),
  );
}

const isLocal = ({ local }: Check, context: Context): boolean =>
  local === true || (typeof local === 'function' && local(context));

/** True where what stands outside of chunks is the same for local checks. */
const comparable = (before: Context, now: Context): boolean =>
  JSON.stringify(before.settings) === JSON.stringify(now.settings) &&
  (before.model.head === undefined) === (now.model.head === undefined) &&
  before.model.measures === now.model.measures &&
  !before.model.piece &&
  !now.model.piece &&
  before.model.tree.uri === now.model.tree.uri &&
  areStepsNear(before.model, now.model) &&
  (haveSameCodes(before.ledger, now.ledger) || !(singlesOut(before.model) || singlesOut(now.model)));

const haveSameCodes = (before: Ledger, now: Ledger): boolean =>
  before.variants.length === now.variants.length &&
  before.variants.every(({ code }, i) => code === now.variants[i]!.code);

/** The same context, of which only the chunks `touched` can be seen, and all that is taken in from other files. */
function within(context: Context, touched: ReadonlySet<number>, takenIn = context.model.takenIn): Context {
  const { tree, steps } = context.model;
  const order = [...touched].sort((a, b) => a - b);
  const chunks = order.map((c) => tree.chunks[c]!);
  const starts = order.map((c) => tree.starts[c]!);
  const seen = new Set([...chunks, ...takenIn.keys()]);
  const places: number[] = [];
  for (const [place, { step }] of steps.entries()) if (seen.has(step.chunk)) places.push(place);
  return partOf(context, new LazyTree(tree.uri, chunks, starts, tree), places);
}

/** Characters of a stretch: the nodes that they make fit in the processor's near memory. */
const stretchLength = 16_000;

/**
 * The context in stretches, one behind the other, so that each check finds at hand what the one before it has read: over a
 * long file each would fetch all of it anew. In one where steps of other files stand in between.
 */
function* stretchesOf(context: Context): Generator<Context> {
  const { tree, takenIn, piece } = context.model;
  const { chunks, starts, text } = tree;
  if (piece || takenIn.size > 0 || text.length < 2 * stretchLength) {
    yield context;
    return;
  }
  let step = 0;
  for (let from = 0; from < chunks.length; ) {
    const firstStep = step;
    let to = from;
    do {
      const { item, strayStep } = chunks[to++]!;
      step += (item?.kind === 'step' ? 1 : 0) + (strayStep === undefined ? 0 : 1);
    } while (to < chunks.length && starts[to]! - starts[from]! < stretchLength);
    const stretch = new LazyTree(tree.uri, chunks.slice(from, to), starts.slice(from, to), tree);
    const places: number[] = [];
    for (let place = firstStep; place < step; place++) places.push(place);
    yield partOf(context, stretch, places);
    from = to;
  }
}

/** The same context, of which only the chunks of `tree` and the steps at `places` can be seen. */
function partOf({ model, ledger, settings }: Context, tree: SyntaxTree, places: readonly number[]): Context {
  const steps = places.map((place) => model.steps[place]!);
  const ownDeclarations: Declaration[] = [];
  for (const { item } of tree.chunks) if (isDeclaration(item)) ownDeclarations.push(item);
  const part: Model = { ...model, tree, steps, ownDeclarations };
  // Codes that see the same procedure go on sharing what it did.
  const shared = new Map<Variant['entries'], Pick<Variant, 'records' | 'entries'>>();
  const variants = ledger.variants.map((variant) => {
    let seen = shared.get(variant.entries);
    if (seen === undefined) {
      const records = places.map((place) => variant.records[place]!);
      const entries: Entry[] = [];
      for (const record of records) for (const entry of record.entries) entries.push(entry);
      seen = { records, entries };
      shared.set(variant.entries, seen);
    }
    return { ...variant, ...seen };
  });
  return { model: part, ledger: { model: part, variants }, settings };
}

function distribute(
  now: SyntaxTree,
  local: readonly Finding[],
  before: Local | undefined,
  touched: Touched | undefined,
): readonly (readonly Finding[])[] {
  const { chunks } = now;
  const found = new Map<Chunk, Finding[]>();
  for (const finding of local) addTo(found, finding.span.chunk, finding);
  const foundIn = (c: number): readonly Finding[] => found.get(chunks[c]!) ?? none;
  if (before === undefined || touched === undefined) return chunks.map((_, c) => foundIn(c));
  const old = before.context.model.tree.chunks;
  const moved = old.length - chunks.length;
  const keptIn = (c: number): readonly Finding[] => before.byChunk[old[c] === chunks[c] ? c : c + moved]!;
  const { from, to, until } = changedChunks(before.context.model.tree, now);
  const byChunk = replaced(before.byChunk, from, to, new Array<readonly Finding[]>(until - from).fill(none));
  for (const c of touched.all) byChunk[c] = foundIn(c);
  const { byTools } = touched;
  const isAskedAgain = (finding: Finding, c: number): boolean => {
    const asked = askedFor(finding);
    return asked !== undefined && byTools[asked].has(c);
  };
  for (const c of new Set(askedOfTools.flatMap((asked) => [...byTools[asked]])))
    byChunk[c] = keptIn(c)
      .filter((finding) => !isAskedAgain(finding, c))
      .concat(foundIn(c));
  return byChunk;
}
