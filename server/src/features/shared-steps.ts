import { type CodeAction, CodeActionKind, type CreateFile, type TextDocumentEdit } from 'vscode-languageserver';
import { URI, Utils } from 'vscode-uri';
import { format, lineEndingOf } from '../../../grammar/printer.ts';
import type { Chunk, Declaration, Step, SyntaxTree } from '../../../grammar/syntax.ts';
import { patched, type TextPatch } from '../checks/mend.ts';
import { mentionsOf } from '../model/mentions.ts';
import type { Model } from '../model/model.ts';
import { sharedComment } from '../model/piece.ts';
import type { Snapshot } from '../snapshot.ts';
import { extentOf } from './document-symbol.ts';
import { difference, textEditsOf } from './edits.ts';
import type { Client } from './feature.ts';

/**
 * Whole steps of one phase that the selection touches go to a file of their own, with the declarations that they need; a
 * `use` stands in their place.
 */
export function* sharedSteps(snapshot: Snapshot, start: number, end: number, client: Client): Generator<CodeAction> {
  if (start === end || !client.documentChanges || !client.createsFiles) return;
  const moved = movedAt(snapshot, start, end);
  if (moved === undefined) return;
  const { path, own, shared, count } = moved;
  const uri = Utils.joinPath(Utils.dirname(URI.parse(snapshot.file.uri)), path).toString();
  const create: CreateFile = { kind: 'create', uri, options: { overwrite: false } };
  const top = { line: 0, character: 0 };
  const filled: TextDocumentEdit = {
    textDocument: { uri, version: null },
    edits: [{ range: { start: top, end: top }, newText: shared }],
  };
  const left: TextDocumentEdit = {
    textDocument: { uri: snapshot.file.uri, version: snapshot.file.version ?? null },
    edits: textEditsOf(snapshot.file, difference(snapshot.text, own)),
  };
  yield {
    title: `Move ${count === 1 ? 'this step' : `${count} steps`} to a shared sequence`,
    kind: CodeActionKind.RefactorExtract,
    edit: { documentChanges: [create, filled, left] },
  };
}

/** Both texts; nothing where the steps cannot be moved as they are. */
function movedAt(
  snapshot: Snapshot,
  start: number,
  end: number,
): { path: string; own: string; shared: string; count: number } | undefined {
  const { tree, model, text } = snapshot;
  const { chunks, starts } = tree;
  const touched = chunks.flatMap((chunk, c) => {
    const extent = extentOf(tree, c);
    return chunk.item?.kind === 'step' && extent.start < end && extent.end > start ? [c] : [];
  });
  const [first] = touched;
  const last = touched.at(-1);
  if (first === undefined || last === undefined || last - first + 1 !== touched.length) return undefined;
  const steps = chunks.slice(first, last + 1);
  const entry = model.steps.find(({ step }) => step === steps[0]!.item);
  const needed = neededBy(steps, model);
  const { phase } = entry ?? {};
  if (phase === undefined || needed === undefined || !steps.every(isWhole) || !needed.every(isWhole)) return undefined;
  const names = new Set(needed.map(({ item }) => (item as Declaration).name));
  if (model.duplicates.some(({ name, first: other }) => names.has(name) || names.has(other))) return undefined;
  const ownNeeded = new Set(needed.filter(({ uri }) => uri === tree.uri));
  const own = chunks.flatMap((chunk, c) => (ownNeeded.has(chunk) ? [c] : []));
  const at = starts[first]!;
  // A step that begins within a line has its line torn.
  if (at > 0 && !/[\r\n]/.test(text[at - 1]!)) return undefined;

  const eol = lineEndingOf(text);
  const path = pathFor(snapshot, steps[0]!.item as Step);
  const bodyOf = (chunk: Chunk): string => chunk.text.replace(/^(?:[^\S\r\n]*(?:\r\n|\n|\r))+/, '').trimEnd();
  const uses = usesFor(needed, snapshot);
  const shared = [
    `${sharedComment}: steps that procedures take in with \`use\` in their ${phase}`,
    ...uses.map((use) => `use "${use.replace(/["\\]/g, '\\$&')}"`),
    ...(own.length === 0 ? [] : ['', ...own.map((c) => bodyOf(chunks[c]!))]),
    '',
    phase,
    steps.map(bodyOf).join(eol + eol),
    '',
  ].join(eol);
  /** The blank line ahead stays. */
  const gapOf = (chunk: Chunk): string => (/^[^\S\r\n]*[\r\n]/.test(chunk.text) ? eol : '');
  const patches: TextPatch[] = [
    { start: at, end: starts[last]! + steps.at(-1)!.text.length, text: `${gapOf(steps[0]!)}  use "${path}"${eol}` },
    ...own.map(
      (c): TextPatch => ({ start: starts[c]!, end: starts[c]! + chunks[c]!.text.length, text: gapOf(chunks[c]!) }),
    ),
  ];
  const left = patched(text, patches);
  // What was laid out stays so.
  return { path, own: format(text) === text ? format(left) : left, shared: format(shared), count: steps.length };
}

const isWhole = ({ issues, item, strayStep }: Chunk): boolean =>
  issues.length === 0 && strayStep === undefined && (item as Declaration | Step).broken !== true;

/** Chunks of the declarations that `steps` name, and of those that these name in turn; nothing where one is missing. */
function neededBy(steps: readonly Chunk[], model: Model): readonly Chunk[] | undefined {
  const { parts, tools, supplies, patterns } = model;
  const found = new Set<Chunk>();
  const queue = [...steps];
  for (let chunk = queue.pop(); chunk !== undefined; chunk = queue.pop()) {
    for (const { name, kind } of mentionsOf(chunk).all) {
      if (kind === 'step' || kind === 'reading' || kind === 'code') continue;
      const declaration = {
        part: parts.get(name.text),
        tool: tools.get(name.text),
        supply: supplies.get(name.text),
        pattern: patterns.get(name.text),
        'part or supply': parts.get(name.text) ?? supplies.get(name.text),
      }[kind];
      if (declaration === undefined) return undefined;
      if (found.has(declaration.chunk)) continue;
      found.add(declaration.chunk);
      queue.push(declaration.chunk);
    }
  }
  return [...found];
}

/** Paths, as this file has them, of the used files that hold what is needed and stands in other files. */
function usesFor(needed: readonly Chunk[], { model, tree }: Snapshot): string[] {
  const missing = new Set(needed.flatMap(({ uri }) => (uri === tree.uri ? [] : [uri])));
  const paths: string[] = [];
  for (const { item } of tree.chunks) {
    const target = item?.kind === 'use' ? model.targets.get(item) : undefined;
    if (item?.kind !== 'use' || target === undefined) continue;
    const reached = [...reachedFrom(target, model)].filter((uri) => missing.has(uri));
    if (reached.length === 0) continue;
    for (const uri of reached) missing.delete(uri);
    paths.push(item.path!.value);
  }
  return paths;
}

function* reachedFrom(file: SyntaxTree, model: Model, entered = new Set<string>()): Generator<string> {
  if (entered.has(file.uri)) return;
  entered.add(file.uri);
  yield file.uri;
  for (const { item } of file.chunks) {
    const target = item?.kind === 'use' ? model.targets.get(item) : undefined;
    if (target !== undefined) yield* reachedFrom(target, model, entered);
  }
}

/** `pump-close.fettle` beside `pump.fettle`, by the first step. */
function pathFor({ file }: Snapshot, step: Step): string {
  const base = file.name.replace(/\.fettle$/, '');
  return `${base}-${step.name?.text ?? 'steps'}.fettle`;
}
