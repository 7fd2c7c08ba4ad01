import assert from 'node:assert/strict';
import { describe, it } from 'mocha';
import * as vscode from 'vscode';
import { activated, eventually, marked, open, rangeOf, shown } from './site.ts';

const fixture = 'overhaul.fettle';

describe('The packed extension', () => {
  it('is the installed one, and activates', async () => {
    const extension = await activated();
    assert(extension.isActive);
    const source = process.env.FETTLE_SOURCE ?? '';
    assert(!extension.extensionPath.startsWith(source), `${extension.extensionPath} lies in the source folder`);
  });

  it('gives *.fettle its language', async () => {
    const { document } = await open(fixture);
    assert.equal(document.languageId, 'fettle');
  });

  it('shows the state of names whatever the theme says about such colours: that of high contrast on white says nothing', async () => {
    const { document } = await open('overhaul.fettle');
    const editor = vscode.workspace.getConfiguration('editor', { uri: document.uri, languageId: 'fettle' });
    assert.equal(editor.get('semanticHighlighting.enabled'), true);
  });

  it('shows exactly the findings that the fixture marks', async () => {
    const { document } = await open(fixture);
    assert.notDeepEqual(marked(document), []);
    await eventually(() => shown(document.uri), marked(document));
  });

  it('shows what it cannot read, and judges the rest', async () => {
    const { document } = await open('broken.fettle');
    await eventually(() => shown(document.uri), marked(document));
  });

  it('shows nothing on a clean file', async () => {
    const { document } = await open('common/fasteners.fettle');
    await eventually(() => shown(document.uri), []);
  });

  it('mends a finding by its first repair', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const [finding] = vscode.languages.getDiagnostics(document.uri);
    let repair: vscode.CodeAction | undefined;
    // The editor drops the request in silence when any extension adds a provider meanwhile, as some do at the start.
    await eventually(async () => {
      [repair] = await vscode.commands.executeCommand<vscode.CodeAction[]>(
        'vscode.executeCodeActionProvider',
        document.uri,
        finding?.range,
        vscode.CodeActionKind.QuickFix.value,
      );
      return repair?.edit !== undefined;
    }, true);
    assert(repair?.edit);
    assert(await vscode.workspace.applyEdit(repair.edit));
    await eventually(() => shown(document.uri), []);
    assert.match(document.getText(), /fit drain-plug/);
    await vscode.commands.executeCommand('workbench.action.files.revert');
    await eventually(() => shown(document.uri), marked(document));
  });

  it('completes a part after remove', async () => {
    const { document } = await open(fixture);
    const { end } = rangeOf(document, 'remove ');
    const { items } = await vscode.commands.executeCommand<vscode.CompletionList>(
      'vscode.executeCompletionItemProvider',
      document.uri,
      end,
    );
    // The editor itself offers every word of the file, as text; ours are more than words.
    const labels = items
      .filter(({ kind }) => kind !== vscode.CompletionItemKind.Text)
      .map(({ label }) => (typeof label === 'string' ? label : label.label));
    assert(labels.includes('drain-plug'), labels.join(', '));
  });

  it('goes to a definition in the same and in the used file', async () => {
    const { document } = await open(fixture);
    const definition = async (text: string, nth: number) => {
      const found = await vscode.commands.executeCommand<(vscode.Location | vscode.LocationLink)[]>(
        'vscode.executeDefinitionProvider',
        document.uri,
        rangeOf(document, text, nth).start,
      );
      return found.map((place) =>
        'uri' in place ? place : new vscode.Location(place.targetUri, place.targetSelectionRange ?? place.targetRange),
      );
    };
    const [impeller] = await definition('impeller', 2);
    assert.equal(impeller?.uri.path, document.uri.path);
    assert.deepEqual(impeller?.range, rangeOf(document, 'impeller', 1));

    const [screw] = await definition('cover-screw', 2);
    const { document: fasteners } = await open('common/fasteners.fettle');
    assert.equal(screw?.uri.path, fasteners.uri.path);
    assert.deepEqual(screw?.range, rangeOf(fasteners, 'cover-screw'));
  });

  it('judges a file anew when a file that it uses is edited', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const { document: used } = await open('common/fasteners.fettle');
    const edit = new vscode.WorkspaceEdit();
    edit.replace(used.uri, rangeOf(used, 'cover-screw'), 'lid-screw');
    assert(await vscode.workspace.applyEdit(edit));
    const { start, end } = rangeOf(document, 'cover-screw');
    const unknown = `${start.line}:${start.character}-${end.character} unknown-name`;
    await eventually(() => shown(document.uri).includes(unknown), true);
    await vscode.commands.executeCommand('workbench.action.files.revert');
    await eventually(() => shown(document.uri), marked(document));
  });

  it('keeps its findings over a restart', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    await vscode.commands.executeCommand('fettle.restart');
    await eventually(() => shown(document.uri), marked(document));
    await followsEdits(document);
  });

  it('keeps its findings when its server is killed', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const { client } = (await activated()).exports;
    const killed = client.serverProcess;
    assert(killed?.kill('SIGKILL'));
    await eventually(() => client.isRunning() && client.serverProcess !== killed, true);
    await eventually(() => shown(document.uri), marked(document));
    await followsEdits(document);
  });

  it('whose server dies over and over offers to start it again', async () => {
    const { document } = await open(fixture);
    await eventually(() => shown(document.uri), marked(document));
    const { client } = (await activated()).exports;
    await vscode.commands.executeCommand('notifications.clearAll');
    let killed: unknown;
    // It may die four times; the test above may have taken one of them.
    for (let tries = 0; client.isRunning(); tries++) {
      assert(tries < 5, 'It is started again without end.');
      killed = client.serverProcess;
      assert(client.serverProcess?.kill('SIGKILL'));
      const end = Date.now() + 3000;
      while (Date.now() < end && !(client.isRunning() && client.serverProcess !== killed))
        await new Promise((again) => setTimeout(again, 50));
    }
    // The button is there as soon as the message is.
    await eventually(async () => {
      await vscode.commands.executeCommand('notification.acceptPrimaryAction');
      return client.isRunning() && client.serverProcess !== killed;
    }, true);
    await followsEdits(document);
  });
});

/** Old squiggles may outlive a dead server: only new ones after an edit show that the new server checks. */
async function followsEdits(document: vscode.TextDocument): Promise<void> {
  const edit = new vscode.WorkspaceEdit();
  edit.replace(document.uri, rangeOf(document, 'fit impeller'), 'clean impeller');
  assert(await vscode.workspace.applyEdit(edit));
  const { line, character } = rangeOf(document, 'remove impeller').end;
  const lost = `${line}:${character - 'impeller'.length}-${character} left-off`;
  await eventually(() => shown(document.uri).includes(lost), true);
  await vscode.commands.executeCommand('workbench.action.files.revert');
  await eventually(() => shown(document.uri), marked(document));
}
