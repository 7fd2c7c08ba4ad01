/** In a process of its own: opens the folder named, judges every file, and tells the time and the peak of memory as JSON. */
import { pathToFileURL } from 'node:url';
import { disk } from '../../server/src/disk.ts';
import { Workspace } from '../../server/src/workspace.ts';

const start = performance.now();
const workspace = new Workspace(disk, [pathToFileURL(process.argv[2]!).href]);
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
for await (const snapshot of workspace.everySnapshot()) {
  findings += snapshot.judged.findings.length;
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
