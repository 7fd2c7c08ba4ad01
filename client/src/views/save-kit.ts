import { commands, l10n, Uri, window } from 'vscode';
import { type KitFile, type KitParams, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { type Pages, sourceOf } from './pages.ts';
import { saveFile } from './save-file.ts';

/**
 * `fettle.saveKit`: writes what to have before the work begins to where the user says, as a table for spreadsheets. It is for the code
 * that the procedure's card is made for, if one is open: the same things stand on that.
 */
export function registerSaveKit(site: Site, pages: Pages): void {
  site.context.subscriptions.push(
    commands.registerCommand('fettle.saveKit', (source?: unknown, target?: unknown) =>
      saveKit(site, pages, source instanceof Uri ? source : undefined, target instanceof Uri ? target : undefined),
    ),
  );
}

async function saveKit(site: Site, pages: Pages, given: Uri | undefined, to: Uri | undefined): Promise<void> {
  const source = pages.card()?.source ?? sourceOf(given);
  if (source === undefined) {
    void window.showInformationMessage(l10n.t('Open a Fettle procedure first: what its steps need is what is saved.'));
    return;
  }
  const client = await site.client;
  const params: KitParams = {
    textDocument: { uri: client.code2ProtocolConverter.asUri(source) },
    code: pages.card(source)?.code,
  };
  const kit = await client.sendRequest<KitFile | null>(requests.kitFile, params);
  if (kit === null) return;
  const { csv, things, errors, code } = kit;
  if (things === 0) {
    void window.showInformationMessage(
      l10n.t('There is no kit to save: no step needs a new part, a tool or a supply. Write the steps first.'),
    );
    return;
  }
  const saved = {
    content: csv,
    errors,
    ending: 'kit.csv',
    filters: { CSV: ['csv'] },
    title: l10n.t('Save the kit as a table for a spreadsheet'),
    saveLabel: l10n.t('Save the kit'),
    open: l10n.t('Open the table'),
    said: (name: string) => {
      const whole = code === undefined ? name : l10n.t('{0}, for {1} only', name, code);
      return errors === 0
        ? l10n.t('Saved {0}.', whole)
        : l10n.t('Saved {0}. The procedure has errors: the list may lack something.', whole);
    },
  };
  await saveFile(source, saved, to);
}
