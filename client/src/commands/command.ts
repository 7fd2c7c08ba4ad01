import type { ExtensionContext } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';

/** What a command may use: the running client and the extension's own context. */
export type Site = { client: BaseLanguageClient; context: ExtensionContext };

/** One command of the manifest, one file in this folder, listed in `index.ts`. */
export type Command = { id: string; run: (site: Site, ...args: unknown[]) => unknown };
