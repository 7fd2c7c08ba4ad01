import { standsInPhase } from '../../../grammar/heads.ts';
import { countFirst } from '../../../grammar/sorted.ts';
import {
  type Chunk,
  offsetsOf,
  type Span,
  type Statement,
  type SyntaxTree,
  type Use,
} from '../../../grammar/syntax.ts';
import { type Ledger, replay, unplayed } from '../ledger/ledger.ts';
import { bringersOf } from '../model/bringers.ts';
import { addTo } from '../model/grouped.ts';
import { isDeclaration } from '../model/mentions.ts';
import type { Model } from '../model/model.ts';
import { statementsIn, stepsOfChunk } from '../model/statements.ts';
import { checkOf } from './all.ts';
import { type Allowance, allowancesOf } from './allow.ts';
import { type Context, defaultSettings, type Finding, type Settings } from './check.ts';
import { gather } from './gather.ts';
import { idle, idleAllow } from './idle-allow.ts';
import { remedyEnd } from './unknown-name.ts';
import { named } from './wording.ts';

export interface Judged {
  readonly ledger: Ledger;
  readonly findings: readonly Finding[];
  /** What `fettle-allow` silenced. */
  readonly allowed: readonly Finding[];
}

/**
 * Judges one file by its replay. Findings stand in this file only, in the order of the text. `earlier`, a ledger of the
 * same file that was judged with the same settings, spares what an edit has not touched; the outcome is the same.
 */
export function judge(
  model: Model,
  settings: Settings = defaultSettings,
  ledger: Ledger = replay(model),
  earlier?: Ledger,
): Judged {
  // Of steps for other procedures it is not known where their parts are when they begin.
  const context: Context = { model, ledger: model.piece ? unplayed(model) : ledger, settings };
  const { findings: found, faults } = gather(context, earlier);
  const all = [...found, ...faults.map(({ check, error }) => faultOf(model, check.code, error))];
  const { tree } = model;
  const inOrder = (findings: readonly Finding[]): Finding[] => {
    if (findings.length < 2) return [...findings];
    const at = new Map(findings.map((finding) => [finding, offsetsOf(tree, finding.span)]));
    return [...findings].sort(
      (a, b) =>
        at.get(a)!.start - at.get(b)!.start ||
        at.get(a)!.end - at.get(b)!.end ||
        placeElsewhere(model, a) - placeElsewhere(model, b) ||
        (a.code < b.code ? -1 : a.code > b.code ? 1 : 0),
    );
  };
  const counts = ({ code, reason }: Allowance): boolean => reason !== '' && checkOf(code) !== undefined;
  const allowances = allowancesOf(tree, earlier?.model.tree).filter(counts);
  // What an author allowed in a shared file is allowed wherever its steps are taken in.
  const shared = [...new Set([...model.takenIn.keys()].map(({ uri }) => uri))].flatMap((uri) => {
    const file = model.files.find((each) => each.uri === uri)!;
    return allowancesOf(file)
      .filter(counts)
      .map(({ code, span }) => ({ code, uri, file, target: targetOf(file, span) }));
  });
  if (allowances.length + shared.length === 0) return { ledger, findings: inOrder(toldOnce(all)), allowed: [] };
  /** By the code that is allowed: thousands of lines may have each its own. */
  const targets = new Map<string, { allowance: Allowance; target: Target }[]>();
  for (const allowance of allowances) {
    const target = targetOf(tree, allowance.span, model);
    if (target === undefined || allowance.code === 'syntax') continue;
    addTo(targets, allowance.code, { allowance, target });
  }
  const findings: Finding[] = [];
  const allowed: Finding[] = [];
  const busy = new Set<Allowance>();
  for (const finding of all) {
    const { elsewhere } = finding;
    if (
      elsewhere !== undefined &&
      shared.some(
        ({ code, uri, file, target }) =>
          code === finding.code &&
          ((target?.use !== undefined && bringersOf(model, elsewhere.chunk).includes(target.use)) ||
            (uri === elsewhere.chunk.uri && holds(target, offsetsOf(file, elsewhere).start))),
      )
    ) {
      allowed.push(finding);
      continue;
    }
    const { start } = offsetsOf(tree, finding.span);
    const silencing = (targets.get(finding.code) ?? []).filter(({ target }) => holds(target, start));
    for (const { allowance } of silencing) busy.add(allowance);
    (silencing.length > 0 ? allowed : findings).push(finding);
  }
  const broken = all.filter(({ code }) => code === faultCode).map(({ data }) => data?.['subject']);
  const isFoundIn = findingsWithin(tree, findings);
  for (const allowance of allowances) {
    const { code } = allowance;
    if (busy.has(allowance) || settings.off.includes(code) || broken.includes(code) || isUnread(model)) continue;
    if (settings.off.includes(idleAllow.code)) continue;
    const severity = settings.severities[idleAllow.code] ?? idleAllow.severity;
    const block = targetOf(tree, allowance.span, model)?.block;
    const isInside = block !== undefined && isFoundIn(code, block);
    findings.push({ ...idle(allowance, isInside ? block.kind : undefined), code: idleAllow.code, severity });
  }
  return { ledger, findings: inOrder(toldOnce(findings)), allowed: inOrder(allowed) };
}

/** One slip, one finding: without what could not be read behind a name that was told of, where its remedy takes that in. */
function toldOnce(findings: readonly Finding[]): readonly Finding[] {
  const mended = new Map<Chunk, Set<number>>();
  for (const { span, data } of findings) {
    const end = data?.[remedyEnd];
    if (typeof end !== 'number') continue;
    const { chunk } = span;
    const words = mended.get(chunk) ?? new Set();
    mended.set(chunk, words);
    for (let at = span.end; at < end; at++)
      if (/[ \t]/.test(chunk.text[at - 1]!) || /[‑–_]/.test(chunk.text[at]!)) words.add(at);
  }
  if (mended.size === 0) return findings;
  return findings.filter(({ code, span }) => code !== 'syntax' || !mended.get(span.chunk)?.has(span.start));
}

const holds = (target: { start: number; end: number } | undefined, at: number): boolean =>
  target !== undefined && at >= target.start && at < Math.max(target.end, target.start + 1);

/** Tells whether a finding of a code begins in a stretch of the file. */
function findingsWithin(tree: SyntaxTree, findings: readonly Finding[]): (code: string, block: Span) => boolean {
  let places: Map<string, number[]> | undefined;
  return (code, block) => {
    if (places === undefined) {
      places = new Map();
      for (const finding of findings) addTo(places, finding.code, offsetsOf(tree, finding.span).start);
      for (const starts of places.values()) starts.sort((a, b) => a - b);
    }
    const { start, end } = offsetsOf(tree, block);
    const starts = places.get(code) ?? [];
    return (starts[countFirst(starts, (at) => at < start)] ?? end) < end;
  };
}

/** Orders findings that are shown at one `use` by their files and their places in them. */
function placeElsewhere({ files }: Model, { elsewhere }: Finding): number {
  if (elsewhere === undefined) return -1;
  let before = 0;
  for (const file of files) {
    if (file.uri === elsewhere.chunk.uri) return before + offsetsOf(file, elsewhere).start;
    before += file.text.length;
  }
  return before;
}

/**
 * Where a line or a file could not be read, and in steps for other procedures, checks hold back: what an allowance is for
 * may show again.
 */
export const isUnread = ({ tree, useTroubles, piece }: Model): boolean =>
  piece || useTroubles.length > 0 || tree.chunks.some(({ issues }) => issues.length > 0);

/** The code of a finding that tells of a broken check. It is no check: nothing sets it off or silences it. */
export const faultCode = 'fault';

function faultOf({ tree, head }: Model, code: string, error: unknown): Finding {
  const chunk = tree.chunks[0]!;
  return {
    code: faultCode,
    severity: 'error',
    span: head?.keyword ?? { chunk, start: 0, end: Math.min(1, chunk.text.length) },
    message: `the check ${named(code)} broke off (${String(error)}) and may have missed something: this is a fault of Fettle, not of the procedure; please report it with this file.`,
    related: [],
    data: { subject: code },
  };
}

interface Target {
  readonly start: number;
  readonly end: number;
  /** Where it is one that takes in steps. */
  readonly use?: Use;
  /** Where it is the opening line of one. */
  readonly block?: Statement;
}

/**
 * From behind a comment to the end of the next statement or declaration, and so over a step or phase line before it; of
 * a block, to the end of its opening line. A `use` that takes in steps of `model` counts as a statement.
 */
const targetOf = (tree: SyntaxTree, comment: Span, model?: Model): Target | undefined =>
  targetFrom(tree, tree.chunks.indexOf(comment.chunk), offsetsOf(tree, comment).end, model);

/** Whether an allowance in a line of its own, put in at the offset `line` above `chunk`, would hold at the offset `at`. */
export function wouldHold(tree: SyntaxTree, chunk: Chunk, line: number, at: number, model: Model): boolean {
  let from = tree.chunks.indexOf(chunk);
  while (from > 0 && tree.starts[from]! > line) from--;
  return holds(targetFrom(tree, from, line, model), at);
}

function targetFrom(tree: SyntaxTree, from: number, start: number, model?: Model): Target | undefined {
  let best: Target | undefined;
  const offer = (place: Target): void => {
    if (place.start >= start && (best === undefined || place.start < best.start)) best = place;
  };
  for (let c = from; c < tree.chunks.length && best === undefined; c++) {
    const chunk = tree.chunks[c]!;
    const item = chunk.item;
    if (isDeclaration(item)) offer(offsetsOf(tree, item));
    // Of a shared file it is not known here which lines take in steps; one below a phase does, if any.
    if (item?.kind === 'use' && (model === undefined ? standsInPhase(tree, c) : model.sequences.has(item)))
      offer({ ...offsetsOf(tree, item), use: item });
    for (const step of stepsOfChunk(chunk)) {
      const base = tree.starts[c]!;
      const next = statementsIn(step).find((statement) => base + statement.start >= start);
      if (next === undefined) continue;
      const inner = next.branches?.find(({ statements }) => statements.length > 0)?.statements[0];
      const place = { start: base + next.start, end: base + (inner?.start ?? next.end) };
      offer(inner === undefined ? place : { ...place, block: next });
    }
  }
  return best && { ...best, start };
}
