import { join } from 'node:path';
import { build } from 'esbuild';
import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import type { restarting } from '../../client/src/crashes.ts';

/** What is asked of editor and library; `answer` is the button that is pressed. The numbers are those of the library. */
const fakes: Readonly<Record<string, string>> = {
  vscode: `
    export const told = [], run = [];
    export const pressed = { answer: undefined };
    export const l10n = { t: (text, ...values) => text.replace(/\\{(\\d)\\}/g, (_, i) => values[i]) };
    export const window = { showErrorMessage: async (...said) => (told.push(said), pressed.answer) };
    export const commands = { executeCommand: async (id) => { run.push(id); } };`,
  'vscode-languageclient': `
    export const CloseAction = { DoNotRestart: 1, Restart: 2 };
    export const ErrorAction = { Continue: 1, Shutdown: 2 };`,
};

interface Bundle {
  restarting: typeof restarting;
  told: string[][];
  run: string[];
  pressed: { answer: string | undefined };
}
let bundle: Bundle;
let copies = 0;
beforeEach(async () => {
  const { outputFiles } = await build({
    absWorkingDir: join(import.meta.dirname, '../..'),
    stdin: { contents: `export * from './client/src/crashes.ts'; export * from 'vscode';`, resolveDir: '.' },
    bundle: true,
    format: 'esm',
    write: false,
    plugins: [
      {
        name: 'fakes',
        setup: ({ onResolve, onLoad }) => {
          onResolve({ filter: /^vscode/ }, ({ path }) => ({ path, namespace: 'fake' }));
          onLoad({ filter: /./, namespace: 'fake' }, ({ path }) => ({ contents: fakes[path]! }));
        },
      },
    ],
  });
  const text = `${outputFiles[0]!.text}\n// ${copies++}`;
  bundle = await import(`data:text/javascript;base64,${Buffer.from(text).toString('base64')}`);
  vi.useFakeTimers({ toFake: ['Date'] });
});
afterEach(() => vi.useRealTimers());

const shown: string[] = [];
const client = { outputChannel: { show: () => shown.push('log') } } as never;
const turns = () => new Promise((done) => setTimeout(done, 5));

it('a server that dies is started again; at the fifth time within three minutes the user is told how to start it', async () => {
  const handler = bundle.restarting(() => client);
  for (let death = 0; death < 4; death++) expect(handler.closed()).toEqual({ action: 2 });
  expect(bundle.told).toEqual([]);
  bundle.pressed.answer = 'Restart';
  const said =
    'The Fettle language server ended 5 times within 3 minutes and is not started again. “Fettle: Restart the language server” starts it.';
  expect(handler.closed()).toEqual({ action: 1, handled: true, message: said });
  await turns();
  expect(bundle.told).toEqual([[said, 'Restart', 'Show the log']]);
  expect(bundle.run).toEqual(['fettle.restart']);
  // Started by hand, it may die as often as at first.
  expect(handler.closed()).toEqual({ action: 2 });
});

it('deaths of long ago do not count, and the log is shown to whoever asks for it', async () => {
  const handler = bundle.restarting(() => client);
  for (let death = 0; death < 12; death++) {
    expect(handler.closed()).toEqual({ action: 2 });
    vi.setSystemTime(Date.now() + 61_000);
  }
  expect(bundle.told).toEqual([]);
  bundle.pressed.answer = 'Show the log';
  while (bundle.told.length === 0) handler.closed();
  await turns();
  expect(shown).toEqual(['log']);
  expect(bundle.run).toEqual([]);
});

it('names the command as the palette does', async () => {
  const { default: words } = await import('../../package.nls.json');
  const { default: manifest } = await import('../../package.json');
  const { title, category } = manifest.contributes.commands.find(({ command }) => command === 'fettle.restart')!;
  const handler = bundle.restarting(() => client);
  while (bundle.told.length === 0) handler.closed();
  expect(bundle.told[0]![0]).toContain(`“${category}: ${words[title.replaceAll('%', '') as 'restart.title']}”`);
});

it('what fails on its way to a server that died keeps it from being started again as little as it interrupts the user', () => {
  const handler = bundle.restarting(() => client);
  const closed = Object.assign(new Error('Channel closed'), { code: 'ERR_IPC_CHANNEL_CLOSED' });
  expect(handler.error(closed, undefined, 20)).toEqual({ action: 1, handled: true });
  expect(handler.error(new Error('not a message'), undefined, 3)).toEqual({ action: 1, handled: false });
  expect(handler.error(new Error('not a message'), undefined, 4)).toEqual({ action: 2, handled: false });
});
