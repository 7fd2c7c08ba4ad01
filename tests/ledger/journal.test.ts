import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { Batch, Journal } from '../../server/src/ledger/journal.ts';

const key = fc.constantFrom('bolt', 'cover', 'seal');
const sets = fc.array(fc.tuple(key, fc.integer({ min: 1, max: 9 })), { maxLength: 8 });

/** A map with `entries` set one after the other. */
const after = (...entries: readonly (readonly [string, number])[]): Map<string, number> => new Map(entries);

describe('a journal', () => {
  test('goes back to each state that it has been in, and gives what it then loses', () => {
    fc.assert(
      fc.property(sets, sets, (first, then) => {
        const journal = new Journal<number>();
        for (const [name, value] of first) journal.set(name, value);
        const { length } = journal;
        for (const [name, value] of then) journal.set(name, value);
        expect(journal.now).toEqual(after(...first, ...then));
        expect(new Map(journal.rewind(length))).toEqual(after(...then));
        expect(journal.now).toEqual(after(...first));
        expect(journal.length).toBe(length);
        journal.rewind(0);
        expect(journal.now).toEqual(after());
      }),
    );
  });

  test('forgets how it came to what is settled, and keeps that', () => {
    const journal = new Journal<number>();
    expect(journal.settle()).toEqual([]);
    journal.set('bolt', 1);
    journal.set('cover', 2);
    journal.set('bolt', 3);
    expect(new Map(journal.settle())).toEqual(after(['bolt', 3], ['cover', 2]));
    expect(journal.settle()).toEqual([]);
    journal.set('bolt', 4);
    expect(new Map(journal.rewind(0))).toEqual(after(['bolt', 4]));
    expect(journal.now).toEqual(after(['bolt', 3], ['cover', 2]));
  });
});

describe('a batch', () => {
  test('gives what was put in since it was last taken, whatever was in it before', () => {
    const batch = new Batch<number>();
    const fillings = fc.array(fc.array(fc.nat(3), { maxLength: 5 }), { maxLength: 5 });
    fc.assert(
      fc.property(fillings, (lists) => {
        const taken = lists.map((list) => {
          for (const item of list) batch.add(item);
          expect(batch.length).toBe(list.length);
          expect(list.map((_, i) => batch.at(i))).toEqual(list);
          const items = batch.take();
          expect(batch.length).toBe(0);
          return items;
        });
        // What was taken earlier stays as it was.
        expect(taken).toEqual(lists);
      }),
    );
  });

  test('gives the list that holds the same, and no other', () => {
    const list = fc.array(fc.nat(1), { maxLength: 4 });
    fc.assert(
      fc.property(list, list, (items, alike) => {
        const batch = new Batch<number>();
        for (const item of items) batch.add(item);
        const taken = batch.take(alike);
        expect(taken).toEqual(items);
        expect(taken === alike).toBe(items.length === alike.length && items.every((item, i) => item === alike[i]));
      }),
    );
  });
});
