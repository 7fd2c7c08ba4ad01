import assert from 'node:assert/strict';
import { cp, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import {
  installExtension,
  keepEvidence,
  makeFolders,
  openBrowser,
  quietSettings,
  startHost,
  workbenchAddress,
} from './host.ts';

/**
 * Opens the suite's workspace in a window of its own, calls `look` once the first squiggle is there, and compares the problems
 * panel with the marks of all fixtures. It looks at the page, for places that a suite in the extension host does not reach.
 * Throws where a finding is missing or too many.
 */
export async function compareProblems(
  vsix: string,
  settings: Record<string, unknown>,
  { trusted = true, prepare = (_: Page) => {}, look = async (_: Page) => {} } = {},
): Promise<void> {
  const folders = await makeFolders({ ...quietSettings, ...settings });
  const workspace = join(folders.home, 'workspace');
  await cp(join(import.meta.dirname, 'workspace'), workspace, { recursive: true });
  await installExtension(folders, vsix);
  const host = await startHost(folders, { trusted });
  const browser = await openBrowser();
  const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
  const lines: string[] = [];
  page.on('console', (message) => lines.push(`${message.type()}: ${message.text()}`));
  prepare(page);
  const file = join(workspace, 'overhaul.fettle');
  try {
    await page.goto(workbenchAddress(host, workspace, [['openFile', file]]));
    await page.locator('.squiggly-error').first().waitFor();
    await look(page);
    await page.keyboard.press('Control+Shift+M');
    const row = page.locator('.markers-panel .monaco-list-row', { hasText: '[Ln' });
    await row.first().waitFor();
    const fixtures = (await readdir(workspace)).filter((name) => name.endsWith('.fettle'));
    const texts = await Promise.all(fixtures.map((name) => readFile(join(workspace, name), 'utf8')));
    const expected = texts.flatMap(marks).sort();
    // Findings of files that are not open come a little later.
    for (const end = Date.now() + 20_000; ; ) {
      const shown = (await row.allInnerTexts()).flatMap(placeIn).sort();
      if (shown.join() === expected.join()) break;
      if (Date.now() > end) assert.deepEqual(shown, expected);
      await page.waitForTimeout(100);
    }
  } catch (error) {
    await keepEvidence(folders, page, lines);
    throw error;
  } finally {
    await browser.close();
    await host.stop();
  }
}

/** `code line:column` of a row; rows of related places end in their message, not in the place. */
function placeIn(row: string): string[] {
  const [, code, line, column] = /([a-z-]+)\s+\[Ln (\d+), Col (\d+)\]\s*$/.exec(row) ?? [];
  return code ? [`${code} ${line}:${column}`] : [];
}

/** The marks of a fixture (see `suite/site.ts`) as `code line:column`, counted from 1. */
function marks(text: string): string[] {
  const lines = text.split('\n');
  return lines.flatMap((line, index) => {
    const [, lead = '', code] = /^(\s*# *)~+ ([a-z-]+)$/.exec(line) ?? [];
    const above = lines.findLastIndex((other, i) => i < index && !/^\s*# *~/.test(other));
    return code ? [`${code} ${above + 1}:${lead.length + 1}`] : [];
  });
}
