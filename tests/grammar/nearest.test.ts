import { expect, test } from 'vitest';
import { nearest } from '../../grammar/nearest.ts';

test('two letters that changed places count as one; half of a short word is not near', () => {
  expect(nearest('seal', ['see'])).toBeUndefined();
  expect(nearest('oli', ['oil'])).toBe('oil');
  expect(nearest('wiht', ['with'])).toBe('with');
  expect(nearest('remvoe', ['remove', 'replace'])).toBe('remove');
  expect(nearest('ordr', ['order'])).toBe('order');
});

test('what begins unlike is near with one letter more, less or other', () => {
  for (const word of ['xover', 'over', 'ccover', 'ocver', 'Over'])
    expect(nearest(word, ['bolt', 'cover'])).toBe('cover');
  expect(nearest('xovex', ['cover'])).toBeUndefined();
  expect(nearest('ab', ['ba'])).toBe('ba');
});

test('the same word in other letters goes before one that is a letter apart', () => {
  expect(nearest('Cover', ['coven', 'covers', 'cover', 'coves'])).toBe('cover');
});
