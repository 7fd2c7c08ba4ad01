import { l10n, window } from 'vscode';
import type { Command } from './command.ts';

/** Stops the language server and starts it again; open documents are sent anew, so no finding is lost. */
export const restart: Command = {
  id: 'fettle.restart',
  run: async (site) => {
    const client = await site.client;
    try {
      // A server that hangs does not answer the request to stop: the client then kills it, and we go on.
      if (client.needsStop())
        await client.stop().catch((error) => client.warn('The server did not stop in time', error));
      await client.start();
    } catch (error) {
      client.error('Restart failed', error, false);
      const show = l10n.t('Show the log');
      const reason = error instanceof Error ? error.message : String(error);
      const answer = await window.showErrorMessage(
        l10n.t('The Fettle language server did not restart: {0}', reason),
        show,
      );
      if (answer === show) client.outputChannel.show();
    }
  },
};
