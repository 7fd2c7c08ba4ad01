import type { ExtensionContext } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { registerCommands } from './commands/index.ts';
import { giveFiles } from './files.ts';
import { registerViews, type Views } from './views/index.ts';

/** What desktop and web do alike once there is a client. Returns what the extension exports, for tests and other extensions. */
export async function start<C extends BaseLanguageClient>(
  client: C,
  context: ExtensionContext,
): Promise<{ client: C; views: Views }> {
  giveFiles(client);
  registerCommands({ client, context });
  const views = registerViews({ client, context });
  await client.start();
  return { client, views };
}
