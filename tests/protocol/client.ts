import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import {
  createMessageConnection,
  type MessageConnection,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-jsonrpc/node';
import type { ClientCapabilities, Diagnostic, PublishDiagnosticsParams } from 'vscode-languageserver';

const root = join(import.meta.dirname, '../..');
const serverProgram = join(root, 'server/src/server.ts');

export const pushing: ClientCapabilities = {
  textDocument: {
    publishDiagnostics: { relatedInformation: true, versionSupport: true },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    definition: { linkSupport: false },
    completion: { completionItem: { snippetSupport: true, documentationFormat: ['markdown', 'plaintext'] } },
    hover: { contentFormat: ['markdown', 'plaintext'] },
  },
  workspace: { workspaceEdit: { documentChanges: true }, workspaceFolders: true },
};
export const pulling: ClientCapabilities = {
  ...pushing,
  textDocument: { ...pushing.textDocument, diagnostic: { relatedDocumentSupport: false } },
  workspace: { ...pushing.workspace, diagnostics: { refreshSupport: true } },
};

/** A client of the real server in a process of its own. */
export class Client {
  readonly connection: MessageConnection;
  readonly process: ChildProcess;
  /** All that was pushed, in order. */
  readonly pushed: PublishDiagnosticsParams[] = [];
  /** Names of the requests that the server made. */
  readonly asked: string[] = [];
  stderr = '';
  /** What the client answers when asked for its settings. */
  settings: unknown = null;
  readonly exit: Promise<number | null>;
  private waiting: (() => void)[] = [];

  constructor(
    args: readonly string[] = ['--stdio'],
    program = serverProgram,
    options: readonly string[] = [],
    environment: Readonly<Record<string, string>> = {},
  ) {
    this.process = spawn(
      join(root, 'node_modules/.bin/node'),
      ['--unhandled-rejections=strict', ...options, program, ...args],
      { stdio: ['pipe', 'pipe', 'pipe'], env: { ...process.env, ...environment } },
    );
    this.process.stderr!.on('data', (data) => {
      this.stderr += data;
    });
    this.exit = new Promise((resolve) => this.process.on('exit', resolve));
    this.connection = createMessageConnection(
      new StreamMessageReader(this.process.stdout!),
      new StreamMessageWriter(this.process.stdin!),
    );
    this.connection.onNotification('textDocument/publishDiagnostics', (params: PublishDiagnosticsParams) => {
      this.pushed.push(params);
      for (const wake of this.waiting.splice(0)) wake();
    });
    this.connection.onRequest((method) => {
      this.asked.push(method);
      for (const wake of this.waiting.splice(0)) wake();
      return method === 'workspace/configuration' ? [this.settings] : null;
    });
    this.connection.listen();
  }

  async initialize(
    capabilities: ClientCapabilities = pushing,
    folders: readonly string[] = [],
    initializationOptions?: object,
  ): Promise<unknown> {
    const result = await this.connection.sendRequest('initialize', {
      processId: process.pid,
      rootUri: null,
      capabilities,
      initializationOptions,
      workspaceFolders: folders.map((uri) => ({ uri, name: uri })),
    });
    await this.connection.sendNotification('initialized', {});
    return result;
  }

  open(uri: string, text: string, version = 1): Promise<void> {
    return this.connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'fettle', version, text },
    });
  }

  change(uri: string, version: number, contentChanges: readonly object[]): Promise<void> {
    return this.connection.sendNotification('textDocument/didChange', {
      textDocument: { uri, version },
      contentChanges,
    });
  }

  close(uri: string): Promise<void> {
    return this.connection.sendNotification('textDocument/didClose', { textDocument: { uri } });
  }

  request<R>(method: string, params: object): Promise<R> {
    return this.connection.sendRequest(method, params);
  }

  /** Findings pushed for this version of the file, as soon as they are there. */
  async findings(uri: string, version: number): Promise<Diagnostic[]> {
    for (;;) {
      const found = this.pushed.findLast((params) => params.uri === uri && params.version === version);
      if (found !== undefined) return found.diagnostics;
      await this.next();
    }
  }

  /** Until the server pushes or asks for something. */
  next(): Promise<void> {
    return new Promise((resolve) => this.waiting.push(resolve));
  }

  /** Ends the server in the proper way; gives its exit code. */
  async end(): Promise<number | null> {
    await this.connection.sendRequest('shutdown');
    await this.connection.sendNotification('exit');
    return this.exit;
  }
}

/** `line:character-character code`, lines counted from 1 as editors show them. */
export const brief = (diagnostics: readonly Diagnostic[]): string[] =>
  diagnostics.map(
    ({ range, code }) => `${range.start.line + 1}:${range.start.character}-${range.end.character} ${code}`,
  );
