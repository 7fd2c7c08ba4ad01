import type {
  WorkspaceDiagnosticParams,
  WorkspaceDiagnosticReport,
  WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver';
import { keyOf } from '../addresses.ts';
import { diagnosticsOf, projectDiagnosticsOf, resultsOf } from './diagnostics.ts';
import { type Progress, type Site, wideFeature } from './feature.ts';
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
  const kept = new Set<string>();
  for await (const snapshot of workspace.everySnapshot()) {
    if (token.isCancellationRequested) return;
    const { uri, key, version } = snapshot.file;
    kept.add(key);
    const report = results.report(snapshot.file, snapshot, previous.get(key)?.value, () =>
      diagnosticsOf(snapshot, client),
    );
    // While the tree is at hand: of a closed file it would be read anew.
    namesOf(snapshot);
    previous.delete(key);
    yield { ...report, uri, version: version ?? null };
  }
  for (const { file, problems } of workspace.projectProblems()) {
    kept.add(file.key);
    const report = results.report(file, file, previous.get(file.key)?.value, () =>
      projectDiagnosticsOf(file, problems),
    );
    previous.delete(file.key);
    yield { ...report, uri: file.uri, version: null };
  }
  for (const { key } of workspace.openFiles) kept.add(key);
  // A client asks for the findings of what it closes while that is still open, and then knows of no answer to be taken back.
  for (const { key, uri } of results.release(kept)) if (!previous.has(key)) previous.set(key, { uri, value: '' });
  // What was told of a file that is gone, or closed and in no folder, must not stay.
  for (const [key, { uri }] of previous) {
    results.forget(key);
    yield { kind: 'full', uri, version: null, items: [] };
  }
}

/** Milliseconds that work may take before anything of it is shown, and between two figures. */
const patience = 500;
const between = 200;

/** Tells the client how far a long round has come; of a short one it hears nothing. */
class ShownProgress {
  private readonly site: Site;
  private progress: Promise<Progress> | undefined;
  private next = performance.now() + patience;
  private files = 0;

  constructor(site: Site) {
    this.site = site;
  }

  /** One more file is done. */
  async step(): Promise<void> {
    this.files++;
    const { workspace, beginProgress } = this.site;
    if (beginProgress === undefined || performance.now() < this.next) return;
    this.next = performance.now() + between;
    const { length } = await workspace.allKeys();
    const done = Math.min(this.files, length);
    this.progress ??= beginProgress('Checking procedures');
    this.show((progress) => progress.report(Math.floor((100 * done) / length), `${done} of ${length} files`));
  }

  end(): void {
    this.show((progress) => progress.done());
  }

  /** The work does not wait for the client to be ready, nor end where it will not have it. */
  private show(tell: (progress: Progress) => void): void {
    this.progress?.then(tell).catch(() => {});
  }
}

export const workspaceDiagnostics = wideFeature<WorkspaceDiagnosticParams, WorkspaceDiagnosticReport>(
  'workspace/diagnostic',
  {},
  async (params, site) => {
    const items: WorkspaceDocumentDiagnosticReport[] = [];
    const shown = new ShownProgress(site);
    try {
      for await (const report of reportsOf(params, site)) {
        if (site.sendPartial === undefined) items.push(report);
        else site.sendPartial({ items: [report] });
        await shown.step();
      }
    } finally {
      shown.end();
    }
    return { items };
  },
);
