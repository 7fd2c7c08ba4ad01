import type { CodeLens, CodeLensParams, Command } from 'vscode-languageserver';
import { owedAtEnd } from '../checks/at-end.ts';
import type { Snapshot } from '../snapshot.ts';
import { type Client, feature } from './feature.ts';
import { tallyOf } from './tally.ts';

/**
 * Over each step that moves parts: how many pieces it takes off and puts back; what opens the card. Over `reassembly` (over
 * `teardown` where there is none) what drafts it, as long as something is still owed. Only commands that the client has.
 */
export function lensesOf(snapshot: Snapshot, client: Pick<Client, 'commands'>): CodeLens[] {
  const lenses: CodeLens[] = [];
  const { model, ledger } = snapshot;
  const { uri } = snapshot.file;
  const run = (command: string, title: string, ...more: unknown[]): Command | undefined =>
    client.commands.has(command) ? { title, command, arguments: [uri, ...more] } : undefined;
  const draft = run('fettle.draftReassembly', 'draft the reassembly');
  for (const entry of model.steps) {
    const { step } = entry;
    if (step.keyword === undefined || !snapshot.isOwn(step)) continue;
    const range = snapshot.rangeOf(step.keyword);
    const { off, back } = tallyOf(ledger, entry);
    const words = [...(off > 0 ? [`${off} off`] : []), ...(back > 0 ? [`${back} back`] : [])];
    // A title alone: there is nothing to run.
    if (words.length > 0) lenses.push({ range, command: { title: words.join(', '), command: '' } });
    const card = run('fettle.openCard', 'open the card here', range.start.line);
    if (card !== undefined) lenses.push({ range, command: card });
  }
  const owed = ledger.variants.some((variant) => !owedAtEnd(variant)[Symbol.iterator]().next().done);
  const phase =
    model.phases.find(({ kind }) => kind === 'reassembly') ?? model.phases.find(({ kind }) => kind === 'teardown');
  if (draft !== undefined && owed && phase !== undefined) {
    lenses.push({ range: snapshot.rangeOf(phase.keyword), command: draft });
  }
  return lenses;
}

export const codeLens = feature<CodeLensParams, CodeLens[]>(
  'textDocument/codeLens',
  { codeLensProvider: {} },
  (snapshot, _, { preferences, client }) => (preferences.codeLens ? lensesOf(snapshot, client) : []),
);
