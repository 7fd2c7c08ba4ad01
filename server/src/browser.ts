/** The language server in a web worker: it knows the files that are open. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from 'vscode-languageserver/browser';
import { serve } from './connection.ts';
import { noDisk } from './workspace.ts';

declare const self: ConstructorParameters<typeof BrowserMessageReader>[0];

serve(createConnection(new BrowserMessageReader(self), new BrowserMessageWriter(self)), noDisk);
