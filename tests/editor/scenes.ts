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
  /** Colour themes by their names, one picture beside the other; the light one where absent. */
  themes?: string[];
  /** All samples lie in a git repository, as committed. */
  committed?: boolean;
  /** Leaves the file tree open. */
  tree?: boolean;
  size?: { width: number; height: number };
};

/** Runs a command by its title in the command palette. */
export async function command(page: Page, title: string): Promise<void> {
  const input = page.locator('.quick-input-widget input');
  // One that is still closing takes no text.
  await input.waitFor({ state: 'hidden', timeout: 2000 }).catch(() => {});
  // A window that is just coming up may lose the key.
  for (let tries = 0; tries < 10 && !(await input.isVisible()); tries++) {
    await page.keyboard.press('F1');
    await input.waitFor({ timeout: 2000 }).catch(() => {});
  }
  await input.fill(`>${title}`);
  // The first in the list may be another with the same words in its title, or one used lately.
  const name = page.locator('.label-name', { hasText: new RegExp(`^${title.replace(/[().]/g, '\\$&')}$`, 'i') });
  await page.locator('.quick-input-list .monaco-list-row').filter({ has: name }).first().click();
}

/** Waits for a part of the workbench to be shown, by its CSS selector. */
const shown = (page: Page, selector: string) => page.locator(selector).first().waitFor();

/** What a view shows: the document within its two frames. */
export const inView = (page: Page, selector: string) =>
  page.frameLocator('iframe.webview.ready').frameLocator('#active-frame').locator(selector).first();

/** Where the parts trail is, with what is above it in the side bar closed. */
async function openTrail(page: Page): Promise<void> {
  await command(page, 'Explorer: Focus on Parts at the cursor View');
  for (const section of ['Explorer Section: procedures', 'Outline Section', 'Timeline Section']) {
    const header = page.getByRole('button', { name: section });
    if ((await header.count()) > 0 && (await header.getAttribute('aria-expanded')) === 'true') await header.click();
  }
  await shown(page, '.pane-body [aria-label^="On the tray"]');
  await page.keyboard.press('Control+1');
}

async function openCard(page: Page): Promise<void> {
  await command(page, 'Fettle: Open the job card beside');
  await inView(page, '.job-card .step').waitFor();
}

async function draft(page: Page): Promise<void> {
  await page.keyboard.press('Control+.');
  const entry = page.locator('.action-widget .monaco-list-row', { hasText: 'Draft the reassembly' });
  await entry.waitFor();
  await entry.click();
  await page.locator('.codelens-decoration:visible', { hasText: 'back' }).first().waitFor();
  // The driver of these pictures keeps messages from popping up by themselves.
  await page.locator('[id="status.notifications"] .codicon-bell-dot, .codicon-bell-slash-dot').first().waitFor();
  await command(page, 'Notifications: Show Notifications');
  await page.locator('.notification-list-item', { hasText: 'Drafted' }).waitFor();
}

const faulty = 'faulty/coming-back.fettle';
const pump = 'irrigation-pump.fettle';
const winch = 'winch-reducer.fettle';
/** In the pump. */
const emptyReassembly = 'all parts sound or renewed"\n\nreassembly';
/** Counts over the steps: the sign that a file without findings has been read. */
const judged = '.monaco-editor .codelens-decoration:visible';
/** Where no squiggle is in sight. */
const counted = '[id="status.problems"] >> text=/[1-9]/';
const wide = { width: 1400, height: 800 };

/** One entry a picture; `npm run screenshots -- NAME…` takes some, without names all. */
export const scenes: Record<string, Scene> = {
  findings: {
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
    at: 'drain case-oil',
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
  card: {
    file: winch,
    at: 'fit top-housing with breather, dipstick',
    ready: judged,
    size: wide,
    act: async (page) => {
      await openCard(page);
      await inView(page, '.here').waitFor();
    },
  },
  trail: {
    file: pump,
    at: 'remove impeller using hub-puller',
    tree: true,
    size: { width: 1100, height: 720 },
    act: openTrail,
  },
  diagram: {
    file: 'gear-pump.fettle',
    at: 'remove end-cover',
    ready: judged,
    size: { width: 1440, height: 900 },
    act: async (page) => {
      await command(page, 'Fettle: Open the diagram of what holds what');
      await inView(page, 'svg').waitFor();
      await page.locator('.tab', { hasText: 'What holds what' }).click();
      await command(page, 'View: Toggle Maximize Editor Group');
    },
  },
  plan: {
    file: winch,
    at: 'fit top-housing with breather, dipstick',
    ready: judged,
    size: wide,
    act: async (page) => {
      await command(page, 'Fettle: Open the plan as a bar chart');
      await inView(page, 'svg:visible').waitFor();
      await inView(page, '#tools button >> nth=2').click();
    },
  },
  'draft-1': {
    file: pump,
    ready: counted,
    at: emptyReassembly,
    act: async (page) => {
      await page.keyboard.press('Control+.');
      await page.locator('.action-widget .monaco-list-row', { hasText: 'Draft the reassembly' }).waitFor();
    },
  },
  'draft-2': { file: pump, ready: counted, at: emptyReassembly, act: draft },
  'draft-3': {
    file: pump,
    ready: counted,
    at: emptyReassembly,
    act: async (page) => {
      await draft(page);
      await page.getByRole('button', { name: 'Show the notes' }).click();
      await shown(page, '.panel .monaco-editor .view-line:has-text("- ")');
    },
  },
  'draft-4': {
    file: pump,
    ready: counted,
    at: emptyReassembly,
    size: wide,
    act: async (page) => {
      await draft(page);
      await page.keyboard.press('Escape');
      await page.keyboard.press('Control+1');
      for (let line = 0; line < 4; line++) await page.keyboard.press('ArrowDown');
      await openCard(page);
      await inView(page, '.here').waitFor();
    },
  },
  // The card as it was saved, opened in a browser and laid out for print.
  'draft-5': {
    file: pump,
    ready: counted,
    at: emptyReassembly,
    size: { width: 794, height: 1123 },
    act: async (page) => {
      await draft(page);
      await page.keyboard.press('Escape');
      await command(page, 'Fettle: Save the job card as a page to print');
      const path = `${new URL(page.url()).searchParams.get('folder')}/irrigation-pump-card.html`;
      // The dialog comes up with the place filled in, once it has read the folder.
      await page.locator('.quick-input-list .monaco-list-row').first().waitFor();
      await page
        .locator('.quick-input-action', { hasText: 'Save' })
        .or(page.locator('.quick-input-action', { hasText: 'OK' }))
        .first()
        .click();
      await command(page, 'Notifications: Show Notifications');
      await page.locator('.notification-list-item', { hasText: 'Saved' }).waitFor();
      await page.goto(`file://${path}`);
      await page.emulateMedia({ media: 'print' });
      // The margins that the sheet gives it.
      await page.addStyleTag({ content: 'body { margin: 14mm 12mm 16mm 18mm }' });
    },
  },
  // Where the part stands on the line, and what follows from its names.
  states: {
    file: 'gear-pump.fettle',
    at: 'remove cover-seal',
    ready: counted,
    // Until the language is there, half the name under the cursor is a word and marked.
    act: async (page) => {
      for (let line = 0; line < 2; line++) await page.keyboard.press('ArrowDown');
    },
    themes: ['Light Modern', 'Dark Modern', 'Default High Contrast', 'Default High Contrast Light'],
    size: { width: 520, height: 500 },
    settings: {
      'editor.fontSize': 13,
      'editor.glyphMargin': false,
      'editor.folding': false,
      'editor.lineNumbersMinChars': 3,
      'editor.stickyScroll.enabled': false,
      'breadcrumbs.enabled': false,
      'workbench.activityBar.location': 'hidden',
      'workbench.editor.showTabs': 'none',
      'fettle.codeLens': false,
      'fettle.hints.piecesOff': false,
    },
  },
  hints: { file: 'gear-pump.fettle', at: 'fit relief-poppet', ready: judged, size: wide },
  inline: {
    file: 'gear-pump.fettle',
    at: 'fit outer-block "Pen mark on the suction side" see "Sheet 2, view B"',
    ready: judged,
    act: async (page) => {
      await page.keyboard.press('End');
      await page.keyboard.press('Enter');
      await command(page, 'Trigger Inline Suggestion');
      await shown(page, '.ghost-text-decoration, .ghost-text');
    },
  },
  signature: {
    file: winch,
    at: 'tighten scraper-screw',
    ready: judged,
    act: async (page) => {
      await page.keyboard.press('ArrowRight');
      await command(page, 'Trigger Parameter Hints');
      await shown(page, '.parameter-hints-widget.visible');
    },
  },
  rename: {
    file: 'common/fasteners.fettle',
    at: 'tool torque-w',
    ready: '.monaco-editor .view-line',
    size: wide,
    act: async (page) => {
      await page.keyboard.press('F2');
      const box = page.locator('.rename-box input');
      await box.waitFor();
      await box.fill('click-wrench');
      await page.keyboard.press('Control+Enter');
      await shown(page, '.bulk-edit-panel .monaco-list-row');
    },
  },
  references: {
    file: 'common/fasteners.fettle',
    at: 'part drain-p',
    ready: '.monaco-editor .view-line',
    act: async (page) => {
      await command(page, 'Peek References');
      await shown(page, '.zone-widget .monaco-list-row');
    },
  },
  calls: {
    file: 'gear-pump.fettle',
    at: 'part inner-bl',
    ready: counted,
    act: async (page) => {
      await command(page, 'Calls: Show Call Hierarchy');
      const row = page.locator('.sidebar .monaco-list-row');
      await row.filter({ hasText: 'drive-gear' }).first().waitFor();
      for (const part of ['driven-gear', 'outer-block', 'end-cover']) {
        await row.filter({ hasText: part }).first().click();
        await page.keyboard.press('ArrowRight');
        await page.waitForTimeout(700);
      }
    },
  },
  outline: {
    file: 'gear-pump.fettle',
    at: 'remove end-cover',
    ready: judged,
    act: async (page) => {
      await page.locator('.breadcrumbs-control .monaco-breadcrumb-item', { hasText: 'open-body' }).click();
      await shown(page, '.monaco-breadcrumbs-picker .monaco-list-row');
    },
  },
  symbols: {
    file: winch,
    at: 'remove lid',
    ready: judged,
    act: async (page) => {
      await page.keyboard.press('Control+T');
      await page.locator('.quick-input-widget input').fill('#bearing');
      await shown(page, '.quick-input-list .monaco-list-row');
      await page.waitForTimeout(1500);
    },
  },
  format: {
    file: 'gear-pump.fettle',
    at: 'loosen relief-cap',
    ready: judged,
    size: wide,
    act: async (page) => {
      await page.keyboard.press('End');
      await page.keyboard.type('   "A quarter turn"\n        keep   in "tray 2"', { delay: 5 });
      await page.keyboard.press('Control+S');
      await page.waitForTimeout(500);
      await command(page, 'Format Document');
      await page.waitForTimeout(1500);
      await command(page, 'File: Compare Active File with Saved');
      await shown(page, '.monaco-diff-editor .line-insert, .monaco-diff-editor .char-insert');
    },
  },
  links: {
    file: winch,
    at: 'use "common/fast',
    ready: counted,
    act: async (page) => {
      await command(page, 'Show or Focus Hover');
      await shown(page, '.monaco-hover:not(.hidden) .hover-contents');
    },
  },
  definition: {
    file: winch,
    at: 'drain-pl',
    ready: judged,
    act: async (page) => {
      await command(page, 'Peek Definition');
      await shown(page, '.zone-widget .monaco-list-row');
    },
  },
  linked: {
    file: 'gear-pump.fettle',
    at: 'remove outer-block',
    ready: judged,
    settings: { 'editor.linkedEditing': true },
    act: async (page) => {
      await page.keyboard.press('ArrowLeft');
      await shown(page, '.linked-editing-decoration');
      await page.keyboard.press('ArrowRight');
      for (let key = 0; key < 5; key++) await page.keyboard.press('Backspace');
      await page.keyboard.type('plate', { delay: 50 });
      await page.waitForTimeout(1500);
    },
  },
  folding: {
    file: 'gear-pump.fettle',
    at: 'discard cover-s',
    ready: judged,
    act: async (page) => {
      await command(page, 'Fold All Except Selected');
      for (let times = 0; times < 3; times++) await page.keyboard.press('Shift+Alt+ArrowRight');
    },
  },
  refactor: {
    file: 'gear-pump.fettle',
    at: 'part relief-cap',
    ready: counted,
    act: async (page) => {
      for (let line = 0; line < 3; line++) await page.keyboard.press('Shift+ArrowDown');
      await page.waitForTimeout(1000);
      await page.keyboard.press('Control+.');
      await shown(page, '.action-widget .monaco-list-row');
    },
  },
  sequence: {
    file: 'gear-pump.fettle',
    at: 'step lift-gears',
    ready: judged,
    act: async (page) => {
      for (let line = 0; line < 10; line++) await page.keyboard.press('Shift+ArrowDown');
      await page.waitForTimeout(1000);
      await page.keyboard.press('Control+.');
      await shown(page, '.action-widget .monaco-list-row');
    },
  },
  compare: {
    file: 'gear-pump.fettle',
    at: 'class 10.9 oiled length 90 mm torque 50',
    ready: counted,
    committed: true,
    size: wide,
    act: async (page) => {
      await page.keyboard.press('Backspace');
      await page.keyboard.press('Backspace');
      await page.keyboard.type('45');
      await page.keyboard.press('Control+End');
      for (let line = 0; line < 2; line++) await page.keyboard.press('ArrowUp');
      await page.keyboard.press('Control+Shift+K');
      await page.keyboard.press('Control+Home');
      await page.waitForTimeout(500);
      await command(page, 'Fettle: Compare the job with the last commit');
      await page.locator('.tab', { hasText: 'last commit' }).first().waitFor();
    },
  },
  snippets: {
    file: 'gear-pump.fettle',
    at: 'fit outer-block "Pen mark on the suction side" see "Sheet 2, view B"',
    ready: judged,
    act: async (page) => {
      await page.keyboard.press('End');
      await page.keyboard.press('Enter');
      await command(page, 'Snippets: Insert Snippet');
      await shown(page, '.quick-input-list .monaco-list-row');
    },
  },
  settings: {
    file: winch,
    at: 'remove lid',
    ready: judged,
    act: async (page) => {
      await command(page, 'Preferences: Open Settings (UI)');
      await shown(page, '.settings-editor .suggest-input-container');
      await page.keyboard.type('@ext:fettle.fettle ');
      await page.waitForTimeout(1500);
    },
  },
  started: {
    file: winch,
    at: 'remove lid',
    ready: judged,
    size: wide,
    act: async (page) => {
      await command(page, 'Welcome: Open Walkthrough...');
      await page.locator('.quick-input-widget input').fill('Fettle');
      await page.keyboard.press('Enter');
      await shown(page, '.gettingStartedContainer .step-title');
    },
  },
};
