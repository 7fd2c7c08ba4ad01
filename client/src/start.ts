import type { ExtensionContext } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { registerCommands } from './commands/index.ts';
import { giveFiles } from './files.ts';
import { registerViews, type Views } from './views/index.ts';

/** What the extension exports, for tests and other extensions. */
export interface Exports<C extends BaseLanguageClient> {
  readonly client: C;
  readonly views: Views;
  /** Done once the server answers. */
  readonly started: Promise<void>;
}

/**
 * What desktop and web do alike once there is a client. Does not wait for the server: the editor would wait with it, and all
 * that is asked meanwhile is answered once it is up.
 */
export function start<C extends BaseLanguageClient>(client: C, context: ExtensionContext): Exports<C> {
  giveFiles(client);
  registerCommands({ client, context });
  const views = registerViews({ client, context });
  // On a turn of its own: to start a process takes as long as all the rest.
  const started = new Promise<void>((turn) => setTimeout(turn, 0)).then(() => client.start());
  // The client itself tells the user what went wrong.
  started.catch(() => {});
  return { client, views, started };
}
