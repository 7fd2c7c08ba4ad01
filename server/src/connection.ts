import {
  type CancellationToken,
  type Connection,
  type DidChangeConfigurationParams,
  type DidChangeTextDocumentParams,
  DidChangeWatchedFilesNotification,
  type DidChangeWatchedFilesParams,
  type DidChangeWorkspaceFoldersParams,
  type DidCloseTextDocumentParams,
  type DidOpenTextDocumentParams,
  ErrorCodes,
  FileChangeType,
  type InitializeParams,
  type InitializeResult,
  LSPErrorCodes,
  ResponseError,
  type ServerCapabilities,
  TextDocumentSyncKind,
} from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { prepareGrammar } from '../../grammar/parser.ts';
import { keyOf } from './addresses.ts';
import { clientFiles, eitherFiles } from './client-files.ts';
import { diagnosticsOf, projectDiagnosticsOf, resultsOf } from './features/diagnostics.ts';
import { type Client, clientOf, type Feature, type Progress, type Site } from './features/feature.ts';
import { features } from './features/index.ts';
import { projectFile } from './project/lookup.ts';
import { changed } from './requests.ts';
import { defaultPreferences, judgingPreferences, readPreferences } from './settings.ts';
import type { Keeper, SourceFile, TextChange } from './snapshot.ts';
import { type Files, Workspace } from './workspace.ts';

/** Milliseconds from an edit to its findings, at least: edits that come as one are judged as one. */
const pause = 12;
/** Milliseconds without a change in other files before views of their users are made anew. */
const rest = 200;
/** Milliseconds from the start by when the first findings have been told. */
const started = 1000;

/** What is kept in a folder of this machine. Both throw an `Error` where the folder cannot be used. */
export interface Keepers {
  /** `warn` is told where nothing can be written there. */
  open(folder: string, warn: (reason: string) => void): Keeper;
  /** Removes all that was kept; does nothing where nothing was. */
  remove(folder: string): void;
}

/**
 * Answers the protocol over `connection`; the same for every transport. `disk` and `keepers` are absent where there is no disk.
 *
 * The client names a folder of its own in `initializationOptions.storage`, as a `file:` URI, where the index may be kept.
 */
export function serve(connection: Connection, disk?: Files, keepers?: Keepers): void {
  const viaClient = clientFiles((method, params) => connection.sendRequest(method, params));
  let clientGivesFiles = false;
  const workspace = new Workspace(eitherFiles(disk, () => (clientGivesFiles ? viaClient : undefined)));
  let client: Client | undefined;
  let ended = false;
  let registersWatchers = false;
  let showsProgress = false;
  let asksSettings = false;
  let preferences = defaultPreferences;
  let storage: string | undefined;
  /** Absent until the client tells. */
  let keepsIndex: boolean | undefined;
  let refreshing: ReturnType<typeof setTimeout> | undefined;
  let preparing: ReturnType<typeof setTimeout> | undefined;

  connection.onInitialize((params: InitializeParams): InitializeResult => {
    const { capabilities } = params;
    clientGivesFiles = (params.initializationOptions as { files?: unknown } | undefined)?.files === true;
    client = clientOf(capabilities, params.initializationOptions);
    storage = folderIn(params.initializationOptions);
    asksSettings = capabilities.workspace?.configuration === true;
    showsProgress = capabilities.window?.workDoneProgress === true;
    registersWatchers = capabilities.workspace?.didChangeWatchedFiles?.dynamicRegistration === true;
    // A client without folders may still send the older root.
    const folders = params.workspaceFolders?.map(({ uri }) => uri) ?? (params.rootUri ? [params.rootUri] : []);
    workspace.setFolders(folders);
    // Only now: the library has put in a listener of its own, which would take the place of an earlier one.
    connection.onNotification('workspace/didChangeWorkspaceFolders', changeFolders);
    return { capabilities: announced(client), serverInfo: { name: 'fettle' } };
  });

  connection.onInitialized(() => {
    if (registersWatchers)
      connection.client
        .register(DidChangeWatchedFilesNotification.type, {
          watchers: [{ globPattern: '**/*.fettle' }, { globPattern: `**/${projectFile}` }],
        })
        .catch((error: unknown) => connection.console.warn(`Closed files are not watched: ${messageOf(error)}`));
    void askSettings();
    // What is opened is mostly clean; a line that is being typed is not.
    preparing = setTimeout(prepareGrammar, started);
  });

  /** Works without: a client that has no settings, or fails to give them, gets the defaults. */
  async function askSettings(sent?: unknown): Promise<void> {
    const section = asksSettings
      ? await connection.workspace.getConfiguration('fettle').catch((error: unknown) => {
          connection.console.warn(`Settings were not given: ${messageOf(error)}`);
          return undefined;
        })
      : sent;
    const before = preferences;
    preferences = readPreferences(section);
    // A client that tells nothing does not say that what was kept shall go.
    if (section !== undefined && section !== null) keepIndex(preferences.index.cache);
    if (isSame(before, preferences)) return;
    if (!isSame(judgingPreferences(before), judgingPreferences(preferences))) {
      workspace.preferences = preferences;
      workspace.forgetAll();
    }
    refreshViews();
  }
  /** The client asks anew for what it shows only where the file itself is edited. */
  function refreshViews(): void {
    clearTimeout(refreshing);
    if (client === undefined || ended) return;
    const shown = {
      inlayHint: client.refreshesHints,
      codeLens: client.refreshesLenses,
      semanticTokens: client.refreshesTokens,
    };
    for (const [view, refreshes] of Object.entries(shown))
      if (refreshes) connection.sendRequest(`workspace/${view}/refresh`).catch(() => {});
    if (client.hearsChanges) connection.sendNotification(changed).catch(() => {});
  }
  /** Goes without where the client names no folder, and where that cannot be used. What was kept goes once it is not wanted. */
  function keepIndex(wanted: boolean): void {
    if (wanted === keepsIndex) return;
    keepsIndex = wanted;
    workspace.keeper = undefined;
    if (keepers === undefined || storage === undefined) return;
    const warn = (what: string, reason: string): void => connection.console.warn(`${what}: ${storage}: ${reason}`);
    try {
      if (wanted) workspace.keeper = keepers.open(storage, (reason) => warn('The index is not kept', reason));
      else keepers.remove(storage);
    } catch (error) {
      warn(wanted ? 'The index is not kept' : 'The kept index is not removed', messageOf(error));
    }
  }
  connection.onNotification('workspace/didChangeConfiguration', ({ settings }: DidChangeConfigurationParams) =>
    askSettings((settings as { fettle?: unknown } | null)?.fettle),
  );

  connection.onShutdown(() => {
    ended = true;
    clearTimeout(refreshing);
    clearTimeout(preparing);
    findings.stop();
  });

  // --- documents ------------------------------------------------------------------------------------------------------

  const findings = new Findings(connection, workspace, () => client);
  workspace.onAffected = (file, cause) => findings.touch(file, cause);
  workspace.onAffectedElsewhere = () => {
    clearTimeout(refreshing);
    refreshing = setTimeout(refreshViews, rest);
  };

  connection.onNotification('textDocument/didOpen', ({ textDocument }: DidOpenTextDocumentParams) => {
    workspace.didOpen(textDocument.uri, textDocument.version, textDocument.text);
    void workspace.lookAgain();
  });
  connection.onNotification(
    'textDocument/didChange',
    ({ textDocument, contentChanges }: DidChangeTextDocumentParams) => {
      workspace.didChange(textDocument.uri, textDocument.version, contentChanges as TextChange[]);
    },
  );
  connection.onNotification('textDocument/didClose', ({ textDocument }: DidCloseTextDocumentParams) => {
    const file = workspace.openFile(textDocument.uri);
    if (file === undefined) return;
    workspace.didClose(textDocument.uri);
    findings.clear(file);
  });
  connection.onNotification('textDocument/didSave', () => {
    // Clients that watch nothing tell of nothing that happens on disk.
    if (registersWatchers) void workspace.lookAgain();
    else workspace.forgetClosed();
  });
  connection.onNotification('workspace/didChangeWatchedFiles', ({ changes }: DidChangeWatchedFilesParams) => {
    for (const { uri, type } of changes) {
      if (type === FileChangeType.Deleted) resultsOf(workspace).forget(keyOf(uri));
      workspace.didChangeOnDisk(uri, type === FileChangeType.Deleted);
    }
  });
  function changeFolders({ event }: DidChangeWorkspaceFoldersParams): void {
    const removed = new Set(event.removed.map(({ uri }) => keyOf(uri)));
    const kept = workspace.folderUris.filter((uri) => !removed.has(uri));
    workspace.setFolders([...kept, ...event.added.map(({ uri }) => uri)]);
  }

  // --- requests -------------------------------------------------------------------------------------------------------

  for (const { method, feature } of features) {
    connection.onRequest(method, async (params: RequestParams, token: CancellationToken) => {
      if (client === undefined)
        return new ResponseError(ErrorCodes.ServerNotInitialized, `${method} came before initialize.`);
      if (ended) return new ResponseError(ErrorCodes.InvalidRequest, `${method} came after shutdown.`);
      const partial = params?.partialResultToken;
      const site: Site = {
        client,
        preferences,
        workspace,
        token,
        ...(partial === undefined
          ? {}
          : { sendPartial: (value) => void connection.sendNotification('$/progress', { token: partial, value }) }),
        ...(showsProgress ? { beginProgress } : {}),
      };
      const answer = await answerOf(feature, params, site);
      return token.isCancellationRequested
        ? new ResponseError(LSPErrorCodes.RequestCancelled, `${method} was cancelled.`)
        : answer;
    });
  }

  async function beginProgress(title: string): Promise<Progress> {
    const progress = await connection.window.createWorkDoneProgress();
    progress.begin(title, 0);
    return progress;
  }

  connection.listen();
}

interface RequestParams {
  readonly textDocument?: { readonly uri: string };
  readonly partialResultToken?: string | number;
}

async function answerOf(feature: Feature, params: RequestParams, site: Site): Promise<unknown> {
  if (feature.about === 'workspace') return feature.answer(params, site);
  const uri = params?.textDocument?.uri;
  if (uri === undefined) return new ResponseError(ErrorCodes.InvalidParams, `${feature.method} names no document.`);
  const snapshot = await site.workspace.snapshot(uri);
  if (snapshot === undefined || site.token.isCancellationRequested) return feature.absent;
  return feature.answer(snapshot, params, site);
}

/** For plain data whose keys stand in one order. */
const isSame = (one: object, other: object): boolean => JSON.stringify(one) === JSON.stringify(other);

/** The capabilities of all features together. */
function announced(client: Client): ServerCapabilities {
  const capabilities: ServerCapabilities = {
    positionEncoding: 'utf-16',
    textDocumentSync: { openClose: true, change: TextDocumentSyncKind.Incremental, save: { includeText: false } },
    workspace: { workspaceFolders: { supported: true, changeNotifications: true } },
  };
  for (const { feature } of features) {
    const { workspace, ...own } = feature.capability;
    Object.assign(capabilities, own);
    Object.assign(capabilities.workspace!, workspace);
  }
  // Findings are pulled or pushed, never both.
  if (!client.pullsDiagnostics) delete capabilities.diagnosticProvider;
  return capabilities;
}

/** Path of the folder in which the client lets something be kept. */
function folderIn(initializationOptions: unknown): string | undefined {
  const { storage } = (initializationOptions ?? {}) as { storage?: unknown };
  if (typeof storage !== 'string') return undefined;
  const { scheme, authority, fsPath } = URI.parse(storage);
  return scheme === 'file' && authority === '' ? fsPath : undefined;
}

const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));

/** Brings findings to the client: pushes them, or tells a client that pulls when to pull anew. */
class Findings {
  private readonly connection: Connection;
  private readonly workspace: Workspace;
  private readonly client: () => Client | undefined;
  private readonly pending = new Set<string>();
  /** Project files by what was last pushed for them. */
  private readonly projects = new Map<string, SourceFile>();
  private timer: ReturnType<typeof setTimeout> | undefined;
  private running = false;
  private stopped = false;

  constructor(connection: Connection, workspace: Workspace, client: () => Client | undefined) {
    this.connection = connection;
    this.workspace = workspace;
    this.client = client;
  }

  touch(file: SourceFile, cause: string): void {
    const client = this.client();
    if (client === undefined || this.stopped) return;
    // The client pulls anew for the file that is edited by itself.
    if (client.pullsDiagnostics && (file.key === cause || !client.refreshesDiagnostics)) return;
    this.pending.add(file.key);
    this.schedule();
  }

  clear(file: SourceFile): void {
    this.pending.delete(file.key);
    if (this.client()?.pullsDiagnostics === false)
      this.send(this.connection.sendDiagnostics({ uri: file.uri, diagnostics: [] }));
  }

  stop(): void {
    this.stopped = true;
    clearTimeout(this.timer);
  }

  private schedule(): void {
    if (this.timer !== undefined || this.running) return;
    this.timer = setTimeout(() => {
      this.timer = undefined;
      this.running = true;
      this.run()
        .catch((error: unknown) => this.connection.console.error(`Findings were not sent: ${messageOf(error)}`))
        .finally(() => {
          this.running = false;
          if (this.pending.size > 0 && !this.stopped) this.schedule();
        });
    }, pause);
  }

  private async run(): Promise<void> {
    const client = this.client()!;
    if (client.pullsDiagnostics) {
      this.pending.clear();
      await this.connection.languages.diagnostics.refresh();
      return;
    }
    for (const key of [...this.pending]) {
      this.pending.delete(key);
      const snapshot = await this.workspace.snapshot(key);
      if (this.stopped) return;
      if (snapshot === undefined) continue;
      const diagnostics = diagnosticsOf(snapshot, client);
      // Edited or closed meanwhile: these findings are of a text that is no more.
      if (this.workspace.openFile(key) !== snapshot.file) continue;
      const { uri, version } = snapshot.file;
      this.send(this.connection.sendDiagnostics({ uri, version, diagnostics }));
      // An edit that came in meanwhile is heard before the next file is judged.
      await new Promise((resolve) => setTimeout(resolve, 0));
    }
    this.sendProjects();
  }

  private sendProjects(): void {
    const gone = new Set(this.projects.keys());
    for (const { file, problems } of this.workspace.projectProblems()) {
      const { uri } = file;
      gone.delete(uri);
      const before = this.projects.get(uri);
      if (before === file || (before === undefined && problems.length === 0)) continue;
      this.projects.set(uri, file);
      this.send(this.connection.sendDiagnostics({ uri, diagnostics: projectDiagnosticsOf(file, problems) }));
    }
    for (const uri of gone) {
      this.projects.delete(uri);
      this.send(this.connection.sendDiagnostics({ uri, diagnostics: [] }));
    }
  }

  private send(sending: Promise<void>): void {
    sending.catch(() => {
      // The client has gone; there is nobody left to tell.
    });
  }
}
