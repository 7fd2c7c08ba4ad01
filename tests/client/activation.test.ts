import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { build } from 'esbuild';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { readToStart } from '../bundled.ts';

const root = join(import.meta.dirname, '../..');

/** The parts of an editor that activation touches: names of commands go in, what they do comes out. */
const editor = `
export const registered = new Map();
export const told = [];
const nothing = { dispose() {} };
const listen = () => nothing;
export class EventEmitter {
  listeners = new Set();
  event = (listener) => (this.listeners.add(listener), nothing);
  fire(value) { for (const listener of this.listeners) listener(value); }
  dispose() {}
}
/** The parts at the cursor. */
const seen = new EventEmitter();
export const tree = { visible: false, onDidChangeVisibility: seen.event };
export const see = (visible) => { tree.visible = visible; seen.fire({ visible }); };
export class CancellationTokenSource { token = {}; cancel() { this.token.isCancellationRequested = true; } }
export class Uri { static parse = (text) => ({ path: text, toString: () => text }); }
export const commands = {
  registerCommand: (id, run) => (registered.set(id, run), nothing),
  executeCommand: async () => {},
};
export const l10n = { t: (text, ...values) => text.replace(/\\{(\\d)\\}/g, (_, i) => values[i]) };
export const workspace = {
  openTextDocument: async (uri) => ({ uri, version: 1 }),
  onDidChangeTextDocument: listen,
  onDidCloseTextDocument: listen,
};
const say = async (text) => { told.push(text); };
export const window = {
  createOutputChannel: () => nothing,
  createTreeView: () => tree,
  activeTextEditor: undefined,
  visibleTextEditors: [],
  registerWebviewPanelSerializer: listen,
  onDidChangeActiveTextEditor: listen,
  onDidChangeTextEditorSelection: listen,
  showInformationMessage: say,
  showErrorMessage: say,
};
export class Disposable {} export class MarkdownString {} export class Position {} export class Range {}
export class RelativePattern {} export class ThemeIcon {} export class TreeItem {} export class WorkspaceEdit {}
export const FileSystemError = {}, FileType = {}, TabInputWebview = class {}, TextEditorRevealType = {}, TreeItemCollapsibleState = {}, ViewColumn = {};
export const env = {}, extensions = {}, languages = {}, UIKind = {};
`;

type Start = typeof import('../../client/src/start.ts').start;
interface Bundle {
  start: Start;
  registered: Map<string, (...args: unknown[]) => unknown>;
  told: string[];
  window: { activeTextEditor: unknown };
  tree: { badge?: unknown; description?: string };
  see: (visible: boolean) => void;
}
let text: string;
let bundle: Bundle;
beforeAll(async () => {
  const { outputFiles } = await build({
    absWorkingDir: root,
    stdin: { contents: `export * from './client/src/start.ts'; export * from 'vscode';`, resolveDir: root },
    bundle: true,
    format: 'esm',
    write: false,
    plugins: [
      {
        name: 'editor',
        setup: ({ onResolve, onLoad }) => {
          onResolve({ filter: /^vscode$/ }, () => ({ path: 'vscode', namespace: 'editor' }));
          onLoad({ filter: /./, namespace: 'editor' }, () => ({ contents: editor }));
        },
      },
    ],
  });
  text = outputFiles[0]!.text;
});
let copies = 0;
beforeEach(async () => {
  // Each test has an editor of its own: the address tells the modules apart.
  bundle = await import(`data:text/javascript;base64,${Buffer.from(`${text}\n// ${copies++}`).toString('base64')}`);
});

/** A client that notes what is asked of it. As the library's does, it throws where it is stopped while it starts, or has failed to. */
function client(starting: Promise<void> = Promise.resolve()) {
  // Asked for on a later turn, and a rejection that nobody waits for yet would end the run.
  starting.catch(() => {});
  const asked: string[] = [];
  const listeners: (() => void)[] = [];
  let state: 'Initial' | 'Starting' | 'StartFailed' | 'Running' | 'Stopped' = 'Initial';
  const enter = (next: typeof state): void => {
    state = next;
    for (const listener of listeners) listener();
  };
  return {
    asked,
    code2ProtocolConverter: { asTextDocumentIdentifier: ({ uri }: { uri: unknown }) => ({ uri: String(uri) }) },
    onRequest: () => {},
    onNotification: () => {},
    onDidChangeState: (listener: () => void) => listeners.push(listener),
    isRunning: () => state === 'Running',
    start: async () => {
      asked.push('start');
      enter('Starting');
      await starting.then(
        () => enter('Running'),
        (error) => {
          enter('StartFailed');
          throw error;
        },
      );
    },
    stop: async () => {
      if (state === 'Starting' || state === 'StartFailed')
        throw new Error(`Client is not running and can't be stopped. It's current state is: ${state}`);
      asked.push('stop');
      enter('Stopped');
    },
    sendRequest: async (method: string) => {
      asked.push(method);
      return null;
    },
  };
}
const context = () => ({ subscriptions: [] }) as never;
const turns = () => new Promise((done) => setTimeout(done, 20));

describe('activation', () => {
  it('has every command at once, and loads the client later', async () => {
    const made = client();
    const { exports } = bundle.start(context(), async () => made as never);
    const { contributes } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
    const wanted = contributes.commands.map(({ command }: { command: string }) => command);
    expect([...bundle.registered.keys()]).toEqual(expect.arrayContaining(wanted));
    expect(exports.client).toBeUndefined();
    expect(made.asked).toEqual([]);
    await exports.started;
    expect(exports.client).toBe(made);
    expect(made.asked).toEqual(['start']);
  });

  it('lets a command that comes before the client wait for it', async () => {
    const made = client();
    bundle.start(context(), async () => made as never);
    await bundle.registered.get('fettle.draftReassembly')!('file:///a.fettle');
    expect(made.asked).toEqual(['start', 'fettle/draft']);
  });

  it('tells once where the client cannot be loaded', async () => {
    const { exports, end } = bundle.start(context(), async () => {
      throw new Error('no such file');
    });
    await expect(exports.started).rejects.toThrow('no such file');
    expect(bundle.told).toEqual(['A part of Fettle could not be loaded: install it again (no such file)']);
    await end();
  });
});

describe('the parts at the cursor', () => {
  const editor = {
    document: { languageId: 'fettle', uri: 'file:///a.fettle' },
    selection: { active: { line: 5, character: 0 } },
  };
  const withTrail = () => {
    const made = client();
    const asked: string[] = made.asked;
    return Object.assign(made, {
      code2ProtocolConverter: { ...made.code2ProtocolConverter, asPosition: (position: unknown) => position },
      sendRequest: async (method: string) => {
        asked.push(method);
        return { line: 4, views: [{ codes: [], onTray: 3, groups: [] }] };
      },
    });
  };
  it('are asked for only where they are seen', async () => {
    const made = withTrail();
    bundle.window.activeTextEditor = editor;
    const { exports } = bundle.start(context(), async () => made as never);
    await exports.started;
    bundle.see(false);
    await new Promise((done) => setTimeout(done, 300));
    expect(made.asked).toEqual(['start']);
    bundle.see(true);
    await expect.poll(() => made.asked).toEqual(['start', 'fettle/trail']);
  });
  it('put no number on the sign of the Explorer, where that of unsaved files stands', async () => {
    const made = withTrail();
    bundle.window.activeTextEditor = editor;
    bundle.see(true);
    bundle.start(context(), async () => made as never);
    await expect.poll(() => bundle.tree.description).toBe('after line 5');
    expect(bundle.tree.badge).toBeUndefined();
  });
});

describe('deactivation', () => {
  it('stops the server', async () => {
    const made = client();
    const { exports, end } = bundle.start(context(), async () => made as never);
    await exports.started;
    await end();
    expect(made.asked).toEqual(['start', 'stop']);
  });

  it('while the server starts waits for it, and then stops it', async () => {
    let ready = (): void => {};
    const made = client(new Promise((done) => (ready = done)));
    const { end } = bundle.start(context(), async () => made as never);
    await turns();
    expect(made.asked).toEqual(['start']);
    const ended = end();
    await turns();
    ready();
    await ended;
    expect(made.asked).toEqual(['start', 'stop']);
  });

  it('of a server that could not be started is done at once', async () => {
    const made = client(Promise.reject(new Error('no such program')));
    const { exports, end } = bundle.start(context(), async () => made as never);
    await expect(exports.started).rejects.toThrow('no such program');
    await end();
    expect(made.asked).toEqual(['start']);
  });

  it('before the client is loaded starts none, and says nothing', async () => {
    const made = client();
    const { end } = bundle.start(context(), async () => made as never);
    await end();
    await turns();
    expect(made.asked).toEqual([]);
    expect(bundle.told).toEqual([]);
  });
});

it('what the editor reads to activate holds nothing but our own, without the client', async () => {
  const files = await readToStart('client/src/extension.ts');
  expect(files).toContain('client/src/start.ts');
  const shared = ['server/src/limits.ts', 'server/src/requests.ts'];
  expect(files.filter((file) => !file.startsWith('client/src/') && !shared.includes(file))).toEqual([]);
});
