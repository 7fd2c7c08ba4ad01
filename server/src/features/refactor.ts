import { type CodeAction, CodeActionKind, type CreateFile, type TextDocumentEdit } from 'vscode-languageserver';
import { URI, Utils } from 'vscode-uri';
import { lineEndingOf } from '../../../grammar/printer.ts';
import type { Chunk, Declaration, PhaseLine } from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { warned } from '../checks/hazards.ts';
import type { TextPatch } from '../checks/mend.ts';
import { tightenAsDeclared } from '../checks/tighten-line.ts';
import { countOf } from '../model/model.ts';
import { referencesOfDeclaration } from '../model/references.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import { namingAt } from './at.ts';
import { extentOf } from './document-symbol.ts';
import { textEditsOf, workspaceEditOf } from './edits.ts';
import type { Client } from './feature.ts';
import { sharedSteps } from './shared-steps.ts';

/** What can be made of the selection from `start` to `end`. */
export function refactorsAt(snapshot: Snapshot, start: number, end: number, client: Client): CodeAction[] {
  return [
    ...moves(snapshot, start, end, client),
    ...sharedSteps(snapshot, start, end, client),
    ...addedSteps(snapshot, start, client),
  ];
}

// --- declarations to a shared file --------------------------------------------------------------------------------------

interface Moved {
  readonly declaration: Declaration & { readonly name: NonNullable<Declaration['name']> };
  readonly chunk: Chunk;
  readonly start: number;
  readonly end: number;
}

const isDeclaration = (item: Chunk['item']): item is Declaration =>
  item?.kind === 'part' || item?.kind === 'tool' || item?.kind === 'supply' || item?.kind === 'pattern';

/** Whole declarations that the selection touches, each with the comments above it and its line break. */
function declarationsIn(snapshot: Snapshot, start: number, end: number): Moved[] {
  const { chunks, starts } = snapshot.tree;
  return chunks.flatMap((chunk, c): Moved[] => {
    const { item } = chunk;
    if (!isDeclaration(item) || item.name === undefined || item.broken || chunk.issues.length > 0) return [];
    const extent = extentOf(snapshot.tree, c);
    if (extent.end < start || extent.start > end) return [];
    const whole = { start: starts[c]!, end: starts[c]! + chunk.text.length };
    return [{ declaration: item as Moved['declaration'], chunk, ...whole }];
  });
}

function* moves(snapshot: Snapshot, start: number, end: number, client: Client): Generator<CodeAction> {
  // A cursor alone means the name under it, not a wish to move the line.
  if (start === end || !client.documentChanges) return;
  const moved = declarationsIn(snapshot, start, end);
  if (moved.length === 0) return;
  const named = moved.length === 1 ? `\`${moved[0]!.declaration.name.text}\`` : `${moved.length} declarations`;
  const eol = lineEndingOf(snapshot.text);
  const text = moved.map(({ chunk }) => `${chunk.text.trim()}${eol}`).join('');
  const taken = textEditsOf(
    snapshot.file,
    moved.map((each): TextPatch => ({ start: each.start, end: each.end, text: '' })),
  );

  for (const target of usedFiles(snapshot)) {
    if (!standsAlone(snapshot, moved, target)) continue;
    const gap = target.text === '' || /[\r\n]$/.test(target.text) ? '' : eol;
    const at = target.text.length;
    yield {
      title: `Move ${named} to ${target.name}`,
      kind: CodeActionKind.RefactorMove,
      edit: workspaceEditOf(
        [
          { file: snapshot.file, edits: taken },
          { file: target, edits: textEditsOf(target, [{ start: at, end: at, text: gap + text }]) },
        ],
        client,
      ),
    };
  }
  if (!client.createsFiles || !standsAlone(snapshot, moved)) return;
  const path = newPath(snapshot);
  const uri = Utils.joinPath(Utils.dirname(URI.parse(snapshot.file.uri)), path).toString();
  // Those in a phase take in steps.
  const use = snapshot.tree.chunks.findLast(({ item }) => item?.kind === 'use' && !snapshot.model.sequences.has(item));
  const head = use ?? snapshot.tree.chunks.find(({ item }) => item?.kind === 'procedure');
  const below = head === undefined ? 0 : extentOf(snapshot.tree, snapshot.tree.chunks.indexOf(head)).end;
  const line = head === undefined ? `use "${path}"${eol}` : `${eol}${use === undefined ? eol : ''}use "${path}"`;
  const create: CreateFile = { kind: 'create', uri, options: { overwrite: false } };
  const start0 = { line: 0, character: 0 };
  const filled: TextDocumentEdit = {
    textDocument: { uri, version: null },
    edits: [{ range: { start: start0, end: start0 }, newText: text }],
  };
  const own: TextDocumentEdit = {
    textDocument: { uri: snapshot.file.uri, version: snapshot.file.version ?? null },
    edits: [...textEditsOf(snapshot.file, [{ start: below, end: below, text: line }]), ...taken],
  };
  yield {
    title: `Move ${named} to a new shared file`,
    kind: CodeActionKind.RefactorExtract,
    edit: { documentChanges: [create, filled, own] },
  };
}

/** Files that this one uses directly. */
const usedFiles = (snapshot: Snapshot): SourceFile[] =>
  snapshot.tree.chunks.flatMap(({ item }) => {
    if (item?.kind !== 'use' || item.path === undefined) return [];
    const target = snapshot.resolve(item.path.value, snapshot.file.key);
    const file = 'missing' in target ? undefined : snapshot.files.get(target.uri);
    // A file that uses this one would get its own declarations back.
    return file === undefined || file === snapshot.file ? [] : [file];
  });

/** True where all that the declarations name goes with them, or is in the file that they go to. */
function standsAlone(snapshot: Snapshot, moved: readonly Moved[], target?: SourceFile): boolean {
  const names = new Set(moved.map(({ declaration }) => `${declaration.kind} ${declaration.name.text}`));
  for (const { item } of target?.tree.chunks ?? [])
    if (isDeclaration(item) && item.name !== undefined) names.add(`${item.kind} ${item.name.text}`);
  const known = (kind: string, name: string): boolean => names.has(`${kind} ${name}`);
  const duplicates = new Set(snapshot.model.duplicates.map(({ name }) => name.text));
  return moved.every(
    ({ declaration }) =>
      referencesOfDeclaration(declaration).every(({ kind, name }) => known(kind, name.text)) &&
      !duplicates.has(declaration.name.text),
  );
}

/** `pump-parts.fettle` beside `pump.fettle`. */
const newPath = (snapshot: Snapshot): string => `${snapshot.file.name.replace(/\.fettle$/, '')}-parts.fettle`;

// --- a step for a part --------------------------------------------------------------------------------------------------

/** For a part that no statement takes off: a step that does, and one that puts it back. */
function* addedSteps(snapshot: Snapshot, offset: number, client: Client): Generator<CodeAction> {
  const { model } = snapshot;
  const naming = namingAt(snapshot, offset);
  if (naming?.kind !== 'part' || naming.definition === undefined || model.head === undefined) return;
  const part = naming.definition as Declaration;
  const name = naming.name.text;
  const moves = model.steps.length > 0 && snapshot.ledger.variants.some((variant) => variant.final.get(name)?.cameOff);
  if (moves) return;
  const eol = lineEndingOf(snapshot.text);
  const title = part.title?.value.trim() || name;
  const said = (verb: string): string =>
    `${verb} the ${title[0]!.toLowerCase()}${title.slice(1)}`.replaceAll('"', '\\"');
  const renew = part.renew !== undefined;
  const count = countOf(part);
  const many = count > 1 ? ` x${count}` : '';
  const step = (verb: string, lines: readonly string[]): string[] => [
    `  step ${free(snapshot, `${verb.toLowerCase()}-${name}`)} "${said(verb)}"`,
    ...warned(model, name, lines, undefined).map((line) => `    ${line}`),
  ];
  const off = step('Remove', [`remove ${name}`, ...(renew ? [`discard ${name}`] : [])]);
  const back = step('Fit', [
    `fit ${renew ? `new ${name}${many}` : name}`,
    ...(model.fasteners.has(name) ? [tightenAsDeclared(model, name, count)] : []),
  ]);
  const patches = [
    inPhase(snapshot, 'teardown', off, 'last', eol),
    inPhase(snapshot, 'reassembly', back, 'first', eol),
  ];
  yield {
    title: `Add a step that takes \`${name}\` off, and one that puts it back`,
    kind: CodeActionKind.RefactorRewrite,
    edit: workspaceEditOf([{ file: snapshot.file, edits: textEditsOf(snapshot.file, patches) }], client),
  };
}

function free(snapshot: Snapshot, wanted: string): string {
  let name = wanted;
  for (let n = 2; snapshot.model.stepNames.has(name); n++) name = `${wanted}-${n}`;
  return name;
}

/** Writes a step into a phase, which is made where there is none. */
function inPhase(
  snapshot: Snapshot,
  word: PhaseWord,
  lines: readonly string[],
  where: 'first' | 'last',
  eol: string,
): TextPatch {
  const { chunks } = snapshot.tree;
  const ends = (chunk: Chunk): number => extentOf(snapshot.tree, chunks.indexOf(chunk)).end;
  const c = chunks.findIndex(({ item }) => item?.kind === word);
  const insert = (at: number, text: string): TextPatch => ({ start: at, end: at, text });
  if (c >= 0) {
    let last = c;
    while (where === 'last' && chunks[last + 1]?.item?.kind === 'step') last++;
    const gap = last === c ? eol : `${eol}${eol}`;
    const tail = where === 'first' && chunks[c + 1]?.item?.kind === 'step' ? eol : '';
    return insert(ends(chunks[last]!), `${gap}${lines.join(eol)}${tail}`);
  }
  // Behind the last chunk that comes before such a phase.
  const later = new Set<string>(phaseWords.slice(phaseWords.indexOf(word) + 1));
  const next = chunks.findIndex(({ item }) => item !== undefined && later.has((item as PhaseLine).kind));
  const before = chunks.slice(0, next < 0 ? chunks.length : next).findLast(({ item }) => item !== undefined);
  const text = [`${word}`, ...lines].join(eol);
  return before === undefined ? insert(0, `${text}${eol}`) : insert(ends(before), `${eol}${eol}${text}`);
}
