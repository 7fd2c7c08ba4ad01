import type { Position, SymbolInformation, SymbolKind, WorkspaceSymbolParams } from 'vscode-languageserver';
import type { Name } from '../../../grammar/syntax.ts';
import { stepsOfChunk } from '../model/statements.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import { symbolKinds } from './document-symbol.ts';
import { wideFeature } from './feature.ts';

/** Symbols that one answer may hold; a longer list helps nobody. */
const most = 1000;

/** True when the letters of `query` stand in `name` in that order. */
export function matches(query: string, name: string): boolean {
  const wanted = query.toLowerCase();
  const given = name.toLowerCase();
  let at = 0;
  for (const letter of wanted) {
    at = given.indexOf(letter, at) + 1;
    if (at === 0) return false;
  }
  return true;
}

/**
 * Names of a file with their places. Plain data: it is kept of closed files, and flat, as there are many of them: name, title
 * or null, kind, line, character; the next name.
 */
interface FileNames {
  /** What holds those without a title: the procedure, or the file. */
  readonly container: string;
  readonly names: readonly (string | number | null)[];
}
const width = 5;

/** Declarations, steps and the procedure of one file. */
export const namesOf = (snapshot: Snapshot): FileNames => snapshot.note('names', () => findNames(snapshot));

function findNames({ file, tree, model }: Snapshot): FileNames {
  const names: (string | number | null)[] = [];
  const placeAt = walker(file);
  const add = (name: Name, title: string | undefined, kind: SymbolKind): void => {
    const { line, character } = placeAt(base + name.start);
    names.push(name.text, title ?? null, kind, line, character);
  };
  let base = 0;
  for (const [c, chunk] of tree.chunks.entries()) {
    base = tree.starts[c]!;
    const { item } = chunk;
    if (item !== undefined && item.kind !== 'step' && 'name' in item && item.name !== undefined)
      add(item.name, item.title?.value, symbolKinds[item.kind]);
    for (const { name, title } of stepsOfChunk(chunk))
      if (name !== undefined) add(name, title?.value, symbolKinds.step);
  }
  return { container: model.head?.name?.text ?? file.name, names };
}

/**
 * Tells places that are mostly asked for one behind the other: a closed file needs no table of its lines for its names, which
 * would take as long as to read it.
 */
function walker({ text, document }: SourceFile): (offset: number) => Position {
  if (/\r(?!\n)/.test(text)) return (offset) => document.positionAt(offset);
  let line = 0;
  let start = 0;
  return (offset) => {
    if (offset < start) return document.positionAt(offset);
    for (let end = text.indexOf('\n', start); end >= 0 && end < offset; end = text.indexOf('\n', start)) {
      line++;
      start = end + 1;
    }
    return { line, character: offset - start };
  };
}

interface SymbolName {
  readonly name: string;
  readonly title: string | null;
  readonly kind: SymbolKind;
  readonly line: number;
  readonly character: number;
}

/** The names of a file, one by one. */
export function* symbolNamesOf(snapshot: Snapshot): Generator<SymbolName> {
  const { names } = namesOf(snapshot);
  for (let i = 0; i < names.length; i += width) {
    const [name, title, kind, line, character] = names.slice(i, i + width) as [
      string,
      string | null,
      SymbolKind,
      number,
      number,
    ];
    yield { name, title, kind, line, character };
  }
}

/** Those of them whose name or title matches. */
function* symbolsOf(snapshot: Snapshot, query: string): Generator<SymbolInformation> {
  const { container } = namesOf(snapshot);
  for (const { name, title, kind, line, character } of symbolNamesOf(snapshot)) {
    if (!matches(query, name) && !title?.toLowerCase().includes(query.toLowerCase())) continue;
    yield {
      name,
      kind,
      location: {
        uri: snapshot.file.uri,
        range: { start: { line, character }, end: { line, character: character + name.length } },
      },
      containerName: isolated(title ?? container),
    };
  }
}

export const workspaceSymbol = wideFeature<WorkspaceSymbolParams, SymbolInformation[]>(
  'workspace/symbol',
  { workspaceSymbolProvider: true },
  async ({ query }, { workspace, token, sendPartial }) => {
    const found: SymbolInformation[] = [];
    let count = 0;
    for await (const snapshot of workspace.everySnapshot()) {
      if (token.isCancellationRequested) return null;
      const own = [...symbolsOf(snapshot, query)].slice(0, most - count);
      count += own.length;
      if (sendPartial === undefined) found.push(...own);
      else if (own.length > 0) sendPartial(own);
      if (count >= most) break;
    }
    return found;
  },
);
