import {
  type Diagnostic,
  DiagnosticSeverity,
  DiagnosticTag,
  type DocumentDiagnosticParams,
  type DocumentDiagnosticReport,
} from 'vscode-languageserver';
import { isVersion } from '../addresses.ts';
import type { Finding, Severity } from '../checks/check.ts';
import { faultCode } from '../checks/run.ts';
import { helpHref } from '../outputs/help.ts';
import type { Range } from '../outputs/report.ts';
import type { ProjectProblem } from '../project/settings.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import type { Workspace } from '../workspace.ts';
import { type Client, feature } from './feature.ts';

export const source = 'fettle';

const severities: Readonly<Record<Severity, DiagnosticSeverity>> = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  information: DiagnosticSeverity.Information,
  hint: DiagnosticSeverity.Hint,
};

/** A finding with its places, free of trees. Plain data: it is kept of closed files. */
interface Placed {
  readonly code: string;
  readonly severity: Severity;
  readonly message: string;
  readonly range: Range;
  /** By the file's key: how the client spells its URI is put in when it is told. */
  readonly related: readonly { readonly key: string; readonly range: Range; readonly message: string }[];
}

const placed = (snapshot: Snapshot, { code, severity, message, span, related }: Finding): Placed => ({
  ...{ code, severity, message },
  range: snapshot.rangeOf(span),
  related: related.map(({ span, message }) => ({
    ...{ key: snapshot.fileOf(span).key, message },
    range: snapshot.locationOf(span).range,
  })),
});

export const diagnosticOf = (snapshot: Snapshot, finding: Finding, client: Client): Diagnostic =>
  shown(snapshot, placed(snapshot, finding), client);

function shown({ files }: Snapshot, { code, severity, message, range, related }: Placed, client: Client): Diagnostic {
  const href = client.home === undefined ? undefined : helpHref(code, client.home);
  return {
    range,
    severity: severities[severity],
    code,
    ...(href === undefined ? {} : { codeDescription: { href } }),
    source,
    message,
    ...(code === 'never-used' ? { tags: [DiagnosticTag.Unnecessary] } : {}),
    ...(client.relatedInformation && related.length > 0
      ? {
          relatedInformation: related.map(({ key, range, message }) => ({
            location: { uri: files.get(key)!.uri, range },
            message,
          })),
        }
      : {}),
  };
}

/**
 * All findings of the file, in the order of the text; none of an older version, as they would stand beside those of its file.
 * Where reckoning them fails, that is the finding: other files go on.
 */
export function diagnosticsOf(snapshot: Snapshot, client: Client): Diagnostic[] {
  if (isVersion(snapshot.file.key)) return [];
  try {
    const findings = snapshot.note(
      'findings',
      () => snapshot.judged.findings.map((finding) => placed(snapshot, finding)),
      // A fault may lie in the moment, as where memory ran out.
      (all) => all.every(({ code }) => code !== faultCode),
    );
    return findings.map((finding) => shown(snapshot, finding, client));
  } catch (error) {
    return [
      {
        range: snapshot.rangeAt(0, 1),
        severity: DiagnosticSeverity.Error,
        code: faultCode,
        source,
        message: `this file could not be checked (${String(error)}): this is a fault of Fettle, not of the procedure; please report it with this file.`,
      },
    ];
  }
}

/** What of a project file cannot be used. */
export const projectDiagnosticsOf = ({ document }: SourceFile, problems: readonly ProjectProblem[]): Diagnostic[] =>
  problems.map(({ start, end, message }) => ({
    range: { start: document.positionAt(start), end: document.positionAt(end) },
    severity: DiagnosticSeverity.Error,
    code: 'project',
    source,
    message,
  }));

interface Told {
  readonly id: string;
  /** The snapshot or file that it was reckoned from. */
  readonly of: object;
  readonly content: string;
}

/** Result ids of pulled findings: the id stays while the findings stay, whatever else changes. */
export class Results {
  private readonly told = new Map<string, Told>();
  private readonly askedFor = new Map<string, string>();
  private count = 0;
  /** A client keeps its ids over a restart of the server: those of another run must not pass for ours. */
  private readonly run = Math.random().toString(36).slice(2);

  report(
    { key }: SourceFile,
    of: object,
    previous: string | undefined,
    reckon: () => Diagnostic[],
  ): DocumentDiagnosticReport {
    const before = this.told.get(key);
    if (before?.of === of && before.id === previous) return { kind: 'unchanged', resultId: before.id };
    const items = reckon();
    const content = JSON.stringify(items);
    const id = before?.content === content ? before.id : `${this.run}-${++this.count}`;
    this.told.set(key, { id, of, content });
    return id === previous ? { kind: 'unchanged', resultId: id } : { kind: 'full', resultId: id, items };
  }

  forget(key: string): void {
    this.told.delete(key);
  }

  /** Remembers that a client asked for the findings of this file by itself. */
  asked({ key, uri }: SourceFile): void {
    this.askedFor.set(key, uri);
  }

  /** Of the files asked for by themselves, those not in `kept`: each once. */
  *release(kept: ReadonlySet<string>): Generator<{ readonly key: string; readonly uri: string }> {
    for (const [key, uri] of this.askedFor) {
      if (kept.has(key)) continue;
      this.askedFor.delete(key);
      yield { key, uri };
    }
  }
}

const resultsOfWorkspaces = new WeakMap<Workspace, Results>();
/** Each workspace, and with it each connection, counts its own ids: those of another mean nothing here. */
export function resultsOf(workspace: Workspace): Results {
  let results = resultsOfWorkspaces.get(workspace);
  if (results === undefined) {
    results = new Results();
    resultsOfWorkspaces.set(workspace, results);
  }
  return results;
}

export const pulledDiagnostics = feature<DocumentDiagnosticParams, DocumentDiagnosticReport>(
  'textDocument/diagnostic',
  { diagnosticProvider: { identifier: source, interFileDependencies: true, workspaceDiagnostics: true } },
  async (snapshot, { previousResultId }, { client, workspace }) => {
    const { key } = snapshot.file;
    const results = resultsOf(workspace);
    // Of what it closes, a client asks once more and keeps the answer, until the findings of the workspace tell otherwise.
    if (!workspace.isOpen(key) && !(await workspace.allKeys()).includes(key)) {
      results.forget(key);
      return { kind: 'full', items: [] };
    }
    results.asked(snapshot.file);
    return results.report(snapshot.file, snapshot, previousResultId, () => diagnosticsOf(snapshot, client));
  },
  { kind: 'full', items: [] },
);
