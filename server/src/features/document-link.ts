import type { DocumentLink, DocumentLinkParams } from 'vscode-languageserver';
import { stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** `use` paths lead to their files, names behind `after` to their steps. */
export function linksOf(snapshot: Snapshot): DocumentLink[] {
  const { model, file, tree } = snapshot;
  const links: DocumentLink[] = [];
  for (const chunk of tree.chunks) {
    const { item } = chunk;
    if (item?.kind === 'use' && item.path !== undefined) {
      const target = snapshot.resolve(item.path.value, file.key);
      if ('missing' in target) continue;
      // Without the quotes.
      const { start, end } = item.path;
      links.push({
        range: snapshot.rangeOf({ chunk, start: start + 1, end: Math.max(start + 1, end - 1) }),
        target: snapshot.files.get(target.uri)?.uri ?? target.uri,
        tooltip: model.sequences.has(item) ? 'Open the shared steps' : 'Open the shared declarations',
      });
    }
    for (const step of stepsOfChunk(chunk)) {
      for (const name of step.after) {
        const before = model.stepNames.get(name.text)?.step;
        if (before?.name === undefined) continue;
        links.push({
          range: snapshot.rangeOf(name),
          target: `${snapshot.fileOf(before.name).uri}#L${snapshot.lineOf(before.name)}`,
          tooltip: before.title === undefined ? 'Go to the step' : `Go to “${before.title.value}”`,
        });
      }
    }
  }
  return links;
}

export const documentLink = feature<DocumentLinkParams, DocumentLink[]>(
  'textDocument/documentLink',
  { documentLinkProvider: {} },
  linksOf,
);
