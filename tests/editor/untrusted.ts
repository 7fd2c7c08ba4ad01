import assert from 'node:assert/strict';
import { cp, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
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
 * Opens the suite's workspace in restricted mode and compares the problems panel with the marks of its fixtures. The editor
 * trusts every workspace in which it runs a suite, so this looks at the page. Throws where a finding is missing.
 */
export async function checkUntrusted(vsix: string): Promise<void> {
  const folders = await makeFolders({ ...quietSettings, 'security.workspace.trust.startupPrompt': 'never' });
  const workspace = join(folders.home, 'workspace');
  await cp(join(import.meta.dirname, 'workspace'), workspace, { recursive: true });
  await installExtension(folders, vsix);
  const host = await startHost(folders, { trusted: false });
  const browser = await openBrowser();
  const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
  const file = join(workspace, 'overhaul.fettle');
  try {
    await page.goto(workbenchAddress(host, workspace, [['openFile', file]]));
    await page.getByRole('button', { name: 'Restricted Mode' }).first().waitFor();
    await page.locator('.squiggly-error').first().waitFor();
    await page.keyboard.press('Control+Shift+M');
    const row = page.locator('.markers-panel .monaco-list-row', { hasText: '[Ln' });
    await row.first().waitFor();
    // Rows of related places end in their message, not in the place.
    const shown = (await row.allInnerTexts()).flatMap((text) => {
      const [, code, line, column] = /([a-z-]+)\s+\[Ln (\d+), Col (\d+)\]\s*$/.exec(text) ?? [];
      return code ? [`${code} ${line}:${column}`] : [];
    });
    const fixtures = (await readdir(workspace)).filter((name) => name.endsWith('.fettle'));
    const texts = await Promise.all(fixtures.map((name) => readFile(join(workspace, name), 'utf8')));
    assert.deepEqual(shown.sort(), texts.flatMap(marks).sort());
    console.log('Restricted mode: the same findings');
  } catch (error) {
    await keepEvidence(folders, page, []);
    throw error;
  } finally {
    await browser.close();
    await host.stop();
  }
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
