import type { ExtensionContext } from 'vscode';
import type { LanguageClient } from 'vscode-languageclient/node';
import { type Exports, type Running, start } from './start.ts';

let running: Running<LanguageClient> | undefined;

/** The extension on the desktop. The client is loaded later, as `dist/client.cjs`: it is twenty times as large as all the rest. */
export function activate(context: ExtensionContext): Exports<LanguageClient> {
  running = start(context, async () => (await import('./desktop-client.ts')).makeClient(context));
  return running.exports;
}

/** Ends the server with the editor. */
export function deactivate(): Promise<void> | undefined {
  return running?.end();
}
