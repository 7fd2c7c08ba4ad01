import { type CodeAction, CodeActionKind, type WorkspaceEdit } from 'vscode-languageserver';
import { chunkAt } from '../../../grammar/syntax.ts';
import { missing, on } from '../ledger/state.ts';
import { type Draft, draft } from '../outputs/draft.ts';
import type { Range } from '../outputs/report.ts';
import { type DraftAnswer, type FileParams, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { textEditsOf, workspaceEditOf } from './edits.ts';
import { type Client, feature } from './feature.ts';

export const draftKind = CodeActionKind.RefactorRewrite;
const title = 'Draft the reassembly that answers the teardown';

const drafts = new WeakMap<Snapshot, Draft>();
function draftOf(snapshot: Snapshot): Draft {
  let made = drafts.get(snapshot);
  if (made === undefined) {
    made = draft(snapshot.model, snapshot.judged.ledger);
    drafts.set(snapshot, made);
  }
  return made;
}

const patchesOf = (snapshot: Snapshot): ReturnType<typeof textEditsOf> =>
  textEditsOf(
    snapshot.file,
    draftOf(snapshot).edits.filter(({ uri }) => uri === snapshot.tree.uri),
  );

/** What the editor command inserts, and what it then says. */
export const draftAnswer = (snapshot: Snapshot): DraftAnswer => ({
  version: snapshot.file.version,
  edits: patchesOf(snapshot),
  notes: draftOf(snapshot).notes,
});

export function draftEdit(snapshot: Snapshot, client: Client): WorkspaceEdit {
  const edits = patchesOf(snapshot);
  return edits.length === 0 ? {} : workspaceEditOf([{ file: snapshot.file, edits }], client);
}

/**
 * The draft among the refactorings: on the line `reassembly` and below it up to its first step, or anywhere where there is none
 * yet. Only where something is left to be put back, tightened or filled; what exactly, is reckoned when it is asked for.
 */
export function draftActionAt(snapshot: Snapshot, { start, end }: Range): Omit<CodeAction, 'edit'> | undefined {
  const { phases, steps } = snapshot.model;
  const lines = phases
    .filter(({ kind }) => kind === 'reassembly')
    .map(({ keyword }) => snapshot.rangeOf(keyword).start.line);
  const here =
    lines.length === 0 ||
    lines.some((line) => line >= start.line && line <= end.line) ||
    isBelowReassembly(snapshot, snapshot.offsetAt(start));
  if (steps.length === 0 || !here || !isOpen(snapshot)) return undefined;
  return { title, kind: draftKind };
}

/** Whether `offset` lies in a reassembly, above all of its steps. */
function isBelowReassembly({ tree }: Snapshot, offset: number): boolean {
  for (let i = chunkAt(tree, offset); i >= 0; i--) {
    const { item, strayStep } = tree.chunks[i]!;
    const begun = item ?? strayStep;
    // Blank lines above it, or a line that cannot be read yet.
    if (begun === undefined || tree.starts[i]! + begun.start > offset) continue;
    return begun.kind === 'reassembly';
  }
  return false;
}

/** Something that came off, was loosened or drained is not back. */
function isOpen(snapshot: Snapshot): boolean {
  return snapshot.judged.ledger.variants.some(
    ({ final, fluids }) =>
      [...final.values()].some(
        (state) => missing(state) > 0 || state.stranded > 0 || (state.loose + state.snug > 0 && on(state) > 0),
      ) || [...fluids.values()].some(({ drained }) => drained),
  );
}

export const draftCommand = feature<FileParams, DraftAnswer>(requests.draft, {}, draftAnswer);
