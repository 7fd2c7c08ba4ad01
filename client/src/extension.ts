import type { ExtensionContext } from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { clientOptions, language } from './options.ts';
import { type Exports, start } from './start.ts';

let client: LanguageClient | undefined;

/** Starts the bundled server; the client restarts it when it dies. */
export function activate(context: ExtensionContext): Exports<LanguageClient> {
  const module = context.asAbsolutePath('dist/server.cjs');
  const run = { module, transport: TransportKind.ipc };
  client = new LanguageClient(
    language,
    'Fettle',
    { run, debug: { ...run, options: { execArgv: ['--nolazy', '--inspect=6009', '--enable-source-maps'] } } },
    clientOptions(context),
  );
  return start(client, context);
}

/** Ends the server with the editor. */
export function deactivate(): Promise<void> | undefined {
  return client?.stop();
}
