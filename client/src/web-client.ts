import { type ExtensionContext, l10n, Uri } from 'vscode';
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient } from 'vscode-languageclient/browser';
import { restarting } from './crashes.ts';
import { clientOptions, language } from './options.ts';

/** What is used of the browser's own; the project's types are those of Node. */
type ServerWorker = Worker & { terminate(): void };
declare const Worker: new (address: string) => ServerWorker;

let worker: ServerWorker | undefined;

/** The client of the server in a worker. */
export function makeClient(context: ExtensionContext): LanguageClient {
  const startWorker = async () => {
    const code = await fetch(Uri.joinPath(context.extensionUri, 'dist/server.cjs').toString(true));
    if (!code.ok) throw new Error(l10n.t('The language server could not be loaded: {0}', code.statusText));
    // By way of a blob: the editor starts no worker from the address of an extension that lies on a remote machine.
    const address = URL.createObjectURL(new Blob([await code.text()], { type: 'text/javascript' }));
    // A restart: the worker before would live on without a client.
    endWorker();
    worker = new Worker(address);
    // Not the worker itself: the editor's stand-in for `Worker` makes what `instanceof Worker` denies.
    return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) };
  };
  const client: LanguageClient = new LanguageClient(language, 'Fettle', startWorker, {
    ...clientOptions(context),
    errorHandler: restarting(() => client),
  });
  return client;
}

export const endWorker = (): void => worker?.terminate();
