import { commands, l10n, window } from 'vscode';
import { type BaseLanguageClient, CloseAction, ErrorAction, type ErrorHandler } from 'vscode-languageclient';

/** Starts of a server that died before it is given up, and the time that they count for, min: those of the library. */
const mostStarts = 4;
const minutes = 3;

/**
 * Starts a server again that died, as the library's own handler does. One that dies over and over it gives up, and offers to start
 * it again by hand: the library's message names no way to.
 */
export function restarting(client: () => BaseLanguageClient): ErrorHandler {
  let deaths: number[] = [];
  return {
    // What is on its way to a server that died fails, often several times before its end is heard of: to shut down then would be for good.
    error: (error, _message, count) => {
      const isGone = /^(?:ERR_IPC_CHANNEL_CLOSED|EPIPE)$/.test((error as { code?: string }).code ?? '');
      const goesOn = isGone || (count !== undefined && count <= 3);
      return { action: goesOn ? ErrorAction.Continue : ErrorAction.Shutdown, handled: isGone };
    },
    closed: () => {
      const now = Date.now();
      deaths = [...deaths.filter((each) => now - each <= minutes * 60_000), now];
      if (deaths.length <= mostStarts) return { action: CloseAction.Restart };
      // Started by hand, it is tried as often as at first.
      deaths = [];
      const said = l10n.t(
        'The Fettle language server ended {0} times within {1} minutes and is not started again. “Fettle: Restart the language server” starts it.',
        mostStarts + 1,
        minutes,
      );
      void offerRestart(said, client());
      return { action: CloseAction.DoNotRestart, message: said, handled: true };
    },
  };
}

async function offerRestart(said: string, client: BaseLanguageClient): Promise<void> {
  const restart = l10n.t('Restart');
  const show = l10n.t('Show the log');
  const answer = await window.showErrorMessage(said, restart, show);
  if (answer === restart) await commands.executeCommand('fettle.restart');
  if (answer === show) client.outputChannel.show();
}
