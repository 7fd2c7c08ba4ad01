import { URI } from 'vscode-uri';
import { askedOfClient } from './requests.ts';
import { type Files, noDisk } from './workspace.ts';

/** Sends a request to the client. */
export type Ask = (method: string, params: object) => Promise<unknown>;

/** Closed files by way of a client that answers {@link askedOfClient}, as in a browser. */
export const clientFiles = (ask: Ask): Files => ({
  async read(uri) {
    const answer = (await ask(askedOfClient.readFile, { uri })) as { text?: unknown; reason?: unknown } | null;
    if (typeof answer?.text === 'string') return answer.text;
    throw new Error(typeof answer?.reason === 'string' ? answer.reason : 'the editor did not give it');
  },
  async list(folder) {
    const answer = await ask(askedOfClient.listFiles, { folder });
    return Array.isArray(answer)
      ? { uris: answer.filter((uri) => typeof uri === 'string'), isWhole: true }
      : { uris: [], isWhole: false };
  },
});

/** Files of this machine from `disk`; all others, and all where there is no disk, from the client where it gives them. */
export function eitherFiles(disk: Files | undefined, client: () => Files | undefined): Files {
  const of = (uri: string): Files =>
    disk !== undefined && URI.parse(uri).scheme === 'file' ? disk : (client() ?? noDisk);
  return {
    read: (uri, roots) => of(uri).read(uri, roots),
    list: (folder) => of(folder).list(folder),
  };
}
