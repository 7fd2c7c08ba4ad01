import { l10n, type Uri, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { type CardFile, type CardParams, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import type { Pages } from './pages.ts';
import { registerSave, type Saved, type SavedParams } from './save-file.ts';

/** `fettle.saveCard`: writes the card as a page of its own to where the user says, to be printed from a browser. */
export function registerSaveCard(site: Site, pages: Pages): void {
  registerSave(site, pages, {
    command: 'fettle.saveCard',
    noneOpen: l10n.t('Open a Fettle procedure first: its card is what is saved.'),
    make: cardOf,
  });
}

async function cardOf(
  client: BaseLanguageClient,
  { textDocument, code }: SavedParams,
  source: Uri,
): Promise<Saved | undefined> {
  const paper = workspace.getConfiguration('fettle.card', source).get<CardParams['paper']>('paper');
  const card = await client.sendRequest<CardFile | null>(requests.cardFile, { textDocument, code, paper });
  if (card === null) return undefined;
  const { html, errors } = card;
  return {
    content: html,
    errors,
    ending: 'card.html',
    filters: { HTML: ['html'] },
    title: l10n.t('Save the job card as a page to print'),
    saveLabel: l10n.t('Save the card'),
    open: l10n.t('Open it to print'),
    said: (name) =>
      errors === 0
        ? l10n.t('Saved {0}: print it from a browser.', name)
        : l10n.t('Saved {0}. The procedure has errors: the card says not to use it.', name),
  };
}
