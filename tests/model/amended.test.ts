import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  amended,
  exchangeBetween,
  exchanged,
  namesAmended,
  namesChanged,
  namesWhere,
} from '../../server/src/model/amended.ts';

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

test('where names took the place of others, the table lists them there, and knows which are other than before', () => {
  const others = fc.dictionary(fc.constantFrom(...names), fc.nat(9));
  fc.assert(
    fc.property(fc.nat(names.length), fc.nat(2), fc.subarray(['x', 'y', 'z']), others, (at, gone, incoming, values) => {
      const before: ReadonlyMap<string, number> = new Map(names.map((name, i) => [name, i]));
      const outgoing = names.slice(at, at + gone);
      const exchange = { outgoing, incoming, next: names[at + outgoing.length] };
      const staying = Object.entries(values).filter(([name]) => !outgoing.includes(name));
      const now = exchanged(before, exchange, (name) => name.charCodeAt(0), new Map(staying));
      const listed = names.map((name, i): [string, number] => [
        name,
        staying.find(([each]) => each === name)?.[1] ?? i,
      ]);
      listed.splice(at, outgoing.length, ...incoming.map((name): [string, number] => [name, name.charCodeAt(0)]));
      expect([...now]).toEqual(listed);
      const changed = [
        ...outgoing,
        ...incoming,
        ...staying.filter(([name, value]) => before.get(name) !== value).map(([name]) => name),
      ];
      expect([...namesChanged(before, now)].sort()).toEqual(changed.sort());
      expect(exchangeBetween(before, now)).toBe(exchange);
      expect(namesAmended(before, now)).toBeUndefined();
    }),
  );
});

test('a name that goes and comes back with the same entry is as before, with another one is not', () => {
  const before = new Map([...'abc'].map((name) => [name, name]));
  const exchange = { outgoing: ['b'], incoming: ['b'], next: undefined };
  expect(
    namesChanged(
      before,
      exchanged(before, exchange, () => 'b'),
    ),
  ).toEqual([]);
  expect(
    namesChanged(
      before,
      exchanged(before, exchange, () => 'B'),
    ),
  ).toEqual(['b']);
});

test('of tables that were not made of one another, all names are compared', () => {
  const [one, other] = [
    new Map([...'abc'].map((name) => [name, name])),
    new Map([...'bcd'].map((name) => [name, name])),
  ];
  other.set('c', 'C');
  expect([...namesChanged(one, other)].sort()).toEqual(['a', 'c', 'd']);
  expect([...namesChanged(other, one)].sort()).toEqual(['a', 'c', 'd']);
  expect(namesChanged(one, new Map(one))).toEqual([]);
  expect(namesChanged(one, one)).toEqual([]);
  expect(namesAmended(one, other)).toBeUndefined();
  expect(namesAmended(one, one)).toEqual([]);
});

test('what an amendment touched is known of it and the table that it was made of, of no other', () => {
  const table = tableOf(['b']);
  const now = amended(table, new Map([['d', { odd: true }]]));
  expect(namesAmended(table, now)).toEqual(['d']);
  expect(exchangeBetween(table, now)).toBeUndefined();
  const later = amended(now, new Map([['a', { odd: true }]]));
  expect(namesAmended(now, later)).toEqual(['a']);
  expect(namesAmended(table, later)).toBeUndefined();
  expect([...namesChanged(table, later)].sort()).toEqual(['a', 'd']);
});

test('any number of other entries can come with an exchange of names', () => {
  const table = new Map(Array.from({ length: 200_000 }, (_, i) => [`part-${i}`, i]));
  const exchange = { outgoing: ['part-0'], incoming: ['part-new'], next: undefined };
  const others = new Map([...table.keys()].slice(1).map((name) => [name, -1]));
  const now = exchanged(table, exchange, () => -1, others);
  expect([...now.keys()].slice(0, 2)).toEqual(['part-new', 'part-1']);
  expect(new Set(now.values())).toEqual(new Set([-1]));
});
