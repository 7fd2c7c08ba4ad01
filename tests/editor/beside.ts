import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { command, inView } from './scenes.ts';

const lines = readFileSync(join(import.meta.dirname, 'workspace/overhaul.fettle'), 'utf8').split('\n');
/** Counted from 1, as the status bar does. */
const lineOf = (statement: string): number => lines.findIndex((line) => line.trim() === statement) + 1;

/**
 * In a window that shows `overhaul.fettle`: opens the card beside it, clicks a statement and a heading in it, and moves the
 * cursor, as a user does. Throws where the one does not follow the other.
 */
export async function checkBeside(page: Page): Promise<void> {
  const at = (line: number) => page.locator('[id="status.editor.selection"]', { hasText: `Ln ${line},` }).waitFor();
  await command(page, 'Fettle: Open the job card beside');
  await inView(page, '.statement:has-text("Fit Impeller") b').click();
  await at(lineOf('fit impeller'));
  // The text shows its place first, and takes the focus later, even from the card.
  const textHasFocus = page.locator('.monaco-editor.focused');
  await textHasFocus.waitFor();
  await page.keyboard.press('Control+2');
  await inView(page, '.step > header:has-text("Open the pump")').focus();
  // The window learns of it later: were it to learn after the text was opened, it would turn back to the card.
  await page.locator('[id="status.editor.selection"]').waitFor({ state: 'hidden' });
  await page.keyboard.press('Enter');
  await at(lineOf('step open "Open the pump" takes 10 min'));
  await page.keyboard.press('Control+g');
  await page.locator('.quick-input-widget input').fill(`:${lineOf('remove cover')}`);
  await page.keyboard.press('Enter');
  await inView(page, '.statement.here:has-text("Remove Cover.")').waitFor();
  // The lens over another step shows that step, and leaves the cursor where it is.
  await page.locator('.codelens-decoration a:visible', { hasText: 'open the card here' }).last().click();
  await inView(page, '.step.here:has-text("Close the pump")').waitFor();
  await at(lineOf('remove cover'));
  // What is ticked stays so while the text changes elsewhere.
  await inView(page, '.statement:has-text("Fit Impeller") input').check();
  await page.keyboard.press('Control+1');
  await textHasFocus.waitFor();
  await page.keyboard.press('End');
  await page.keyboard.type(' "Straight up"');
  await inView(page, '.statement.here:has-text("Straight up")').waitFor();
  await inView(page, '.statement:has-text("Fit Impeller") input:checked').waitFor();
  await command(page, 'File: Revert File');
  await inView(page, '.statement.here:not(:has-text("Straight up"))').waitFor();
}
