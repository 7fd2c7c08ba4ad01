/**
 * In a process of its own: opens the folder named, judges every file as for `workspace/diagnostic`, and tells the time and the
 * peak of memory as JSON. A second folder is where the index is kept, if anywhere.
 */
import { pathToFileURL } from 'node:url';
import { disk } from '../../server/src/disk.ts';
import '../../server/src/engine.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { reportsOf } from '../../server/src/features/workspace-diagnostics.ts';
import { openKeeper } from '../../server/src/keeper.ts';
import { defaultPreferences } from '../../server/src/settings.ts';
import { Workspace } from '../../server/src/workspace.ts';

const [folder, kept] = process.argv.slice(2);
const start = performance.now();
const workspace = new Workspace(disk, [pathToFileURL(folder!).href]);
if (kept !== undefined)
  workspace.keeper = openKeeper(kept, 'bench', (reason) => {
    throw new Error(reason);
  });
const token = { isCancellationRequested: false, onCancellationRequested: () => ({ dispose: () => {} }) };
let files = 0;
let findings = 0;
let longestSlice = 0;
let last = performance.now();
// Whoever waits for a turn gets it between two slices: the longest of them is what a keystroke may have to wait.
const heart = setInterval(() => {
  const now = performance.now();
  longestSlice = Math.max(longestSlice, now - last);
  last = now;
}, 0);
const site = { client: fullClient, preferences: defaultPreferences, workspace, token };
for await (const report of reportsOf({ previousResultIds: [] }, site)) {
  if (report.kind === 'full') findings += report.items.length;
  files++;
}
clearInterval(heart);
process.stdout.write(
  JSON.stringify({
    files,
    findings,
    seconds: (performance.now() - start) / 1000,
    peakMB: process.resourceUsage().maxRSS / 1024,
    longestSliceMs: longestSlice,
  }),
);
