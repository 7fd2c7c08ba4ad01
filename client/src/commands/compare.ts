import { extensions, l10n, type Uri, ViewColumn, window, workspace } from 'vscode';
import { type ComparedText, requests } from '../../../server/src/requests.ts';
import { sourceOf } from '../views/pages.ts';
import type { Command } from './command.ts';

/** The part of the editor's own git extension that is used here. */
interface Git {
  getAPI(version: 1): { getRepository(uri: Uri): { show(ref: string, path: string): Promise<string> } | null };
}

/** Tells what the edits since the last commit change in the job itself. */
export const compare: Command = {
  id: 'fettle.compareWithCommit',
  run: async ({ client }, given) => {
    const source = sourceOf(given);
    if (source === undefined) {
      void window.showInformationMessage(l10n.t('Open a Fettle procedure first: it is compared with its last commit.'));
      return;
    }
    const extension = extensions.getExtension<Git>('vscode.git');
    const repository = (await extension?.activate())?.getAPI(1).getRepository(source);
    if (repository === null || repository === undefined) {
      void window.showWarningMessage(
        l10n.t('There is no last commit to compare with: this file is in no git repository that the editor has open.'),
      );
      return;
    }
    let old: string;
    try {
      old = await repository.show('HEAD', source.fsPath);
    } catch {
      void window.showInformationMessage(l10n.t('The last commit does not hold this file: all of it is new.'));
      return;
    }
    const document = await workspace.openTextDocument(source);
    const answer = await client.sendRequest<ComparedText | null>(requests.compare, {
      textDocument: client.code2ProtocolConverter.asTextDocumentIdentifier(document),
      old,
    });
    if (answer === null) return;
    const shown = await workspace.openTextDocument({ language: 'plaintext', content: answer.text });
    await window.showTextDocument(shown, { viewColumn: ViewColumn.Beside, preserveFocus: true, preview: true });
    if (answer.review) {
      void window.showWarningMessage(l10n.t('Safety messages or torques have changed: have the change reviewed.'));
    }
  },
};
