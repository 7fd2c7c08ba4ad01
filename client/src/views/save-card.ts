import { commands, env, l10n, UIKind, Uri, window, workspace } from 'vscode';
import { type CardFile, type CardParams, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { placeOfCard } from './card-place.ts';
import { nameOf, type Pages, sourceOf } from './pages.ts';

/** `fettle.saveCard`: writes the card as a page of its own to where the user says, to be printed from a browser. */
export function registerSaveCard(site: Site, pages: Pages): void {
  site.context.subscriptions.push(
    commands.registerCommand('fettle.saveCard', (source?: unknown, target?: unknown) =>
      saveCard(site, pages, source instanceof Uri ? source : undefined, target instanceof Uri ? target : undefined),
    ),
  );
}

async function saveCard(site: Site, pages: Pages, given: Uri | undefined, to: Uri | undefined): Promise<void> {
  const source = pages.card()?.source ?? sourceOf(given);
  if (source === undefined) {
    void window.showInformationMessage(l10n.t('Open a Fettle procedure first: its card is what is saved.'));
    return;
  }
  const client = await site.client;
  const params: CardParams = {
    textDocument: { uri: client.code2ProtocolConverter.asUri(source) },
    code: pages.card(source)?.code,
    paper: workspace.getConfiguration('fettle.card', source).get('paper'),
  };
  const card = await client.sendRequest<CardFile | null>(requests.cardFile, params);
  if (card === null) return;
  const target =
    to ??
    (await window.showSaveDialog({
      title: l10n.t('Save the job card as a page to print'),
      saveLabel: l10n.t('Save the card'),
      defaultUri: placeOfCard(source, workspace.workspaceFolders?.map(({ uri }) => uri) ?? []),
      filters: { HTML: ['html'] },
    }));
  if (target === undefined) return;
  await workspace.fs.writeFile(target, new TextEncoder().encode(card.html));
  const said =
    card.errors === 0
      ? l10n.t('Saved {0}: print it from a browser.', nameOf(target))
      : l10n.t('Saved {0}. The procedure has errors: the card says not to use it.', nameOf(target));
  const show = card.errors === 0 ? window.showInformationMessage : window.showWarningMessage;
  // A browser elsewhere does not see this machine's files.
  const here = env.uiKind === UIKind.Desktop && env.remoteName === undefined && target.scheme === 'file';
  const print = l10n.t('Open it to print');
  void show(said, ...(here ? [print] : [])).then((answer) => {
    if (answer === print) void env.openExternal(target);
  });
}
