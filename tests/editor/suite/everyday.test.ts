import assert from 'node:assert/strict';
import { afterEach, describe, it } from 'mocha';
import * as vscode from 'vscode';
import { activated, eventually, marked, open, rangeOf, shown } from './site.ts';

const fixture = 'overhaul.fettle';

/** Undoes what a test did to open files; the workspace is a copy, but shared by all tests. */
async function revertAll(): Promise<void> {
  for (const document of vscode.workspace.textDocuments.filter(
    ({ isDirty, uri }) => isDirty && uri.scheme === 'file',
  )) {
    await vscode.window.showTextDocument(document);
    await vscode.commands.executeCommand('workbench.action.files.revert');
  }
}

/** The labels of the completions of ours, in the order in which the editor sorts them. */
async function completions(document: vscode.TextDocument, position: vscode.Position): Promise<string[]> {
  const { items } = await vscode.commands.executeCommand<vscode.CompletionList>(
    'vscode.executeCompletionItemProvider',
    document.uri,
    position,
  );
  return items.map(({ label }) => (typeof label === 'string' ? label : label.label));
}

describe('A rename', () => {
  afterEach(revertAll);

  it('changes every file that uses the name, and leaves every finding as it was', async () => {
    const { document } = await open(fixture);
    const { document: used } = await open('common/fasteners.fettle');
    await eventually(() => shown(document.uri), marked(document));
    const edit = await vscode.commands.executeCommand<vscode.WorkspaceEdit>(
      'vscode.executeDocumentRenameProvider',
      document.uri,
      rangeOf(document, 'cover-screw', 2).start,
      'lid-bolt',
    );
    assert.deepEqual(
      edit
        .entries()
        .map(([uri, edits]) => `${uri.path.split('/').at(-1)} ${edits.length}`)
        .sort(),
      ['fasteners.fettle 1', 'overhaul.fettle 4'],
    );
    assert(await vscode.workspace.applyEdit(edit));
    assert.match(used.getText(), /^part lid-bolt x4/);
    assert.doesNotMatch(document.getText(), /cover-screw/);
    // Not one finding more: every use is still bound.
    await eventually(() => shown(used.uri), []);
    await eventually(() => shown(document.uri).map((each) => each.split(' ')[1]), ['left-off']);
  });

  it('to a word of the language is refused with the reason', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    await assert.rejects(
      async () =>
        vscode.commands.executeCommand(
          'vscode.executeDocumentRenameProvider',
          document.uri,
          rangeOf(document, 'impeller').start,
          'remove',
        ),
      /remove/,
    );
  });
});

describe('A file that is renamed', () => {
  it('takes the `use` lines along that lead to it, without a new finding', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const at = (path: string) => vscode.Uri.joinPath(document.uri, '..', path);
    const move = async (from: string, to: string) => {
      const edit = new vscode.WorkspaceEdit();
      edit.renameFile(at(from), at(to));
      assert(await vscode.workspace.applyEdit(edit));
    };
    await move('common/fasteners.fettle', 'screws.fettle');
    await eventually(() => /^use "screws\.fettle"$/m.test(document.getText()), true);
    await eventually(() => shown(document.uri), marked(document));
    await move('screws.fettle', 'common/fasteners.fettle');
    await eventually(() => /^use "common\/fasteners\.fettle"$/m.test(document.getText()), true);
    await eventually(() => shown(document.uri), marked(document));
    await document.save();
  });
});

describe('A name with hyphens', () => {
  it('is one word to the cursor', async () => {
    const editor = await open('common/fasteners.fettle');
    const { start } = rangeOf(editor.document, 'cover-screw');
    editor.selection = new vscode.Selection(start, start);
    await vscode.commands.executeCommand('cursorWordEndRightSelect');
    assert.equal(editor.document.getText(editor.selection), 'cover-screw');
  });
});

describe('A line that is ended', () => {
  afterEach(revertAll);

  it('is laid out, and the next one set in with it', async () => {
    const editor = await open('common/fasteners.fettle');
    const { document } = editor;
    const before = document.getText().trimEnd();
    const last = document.lineAt(before.split('\n').length - 1).range.end;
    editor.selection = new vscode.Selection(last, last);
    const typed = async (text: string, whole: string) => {
      await vscode.commands.executeCommand('type', { text });
      await vscode.commands.executeCommand('hideSuggestWidget');
      await vscode.commands.executeCommand('type', { text: '\n' });
      await eventually(() => document.getText().trimStart().replaceAll('\r', ''), `${before}\n${whole}`);
    };
    await typed('\nteardown', '\nteardown\n  \n');
    await typed('step   open "Open"', '\nteardown\n  step open "Open"\n    \n');
    await typed('loosen cover-screw', '\nteardown\n  step open "Open"\n    loosen cover-screw\n    \n');
    await typed(
      'step close "Close"',
      '\nteardown\n  step open "Open"\n    loosen cover-screw\n\n  step close "Close"\n    \n',
    );
  });
});

describe('Saving', () => {
  afterEach(async () => {
    await setting('editor.formatOnSave', undefined);
    await revertAll();
  });

  it('lays the file out where the user wants that, and changes no word', async () => {
    const { document } = await open('common/fasteners.fettle');
    const before = document.getText();
    await setting('editor.formatOnSave', true);
    // The editor drops the layout where its cursor still moves, as right after a file is shown: a user saves once more.
    await eventually(async () => {
      const edit = new vscode.WorkspaceEdit();
      edit.insert(document.uri, rangeOf(document, 'x4').start, '   ');
      assert(await vscode.workspace.applyEdit(edit));
      assert(await document.save());
      return document.getText();
    }, before);
    assert.equal(document.isDirty, false);
  });
});

describe('Settings', () => {
  afterEach(async () => {
    for (const key of ['severity', 'hints.otherUnit', 'hints.clampShare', 'hints.piecesOff', 'codeLens', 'units'])
      await setting(`fettle.${key}`, undefined);
  });

  it('of severities take hold at once, and a check may be off', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const severities = () => vscode.languages.getDiagnostics(document.uri).map(({ severity }) => severity);
    await setting('fettle.severity', { 'left-off': 'information' });
    await eventually(severities, [vscode.DiagnosticSeverity.Information]);
    await setting('fettle.severity', { 'left-off': 'off' });
    await eventually(severities, []);
    await setting('fettle.severity', undefined);
    await eventually(severities, [vscode.DiagnosticSeverity.Error]);
  });

  it('that make no sense change nothing', async () => {
    const { document } = await open(fixture);
    await setting('fettle.severity', { 'left-off': 'loud', nothing: 7, syntax: 'off' });
    await setting('fettle.units', 'furlongs');
    const { document: broken } = await open('broken.fettle');
    await eventually(() => shown(document.uri), marked(document));
    await eventually(() => shown(broken.uri), marked(broken));
  });

  it('of hints and lenses switch each by itself', async () => {
    const { document } = await open(fixture);
    const all = new vscode.Range(0, 0, document.lineCount, 0);
    const hints = async () => {
      const found = await vscode.commands.executeCommand<vscode.InlayHint[]>(
        'vscode.executeInlayHintProvider',
        document.uri,
        all,
      );
      return found.map(({ label }) => (typeof label === 'string' ? label : label.map(({ value }) => value).join('')));
    };
    const lenses = async () =>
      (await vscode.commands.executeCommand<vscode.CodeLens[]>('vscode.executeCodeLensProvider', document.uri)).length;
    const pieces = async () => (await hints()).filter((label) => / off in all$/.test(label));
    // The lens over the first step says the same.
    await eventually(pieces, ['1 off in all']);
    await eventually(async () => (await lenses()) > 0, true);
    await setting('fettle.codeLens', false);
    await eventually(lenses, 0);
    await eventually(pieces, ['7 off in all', '1 off in all']);
    await setting('fettle.hints.piecesOff', false);
    await eventually(pieces, []);
    await setting('fettle.codeLens', undefined);
    await eventually(async () => (await lenses()) > 0, true);
  });
});

describe('Two folders', () => {
  const second = 'second';
  afterEach(async () => {
    const at = (vscode.workspace.workspaceFolders ?? []).findIndex(({ name }) => name === second);
    if (at >= 0) vscode.workspace.updateWorkspaceFolders(at, 1);
  });

  it('are both judged, each with files and project file of its own', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const uri = await addFolder(second, {
      'common/fasteners.fettle': 'part cover-screw x2 "Other screw"\n',
      'unit.fettle': [
        'use "common/fasteners.fettle"',
        'part lid "Lid" held by cover-screw',
        'teardown',
        '  step open',
        '    remove cover-screw',
        '    #      ~~~~~~~~~~~ left-off',
        '    remove lid',
        '    #      ~~~ left-off',
        '',
      ].join('\n'),
      'closed.fettle': 'part lid "Lid"\nteardown\n  step open\n    remove lid\n',
      'fettle.json': '{ "severities": { "left-off": "warning" } }\n',
    });
    const other = await vscode.workspace.openTextDocument(vscode.Uri.joinPath(uri, 'unit.fettle'));
    await vscode.window.showTextDocument(other, { preview: false });
    await eventually(() => shown(other.uri), marked(other));
    await eventually(
      () => vscode.languages.getDiagnostics(other.uri).map(({ severity }) => severity),
      [vscode.DiagnosticSeverity.Warning, vscode.DiagnosticSeverity.Warning],
    );
    // Nobody opens this one: it is found by way of its folder.
    await eventually(() => shown(vscode.Uri.joinPath(uri, 'closed.fettle')), ['3:11-14 left-off']);
    // The other's files and settings have not come in here.
    assert.deepEqual(shown(document.uri), marked(document));
    assert.equal(vscode.languages.getDiagnostics(document.uri)[0]?.severity, vscode.DiagnosticSeverity.Error);
  });
});

describe('A file that no folder holds', () => {
  it('is judged while it is open, and leaves nothing in the list of problems', async () => {
    await activated();
    const first = vscode.workspace.workspaceFolders?.[0];
    assert(first);
    const uri = vscode.Uri.joinPath(first.uri, '../elsewhere.fettle');
    const text = 'part lid "Lid"\nteardown\n  step open\n    remove lid\n';
    await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(text));
    // As a user does: what an extension opens, the editor keeps for minutes.
    await vscode.commands.executeCommand('vscode.open', uri, { preview: false });
    await eventually(() => shown(uri), ['3:11-14 left-off']);
    await vscode.commands.executeCommand('workbench.action.closeActiveEditor');
    await eventually(() => shown(uri), []);
    await vscode.workspace.fs.delete(uri);
  });
});

describe('The sample', () => {
  it('opens unsaved, with its faults', async () => {
    await activated();
    await vscode.commands.executeCommand('fettle.openSample');
    const document = vscode.window.activeTextEditor?.document;
    assert(document?.isUntitled);
    assert.equal(document.languageId, 'fettle');
    const codes = ['left-off', 'left-off', 'left-off', 'not-replaced', 'restated-wrong'];
    await eventually(
      () =>
        shown(document.uri)
          .map((each) => each.split(' ')[1])
          .sort(),
      codes,
    );
    await vscode.commands.executeCommand('workbench.action.revertAndCloseActiveEditor');
  });
});

describe('A new procedure', () => {
  it('opens unsaved, with a head and four phases without a fault, its name selected to be written over', async () => {
    await activated();
    await vscode.commands.executeCommand('fettle.newProcedure');
    const editor = vscode.window.activeTextEditor;
    const document = editor?.document;
    assert(document?.isUntitled);
    assert.equal(document.languageId, 'fettle');
    await eventually(
      () => document.getText().match(/^(procedure|teardown|inspection|reassembly|proving)/gm)?.length,
      5,
    );
    assert.equal(document.getText(editor?.selection), 'unit-name');
    // Findings come with the first counts over the steps.
    await eventually(
      async () =>
        (await vscode.commands.executeCommand<unknown[]>('vscode.executeCodeLensProvider', document.uri)).length > 0,
      true,
    );
    assert.deepEqual(shown(document.uri), []);
    await vscode.commands.executeCommand('workbench.action.revertAndCloseActiveEditor');
  });
});

describe('Completion', () => {
  afterEach(revertAll);

  it('offers parts after `remove ` and `fit `, and no snippets there', async () => {
    const { document } = await open(fixture);
    const after = async (word: string, part: string) => {
      const edit = new vscode.WorkspaceEdit();
      edit.replace(document.uri, rangeOf(document, `${word} impeller`), `${word} `);
      assert(await vscode.workspace.applyEdit(edit));
      const at = rangeOf(document, `${word} \n`).start.translate(0, word.length + 1);
      await eventually(async () => (await completions(document, at)).includes(part), true);
      await vscode.commands.executeCommand('workbench.action.files.revert');
    };
    await after('remove', 'impeller');
    await after('fit', 'impeller');
    const own = vscode.workspace.getConfiguration('editor', { languageId: 'fettle', uri: document.uri });
    // The editor's own list of snippets knows no place; the server offers them where a line begins.
    assert.equal(own.get('snippetSuggestions'), 'none');
  });
});

/** Writes files beside the workspace folder and adds them as a folder of their own. */
async function addFolder(name: string, files: Record<string, string>): Promise<vscode.Uri> {
  const first = vscode.workspace.workspaceFolders?.[0];
  assert(first);
  const uri = vscode.Uri.joinPath(first.uri, '..', name);
  for (const [path, text] of Object.entries(files))
    await vscode.workspace.fs.writeFile(vscode.Uri.joinPath(uri, path), new TextEncoder().encode(text));
  assert(vscode.workspace.updateWorkspaceFolders(vscode.workspace.workspaceFolders?.length ?? 0, 0, { uri, name }));
  return uri;
}

/** Sets a user setting, or with nothing gives it its default again. */
function setting(key: string, value: unknown): Thenable<void> {
  return vscode.workspace.getConfiguration().update(key, value, vscode.ConfigurationTarget.Global);
}
