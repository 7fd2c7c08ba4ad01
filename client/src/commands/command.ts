import type { Event, ExtensionContext } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';

/** What commands and views may use. */
export interface Site {
  /** Done when the client is loaded; what is then asked of it waits for the server. */
  readonly client: Promise<BaseLanguageClient>;
  /** Tells that what the server answers may be other than before: it has come up, or something changed that is not in the text. */
  readonly onDidChange: Event<void>;
  readonly context: ExtensionContext;
}

/** One command of the manifest, one file in this folder, listed in `index.ts`. */
export type Command = { id: string; run: (site: Site, ...args: unknown[]) => unknown };
