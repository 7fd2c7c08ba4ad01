/** What the language server needs in a web worker: it talks by messages, and closed files come from the client. */
import { BrowserMessageReader, BrowserMessageWriter, createConnection } from 'vscode-languageserver/browser';
import type { serve } from './connection.ts';

declare const self: ConstructorParameters<typeof BrowserMessageReader>[0];

export const start = (server: typeof serve): void =>
  server(createConnection(new BrowserMessageReader(self), new BrowserMessageWriter(self)));
