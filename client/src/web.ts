import type { ExtensionContext } from 'vscode';
import type { LanguageClient } from 'vscode-languageclient/browser';
import { type Exports, type Running, start } from './start.ts';

let running: Running<LanguageClient> | undefined;

/** The extension in a browser, which reads one file: the client is in it, and set up later. */
export function activate(context: ExtensionContext): Exports<LanguageClient> {
  running = start(context, async () => (await import('./web-client.ts')).makeClient(context));
  return running.exports;
}

/** Ends the worker with the editor. */
export async function deactivate(): Promise<void> {
  await running?.end();
  (await import('./web-client.ts')).endWorker();
}
