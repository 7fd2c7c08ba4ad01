import { EventEmitter, type ExtensionContext, l10n, window, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { changed } from '../../server/src/requests.ts';
import { registerCommands } from './commands/index.ts';
import { giveFiles } from './files.ts';
import { type Indentation, indentationOwed } from './indentation.ts';
import { registerViews, type Views } from './views/index.ts';

/** What the extension exports, for tests and other extensions. */
export interface Exports<C extends BaseLanguageClient> {
  /** Absent until it is loaded, which it is once `started` is done. */
  readonly client: C | undefined;
  readonly views: Views;
  /** Done once the server answers. */
  readonly started: Promise<void>;
}

export interface Running<C extends BaseLanguageClient> {
  readonly exports: Exports<C>;
  /** Ends the server, or sees to it that none is started any more. */
  end(): Promise<void>;
}

/**
 * What desktop and web do alike. Waits neither for the client to be loaded nor for the server: the editor would wait as well, and
 * all that is asked meanwhile is answered once they are there.
 */
export function start<C extends BaseLanguageClient>(
  context: ExtensionContext,
  makeClient: () => Promise<C>,
): Running<C> {
  const changes = new EventEmitter<void>();
  context.subscriptions.push(changes);
  let loaded: C | undefined;
  let ended = false;
  const load = async (): Promise<C> => {
    // On a turn of its own: to load the client and to start a process takes many times as long as all the rest.
    await new Promise<void>((turn) => setTimeout(turn, 0));
    if (ended) throw new Error('The extension has ended.');
    const client = await makeClient();
    giveFiles(client);
    settleIndentation();
    client.onDidChangeState(() => {
      if (client.isRunning()) changes.fire();
    });
    client.onNotification(changed, () => changes.fire());
    loaded = client;
    return client;
  };
  const client = load();
  client.catch((error: Error) => {
    if (!ended)
      void window.showErrorMessage(
        l10n.t('A part of Fettle could not be loaded: install it again ({0})', error.message),
      );
  });
  const started = client.then((each) => each.start());
  // The client itself tells the user what went wrong.
  started.catch(() => {});
  const site = { client, onDidChange: changes.event, context };
  registerCommands(site);
  const views = registerViews(site);
  return {
    exports: {
      get client() {
        return loaded;
      },
      views,
      started,
    },
    end: async () => {
      ended = true;
      // The library throws where a client is stopped that still starts.
      const hasBegun = await started.then(
        () => true,
        () => false,
      );
      await loaded?.stop().catch((error: unknown) => {
        // Also where it failed to start; it only looks then whether a process is left.
        if (hasBegun) throw error;
      });
    },
  };
}

/** Gives the editors that are in sight the indentation that is set for this language. */
function settleIndentation(): void {
  for (const editor of window.visibleTextEditors) {
    const { document, options } = editor;
    if (document.languageId !== 'fettle') continue;
    const configured = workspace.getConfiguration('editor', document);
    const set = {
      tabSize: configured.get('tabSize', 2),
      insertSpaces: configured.get('insertSpaces', true),
    };
    const owed = indentationOwed(document.getText(), options as Partial<Indentation>, set);
    if (owed !== undefined) editor.options = owed;
  }
}
