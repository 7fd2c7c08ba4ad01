import type {
  WorkspaceDiagnosticParams,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import { keyOf } from '../workspace.ts';
import { diagnosticsOf, projectDiagnosticsOf, resultsOf } from './diagnostics.ts';
import { type Site, wideFeature } from './feature.ts';
import { namesOf } from './workspace-symbol.ts';

/**
 * Findings of every file of the workspace folders, open ones first, each as soon as it is judged. Answers at once what
 * it knows and does not wait for changes: the client asks again.
 */
export async function* reportsOf(
  params: Pick<WorkspaceDiagnosticParams, 'previousResultIds'>,
  { client, workspace, token }: Site,
): AsyncGenerator<WorkspaceDocumentDiagnosticReport> {
  const previous = new Map(params.previousResultIds.map(({ uri, value }) => [keyOf(uri), { uri, value }]));
  const results = resultsOf(workspace);
  for await (const snapshot of workspace.everySnapshot()) {
    if (token.isCancellationRequested) return;
    const { uri, key, version } = snapshot.file;
    const report = results.report(key, snapshot, previous.get(key)?.value, () => diagnosticsOf(snapshot, client));
    // While the tree is at hand: of a closed file it would be read anew.
    namesOf(snapshot);
    previous.delete(key);
    yield { ...report, uri, version: version ?? null };
  }
  for (const { file, problems } of workspace.projectProblems()) {
    const report = results.report(file.key, file, previous.get(file.key)?.value, () =>
      projectDiagnosticsOf(file, problems),
    );
    previous.delete(file.key);
    yield { ...report, uri: file.uri, version: null };
  }
  // What was told of a file that is gone must not stay.
  for (const [key, { uri }] of previous) {
    results.forget(key);
    yield { kind: 'full', uri, version: null, items: [] };
  }
}

export const workspaceDiagnostics = wideFeature<WorkspaceDiagnosticParams, WorkspaceDiagnosticReport>(
  'workspace/diagnostic',
  {},
  async (params, site) => {
    const items: WorkspaceDocumentDiagnosticReport[] = [];
    for await (const report of reportsOf(params, site)) {
      if (site.sendPartial === undefined) items.push(report);
      else site.sendPartial({ items: [report] });
    }
    return { items };
  },
);
