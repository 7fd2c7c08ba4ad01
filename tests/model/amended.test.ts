import fc from 'fast-check';
import { expect, test } from 'vitest';
import { amended, exchanged, namesChanged, namesWhere } from '../../server/src/model/amended.ts';

interface Entry {
  readonly odd: boolean;
}
const isOdd = ({ odd }: Entry): boolean => odd;
const names = ['a', 'b', 'c', 'd', 'e', 'f'];
const tableOf = (odd: readonly string[]): ReadonlyMap<string, Entry> =>
  new Map(names.map((name) => [name, { odd: odd.includes(name) }]));
const oddOf = (table: ReadonlyMap<string, Entry>): string[] =>
  [...table].filter(([, { odd }]) => odd).map(([name]) => name);

const some = fc.subarray(names);
test('what is picked of a table is what a walk over it takes, after any other entries and names, too', () => {
  fc.assert(
    fc.property(some, fc.array(fc.tuple(some, some, fc.boolean()), { maxLength: 6 }), (odd, edits) => {
      let table = tableOf(odd);
      expect(namesWhere(table, isOdd)).toEqual(oddOf(table));
      for (const [i, [others, odds, asked]] of edits.entries()) {
        const before = table;
        const entries = new Map(
          others.filter((name) => table.has(name)).map((name) => [name, { odd: odds.includes(name) }]),
        );
        table = amended(table, entries);
        expect([...namesChanged(before, table)].sort()).toEqual([...entries.keys()].sort());
        const outgoing = [...table.keys()].slice(1, 2);
        const exchange = { outgoing, incoming: [`new-${i}`], next: undefined };
        if (i % 2 === 1) table = exchanged(table, exchange, () => ({ odd: odds.length > 2 }));
        // One that nobody asked leads to the one before it.
        if (asked) expect(namesWhere(table, isOdd)).toEqual(oddOf(table));
      }
      expect(namesWhere(table, isOdd)).toEqual(oddOf(table));
    }),
  );
});

test('where other entries bear on nothing that is picked, no other entry is looked at again', () => {
  const looked: Entry[] = [];
  const pick = (entry: Entry): boolean => {
    looked.push(entry);
    return entry.odd;
  };
  const table = tableOf(['b']);
  const picked = namesWhere(table, pick);
  looked.length = 0;
  const other = { odd: false };
  const now = amended(table, new Map([['d', other]]));
  expect(namesWhere(now, pick)).toBe(picked);
  expect(looked).toEqual([other]);
});

test('any number of other entries can come with an exchange of names', () => {
  const table = new Map(Array.from({ length: 200_000 }, (_, i) => [`part-${i}`, i]));
  const exchange = { outgoing: ['part-0'], incoming: ['part-new'], next: undefined };
  const others = new Map([...table.keys()].slice(1).map((name) => [name, -1]));
  const now = exchanged(table, exchange, () => -1, others);
  expect([...now.keys()].slice(0, 2)).toEqual(['part-new', 'part-1']);
  expect(new Set(now.values())).toEqual(new Set([-1]));
});
