import { expect, test } from 'vitest';
import { hostile } from './hostile.ts';
import { fuzz } from './run.ts';

// `npm run fuzz` runs more and larger ones.
test('hostile inputs of 4 KiB, all the way', { timeout: 300_000 }, async () => {
  const { counts, failures } = await fuzz({ seed: 1, until: Object.keys(hostile).length, size: 4096, workers: 1 });
  expect(failures).toEqual([]);
  expect(counts.get('asked by an editor')).toBe(Object.keys(hostile).length);
});

test('random inputs, some of them all the way', { timeout: 300_000 }, async () => {
  const { counts, failures } = await fuzz({ seed: 1, until: 1500, workers: 1 });
  expect(failures).toEqual([]);
  expect(counts.get('judged')).toBe(1500);
  for (const kind of ['spliced', 'grammar', 'broken', 'snippets', 'bytes', 'code units'])
    expect(counts.get(kind)).toBeGreaterThan(20);
});
