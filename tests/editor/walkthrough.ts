/**
 * `npm run walkthrough`: takes the pictures of the Getting Started walkthrough, by doing what it tells, in the real editor with
 * the packed extension. Look at them before you commit one: they go into the package.
 */
import { mkdir } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import type { Page } from 'playwright-core';
import { command, inView } from './scenes.ts';
import { openStudio } from './studio.ts';

const out = resolve(import.meta.dirname, '../../client/walkthrough');
/** Nothing but the text: a picture is shown small. */
const settings = {
  'workbench.activityBar.location': 'hidden',
  'workbench.statusBar.visible': false,
  'workbench.editor.showTabs': 'none',
  'window.menuBarVisibility': 'hidden',
  'window.customTitleBarVisibility': 'never',
  'breadcrumbs.enabled': false,
  'editor.glyphMargin': false,
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

const studio = await openStudio(settings);
const workspace = join(studio.folders.home, 'empty');
await mkdir(workspace);
const page = await studio.window({ workspace, size: { width: 700, height: 420 } });
let failed = false;
try {
  await page.locator('.explorer-folders-view, .explorer-viewlet').first().waitFor();
  for (const [name, act] of Object.entries(steps)) {
    await act(page);
    // Lenses and hints come last, and animations last a few frames more.
    await page.waitForTimeout(1500);
    await studio.keep(join(out, `${name}.webp`), [await page.screenshot()]);
  }
} catch (error) {
  failed = true;
  console.error(error);
  await studio.evidence(page);
}
await studio.close();
process.exit(failed ? 1 : 0);
