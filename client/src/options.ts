import { type ExtensionContext, workspace } from 'vscode';
import type { LanguageClientOptions } from 'vscode-languageclient';
import { byCommand } from './views/draft-action.ts';

/** The language id of the manifest; also the prefix of `fettle.trace.server`, which the client reads by itself. */
export const language = 'fettle';

/** Options alike on the desktop and in the web: every scheme, so that unsaved and virtual files are checked too. */
export const clientOptions = ({
  extensionUri,
  storageUri,
}: Pick<ExtensionContext, 'extensionUri' | 'storageUri'>): LanguageClientOptions => ({
  documentSelector: [{ language }],
  // The server is told of every change, and asks for what it wants.
  synchronize: { configurationSection: language },
  initializationOptions: {
    files: true,
    changes: true,
    commands: ['fettle.draftReassembly', 'fettle.openCard', 'editor.action.triggerSuggest'],
    home: extensionUri.toString(),
    // Where the index may be kept, as `fettle.index.cache` says. What strangers wrote leaves nothing behind.
    ...(storageUri?.scheme === 'file' && workspace.isTrusted ? { storage: storageUri.toString() } : {}),
  },
  middleware: {
    provideCodeActions: async (document, range, context, token, next) => {
      const actions = await next(document, range, context, token);
      for (const action of actions ?? []) byCommand(action, document.uri);
      return actions;
    },
  },
});
