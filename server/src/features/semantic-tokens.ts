import {
  SemanticTokenModifiers,
  type SemanticTokens,
  type SemanticTokensDelta,
  type SemanticTokensDeltaParams,
  type SemanticTokensEdit,
  type SemanticTokensParams,
  type SemanticTokensRangeParams,
  SemanticTokenTypes,
} from 'vscode-languageserver';
import { chunkAt, type Name, type Statement, walk } from '../../../grammar/syntax.ts';
import { stateBefore, toldApart } from '../ledger/ledger.ts';
import { missing, type PartState } from '../ledger/state.ts';
import { stepsOfChunk } from '../model/model.ts';
import type { NameKind } from '../model/references.ts';
import type { Snapshot, Workspace } from '../workspace.ts';
import { namingsOf } from './at.ts';
import { feature } from './feature.ts';
import { entriesOf } from './replayed.ts';

const typeOf: Readonly<Record<NameKind, SemanticTokenTypes>> = {
  part: SemanticTokenTypes.variable,
  tool: SemanticTokenTypes.class,
  supply: SemanticTokenTypes.parameter,
  pattern: SemanticTokenTypes.struct,
  step: SemanticTokenTypes.function,
  reading: SemanticTokenTypes.property,
  code: SemanticTokenTypes.enumMember,
};
const types = [...new Set(Object.values(typeOf))];

/** On a part: pieces of it are off, and not back, once the statement has been done. */
export const offModifier = 'off';
const modifiers: readonly string[] = [SemanticTokenModifiers.declaration, offModifier];

interface Token {
  readonly name: Name;
  readonly type: number;
  readonly modifiers: number;
}

const owed = (state: PartState | undefined): boolean => state !== undefined && missing(state) + state.stranded > 0;

function* tokensOf(snapshot: Snapshot, fromChunk: number, toChunk: number): Generator<Token> {
  const { model, tree, ledger } = snapshot;
  const variants = toldApart(ledger.variants);
  for (let c = fromChunk; c <= toChunk; c++) {
    const chunk = tree.chunks[c]!;
    const statements = stepsOfChunk(chunk).flatMap((step) => [...walk(step.statements)]);
    let at = 0;
    const sorted = [...namingsOf(model, chunk)].sort((a, b) => a.name.start - b.name.start);
    for (const { name, kind, definition, defines } of sorted) {
      if (definition === undefined) continue;
      let off = false;
      if (kind === 'part') {
        while (at + 1 < statements.length && statements[at + 1]!.start <= name.start) at++;
        const statement = statements[at];
        off = variants.some((variant) =>
          owed(
            statement === undefined || statement.start > name.start
              ? variant.final.get(name.text)
              : stateAfter(variant, statement, name.text),
          ),
        );
      }
      yield { name, type: types.indexOf(typeOf[kind]), modifiers: (defines ? 1 : 0) | (off ? 2 : 0) };
    }
  }
}

function stateAfter(
  variant: Parameters<typeof stateBefore>[0],
  statement: Statement,
  part: string,
): PartState | undefined {
  const entry = entriesOf(variant).get(statement);
  return entry === undefined ? undefined : stateBefore(variant, part, entry.first + 1);
}

/** Names by kind, in the encoding of the protocol: line, column, length, type, modifiers, each after the one before. */
export function encodedTokens(snapshot: Snapshot, fromChunk = 0, toChunk = snapshot.tree.chunks.length - 1): number[] {
  const { document, tree } = snapshot.file;
  const data: number[] = [];
  let line = 0;
  let character = 0;
  let last = -1;
  const bases = new Map(
    tree.chunks.slice(fromChunk, toChunk + 1).map((chunk, i) => [chunk, tree.starts[fromChunk + i]!]),
  );
  for (const { name, type, modifiers: set } of tokensOf(snapshot, fromChunk, toChunk)) {
    const offset = bases.get(name.chunk)! + name.start;
    if (offset <= last) continue;
    last = offset;
    const start = document.positionAt(offset);
    data.push(
      start.line - line,
      start.line === line ? start.character - character : start.character,
      name.end - name.start,
      type,
      set,
    );
    line = start.line;
    character = start.character;
  }
  return data;
}

/** One edit that turns `before` into `after`; none where they are alike. */
export function deltaOf(before: readonly number[], after: readonly number[]): SemanticTokensEdit[] {
  let start = 0;
  while (start < before.length && start < after.length && before[start] === after[start]) start++;
  let tail = 0;
  while (
    tail < before.length - start &&
    tail < after.length - start &&
    before[before.length - 1 - tail] === after[after.length - 1 - tail]
  )
    tail++;
  const deleteCount = before.length - start - tail;
  const data = after.slice(start, after.length - tail);
  return deleteCount === 0 && data.length === 0 ? [] : [{ start, deleteCount, data }];
}

/** What each file was told last. */
const told = new WeakMap<Workspace, Map<string, { id: string; data: number[] }>>();
let count = 0;

function remember(workspace: Workspace, key: string, data: number[]): string {
  let files = told.get(workspace);
  if (files === undefined) {
    files = new Map();
    told.set(workspace, files);
  }
  const id = `${++count}`;
  files.set(key, { id, data });
  return id;
}

const legend = { tokenTypes: types as string[], tokenModifiers: [...modifiers] };

export const semanticTokens = feature<SemanticTokensParams, SemanticTokens>(
  'textDocument/semanticTokens/full',
  { semanticTokensProvider: { legend, full: { delta: true }, range: true } },
  (snapshot, _params, { workspace }) => {
    const data = encodedTokens(snapshot);
    return { resultId: remember(workspace, snapshot.file.key, data), data };
  },
);

export const semanticTokensDelta = feature<SemanticTokensDeltaParams, SemanticTokens | SemanticTokensDelta>(
  'textDocument/semanticTokens/full/delta',
  {},
  (snapshot, { previousResultId }, { workspace }) => {
    const { key } = snapshot.file;
    const before = told.get(workspace)?.get(key);
    const data = encodedTokens(snapshot);
    const resultId = remember(workspace, key, data);
    return before?.id === previousResultId ? { resultId, edits: deltaOf(before.data, data) } : { resultId, data };
  },
);

export const semanticTokensRange = feature<SemanticTokensRangeParams, SemanticTokens>(
  'textDocument/semanticTokens/range',
  {},
  (snapshot, { range }) => ({
    data: encodedTokens(
      snapshot,
      chunkAt(snapshot.tree, snapshot.offsetAt(range.start)),
      chunkAt(snapshot.tree, snapshot.offsetAt(range.end)),
    ),
  }),
);
