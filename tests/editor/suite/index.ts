import { appendFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Mocha from 'mocha';
import * as vscode from 'vscode';

/** Called by the editor in its extension host: runs every `*.test.cjs` beside this file; rejects if one fails or none ran. */
export async function run(): Promise<void> {
  await timeActivation();
  if (process.env.FETTLE_ONLY_ACTIVATE) return;
  const mocha = new Mocha({ ui: 'bdd', timeout: 60_000, grep: process.env.FETTLE_GREP || undefined });
  for (const file of readdirSync(__dirname)) {
    if (file.endsWith('.test.cjs')) mocha.addFile(join(__dirname, file));
  }
  const { failures, stats } = await new Promise<Mocha.Runner>((done) => {
    const runner: Mocha.Runner = mocha.run(() => done(runner));
  });
  const passed = stats?.passes ?? 0;
  if (process.env.FETTLE_TALLY) writeFileSync(process.env.FETTLE_TALLY, JSON.stringify({ passed, failed: failures }));
  console.log(`${passed} passed, ${failures} failed`);
  if (failures > 0 || passed === 0) throw new Error(`${failures} editor tests failed, ${passed} passed.`);
}

/**
 * Milliseconds from nothing loaded to activated, on a line of the file that FETTLE_ACTIVATION names; of ours, or of the extension
 * that FETTLE_ONLY_ACTIVATE names. Only one a window: the next would wait while ours loads its client.
 */
async function timeActivation(): Promise<void> {
  if (!process.env.FETTLE_ACTIVATION) return;
  const id = process.env.FETTLE_ONLY_ACTIVATE || 'fettle.fettle';
  const extension = vscode.extensions.getExtension(id);
  if (extension === undefined) throw new Error(`${id} is not installed.`);
  if (extension.isActive) throw new Error(`${id} is active before anybody has asked for it.`);
  const before = performance.now();
  await extension.activate();
  appendFileSync(process.env.FETTLE_ACTIVATION, `${id} ${performance.now() - before}\n`);
}
