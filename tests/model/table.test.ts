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
