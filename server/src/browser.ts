/** The language server in a web worker: closed files come from the client. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from 'vscode-languageserver/browser';
import { serve } from './connection.ts';

declare const self: ConstructorParameters<typeof BrowserMessageReader>[0];

serve(createConnection(new BrowserMessageReader(self), new BrowserMessageWriter(self)));
