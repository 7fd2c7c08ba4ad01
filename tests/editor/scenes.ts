import type { Page } from 'playwright-core';

/** What a picture shows: a file, a place in it, and what the user does there. Each scene starts from a fresh window. */
export type Scene = {
  /** The file, relative to `samples/`. */
  file: string;
  /** The first place of this text gets the cursor, at its end, scrolled to the middle. */
  at: string;
  /** What to wait for before `act`; a file without errors needs another sign than the default, its first squiggle. */
  ready?: string;
  act?: (page: Page) => Promise<void>;
  /** User settings on top of the usual ones of a picture. */
  settings?: Record<string, unknown>;
  /** Leaves the file tree open. */
  tree?: boolean;
  size?: { width: number; height: number };
};

/** Runs a command by its title in the command palette. */
export async function command(page: Page, title: string): Promise<void> {
  await page.keyboard.press('F1');
  const input = page.locator('.quick-input-widget input');
  await input.fill(`>${title}`);
  await page.locator('.quick-input-list .monaco-list-row.focused').waitFor();
  await page.keyboard.press('Enter');
}

/** Waits for a part of the workbench to be shown, by its CSS selector. */
const shown = (page: Page, selector: string) => page.locator(selector).first().waitFor();

const faulty = 'faulty/coming-back.fettle';

/** One entry a picture; `npm run screenshots -- NAME…` takes some, without names all. */
export const scenes: Record<string, Scene> = {
  squiggles: {
    file: faulty,
    at: 'remove strainer',
    act: async (page) => {
      await page.keyboard.press('Control+Shift+M');
      await page.locator('.panel input').first().fill('**/coming-back.*');
      await shown(page, '.markers-panel .monaco-list-row');
      await page.keyboard.press('Control+1');
    },
  },
  hover: {
    file: faulty,
    at: 'remove strainer',
    act: async (page) => {
      await command(page, 'Show or Focus Hover');
      await shown(page, '.monaco-hover:not(.hidden) .hover-contents');
    },
  },
  repair: {
    file: faulty,
    at: 'remove strainer',
    act: async (page) => {
      // Before the bulb the server has not answered, and the keys would be lost.
      await shown(page, '.lightBulbWidget');
      await page.keyboard.press('Control+.');
      await shown(page, '.action-widget .monaco-list-row');
    },
  },
  completion: {
    file: faulty,
    at: 'remove strainer',
    act: async (page) => {
      await page.keyboard.press('End');
      await page.keyboard.type('\nremove ', { delay: 20 });
      await page.keyboard.press('Control+Space');
      await shown(page, '.suggest-widget.visible .monaco-list-row');
    },
  },
};
