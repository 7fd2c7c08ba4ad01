import type { ExtensionContext } from 'vscode';
import { LanguageClient, TransportKind } from 'vscode-languageclient/node';
import { clientOptions, language } from './options.ts';

/** The client of the bundled server, which it starts as a process and starts again when that dies. */
export function makeClient(context: ExtensionContext): LanguageClient {
  const module = context.asAbsolutePath('dist/server.cjs');
  const run = { module, transport: TransportKind.ipc };
  return new LanguageClient(
    language,
    'Fettle',
    { run, debug: { ...run, options: { execArgv: ['--nolazy', '--inspect=6009', '--enable-source-maps'] } } },
    clientOptions(context),
  );
}
