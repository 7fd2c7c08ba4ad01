import { describe, expect, it } from 'vitest';
import { indentationOwed } from '../../client/src/indentation.ts';

describe('indentation of a file that was open before its language was known', () => {
  const set = { tabSize: 2, insertSpaces: true };
  const plain = { tabSize: 4, insertSpaces: true };

  it('is the one that is set, where the text has none of its own', () => {
    expect(indentationOwed('', plain, set)).toEqual(set);
    expect(indentationOwed('part bolt\npart nut\n  \n', plain, set)).toEqual(set);
    expect(indentationOwed('', { tabSize: 2, insertSpaces: false }, set)).toEqual(set);
  });

  it('stays where the text tells it, or it is that already', () => {
    expect(indentationOwed('teardown\n    step one\n', plain, set)).toBeUndefined();
    expect(indentationOwed('teardown\n\tstep one\n', plain, set)).toBeUndefined();
    expect(indentationOwed('', set, set)).toBeUndefined();
  });
});
