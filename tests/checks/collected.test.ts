import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, test } from 'vitest';

// Small collections are cheap as long as they find nothing alive of files that nobody has in hand any more.
test('of a file that was judged nothing waits for a full garbage collection', { timeout: 120_000 }, () => {
  // The engine makes what it has seen living long among the old at once, or not, as it happens: that would be measured, too.
  const script = join(import.meta.dirname, 'left-behind-by-work.ts');
  const { size, left } = JSON.parse(
    execFileSync(process.execPath, ['--no-allocation-site-pretenuring', script], { encoding: 'utf8' }),
  ) as {
    size: number;
    left: Record<string, number>;
  };
  expect(size).toBeGreaterThan(1e6);
  expect(Object.keys(left).length).toBeGreaterThan(50);
  expect(Object.entries(left).filter(([, bytes]) => bytes > size / 4)).toEqual([]);
});
