import { expect, it } from 'vitest';
import { mostCodes } from '../../grammar/limits.ts';
import { parse } from '../../grammar/parser.ts';

it('covers so many codes and says where it stopped', () => {
  const codes = Array.from({ length: mostCodes + 3 }, (_, i) => `C-${i}`);
  const [chunk] = parse('file:///codes.fettle', `procedure p "P"\n  applies to ${codes.join(', ')}`).chunks;
  const head = chunk!.item as { codes: { text: string }[] };
  expect(head.codes.map(({ text }) => text)).toEqual(codes.slice(0, mostCodes));
  expect(chunk!.issues).toHaveLength(1);
  expect(chunk!.text.slice(chunk!.issues[0]!.start, chunk!.issues[0]!.end)).toBe(`C-${mostCodes}`);
});
