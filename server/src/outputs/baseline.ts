import { lineFinder, offsetsOf, type Span, type Statement, type SyntaxTree, walk } from '../../../grammar/syntax.ts';
import { lex, PlusMinus, Text, Times } from '../../../grammar/tokens.ts';
import { unitOf } from '../../../grammar/units.ts';
import type { Finding } from '../checks/check.ts';
import type { Model } from '../model/model.ts';
import { stepsOfChunk } from '../model/statements.ts';

/** By which a finding is known again when lines move or the layout changes. */
export interface Fingerprint {
  readonly code: string;
  /** The part, supply … that it is about; empty where the check names none. */
  readonly subject: string;
  /** The statement or declaration that it stands in, in the formatter's words. */
  readonly at: string;
}

export interface KnownFinding extends Fingerprint {
  /** How often it occurs in the file. */
  readonly count: number;
}

/** Known findings by file; a file is named from the folder of the baseline, with `/`. */
export type Baseline = ReadonlyMap<string, readonly KnownFinding[]>;

export function fingerprintOf(model: Model, finding: Finding): Fingerprint {
  const { code, data } = finding;
  const span = finding.elsewhere ?? finding.span;
  const tree = model.files.find(({ uri }) => uri === span.chunk.uri) ?? model.tree;
  return { code, subject: String(data?.['subject'] ?? ''), at: contextOf(tree, span) };
}

const keyOf = ({ code, subject, at }: Fingerprint): string => JSON.stringify([code, subject, at]);

/** The findings of one file as a baseline keeps them, sorted. */
export function knownOf(fingerprints: Iterable<Fingerprint>): KnownFinding[] {
  const known = new Map<string, KnownFinding>();
  for (const each of fingerprints) {
    const key = keyOf(each);
    known.set(key, { ...each, count: (known.get(key)?.count ?? 0) + 1 });
  }
  return [...known].sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, each]) => each);
}

/** Tells the new findings of one file from its known ones: of those that are alike, as many are known as were counted. */
export class KnownFindings {
  private readonly left = new Map<string, number>();

  constructor(known: readonly KnownFinding[]) {
    for (const each of known) this.left.set(keyOf(each), (this.left.get(keyOf(each)) ?? 0) + each.count);
  }

  /** True where the finding was known; each occurrence counts once. */
  take(fingerprint: Fingerprint): boolean {
    const key = keyOf(fingerprint);
    const count = this.left.get(key) ?? 0;
    if (count > 0) this.left.set(key, count - 1);
    return count > 0;
  }

  /** Known findings that were not taken: they are gone. */
  get gone(): number {
    return [...this.left.values()].reduce((sum, count) => sum + count, 0);
  }
}

/** What stands around a place, free of layout: the statement, the opening of a block or step, the declaration, the head. */
function contextOf(tree: SyntaxTree, span: Span): string {
  const { chunk } = span;
  const around = (inner: Span): boolean =>
    inner.start <= span.start && span.start < Math.max(inner.end, inner.start + 1);
  let found: { start: number; end: number } | undefined;
  for (const step of stepsOfChunk(chunk)) {
    for (const statement of walk(step.statements)) if (around(statement)) found = opening(statement);
    if (found === undefined && step.keyword !== undefined && around(step))
      found = { start: step.keyword.start, end: step.statements[0]?.start ?? step.end };
  }
  const { item } = chunk;
  if (found === undefined && item !== undefined && item.kind !== 'step' && around(item)) found = item;
  return plain(found === undefined ? lineAt(tree, span) : chunk.text.slice(found.start, found.end));
}

/** A statement whole; of a block, what stands before its first statement. */
function opening(statement: Statement): { start: number; end: number } {
  const inner = statement.branches?.find(({ statements }) => statements.length > 0)?.statements[0];
  return { start: statement.start, end: inner?.start ?? statement.end };
}

function lineAt(tree: SyntaxTree, span: Span): string {
  const { start } = offsetsOf(tree, span);
  const from = Math.max(tree.text.lastIndexOf('\n', start - 1), tree.text.lastIndexOf('\r', start - 1)) + 1;
  const length = tree.text.slice(from).search(/[\r\n]/);
  return tree.text.slice(from, length < 0 ? undefined : from + length);
}

/** One blank between words, no comments, every word as the formatter spells it. */
const plain = (text: string): string => {
  const { tokens, comments } = lex(text);
  if (tokens.length === 0) return comments.map(({ image }) => image.replace(/\s+/g, ' ').trim()).join(' ');
  return tokens
    .map(({ image, tokenType: type }) => {
      if (type === Text) return image;
      if (type === Times) return `x${image.slice(1)}`;
      if (type === PlusMinus) return '±';
      return unitOf(image)?.symbol ?? image.replace('−', '-').replace(/^(M[\d.]+)×/, '$1x');
    })
    .join(' ');
};

// --- the file ---------------------------------------------------------------------------------------------------------

const version = 1;

/** The text of a baseline file: one known finding a line, so that a review of it reads well. */
export function writeBaseline(baseline: Baseline): string {
  const files = [...baseline]
    .filter(([, known]) => known.length > 0)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(
      ([file, known]) =>
        `    ${JSON.stringify(file)}: [\n${known.map((each) => `      ${rowOf(each)}`).join(',\n')}\n    ]`,
    );
  const body = files.length === 0 ? '{}' : `{\n${files.join(',\n')}\n  }`;
  return `{\n  "fettle-baseline": ${version},\n  "files": ${body}\n}\n`;
}

const rowOf = ({ code, subject, at, count }: KnownFinding): string =>
  `{ ${Object.entries({ code, subject, at, count })
    .map(([key, value]) => `${JSON.stringify(key)}: ${JSON.stringify(value)}`)
    .join(', ')} }`;

/** Reads what {@link writeBaseline} wrote; or says what is wrong with it, and what would mend it. */
export function readBaseline(text: string): Baseline | { readonly reason: string } {
  const anew = 'write it anew with --write-baseline';
  let whole: unknown;
  try {
    whole = JSON.parse(text);
  } catch (error) {
    const position = Number(/position (\d+)/.exec((error as Error).message)?.[1] ?? text.length);
    const line = lineFinder(text)(position) + 1;
    return { reason: `is no JSON (line ${line}): settle the conflict in it, or ${anew}` };
  }
  if (!isObject(whole) || !('fettle-baseline' in whole)) return { reason: `is no baseline of Fettle: ${anew}` };
  if (whole['fettle-baseline'] !== version)
    return { reason: `is a baseline of another Fettle (${JSON.stringify(whole['fettle-baseline'])}): ${anew}` };
  if (!isObject(whole['files'])) return { reason: `has no "files": ${anew}` };
  const baseline = new Map<string, KnownFinding[]>();
  for (const [file, known] of Object.entries(whole['files'])) {
    if (!Array.isArray(known) || !known.every(isKnown))
      return { reason: `has an entry of ${JSON.stringify(file)} that cannot be read: ${anew}` };
    baseline.set(file, known);
  }
  return baseline;
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
const isKnown = (value: unknown): value is KnownFinding =>
  isObject(value) &&
  ['code', 'subject', 'at'].every((key) => typeof value[key] === 'string') &&
  Number.isInteger(value['count']) &&
  Number(value['count']) > 0;
