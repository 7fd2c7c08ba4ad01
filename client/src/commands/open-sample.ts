import { window, workspace } from 'vscode';
import { language } from '../options.ts';
import { sample } from '../sample.ts';
import type { Command } from './command.ts';

/** Opens a small procedure with faults, unsaved, to try Fettle on. */
export const openSample: Command = {
  id: 'fettle.openSample',
  run: async () => {
    const document = await workspace.openTextDocument({ language, content: sample });
    await window.showTextDocument(document, { preview: false });
  },
};
