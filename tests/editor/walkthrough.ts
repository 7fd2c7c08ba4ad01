/**
 * `npm run walkthrough`: takes the pictures of the Getting Started walkthrough, by doing what it tells, in the real editor with
 * the packed extension. Look at them before you commit one: they go into the package.
 */
import { mkdir, stat, writeFile } from 'node:fs/promises';
import { join, relative, resolve } from 'node:path';
import type { Page } from 'playwright-core';
import {
  installExtension,
  keepEvidence,
  makeFolders,
  newestPackage,
  openBrowser,
  quietSettings,
  startHost,
  workbenchAddress,
} from './host.ts';
import { command, inView } from './scenes.ts';

const out = resolve(import.meta.dirname, '../../client/walkthrough');
/** Nothing but the text: a picture is shown small. */
const settings = {
  ...quietSettings,
  'workbench.colorTheme': 'Light Modern',
  'workbench.activityBar.location': 'hidden',
  'workbench.statusBar.visible': false,
  'workbench.layoutControl.enabled': false,
  'workbench.tips.enabled': false,
  'workbench.editor.showTabs': 'none',
  'window.commandCenter': false,
  'window.menuBarVisibility': 'hidden',
  'window.customTitleBarVisibility': 'never',
  'breadcrumbs.enabled': false,
  'editor.minimap.enabled': false,
  'editor.glyphMargin': false,
  'editor.cursorBlinking': 'solid',
  'editor.fontSize': 12,
};

/** What is done for each picture, one after the other in one window. */
const steps: Record<string, (page: Page) => Promise<void>> = {
  open: async (page) => {
    await known(page, 'Fettle: Open a sample procedure to try');
    await command(page, 'Fettle: Open a sample procedure to try');
    await page.locator('.monaco-editor .squiggly-error').first().waitFor();
    await page.keyboard.press('Control+B');
  },
  finding: async (page) => {
    await goTo(page, 23, 13);
    await command(page, 'Show or Focus Hover');
    await page.locator('.monaco-hover:not(.hidden) .hover-contents').first().waitFor();
  },
  repair: async (page) => {
    await page.keyboard.press('Escape');
    await goTo(page, 13, 65);
    // The bulb of the line before is there too, and keys before the server's answer would be lost.
    await page.waitForTimeout(2000);
    await page.locator('.lightBulbWidget').first().waitFor();
    await page.keyboard.press('Control+.');
    await page.locator('.action-widget .monaco-list-row').first().waitFor();
  },
  draft: async (page) => {
    await page.keyboard.press('Enter');
    await page.locator('.view-line', { hasText: '6.6' }).waitFor();
    await command(page, 'Fettle: Draft the reassembly');
    await page.locator('.view-line', { hasText: 'fit new' }).waitFor();
    await command(page, 'Notifications: Clear All Notifications');
    await page.locator('.notification-toast').waitFor({ state: 'hidden' });
    await page.keyboard.press('Control+End');
  },
  card: async (page) => {
    await command(page, 'Fettle: Open the job card beside');
    await inView(page, '.job-card .step').waitFor();
  },
};

/** Waits until a command is in the palette: one typed before its extension is known runs another. */
async function known(page: Page, title: string): Promise<void> {
  for (let attempt = 0; attempt < 30; attempt++) {
    await page.keyboard.press('F1');
    await page.locator('.quick-input-widget input').fill(`>${title}`);
    await page.waitForTimeout(500);
    const found = await page.locator('.quick-input-list .monaco-list-row', { hasText: title }).count();
    await page.keyboard.press('Escape');
    if (found > 0) return;
  }
  throw new Error(`The palette has no command '${title}'.`);
}

/** Puts the cursor on a place of the sample, counted from 1. */
async function goTo(page: Page, line: number, column: number): Promise<void> {
  await page.keyboard.press('Control+G');
  await page.locator('.quick-input-widget input').fill(`:${line}:${column}`);
  await page.keyboard.press('Enter');
  await page.locator('.quick-input-widget').waitFor({ state: 'hidden' });
}

/** WebP, a third as large as PNG, by the browser's own encoder. */
async function webp(encoder: Page, png: Buffer): Promise<Buffer> {
  const encode = `(async () => {
    const picture = new Image();
    picture.src = 'data:image/png;base64,${png.toString('base64')}';
    await picture.decode();
    const canvas = document.createElement('canvas');
    [canvas.width, canvas.height] = [picture.width, picture.height];
    canvas.getContext('2d').drawImage(picture, 0, 0);
    return canvas.toDataURL('image/webp', 0.7);
  })()`;
  const address = await encoder.evaluate<string>(encode);
  return Buffer.from(address.slice(address.indexOf(',') + 1), 'base64');
}

await mkdir(out, { recursive: true });
const folders = await makeFolders(settings);
await installExtension(folders, await newestPackage());
const workspace = join(folders.home, 'empty');
await mkdir(workspace);
const host = await startHost(folders);
const browser = await openBrowser();
const page = await browser.newPage({ viewport: { width: 700, height: 420 } });
page.setDefaultTimeout(30_000);
const encoder = await browser.newPage();
let failed = false;
try {
  await page.goto(workbenchAddress(host, workspace));
  await page.locator('.explorer-folders-view, .explorer-viewlet').first().waitFor();
  for (const [name, act] of Object.entries(steps)) {
    await act(page);
    // Lenses and hints come last, and animations last a few frames more.
    await page.waitForTimeout(1500);
    const picture = join(out, `${name}.webp`);
    await writeFile(picture, await webp(encoder, await page.screenshot()));
    console.log(`${relative(process.cwd(), picture)}: ${Math.round((await stat(picture)).size / 1000)} KB`);
  }
} catch (error) {
  failed = true;
  console.error(error);
  await keepEvidence(folders, page, []);
}
await browser.close();
await host.stop();
process.exit(failed ? 1 : 0);
