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
import { type Chunk, chunkAt, lineStarts, type Statement } from '../../../grammar/syntax.ts';
import { toldApart } from '../ledger/ledger.ts';
import { missing, type PartState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { isNamedAlike } from '../model/naming.ts';
import { Beside } from '../model/noted.ts';
import type { NameKind } from '../model/references.ts';
import { statementsIn, stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';
import type { Workspace } from '../workspace.ts';
import { namingsOf } from './at.ts';
import { feature } from './feature.ts';

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
const offModifier = 'off';
const modifiers: readonly string[] = [SemanticTokenModifiers.declaration, offModifier];

/** A name that stands for something, placed from where its chunk begins. */
interface Token {
  readonly line: number;
  /** From the start of its line, or of the chunk. */
  readonly character: number;
  readonly length: number;
  readonly type: number;
  readonly defines: boolean;
  /** The name, where it is a part's. */
  readonly part: string | undefined;
  /** That it stands in, or at the end of what was declared. */
  readonly statement: Statement | undefined;
}

const known = new Beside<Chunk, { naming: Model['naming']; readonly tokens: readonly Token[] }>();

/** In the order of the text; kept, as nearly all chunks are as they were at the keystroke before. */
function tokensOf(model: Model, chunk: Chunk): readonly Token[] {
  let kept = known.get(chunk);
  if (kept === undefined || !isNamedAlike(model, chunk, kept.naming)) {
    kept = { naming: model.naming, tokens: findTokens(model, chunk) };
    known.set(chunk, kept);
  } else kept.naming = model.naming;
  return kept.tokens;
}

function findTokens(model: Model, chunk: Chunk): readonly Token[] {
  const statements = stepsOfChunk(chunk).flatMap(statementsIn);
  const tokens: Token[] = [];
  const lines = lineStarts(chunk.text);
  let line = 0;
  let at = 0;
  let last = -1;
  for (const { name, kind, definition, defines } of [...namingsOf(model, chunk)].sort(
    (a, b) => a.name.start - b.name.start,
  )) {
    if (definition === undefined || name.start <= last) continue;
    last = name.start;
    while (line + 1 < lines.length && lines[line + 1]! <= name.start) line++;
    while (at + 1 < statements.length && statements[at + 1]!.start <= name.start) at++;
    const statement = statements[at];
    tokens.push({
      line,
      character: name.start - lines[line]!,
      length: name.end - name.start,
      type: types.indexOf(typeOf[kind]),
      defines,
      part: kind === 'part' ? name.text : undefined,
      statement: statement !== undefined && statement.start <= name.start ? statement : undefined,
    });
  }
  return tokens;
}

const owed = (state: PartState | undefined): boolean => state !== undefined && missing(state) + state.stranded > 0;

/** Those of parts that are off, and not back, once the statement has been done. */
function offAmong(snapshot: Snapshot, tokens: ReadonlyMap<Chunk, readonly Token[]>): ReadonlySet<Token> {
  const off = new Set<Token>();
  for (const variant of toldApart(snapshot.ledger.variants)) {
    const changed = new Map<string, PartState>();
    for (const { step, entries } of variant.records) {
      const own = tokens.get(step.step.chunk) ?? [];
      let t = own.findIndex(({ statement }) => statement !== undefined && statement.start >= step.step.start);
      for (const { statement, role, changes } of entries) {
        for (const { part, after } of changes) changed.set(part, after);
        if (role !== 'statement' || t < 0) continue;
        // Those of statements that do not hold for this code are passed over.
        while (t < own.length && (own[t]!.statement?.start ?? 0) < statement.start) t++;
        for (; own[t]?.statement === statement; t++) {
          const { part } = own[t]!;
          if (part !== undefined && owed(changed.get(part) ?? variant.initial.get(part))) off.add(own[t]!);
        }
      }
    }
    for (const each of tokens.values())
      for (const token of each)
        if (token.statement === undefined && token.part !== undefined && owed(variant.final.get(token.part)))
          off.add(token);
  }
  return off;
}

/** Names by kind, in the encoding of the protocol: line, column, length, type, modifiers, each after the one before. */
export function encodedTokens(snapshot: Snapshot, fromChunk = 0, toChunk = snapshot.tree.chunks.length - 1): number[] {
  const { model, tree } = snapshot;
  const { document } = snapshot.file;
  const tokens = new Map<Chunk, readonly Token[]>();
  for (let c = fromChunk; c <= toChunk; c++) tokens.set(tree.chunks[c]!, tokensOf(model, tree.chunks[c]!));
  const off = offAmong(snapshot, tokens);
  const data: number[] = [];
  let line = 0;
  let character = 0;
  let c = fromChunk;
  for (const own of tokens.values()) {
    const base = document.positionAt(tree.starts[c++]!);
    for (const token of own) {
      const at = base.line + token.line;
      const column = token.line === 0 ? base.character + token.character : token.character;
      data.push(
        at - line,
        at === line ? column - character : column,
        token.length,
        token.type,
        (token.defines ? 1 : 0) | (off.has(token) ? 2 : 0),
      );
      line = at;
      character = column;
    }
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
