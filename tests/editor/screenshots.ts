/**
 * `npm run screenshots [-- --out FOLDER] [NAME…]`: takes the pictures of `scenes.ts` in the real editor with the packed
 * extension. Look at them before you commit one.
 */
import { cp, mkdir, readFile, writeFile } from 'node:fs/promises';
import { join, relative, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import type { Browser } from 'playwright-core';
import {
  type Host,
  installExtension,
  keepEvidence,
  makeFolders,
  newestPackage,
  openBrowser,
  quietSettings,
  startHost,
  workbenchAddress,
} from './host.ts';
import { type Scene, scenes } from './scenes.ts';

const root = resolve(import.meta.dirname, '../..');

/** Room for the text: no minimap, no menus; a fixed cursor, so that a picture taken twice is the same. */
const pictureSettings = {
  ...quietSettings,
  'workbench.colorTheme': 'Light Modern',
  'workbench.layoutControl.enabled': false,
  'workbench.tips.enabled': false,
  'window.commandCenter': false,
  'window.menuBarVisibility': 'compact',
  'editor.minimap.enabled': false,
  'editor.cursorBlinking': 'solid',
  'editor.fontSize': 14,
};

const { values, positionals } = parseArgs({ allowPositionals: true, options: { out: { type: 'string' } } });
const out = resolve(values.out ?? join(root, '.cache/screenshots'));
const names = positionals.length ? positionals : Object.keys(scenes);
const unknown = names.filter((name) => !scenes[name]);
if (unknown.length) {
  console.error(`No scene ${unknown.join(', ')}. There are: ${Object.keys(scenes).join(', ')}.`);
  process.exit(1);
}

await mkdir(out, { recursive: true });
const folders = await makeFolders(pictureSettings);
await installExtension(folders, await newestPackage());
const host = await startHost(folders);
const browser = await openBrowser();
let failures = 0;
for (const name of names) {
  try {
    await take(host, browser, name, scenes[name] as Scene);
  } catch (error) {
    failures++;
    console.error(`${name}: ${error instanceof Error ? error.message : error}`);
  }
}
await browser.close();
await host.stop();
process.exit(failures ? 1 : 0);

async function take(host: Host, browser: Browser, name: string, scene: Scene): Promise<void> {
  // A copy, and one for each scene: what one types must not be in the next.
  const workspace = join(folders.home, name, 'procedures');
  await cp(join(root, 'samples'), workspace, { recursive: true });
  const settings = { ...pictureSettings, ...scene.settings };
  await writeFile(join(folders.userData, 'User/settings.json'), JSON.stringify(settings));
  const page = await browser.newPage({ viewport: scene.size ?? { width: 1000, height: 640 }, deviceScaleFactor: 2 });
  page.setDefaultTimeout(30_000);
  try {
    const file = join(workspace, scene.file);
    const [line, column] = placeAfter(await readFile(file, 'utf8'), scene.at);
    await page.goto(
      workbenchAddress(host, workspace, [
        ['gotoLineMode', 'true'],
        ['openFile', `${file}:${line}:${column}`],
      ]),
    );
    await page
      .locator(scene.ready ?? '.monaco-editor .squiggly-error')
      .first()
      .waitFor();
    // The counters in the status bar, lenses and hints come last.
    await page.locator('[id="status.problems"]').waitFor();
    await page.waitForTimeout(2000);
    if (!scene.tree) await page.keyboard.press('Control+B');
    await scene.act?.(page);
    // Animations of menus and hovers last a few frames more.
    await page.waitForTimeout(500);
    const picture = join(out, `${name}.png`);
    await page.screenshot({ path: picture });
    console.log(relative(process.cwd(), picture));
  } catch (error) {
    await keepEvidence(folders, page, []);
    throw error;
  } finally {
    await page.close();
  }
}

/** Line and column, from 1, of the end of the first `text`. Throws where the file has none. */
function placeAfter(content: string, text: string): [line: number, column: number] {
  const at = content.indexOf(text);
  if (at < 0) throw new Error(`the sample has no '${text}'`);
  const before = content.slice(0, at + text.length).split('\n');
  return [before.length, (before.at(-1) as string).length + 1];
}
