import type { CancellationToken, ClientCapabilities, ServerCapabilities } from 'vscode-languageserver';
import type { Preferences } from '../settings.ts';
import type { Snapshot } from '../snapshot.ts';
import type { Workspace } from '../workspace.ts';

/** What the client can take; everything the features ask of its capabilities. */
export interface Client {
  readonly snippets: boolean;
  /** Takes completions that go in before the rest of a word, or in its place. */
  readonly replacesWords: boolean;
  /** Shows what a name stands for beside it in the list, not only where the cursor is. */
  readonly labelDetails: boolean;
  readonly markdown: boolean;
  readonly relatedInformation: boolean;
  readonly documentChanges: boolean;
  /** Takes edits with places to fill in. */
  readonly snippetEdits: boolean;
  readonly createsFiles: boolean;
  readonly definitionLinks: boolean;
  readonly symbolTree: boolean;
  readonly resolvesEdits: boolean;
  readonly pullsDiagnostics: boolean;
  readonly refreshesDiagnostics: boolean;
  readonly refreshesHints: boolean;
  readonly refreshesLenses: boolean;
  readonly refreshesTokens: boolean;
  /** Wants to be told when its views may be out of date, by `initializationOptions.changes`. */
  readonly hearsChanges: boolean;
  readonly labelOffsets: boolean;
  /** Folder that holds the help pages, by `initializationOptions.home`; findings then link to theirs. */
  readonly home: string | undefined;
  /** Commands that it lets lenses and completions run, by `initializationOptions.commands`. */
  readonly commands: ReadonlySet<string>;
}

export function clientOf(capabilities: ClientCapabilities, initializationOptions?: unknown): Client {
  const { changes, commands, home } = (initializationOptions ?? {}) as Record<string, unknown>;
  const { textDocument, workspace } = capabilities;
  return {
    snippets: textDocument?.completion?.completionItem?.snippetSupport === true,
    replacesWords: textDocument?.completion?.completionItem?.insertReplaceSupport === true,
    labelDetails: textDocument?.completion?.completionItem?.labelDetailsSupport === true,
    markdown:
      textDocument?.hover?.contentFormat?.includes('markdown') ??
      textDocument?.completion?.completionItem?.documentationFormat?.includes('markdown') ??
      false,
    relatedInformation:
      textDocument?.publishDiagnostics?.relatedInformation === true ||
      textDocument?.diagnostic?.relatedInformation === true,
    documentChanges: workspace?.workspaceEdit?.documentChanges === true,
    snippetEdits:
      workspace?.workspaceEdit?.snippetEditSupport === true && workspace.workspaceEdit.documentChanges === true,
    createsFiles: workspace?.workspaceEdit?.resourceOperations?.includes('create') === true,
    definitionLinks: textDocument?.definition?.linkSupport === true,
    symbolTree: textDocument?.documentSymbol?.hierarchicalDocumentSymbolSupport === true,
    resolvesEdits: textDocument?.codeAction?.resolveSupport?.properties.includes('edit') === true,
    pullsDiagnostics: textDocument?.diagnostic !== undefined,
    refreshesDiagnostics: workspace?.diagnostics?.refreshSupport === true,
    refreshesHints: workspace?.inlayHint?.refreshSupport === true,
    refreshesLenses: workspace?.codeLens?.refreshSupport === true,
    refreshesTokens: workspace?.semanticTokens?.refreshSupport === true,
    hearsChanges: changes === true,
    labelOffsets: textDocument?.signatureHelp?.signatureInformation?.parameterInformation?.labelOffsetSupport === true,
    home:
      typeof home === 'string' &&
      (textDocument?.publishDiagnostics?.codeDescriptionSupport === true ||
        textDocument?.diagnostic?.codeDescriptionSupport === true)
        ? home
        : undefined,
    commands: new Set(Array.isArray(commands) ? commands.filter((each) => typeof each === 'string') : []),
  };
}

/** A client that can take everything, for tests. */
export const fullClient: Client = {
  snippets: true,
  replacesWords: true,
  labelDetails: true,
  markdown: true,
  relatedInformation: true,
  documentChanges: true,
  snippetEdits: true,
  createsFiles: true,
  definitionLinks: true,
  symbolTree: true,
  resolvesEdits: true,
  pullsDiagnostics: true,
  refreshesDiagnostics: true,
  refreshesHints: true,
  refreshesLenses: true,
  refreshesTokens: true,
  hearsChanges: true,
  labelOffsets: true,
  home: 'file:///fettle',
  commands: new Set(['fettle.draftReassembly', 'fettle.openCard']),
};

export interface Site {
  readonly client: Client;
  readonly preferences: Preferences;
  readonly workspace: Workspace;
  readonly token: CancellationToken;
  /** Present where the client wants the answer piece by piece. */
  readonly sendPartial?: (value: unknown) => void;
  /** Present where the client shows the progress of what it did not ask to be shown. */
  readonly beginProgress?: (title: string) => Promise<Progress>;
}

/** Of long work, as the client shows it. */
export interface Progress {
  report(percentage: number, message: string): void;
  done(): void;
}

/** One protocol method, answered from a snapshot. */
interface Answer<P, R> {
  readonly method: string;
  /** What `initialize` announces for it. */
  readonly capability: ServerCapabilities;
  readonly about: 'file';
  /** The answer where there is no such file. */
  readonly absent: R | null;
  answer(snapshot: Snapshot, params: P, site: Site): R | null | Promise<R | null>;
}
/** One protocol method that is about no file in particular, or finds its file itself. */
interface WideAnswer<P, R> {
  readonly method: string;
  readonly capability: ServerCapabilities;
  readonly about: 'workspace';
  answer(params: P, site: Site): R | null | Promise<R | null>;
}
// biome-ignore lint/suspicious/noExplicitAny: the table holds methods of every shape; each file fixes its own
export type Feature = Answer<any, any> | WideAnswer<any, any>;

/** A method about the file in `params.textDocument`. */
export const feature = <P, R>(
  method: string,
  capability: ServerCapabilities,
  answer: (snapshot: Snapshot, params: P, site: Site) => R | null | Promise<R | null>,
  absent: R | null = null,
): Answer<P, R> => ({ method, capability, about: 'file', answer, absent });

export const wideFeature = <P, R>(
  method: string,
  capability: ServerCapabilities,
  answer: (params: P, site: Site) => R | null | Promise<R | null>,
): WideAnswer<P, R> => ({ method, capability, about: 'workspace', answer });
