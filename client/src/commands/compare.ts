import {
  EventEmitter,
  type ExtensionContext,
  extensions,
  l10n,
  languages,
  Uri,
  ViewColumn,
  window,
  workspace,
} from 'vscode';
import { type ComparedText, requests } from '../../../server/src/requests.ts';
import { nameOf, sourceOf } from '../views/pages.ts';
import type { Command } from './command.ts';

/** The part of the editor's own git extension that is used here. */
interface Git {
  /** Throws where the user has git turned off in the editor. */
  getAPI(version: 1): { getRepository(uri: Uri): Repository | null };
}
interface Repository {
  show(ref: string, path: string): Promise<string>;
}

const scheme = 'fettle-changes';
/** What was told last of each file, by the address that it is shown under. */
const told = new Map<string, string>();
const changed = new EventEmitter<Uri>();
let registered = false;

/** Shows a text that nobody can edit, so that nobody is asked to save it. */
async function showText(context: ExtensionContext, source: Uri, text: string): Promise<void> {
  if (!registered) {
    registered = true;
    const provideTextDocumentContent = (uri: Uri) => told.get(uri.toString());
    context.subscriptions.push(
      changed,
      workspace.registerTextDocumentContentProvider(scheme, { onDidChange: changed.event, provideTextDocumentContent }),
    );
  }
  const title = l10n.t('{0} since the last commit', nameOf(source).replace(/\.fettle$/, ''));
  const uri = Uri.from({ scheme, path: `/${title}`, query: source.toString() });
  told.set(uri.toString(), text);
  changed.fire(uri);
  // Its lines are sentences, and wrapped.
  const document = await languages.setTextDocumentLanguage(await workspace.openTextDocument(uri), 'fettle-changes');
  await window.showTextDocument(document, { viewColumn: ViewColumn.Beside, preserveFocus: true, preview: true });
}

async function repositoryOf(source: Uri): Promise<Repository | undefined> {
  try {
    const git = await extensions.getExtension<Git>('vscode.git')?.activate();
    return git?.getAPI(1).getRepository(source) ?? undefined;
  } catch {
    return undefined;
  }
}

/** Tells what the edits since the last commit change in the job itself. */
export const compare: Command = {
  id: 'fettle.compareWithCommit',
  run: async ({ client: loading, context }, given) => {
    const source = sourceOf(given);
    if (source === undefined) {
      void window.showInformationMessage(l10n.t('Open a Fettle procedure first: it is compared with its last commit.'));
      return;
    }
    const repository = await repositoryOf(source);
    if (repository === undefined) {
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
    const client = await loading;
    const answer = await client.sendRequest<ComparedText | null>(requests.compare, {
      textDocument: client.code2ProtocolConverter.asTextDocumentIdentifier(document),
      old,
    });
    if (answer === null) return;
    await showText(context, source, answer.text);
    if (answer.review) {
      void window.showWarningMessage(l10n.t('Safety messages or torques have changed: have the change reviewed.'));
    }
  },
};
