import { type ExtensionContext, Uri } from 'vscode';
import { LanguageClient } from 'vscode-languageclient/browser';
import { clientOptions, language } from './options.ts';
import { start } from './start.ts';

/** What is used of the browser's own; the project's types are those of Node. */
type ServerWorker = Worker & { terminate(): void };
declare const Worker: new (address: string) => ServerWorker;

let client: LanguageClient | undefined;
let worker: ServerWorker | undefined;

/** The extension in a browser: its server runs in a worker. */
export function activate(context: ExtensionContext): Promise<{ client: LanguageClient }> {
  const server = Uri.joinPath(context.extensionUri, 'dist/web/server.js').toString(true);
  const startWorker = async () => {
    // A restart: the worker before would live on without a client.
    worker?.terminate();
    worker = new Worker(server);
    return worker;
  };
  client = new LanguageClient(language, 'Fettle', startWorker, clientOptions);
  return start(client, context);
}

/** Ends the worker with the editor. */
export async function deactivate(): Promise<void> {
  await client?.stop();
  worker?.terminate();
}
