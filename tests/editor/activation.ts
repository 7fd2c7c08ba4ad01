/**
 * How long the activation takes, beside that of an extension that does nothing; for `npm run bench`, no test judges it. Two
 * figures of each: what the editor itself tells of it, and the round trip as a caller in the extension host sees it.
 */
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { createVSIX } from '@vscode/vsce';
import { installExtension, keepEvidence, makeFolders, openBrowser, startHost, workbenchAddress } from './host.ts';
import { command } from './scenes.ts';

/** Windows of each extension and each figure; each window has a new extension host, in which nothing is loaded. */
export const activationWindows = 5;

/** All in ms, one a window. */
export type Times = { fettle: number[]; empty: number[] };

/** An extension that does nothing, as a folder and packed. */
export async function makeEmpty(home: string): Promise<{ folder: string; vsix: string }> {
  const folder = join(home, 'empty-extension');
  const vsix = join(home, 'empty.vsix');
  await mkdir(folder);
  const manifest = {
    name: 'empty',
    displayName: 'Empty',
    publisher: 'fettle',
    version: '0.0.1',
    engines: { vscode: '^1.101.0' },
  };
  // A language of its own, whose files activate it, as ours.
  const contributes = { languages: [{ id: 'empty', extensions: ['.empty'] }] };
  const use = { main: './main.cjs', files: ['main.cjs'], activationEvents: ['onLanguage:empty'], contributes };
  await writeFile(join(folder, 'package.json'), JSON.stringify({ ...manifest, ...use }));
  await writeFile(join(folder, 'main.cjs'), 'exports.activate = () => {};\n');
  await createVSIX({
    cwd: folder,
    packagePath: vsix,
    dependencies: false,
    allowMissingRepository: true,
    skipLicense: true,
  });
  return { folder, vsix };
}

/**
 * The editor's own figure: whole ms to load the code and to call `activate`, as its list of running extensions shows it. The
 * editor loads all extensions of one turn one after the other, and counts those before with each.
 * As a user does it: a window that comes up with a file in it, whose language activates the extension; in turns.
 */
export async function readEditorsFigures(vsix: string, empty: string): Promise<Times> {
  const folders = await makeFolders();
  for (const each of [vsix, empty]) await installExtension(folders, each);
  const workspace = join(folders.home, 'opened');
  await mkdir(workspace);
  const files = { fettle: join(workspace, 'pump.fettle'), empty: join(workspace, 'notes.empty') };
  await writeFile(files.fettle, await readFile(join(import.meta.dirname, '../../samples/irrigation-pump.fettle')));
  await writeFile(files.empty, 'Nothing to do.\n');
  const host = await startHost(folders);
  const browser = await openBrowser();
  const times: Times = { fettle: [], empty: [] };
  try {
    for (let window = 0; window < activationWindows; window++) {
      for (const name of ['empty', 'fettle'] as const) {
        // So high that the list has no row out of sight: it makes none for those.
        const page = await browser.newPage({ viewport: { width: 1000, height: 2600 } });
        page.setDefaultTimeout(30_000);
        try {
          await page.goto(workbenchAddress(host, workspace, [['openFile', files[name]]]));
          await page.locator('[id="status.editor.mode"]').waitFor();
          // Only then: the list, too, takes work, which must not fall into what it tells of.
          await page.waitForTimeout(3000);
          await command(page, 'Developer: Show Running Extensions');
          const row = page.locator('.runtime-extensions-editor .extension', {
            has: page.getByText(name === 'fettle' ? 'Fettle' : 'Empty', { exact: true }),
          });
          const told = await row.locator('.activation-time', { hasText: /\d+ms/ }).textContent();
          times[name].push(Number(/(\d+)ms/.exec(told!)![1]));
        } catch (error) {
          await keepEvidence(folders, page, []);
          throw error;
        } finally {
          await page.close();
        }
      }
    }
  } finally {
    await browser.close();
    await host.stop();
  }
  return times;
}

/** The round trips that the suite has written into `file`, one line a window. */
export async function readRoundTrips(file: string): Promise<Times> {
  const rows = (await readFile(file, 'utf8')).trim().split('\n');
  const of = (id: string) =>
    rows.filter((row) => row.startsWith(`${id} `)).map((row) => Number(row.slice(id.length + 1)));
  return { fettle: of('fettle.fettle'), empty: of('fettle.empty') };
}

const median = (times: readonly number[]): number => times.toSorted((a, b) => a - b)[Math.floor(times.length / 2)]!;

/** Puts all times and their medians where `npm run bench` looks for them. `editor` is absent where its list was not read. */
export async function keepActivation(figures: { roundTrip: Times; editor?: Times }): Promise<void> {
  const kept = Object.fromEntries(
    Object.entries(figures).map(([name, { fettle, empty }]) => {
      const ms = median(fettle);
      const emptyMs = median(empty);
      const said = (times: readonly number[]) => times.map((time) => time.toFixed(0)).join(', ');
      console.log(`Activation, ${name}: ${ms.toFixed(0)} ms, median of ${said(fettle)}; empty: ${said(empty)}`);
      return [name, { ms, emptyMs, times: fettle, empty }];
    }),
  );
  await writeFile(resolve(import.meta.dirname, '../../.cache/activation.json'), JSON.stringify(kept));
}
