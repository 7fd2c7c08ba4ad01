import { expect, test } from 'vitest';
import { nearest } from '../../grammar/nearest.ts';

test('two letters that changed places count as one; half of a short word is not near', () => {
  expect(nearest('seal', ['see'])).toBeUndefined();
  expect(nearest('oli', ['oil'])).toBe('oil');
  expect(nearest('wiht', ['with'])).toBe('with');
  expect(nearest('remvoe', ['remove', 'replace'])).toBe('remove');
  expect(nearest('ordr', ['order'])).toBe('order');
});
