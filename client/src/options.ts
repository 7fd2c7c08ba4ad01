import type { LanguageClientOptions } from 'vscode-languageclient';

/** The language id of the manifest; also the prefix of `fettle.trace.server`, which the client reads by itself. */
export const language = 'fettle';

/** Options alike on the desktop and in the web: every scheme, so that unsaved and virtual files are checked too. */
export const clientOptions: LanguageClientOptions = {
  documentSelector: [{ language }],
  // The server is told of every change, and asks for what it wants.
  synchronize: { configurationSection: language },
  initializationOptions: { files: true },
};
