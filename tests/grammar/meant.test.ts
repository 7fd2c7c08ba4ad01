import { expect, test } from 'vitest';
import { alsoSaid } from '../../grammar/meant.ts';
import { reservedWords } from '../../grammar/tokens.ts';

test('what else is said for a statement begins nothing in the language, and stands for one statement', () => {
  const others = Object.values(alsoSaid).flat();
  const words: readonly string[] = reservedWords;
  expect(others.filter((other) => words.includes(other))).toEqual([]);
  expect(new Set(others).size).toBe(others.length);
});
