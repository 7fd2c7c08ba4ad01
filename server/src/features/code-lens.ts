import type { CodeLens, CodeLensParams } from 'vscode-languageserver';
import type { Snapshot } from '../workspace.ts';
import { feature } from './feature.ts';
import { tallyOf } from './hover.ts';

/** Over each step that moves parts: how many pieces it takes off and puts back. */
export function lensesOf(snapshot: Snapshot): CodeLens[] {
  const lenses: CodeLens[] = [];
  for (const { step } of snapshot.model.steps) {
    if (step.keyword === undefined) continue;
    const { off, back } = tallyOf(snapshot, step);
    const words = [...(off > 0 ? [`${off} off`] : []), ...(back > 0 ? [`${back} back`] : [])];
    // A title alone: there is nothing to run.
    if (words.length > 0)
      lenses.push({ range: snapshot.rangeOf(step.keyword), command: { title: words.join(', '), command: '' } });
  }
  return lenses;
}

export const codeLens = feature<CodeLensParams, CodeLens[]>(
  'textDocument/codeLens',
  { codeLensProvider: {} },
  (snapshot, _, { preferences }) => (preferences.codeLens ? lensesOf(snapshot) : []),
);
