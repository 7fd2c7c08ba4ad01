import type { ExtensionContext } from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { restarting } from './crashes.ts';
import { clientOptions, language } from './options.ts';
import { serverEnvironment, serverFlags } from './server-process.ts';

/** The client of the bundled server, which it starts as a process and starts again when that dies. */
export function makeClient(context: ExtensionContext): LanguageClient {
  const module = context.asAbsolutePath('dist/server.cjs');
  const server = (...flags: string[]) => ({
    module,
    transport: TransportKind.ipc,
    options: { execArgv: [...serverFlags, ...flags], env: serverEnvironment(context.globalStorageUri.fsPath) },
  });
  const client: LanguageClient = new LanguageClient(
    language,
    'Fettle',
    { run: server(), debug: server('--nolazy', '--inspect=6009', '--enable-source-maps') },
    { ...clientOptions(context), errorHandler: restarting(() => client) },
  );
  return client;
}
