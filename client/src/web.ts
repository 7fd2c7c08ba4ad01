import { type ExtensionContext, l10n, Uri } from 'vscode';
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient } from 'vscode-languageclient/browser';
import { clientOptions, language } from './options.ts';
import { type Exports, start } from './start.ts';

/** What is used of the browser's own; the project's types are those of Node. */
type ServerWorker = Worker & { terminate(): void };
declare const Worker: new (address: string) => ServerWorker;

let client: LanguageClient | undefined;
let worker: ServerWorker | undefined;

/** The extension in a browser: its server runs in a worker. */
export function activate(context: ExtensionContext): Exports<LanguageClient> {
  const startWorker = async () => {
    const code = await fetch(Uri.joinPath(context.extensionUri, 'dist/web/server.js').toString(true));
    if (!code.ok) throw new Error(l10n.t('The language server could not be loaded: {0}', code.statusText));
    // By way of a blob: the editor starts no worker from the address of an extension that lies on a remote machine.
    const address = URL.createObjectURL(new Blob([await code.text()], { type: 'text/javascript' }));
    // A restart: the worker before would live on without a client.
    worker?.terminate();
    worker = new Worker(address);
    // Not the worker itself: the editor's stand-in for `Worker` makes what `instanceof Worker` denies.
    return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
  };
  client = new LanguageClient(language, 'Fettle', startWorker, clientOptions(context));
  return start(client, context);
}

/** Ends the worker with the editor. */
export async function deactivate(): Promise<void> {
  await client?.stop();
  worker?.terminate();
}
