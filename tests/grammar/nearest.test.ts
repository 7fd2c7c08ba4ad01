import { expect, test } from 'vitest';
import { nearest } from '../../grammar/nearest.ts';

test('half of the letters may be others only where they are the same in another order', () => {
  expect(nearest('seal', ['see'])).toBeUndefined();
  expect(nearest('wiht', ['with'])).toBe('with');
  expect(nearest('remvoe', ['remove', 'replace'])).toBe('remove');
  expect(nearest('ordr', ['order'])).toBe('order');
});
