import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Table } from '../../server/src/model/table.ts';

const entries = fc.array(fc.tuple(fc.string({ maxLength: 3 }), fc.nat(9)));

/** All that can be asked of a map, in its order. */
const told = (map: ReadonlyMap<string, number>): unknown => {
  const each: unknown[] = [];
  map.forEach((value, name, whole) => {
    each.push([name, value, whole === map]);
  });
  return [map.size, [...map], [...map.entries()], [...map.keys()], [...map.values()], each];
};

test('a table tells what a map of the same entries does', () => {
  fc.assert(
    fc.property(entries, fc.string({ maxLength: 3 }), (listed, name) => {
      const [table, map] = [Table.from(listed), new Map(listed)];
      expect(told(table)).toEqual(told(map));
      expect([table.has(name), table.get(name)]).toEqual([map.has(name), map.get(name)]);
    }),
  );
});

test('with other entries it is as a map in which they were set, and the one that it was made of stays', () => {
  fc.assert(
    fc.property(entries, fc.nat(), fc.nat(9), (listed, pick, value) => {
      const [table, map] = [Table.from(listed), new Map(listed)];
      const names = [...map.keys()].filter((_, i) => (pick >> (i % 30)) % 2 === 1);
      const others = new Map(names.map((name) => [name, value]));
      const now = table.with(others);
      expect(told(table)).toEqual(told(map));
      expect(told(now)).toEqual(told(new Map([...map, ...others])));
    }),
  );
});

test('with other names it is as a map that lists them there, and so are all that were made of one another', () => {
  const edit = fc.record({ from: fc.nat(), gone: fc.nat(2), incoming: fc.subarray(['', 'x', 'y', 'zz', '0']) });
  fc.assert(
    fc.property(
      entries,
      fc.array(edit, { minLength: 1, maxLength: 5 }),
      fc.array(fc.nat(9)),
      (listed, edits, others) => {
        const made: [Table<number>, Map<string, number>][] = [[Table.from(listed), new Map(listed)]];
        for (const { from, gone, incoming: wanted } of edits) {
          // Of any that were made, so that two may be made of one.
          const [table, map] = made[from % made.length]!;
          const names = [...map.keys()];
          const at = from % (names.length + 1);
          const outgoing = names.slice(at, at + gone);
          const incoming = wanted.filter((name) => !map.has(name) || outgoing.includes(name));
          const values = incoming.map((_, i) => others[i] ?? -1);
          const now = [...map];
          now.splice(at, outgoing.length, ...incoming.map((name, i): [string, number] => [name, values[i]!]));
          made.push([table.exchanged({ outgoing, incoming, next: names[at] }, values), new Map(now)]);
        }
        for (const [table, map] of made) {
          expect(told(table)).toEqual(told(map));
          for (const name of ['', 'x', 'y', 'zz', '0', ...listed.map(([each]) => each)])
            expect([table.has(name), table.get(name)]).toEqual([map.has(name), map.get(name)]);
        }
      },
    ),
  );
});

test('names that nobody has any more are not kept for ever', () => {
  let table = Table.from([['a', 0]]);
  for (let i = 0; i < 500; i++) {
    table = table.exchanged({ outgoing: [...table.keys()], incoming: [`b-${i}`], next: undefined }, [i]);
    expect([...table]).toEqual([[`b-${i}`, i]]);
    expect(table.has(`b-${i - 1}`)).toBe(false);
  }
});
