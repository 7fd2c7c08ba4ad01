import { expect, test } from 'vitest';
import { NearestSearch, nearest } from '../../grammar/nearest.ts';

test('two letters that changed places count as one; half of a short word is not near', () => {
  expect(nearest('seal', ['see'])).toBeUndefined();
  expect(nearest('oli', ['oil'])).toBe('oil');
  expect(nearest('wiht', ['with'])).toBe('with');
  expect(nearest('remvoe', ['remove', 'replace'])).toBe('remove');
  expect(nearest('ordr', ['order'])).toBe('order');
});

test('neighbours that changed places go before a letter more or less', () => {
  expect(nearest('drivne-gear', ['drive-gear', 'driven-gear'])).toBe('driven-gear');
  expect(nearest('drivne-gear', ['driven-gear', 'drive-gear'])).toBe('driven-gear');
});

test('a word is plainly misspelt where one name alone is a letter away, or in a long word two', () => {
  const misspelt = (word: string, names: string[]) => new NearestSearch().misspelt(word, names);
  expect(misspelt('blot', ['bolt', 'belt-guard'])).toBe('bolt');
  expect(misspelt('houssing-bolts', ['housing-bolt'])).toBe('housing-bolt');
  expect(misspelt('drivne-gear', ['drive-gear', 'driven-gear'])).toBe('driven-gear');
  expect(misspelt('Bolt', ['bolt'])).toBe('bolt');
  expect(misspelt('bolt1', ['bolt-1', 'cover'])).toBe('bolt-1');
  expect(misspelt('o-rign', ['o-ring'])).toBe('o-ring');
  for (const [word, names] of [
    ['cop', ['cap', 'cup']],
    ['covery', ['covers', 'coverx']],
    ['plates', ['plugs']],
    ['seal-2', ['seal-1']],
    ['bolt-b', ['bolt-a']],
    ['M8-nut', ['M6-nut']],
    ['housing-bolt-2', ['housing-bolt']],
    ['housing-bolt', ['housing-bolt-b']],
    ['gear-lh', ['gear-rh']],
    ['seal-1a', ['seal-1b']],
  ] as const)
    expect(misspelt(word, [...names]), word).toBeUndefined();
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

test('of thousands of words beside thousands of candidates the first have one near, with an effort that has an end', () => {
  const names = Array.from({ length: 3000 }, (_, i) => `gear-wheel-${i}`);
  let looks = 0;
  const candidates = new Proxy(names, {
    get: (all, key) => {
      looks++;
      return Reflect.get(all, key) as unknown;
    },
  });
  const search = new NearestSearch();
  const near = names.map((name) => search.nearest(`${name}q`, candidates));
  expect(near.slice(0, 250)).toEqual(names.slice(0, 250));
  expect(looks).toBeLessThan(3_000_000);
  // One word that stands there again and again costs no more than once.
  const again = new NearestSearch();
  expect(names.map(() => again.nearest('gear-whel-7', names))).toEqual(names.map(() => 'gear-wheel-7'));
  expect(again.nearest('gear-whel-7', names, 'gear-wheel-7')).toBe('gear-wheel-0');
});
