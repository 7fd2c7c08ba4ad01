import { l10n, window } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { type KitFile, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import type { Pages } from './pages.ts';
import { registerSave, type Saved, type SavedParams } from './save-file.ts';

/**
 * `fettle.saveKit`: writes what to have before the work begins to where the user says, as a table for spreadsheets. It is for the code
 * that the procedure's card is made for, if one is open: the same things stand on that.
 */
export function registerSaveKit(site: Site, pages: Pages): void {
  registerSave(site, pages, {
    command: 'fettle.saveKit',
    noneOpen: l10n.t('Open a Fettle procedure first: what its steps need is what is saved.'),
    make: kitOf,
  });
}

/** The day on which the work begins, empty where it is left open; nothing where the user gives up. */
const askForStart = (isDay: (day: string) => Promise<boolean>): Thenable<string | undefined> =>
  window.showInputBox({
    title: l10n.t('When does the work begin?'),
    prompt: l10n.t(
      'Some of the kit has to be ordered ahead: order dates count from this day. Leave it empty for none.',
    ),
    placeHolder: l10n.t('A day, as in 2027-03-01'),
    ignoreFocusOut: true,
    validateInput: async (day) =>
      day === '' || (await isDay(day))
        ? undefined
        : l10n.t('This is no day of the calendar: write it as in 2027-03-01.'),
  });

async function kitOf(client: BaseLanguageClient, params: SavedParams): Promise<Saved | undefined> {
  const ask = (start = params.start): Promise<KitFile | null> =>
    client.sendRequest(requests.kitFile, { ...params, start });
  let kit = await ask();
  if (params.start === undefined && kit?.leads === true) {
    const start = await askForStart(async (day) => (await ask(day))?.start !== undefined);
    if (start === undefined) return undefined;
    kit = await ask(start);
  }
  if (kit === null) return undefined;
  const { csv, things, errors, code } = kit;
  if (things === 0) {
    void window.showInformationMessage(
      l10n.t('There is no kit to save: no step needs a new part, a tool or a supply. Write the steps first.'),
    );
    return undefined;
  }
  return {
    content: csv,
    errors,
    ending: 'kit.csv',
    filters: { CSV: ['csv'] },
    title: l10n.t('Save the kit as a table for a spreadsheet'),
    saveLabel: l10n.t('Save the kit'),
    open: l10n.t('Open the table'),
    said: (name) => {
      const whole = code === undefined ? name : l10n.t('{0}, for {1} only', name, code);
      return errors === 0
        ? l10n.t('Saved {0}.', whole)
        : l10n.t('Saved {0}. The procedure has errors: the list may lack something.', whole);
    },
  };
}
