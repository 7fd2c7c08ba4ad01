import type { SymbolInformation, WorkspaceSymbolParams } from 'vscode-languageserver';
import { stepsOfChunk } from '../model/model.ts';
import type { Snapshot } from '../workspace.ts';
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

/** Declarations, steps and the procedure of one file whose name or title matches. */
export function* symbolsOf(snapshot: Snapshot, query: string): Generator<SymbolInformation> {
  const { head } = snapshot.model;
  const container = head?.name?.text ?? decodeURIComponent(snapshot.file.uri.split('/').at(-1)!);
  const fits = (name: string, title: string | undefined): boolean =>
    matches(query, name) || (title?.toLowerCase().includes(query.toLowerCase()) ?? false);
  for (const chunk of snapshot.tree.chunks) {
    const { item } = chunk;
    if (item !== undefined && item.kind !== 'step' && 'name' in item && item.name !== undefined) {
      if (fits(item.name.text, item.title?.value))
        yield {
          name: item.name.text,
          kind: symbolKinds[item.kind],
          location: snapshot.locationOf(item.name),
          containerName: item.title?.value ?? container,
        };
    }
    for (const step of stepsOfChunk(chunk)) {
      if (step.name !== undefined && fits(step.name.text, step.title?.value))
        yield {
          name: step.name.text,
          kind: symbolKinds.step,
          location: snapshot.locationOf(step.name),
          containerName: step.title?.value ?? container,
        };
    }
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
