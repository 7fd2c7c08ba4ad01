import { commands, l10n, Uri, window, workspace } from 'vscode';
import { type CardFile, type CardParams, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { type Pages, sourceOf } from './pages.ts';
import { saveFile } from './save-file.ts';

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
  const { html, errors } = card;
  const saved = {
    content: html,
    errors,
    ending: 'card.html',
    filters: { HTML: ['html'] },
    title: l10n.t('Save the job card as a page to print'),
    saveLabel: l10n.t('Save the card'),
    open: l10n.t('Open it to print'),
    said: (name: string) =>
      errors === 0
        ? l10n.t('Saved {0}: print it from a browser.', name)
        : l10n.t('Saved {0}. The procedure has errors: the card says not to use it.', name),
  };
  await saveFile(source, saved, to);
}
