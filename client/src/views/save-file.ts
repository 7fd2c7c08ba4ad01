import { commands, env, l10n, UIKind, Uri, window, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import type { KitParams } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { nameOf, type Pages } from './pages.ts';
import { placeBeside } from './saved-place.ts';

/** Something made of a procedure that is saved beside it. */
export interface Saved {
  readonly content: string;
  /** What its name ends in behind that of the procedure, as in `card.html`. */
  readonly ending: string;
  readonly filters: Readonly<Record<string, string[]>>;
  readonly title: string;
  readonly saveLabel: string;
  /** Errors that the procedure has. */
  readonly errors: number;
  /** What is said once it is saved under `name`. */
  said(name: string): string;
  /** What the button says that opens it elsewhere. */
  readonly open: string;
}

/** The procedure; the code that its card is made for, if one is open; the day on which the work begins, where that is known already. */
export type SavedParams = KitParams;

export interface Saving {
  readonly command: string;
  /** What is said where no procedure is at hand. */
  readonly noneOpen: string;
  /** Asks the server for what is saved of `source`; nothing where there is nothing to save. */
  make(client: BaseLanguageClient, params: SavedParams, source: Uri): Promise<Saved | undefined>;
}

/** Registers a command that saves something of the procedure at hand. */
export function registerSave(site: Site, pages: Pages, { command, noneOpen, make }: Saving): void {
  const save = async (given?: unknown, target?: unknown, start?: unknown): Promise<void> => {
    const source = pages.sourceOf(given);
    if (source === undefined) {
      void window.showInformationMessage(noneOpen);
      return;
    }
    const client = await site.client;
    const params = {
      textDocument: { uri: client.code2ProtocolConverter.asUri(source) },
      code: pages.card(source)?.code,
      start: typeof start === 'string' ? start : undefined,
    };
    const saved = await make(client, params, source);
    if (saved !== undefined) await saveFile(source, saved, target instanceof Uri ? target : undefined);
  };
  site.context.subscriptions.push(commands.registerCommand(command, save));
}

/** Writes it to `to`, else to where the user says, and offers to open it. */
async function saveFile(source: Uri, saved: Saved, to: Uri | undefined): Promise<void> {
  const { ending, filters, title, saveLabel } = saved;
  const folders = workspace.workspaceFolders?.map(({ uri }) => uri) ?? [];
  const target =
    to ??
    (await window.showSaveDialog({
      title,
      saveLabel,
      defaultUri: placeBeside(source, folders, ending),
      filters: { ...filters },
    }));
  if (target === undefined) return;
  try {
    await workspace.fs.writeFile(target, new TextEncoder().encode(saved.content));
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    void window.showErrorMessage(l10n.t('{0} was not saved: {1}', nameOf(target), reason));
    return;
  }
  const show = saved.errors === 0 ? window.showInformationMessage : window.showWarningMessage;
  // A program elsewhere does not see this machine's files.
  const here = env.uiKind === UIKind.Desktop && env.remoteName === undefined && target.scheme === 'file';
  void show(saved.said(nameOf(target)), ...(here ? [saved.open] : [])).then((answer) => {
    if (answer === saved.open) void env.openExternal(target);
  });
}
