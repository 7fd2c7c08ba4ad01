import assert from 'node:assert/strict';
import { rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, it } from 'mocha';
import * as vscode from 'vscode';
import type { Views } from '../../../client/src/views/index.ts';
import type { TrailNode } from '../../../client/src/views/trail.ts';
import { activated, eventually, open, rangeOf, shown } from './site.ts';

const fixture = 'overhaul.fettle';

async function views(): Promise<Views> {
  const { exports } = await activated();
  return (exports as unknown as { views: Views }).views;
}

/** Opens a sample of the project; nothing is ever saved to it. */
async function openSample(name: string): Promise<vscode.TextEditor> {
  const uri = vscode.Uri.file(join(process.env.FETTLE_SOURCE ?? '', 'samples', name));
  return vscode.window.showTextDocument(uri, { preview: false });
}

function putCursor(editor: vscode.TextEditor, text: string, nth = 1): void {
  const { end } = rangeOf(editor.document, text, nth);
  editor.selection = new vscode.Selection(end, end);
}

/** The tree as it is shown, two blanks a level: `label (description)`. */
function shownIn(tree: Views['trail'], nodes = tree.getChildren(), indent = ''): string[] {
  return nodes.flatMap((node: TrailNode) => {
    const { label, description } = tree.getTreeItem(node);
    const said = `${indent}${label}${description ? ` (${description})` : ''}`;
    return [said, ...shownIn(tree, tree.getChildren(node), `${indent}  `)];
  });
}

/** Labels of the views that are open, by their type. */
const openViews = (): string[] =>
  vscode.window.tabGroups.all.flatMap(({ tabs }) =>
    tabs.flatMap(({ input, label }) =>
      input instanceof vscode.TabInputWebview ? [`${input.viewType.split('-').at(-1)} ${label}`] : [],
    ),
  );

const closeAll = (): Thenable<unknown> => vscode.commands.executeCommand('workbench.action.closeAllEditors');

describe('Beside the text', () => {
  it('tells what is on the tray at the cursor, and goes to what took it off', async () => {
    const { trail } = await views();
    // It is asked for only where it is seen.
    await vscode.commands.executeCommand('fettle.trail.focus');
    const editor = await open(fixture);
    putCursor(editor, 'remove cover', 2);
    await eventually(() => shownIn(trail), ['On the tray (6)', '  Cover', '  Cover screw × 4', '  Drain plug']);
    putCursor(editor, 'fit cover');
    await eventually(() => shownIn(trail)[0], 'On the tray (5)');
    const [tray] = trail.getChildren();
    const [latest] = trail.getChildren(tray);
    const { command } = trail.getTreeItem(latest!);
    await vscode.commands.executeCommand(command!.command, ...command!.arguments!);
    assert.equal(editor.document.getText(vscode.window.activeTextEditor?.selection), 'remove cover-screw');
  });

  it('keeps the trail while another editor is in front', async () => {
    const { trail } = await views();
    // Where the test before has left the cursor.
    const before = ['On the tray (5)', '  Cover screw × 4', '  Drain plug'];
    await eventually(() => shownIn(trail), before);
    const plain = await vscode.workspace.openTextDocument({ content: 'notes', language: 'plaintext' });
    await vscode.window.showTextDocument(plain);
    assert.deepEqual(shownIn(trail), before);
    await vscode.commands.executeCommand('workbench.action.revertAndCloseActiveEditor');
  });

  it('opens the card beside, once, and goes from its steps to their lines', async () => {
    const { pages } = await views();
    const { document } = await open(fixture);
    await vscode.commands.executeCommand('fettle.openCard');
    await vscode.commands.executeCommand('fettle.openCard', document.uri.toString());
    await eventually(openViews, ['fettle.card Card: overhaul.fettle']);
    assert.equal(vscode.window.activeTextEditor?.document.uri.toString(), document.uri.toString());
    const card = pages.card(document.uri);
    assert(card);
    const { start } = rangeOf(document, 'fit impeller');
    await card.hear({ type: 'go', line: start.line });
    const { activeTextEditor } = vscode.window;
    assert.equal(activeTextEditor?.document.uri.toString(), document.uri.toString());
    assert.deepEqual(activeTextEditor?.selection.active, start);
    assert.equal(card.panel.options.enableFindWidget, true);
    // As a lens does, for a step that the cursor is not in.
    await vscode.commands.executeCommand(
      'fettle.openCard',
      document.uri.toString(),
      rangeOf(document, 'step open').start.line,
    );
    await eventually(openViews, ['fettle.card Card: overhaul.fettle']);
    // What a page says is not trusted.
    await card.hear({ type: 'go', line: 1e9 });
    assert.equal(vscode.window.activeTextEditor?.selection.active.line, document.lineCount - 1);
    await closeAll();
    assert.equal(pages.card(document.uri), undefined);
  });

  it('follows the editor that the user is in where two show the file, and goes from the card to that one', async () => {
    const { pages } = await views();
    const left = await open(fixture);
    const { document } = left;
    putCursor(left, 'step open');
    await vscode.commands.executeCommand('workbench.action.splitEditorRight');
    await eventually(() => vscode.window.activeTextEditor?.viewColumn, vscode.ViewColumn.Two);
    const right = vscode.window.activeTextEditor!;
    await vscode.commands.executeCommand('fettle.openCard');
    const card = pages.card(document.uri);
    assert(card);
    const lines: number[] = [];
    const { webview } = card.panel;
    const post = webview.postMessage;
    webview.postMessage = (message: { type: string; line?: number }) => {
      if (message.type === 'cursor') lines.push(message.line!);
      return post.call(webview, message);
    };
    putCursor(right, 'fit impeller');
    const { line } = right.selection.active;
    await eventually(() => lines.at(-1), line);
    lines.length = 0;
    await card.refresh();
    await eventually(() => lines.length > 0, true);
    // An edit above moves the other cursor, too: nobody has moved it.
    const edit = new vscode.WorkspaceEdit();
    edit.insert(document.uri, new vscode.Position(0, 0), '# a line more\n');
    assert(await vscode.workspace.applyEdit(edit));
    await eventually(() => lines.at(-1), line + 1);
    await new Promise((later) => setTimeout(later, 500));
    assert.deepEqual([...new Set(lines)], [line, line + 1]);
    // With the focus in the card, too.
    card.panel.reveal(undefined, false);
    await eventually(() => card.panel.active, true);
    lines.length = 0;
    await card.refresh();
    await eventually(() => [...new Set(lines)], [line + 1]);
    await card.hear({ type: 'go', line: 3 });
    assert.equal(vscode.window.activeTextEditor?.viewColumn, vscode.ViewColumn.Two);
    assert.equal(vscode.window.activeTextEditor?.selection.active.line, 3);
    await vscode.commands.executeCommand('workbench.action.files.revert');
    await closeAll();
  });

  it('goes from the trail to the editor of the file, not over the card that has the focus', async () => {
    const { pages, trail } = await views();
    const editor = await open(fixture);
    putCursor(editor, 'fit cover');
    await vscode.commands.executeCommand('fettle.openCard');
    const card = pages.card(editor.document.uri);
    assert(card);
    card.panel.reveal(undefined, false);
    await eventually(() => card.panel.active, true);
    await eventually(() => shownIn(trail)[0], 'On the tray (5)');
    const [latest] = trail.getChildren(trail.getChildren()[0]);
    const { command } = trail.getTreeItem(latest!);
    await vscode.commands.executeCommand(command!.command, ...command!.arguments!);
    assert.equal(vscode.window.activeTextEditor?.viewColumn, vscode.ViewColumn.One);
    assert.equal(card.panel.visible, true);
    await closeAll();
  });

  it('names the card of an older version as such', async () => {
    const { document } = await open(fixture);
    const old = document.uri.with({ scheme: 'older', query: '{"ref":"HEAD"}' });
    const provider = vscode.workspace.registerTextDocumentContentProvider('older', {
      provideTextDocumentContent: () => document.getText(),
    });
    try {
      await vscode.window.showTextDocument(await vscode.workspace.openTextDocument(old));
      await vscode.commands.executeCommand('fettle.openCard');
      await eventually(openViews, ['fettle.card Card: overhaul.fettle, an older version']);
    } finally {
      provider.dispose();
      await closeAll();
    }
  });

  it('keeps the card as its shared files are, and follows its file to another name', async () => {
    const { pages } = await views();
    const { document } = await open(fixture);
    await vscode.commands.executeCommand('fettle.openCard');
    const card = pages.card(document.uri);
    assert(card);
    // The page itself is out of reach: what it is sent is read on the way.
    let body = '';
    const { webview } = card.panel;
    const post = webview.postMessage;
    webview.postMessage = (message: { body?: string }) => {
      body = message.body ?? body;
      return post.call(webview, message);
    };
    const torque = (): string | undefined => /9 N·m|8\.5 N·m/.exec(body)?.[0];
    card.refresh();
    await eventually(torque, '9 N·m');
    const { document: used } = await open('common/fasteners.fettle');
    const edit = new vscode.WorkspaceEdit();
    edit.replace(used.uri, rangeOf(used, '9 N·m'), '8.5 N·m');
    assert(await vscode.workspace.applyEdit(edit));
    await eventually(torque, '8.5 N·m');
    await vscode.commands.executeCommand('workbench.action.revertAndCloseActiveEditor');
    await eventually(torque, '9 N·m');

    const target = vscode.Uri.joinPath(document.uri, '../renamed.fettle');
    const rename = async (from: vscode.Uri, to: vscode.Uri): Promise<void> => {
      const moved = new vscode.WorkspaceEdit();
      moved.renameFile(from, to);
      assert(await vscode.workspace.applyEdit(moved));
    };
    await rename(document.uri, target);
    try {
      await eventually(openViews, ['fettle.card Card: renamed.fettle']);
      await eventually(() => /Made from .*renamed\.fettle/.test(body), true);
      assert.equal(pages.card(target), card);
    } finally {
      await closeAll();
      await rename(target, document.uri);
    }
  });

  it('saves the card as a page of its own', async () => {
    const { document } = await open(fixture);
    const target = join(tmpdir(), `card-${process.pid}.html`);
    await vscode.commands.executeCommand('fettle.saveCard', document.uri, vscode.Uri.file(target));
    const page = new TextDecoder().decode(await vscode.workspace.fs.readFile(vscode.Uri.file(target)));
    await rm(target);
    assert.match(page, /^<!doctype html>/);
    assert.match(page, /Overhaul the bilge pump/);
    assert.match(page, /Do not use this card/);
    assert.doesNotMatch(page, /<script/);
  });

  it('saves the kit as a table, for the code of the open card', async () => {
    const { pages } = await views();
    const { document } = await openSample('winch-reducer.fettle');
    const target = vscode.Uri.file(join(tmpdir(), `kit-${process.pid}.csv`));
    const saved = async (start = ''): Promise<string> => {
      await vscode.commands.executeCommand('fettle.saveKit', document.uri, target, start);
      // Decoders drop the mark unless told not to.
      const text = new TextDecoder('utf-8', { ignoreBOM: true }).decode(await vscode.workspace.fs.readFile(target));
      await rm(target.fsPath);
      return text;
    };
    const whole = await saved();
    assert.match(whole, /^\uFEFFkind,name,title,/);
    assert.match(whole, /\r\ntool,/);
    assert.match(whole, /\r\npart,heater-gasket,/);
    assert.doesNotMatch(whole, /2027-02-\d\d/);
    assert.match(await saved('2027-03-01'), /2027-02-\d\d/);
    await vscode.commands.executeCommand('fettle.openCard');
    const card = pages.card(document.uri);
    assert(card);
    card.chooseCode('DW-40');
    assert.doesNotMatch(await saved(), /heater-gasket/);
    await closeAll();
  });

  it('opens diagram and plan', async () => {
    await open(fixture);
    await vscode.commands.executeCommand('fettle.openDiagram');
    await vscode.commands.executeCommand('fettle.openPlan');
    await eventually(
      () => openViews().sort(),
      ['fettle.diagram What holds what: overhaul.fettle', 'fettle.plan Plan: overhaul.fettle'],
    );
    await closeAll();
  });

  it('opens what belongs to the same procedure from the view that has the focus, in its place', async () => {
    const { pages } = await views();
    const { document } = await open(fixture);
    await vscode.commands.executeCommand('fettle.openCard');
    const card = pages.card(document.uri);
    assert(card);
    card.panel.reveal(undefined, false);
    /** Of the view in front: its label, and in which column it stands. */
    const inFront = (): [string?, number?] => {
      const { activeTabGroup } = vscode.window.tabGroups;
      return [activeTabGroup.activeTab?.label, activeTabGroup.viewColumn];
    };
    await eventually(inFront, ['Card: overhaul.fettle', 2]);
    // As the title of a view does, which gives the address of the view.
    await vscode.commands.executeCommand('fettle.openPlan', vscode.Uri.parse('webview-panel:webview-1'));
    await eventually(inFront, ['Plan: overhaul.fettle', 2]);
    await vscode.commands.executeCommand('fettle.openDiagram');
    await eventually(inFront, ['What holds what: overhaul.fettle', 2]);
    await vscode.commands.executeCommand('fettle.openCard');
    await eventually(inFront, ['Card: overhaul.fettle', 2]);
    assert.equal(openViews().length, 3);
    await closeAll();
  });

  it('offers the draft where the reassembly stands', async () => {
    const { document } = await openSample('irrigation-pump.fettle');
    const offered = async (place: vscode.Range): Promise<(vscode.Command | undefined)[]> => {
      const actions = await vscode.commands.executeCommand<vscode.CodeAction[]>(
        'vscode.executeCodeActionProvider',
        document.uri,
        place,
        vscode.CodeActionKind.RefactorRewrite.value,
      );
      return actions.filter(({ title }) => title.startsWith('Draft')).map(({ command }) => command);
    };
    await eventually(
      async () => (await offered(rangeOf(document, '\nreassembly'))).map((each) => each?.command),
      ['fettle.draftReassembly'],
    );
    assert.deepEqual(await offered(rangeOf(document, 'disconnect motor-cable')), []);
  });

  it('drafts a reassembly that has no errors, as one edit to undo', async () => {
    const { document } = await openSample('irrigation-pump.fettle');
    const before = document.getText();
    const errors = () =>
      vscode.languages
        .getDiagnostics(document.uri)
        .filter(({ severity }) => severity === vscode.DiagnosticSeverity.Error).length;
    await eventually(() => errors() > 20, true);
    await vscode.commands.executeCommand('fettle.draftReassembly');
    assert.match(document.getText(), /reassembly\n {2}step [\s\S]*fit pump-shaft[\s\S]*proving/);
    await eventually(errors, 0);
    assert.deepEqual(
      shown(document.uri).filter((finding) => /left-/.test(finding)),
      [],
    );
    await vscode.commands.executeCommand('undo');
    assert.equal(document.getText(), before);
    await vscode.commands.executeCommand('workbench.action.files.revert');
    await closeAll();
  });

  it('drafts nothing into a file that is set read-only, and says so', async () => {
    const { document } = await openSample('irrigation-pump.fettle');
    const files = vscode.workspace.getConfiguration('files');
    await files.update('readonlyInclude', { '**/irrigation-pump.fettle': true }, vscode.ConfigurationTarget.Global);
    try {
      await new Promise((later) => setTimeout(later, 500));
      const before = document.getText();
      await vscode.commands.executeCommand('fettle.draftReassembly');
      assert.equal(document.getText(), before);
    } finally {
      await files.update('readonlyInclude', undefined, vscode.ConfigurationTarget.Global);
      await closeAll();
    }
  });

  it('keeps the card of an unsaved file when that is saved, and says when it is thrown away', async () => {
    const { pages } = await views();
    const folder = vscode.workspace.workspaceFolders![0]!.uri;
    const target = vscode.Uri.joinPath(folder, 'kept.fettle');
    const watched = (card: { panel: vscode.WebviewPanel }): (() => { body?: string; text?: string } | undefined) => {
      let last: { body?: string; text?: string } | undefined;
      const { webview } = card.panel;
      const post = webview.postMessage;
      webview.postMessage = (message: { type: string; body?: string; text?: string }) => {
        if (message.type !== 'cursor') last = message;
        return post.call(webview, message);
      };
      return () => last;
    };
    const begin = async (uri: vscode.Uri): Promise<vscode.TextDocument> => {
      const document = await vscode.workspace.openTextDocument(uri);
      await vscode.window.showTextDocument(document, { preview: false });
      const edit = new vscode.WorkspaceEdit();
      edit.insert(
        uri,
        new vscode.Position(0, 0),
        'procedure kept "Kept"\npart lid "Lid"\nteardown\n  step a\n    remove lid\n',
      );
      assert(await vscode.workspace.applyEdit(edit));
      await vscode.commands.executeCommand('fettle.openCard');
      return document;
    };
    const document = await begin(target.with({ scheme: 'untitled' }));
    const card = pages.card(document.uri);
    assert(card);
    const last = watched(card);
    await vscode.window.showTextDocument(document, { viewColumn: vscode.ViewColumn.One });
    await vscode.commands.executeCommand('workbench.action.files.save');
    try {
      await eventually(openViews, ['fettle.card Card: kept.fettle']);
      await eventually(() => card.source.toString(), target.toString());
      await card.refresh();
      await eventually(() => /Lid/.test(last()?.body ?? ''), true);
    } finally {
      await closeAll();
      await vscode.workspace.fs.delete(target);
    }

    const lost = await begin(target.with({ scheme: 'untitled', path: `${folder.path}/lost.fettle` }));
    const other = pages.card(lost.uri);
    assert(other);
    const said = watched(other);
    await vscode.window.showTextDocument(lost, { viewColumn: vscode.ViewColumn.One });
    await vscode.commands.executeCommand('workbench.action.revertAndCloseActiveEditor');
    await eventually(
      () => vscode.workspace.textDocuments.some(({ uri }) => uri.toString() === lost.uri.toString()),
      false,
    );
    await other.refresh();
    assert.match(said()?.text ?? '', /lost\.fettle cannot be shown/);
    // A warning says so to who still clicks on a step.
    await other.hear({ type: 'go', line: 0 });
    // Nor has asking for it made a new one.
    assert(!vscode.workspace.textDocuments.some(({ uri }) => uri.toString() === lost.uri.toString()));
    await closeAll();
  });
});
