import {
  commands,
  l10n,
  type OutputChannel,
  type Range,
  type TextEditor,
  type Uri,
  WorkspaceEdit,
  window,
  workspace,
} from 'vscode';
import { type DraftAnswer, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { draftId } from './draft-action.ts';
import { editorOf, nameOf, sourceOf } from './pages.ts';

/** `fettle.draftReassembly`: inserts what answers the teardown, as one edit to undo, and shows what the author has to look at. */
export function registerDraft(site: Site): void {
  const notes = window.createOutputChannel(l10n.t('Fettle: notes on drafts'));
  site.context.subscriptions.push(
    notes,
    commands.registerCommand(draftId, (source?: unknown) => draft(site, notes, sourceOf(source))),
  );
}

async function draft(site: Site, channel: OutputChannel, source: Uri | undefined): Promise<void> {
  if (source === undefined) {
    void window.showInformationMessage(l10n.t('Open a Fettle procedure first: its reassembly is what is drafted.'));
    return;
  }
  const document = await workspace.openTextDocument(source);
  const client = await site.client;
  const answer = await client.sendRequest<DraftAnswer | null>(requests.draft, {
    textDocument: client.code2ProtocolConverter.asTextDocumentIdentifier(document),
  });
  if (answer === null) return;
  const { edits, notes, version } = answer;
  if (version !== undefined && version !== document.version) {
    void window.showWarningMessage(l10n.t('The text has changed meanwhile, so nothing was drafted: do it once more.'));
    return;
  }
  if (edits.length === 0) {
    void tell(l10n.t('Nothing to draft: all that came off is back.'), notes, channel, source);
    return;
  }
  const places = edits.map(({ range, newText }) => ({ range: client.protocol2CodeConverter.asRange(range), newText }));
  const editor = editorOf(source, undefined);
  if (!(await (editor === undefined ? putInto(source, places) : putThrough(editor, places)))) {
    void window.showWarningMessage(l10n.t('The draft could not be put into {0}: nothing was changed.', nameOf(source)));
    return;
  }
  editor?.revealRange(places[0]!.range);
  const lines = edits.reduce((sum, { newText }) => sum + newText.split('\n').filter((line) => line.trim()).length, 0);
  void tell(l10n.t('Drafted {0} lines. Read them before anyone works by them.', lines), notes, channel, source);
}

interface Place {
  readonly range: Range;
  readonly newText: string;
}

/** An editor refuses what a file that is set read-only does not allow; an edit of the workspace would change its text all the same. */
const putThrough = (editor: TextEditor, places: readonly Place[]): Thenable<boolean> =>
  editor.edit((edit) => {
    for (const { range, newText } of places) edit.replace(range, newText);
  });

function putInto(source: Uri, places: readonly Place[]): Thenable<boolean> {
  const edit = new WorkspaceEdit();
  for (const { range, newText } of places) edit.replace(source, range, newText);
  return workspace.applyEdit(edit, { isRefactoring: true });
}

async function tell(said: string, notes: readonly string[], channel: OutputChannel, source: Uri): Promise<void> {
  if (notes.length === 0) {
    await window.showInformationMessage(said);
    return;
  }
  channel.appendLine(nameOf(source));
  for (const note of notes) channel.appendLine(`- ${note}`);
  const show = l10n.t('Show the notes');
  const more = notes.length === 1 ? notes[0] : l10n.t('{0} notes for you to look at.', notes.length);
  if ((await window.showInformationMessage(`${said} ${more}`, show)) === show) channel.show();
}
