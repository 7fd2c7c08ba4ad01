import { expect, it } from 'vitest';
import { growth, soak } from './soak.ts';

// `npm run soak` types for half an hour. The heap is measured by a request that waits behind all edits sent so far, after a
// collection, so that a busy machine makes it slow and not great: only the time limit has to be generous.
it('10 000 edits at 200 a second at most: the findings are those of a fresh check and the heap stays level', {
  timeout: 900_000,
}, async () => {
  const { found, fresh, heap, stderr } = await soak({ edits: 10_000, rate: 200, measures: 15 });
  expect(found).toEqual(fresh);
  expect(stderr).toBe('');
  expect(heap).toHaveLength(15);
  expect(growth(heap)).toBeLessThan(1.5);
});

it('growth is told', () => {
  expect(growth([1, 9, 1, 5, 5, 5, 5, 6, 5])).toBe(1);
  expect(growth([1, 1, 1, 2, 2, 2, 4, 4, 4])).toBe(2);
});
