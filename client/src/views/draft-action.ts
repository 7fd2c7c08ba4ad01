import type { CodeAction, Command, Uri } from 'vscode';

export const draftId = 'fettle.draftReassembly';

/** The draft among the refactorings is left to the editor command, so that its notes are shown as well. */
export function byCommand(action: Command | CodeAction, source: Uri): void {
  const refactoring = action as CodeAction & { data?: { draft?: boolean } };
  if (refactoring.data?.draft !== true) return;
  refactoring.command = { command: draftId, title: refactoring.title, arguments: [source] };
  refactoring.data = undefined;
}
