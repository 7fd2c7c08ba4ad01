import { commands, window, workspace } from 'vscode';
import { language } from '../options.ts';
import type { Command } from './command.ts';

/** Opens an unsaved procedure with a head and its phases, to be filled in from place to place. */
export const newProcedure: Command = {
  id: 'fettle.newProcedure',
  run: async () => {
    const document = await workspace.openTextDocument({ language });
    await window.showTextDocument(document, { preview: false });
    await commands.executeCommand('editor.action.insertSnippet', { langId: language, name: 'Procedure' });
  },
};
