import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { walk } from '../../grammar/syntax.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay, stateBefore } from '../../server/src/ledger/ledger.ts';
import { on } from '../../server/src/ledger/state.ts';
import { bind, countOf } from '../../server/src/model/model.ts';
import { draft } from '../../server/src/outputs/draft.ts';
import { type Trail, type TrailGroup, trail } from '../../server/src/outputs/trail.ts';
import { operations } from '../operations.ts';
import { teardownOf } from './draft-generate.ts';
import { type Opened, openSample, openText } from './opened.ts';

/** `tray: bolt 8 in bag A + 2, cover; loose: …`, the pieces left out where there is one. */
function said({ groups }: Trail): string {
  return groups
    .map(({ group, items }) => {
      const parts = items.map(({ part, pieces, of, lots, riders, carriers, spoiled, unsure }) => {
        const places = lots
          .map(({ pieces: each, place }) => `${of === 1 ? '' : ` ${each}`}${place === undefined ? '' : ` in ${place}`}`)
          .join(' +');
        expect(lots.reduce((sum, lot) => sum + lot.pieces, 0)).toBe(pieces);
        return [
          `${part}${places}`,
          ...riders.map((rider) => `with ${rider.part}`),
          ...carriers.map((carrier) => `on ${carrier.part}`),
          ...(spoiled > 0 ? [`${spoiled} spoiled`] : []),
          ...(unsure ? ['unsure'] : []),
        ].join(' ');
      });
      return `${group}: ${parts.join(', ')}`;
    })
    .join('; ');
}

/** The trail behind each statement, in the order of the text. */
function trailsOf({ model, judged }: Opened, code?: string): [string, string][] {
  const variant = judged.ledger.variants.find((each) => code === undefined || each.code === code)!;
  return variant.entries
    .map((entry, index) => ({ ...entry, index }))
    .filter(({ role }) => role === 'statement')
    .map(({ statement, index }) => [
      statement.chunk.text.slice(statement.start, statement.end).replace(/\s+/g, ' '),
      said(trail(model, variant, index + 1)),
    ]);
}
const after = (text: string, code?: string): Record<string, string> =>
  Object.fromEntries(trailsOf(openText(text), code));

describe('the parts trail', () => {
  test('after an edit above tells each lot as before', () => {
    const text = `part seal x2 "Seal"
part lid x4 "Lid"
teardown
  step off
    remove seal
    remove lid keep in "bag A"
  step judge
    if "They are worn"
      discard lid
    else
      clean lid
    end
    remove seal
reassembly
  step on
    fit lid x1`;
    const before = openText(text);
    const start = text.indexOf('x2');
    const tree = reparse(before.model.tree, { start, end: start + 2, text: 'x3' });
    const model = bind(tree, undefined, before.model);
    const now = { model, judged: judge(model, undefined, replay(model, before.judged.ledger), before.judged.ledger) };
    expect(trailsOf(now)).toEqual(trailsOf(openText(tree.text)));
  });

  test('tells where a part lies that was cleaned or judged and put away elsewhere', () => {
    expect(
      after(`part bolt x6 "Bolt" thread M8
part lid "Lid"
teardown
  step off
    remove bolt x4 keep in "bag A"
    remove bolt x2 keep in "bag B"
    remove lid keep in "rack"
inspection
  step look
    clean bolt keep in "tin"
    either "On the bench"
      inspect lid keep in "bench"
    or "In the shop"
      inspect lid "Without a place"
    end
reassembly
  step on
    fit lid
    fit bolt x4
    remove lid`),
    ).toMatchObject({
      'remove lid keep in "rack"': 'tray: lid in rack, bolt 2 in bag B + 4 in bag A',
      'clean bolt keep in "tin"': 'tray: bolt 6 in tin, lid in rack',
      'inspect lid keep in "bench"': 'tray: lid in bench, bolt 6 in tin',
      'inspect lid "Without a place"': 'tray: bolt 6 in tin, lid in rack',
      'fit bolt x4': 'tray: bolt 2 in tin; loose: bolt 4; back: lid',
      'remove lid': 'tray: lid, bolt 2 in tin; loose: bolt 4',
    });
  });

  test('counts what was put away elsewhere', () => {
    expect(
      after(`part bolt x6 "Bolt" thread M8
teardown
  step off
    remove bolt x4 keep in "bag A"
    remove bolt x2 keep in "bag B"
    clean bolt x2 keep in "tin"
    mark bolt x3 keep in "rack"
    inspect bolt x9 keep in "box"`),
    ).toMatchObject({
      'clean bolt x2 keep in "tin"': 'tray: bolt 2 in tin + 4 in bag A',
      'mark bolt x3 keep in "rack"': 'tray: bolt 3 in rack + 3 in bag A',
      'inspect bolt x9 keep in "box"': 'tray: bolt 6 in box',
    });
  });

  test('tells each lot by where it was put, the latest first', () => {
    expect(
      after(`part bolt x10 "Bolt" thread M8
part cover "Cover"
teardown
  step s
    remove bolt x8 keep in "bag A"
    remove bolt "Under the plate" x2
    remove cover
reassembly
  step t
    fit cover
    fit bolt x2
    fit bolt x5
    tighten bolt x4 by hand
    tighten bolt
    fit bolt`),
    ).toEqual({
      'remove bolt x8 keep in "bag A"': 'tray: bolt 8 in bag A',
      'remove bolt "Under the plate" x2': 'tray: bolt 2 + 8 in bag A',
      'remove cover': 'tray: cover, bolt 2 + 8 in bag A',
      'fit cover': 'tray: bolt 2 + 8 in bag A; back: cover',
      // Two go back: those two; then five of the eight.
      'fit bolt x2': 'tray: bolt 8 in bag A; loose: bolt 2; back: cover',
      'fit bolt x5': 'tray: bolt 3 in bag A; loose: bolt 7; back: cover',
      'tighten bolt x4 by hand': 'tray: bolt 3 in bag A; loose: bolt 3; hand-tight: bolt 4; back: cover',
      'tighten bolt': 'tray: bolt 3 in bag A; back: bolt 7, cover',
      'fit bolt': 'loose: bolt 3; back: bolt 7, cover',
    });
  });

  test('tells what is scrap, new, disconnected, loose in place, left off, and not to go back', () => {
    expect(
      after(`part cable "Cable"
part seal "Seal" renew
part vane x3 "Vane"
part clip "Clip"
part stud "Stud" thread M6
teardown
  step s
    disconnect cable
    loosen stud
    remove seal
    discard seal
    remove vane
    replace vane x1
    remove clip
reassembly
  step t
    omit clip "No longer made"
    fit new seal
    connect cable`),
    ).toEqual({
      'disconnect cable': 'disconnected: cable',
      'loosen stud': 'disconnected: cable; loose: stud',
      'remove seal': 'tray: seal 1 spoiled; disconnected: cable; loose: stud',
      'discard seal': 'disconnected: cable; loose: stud; scrapped: seal',
      'remove vane': 'tray: vane 3; disconnected: cable; loose: stud; scrapped: seal',
      'replace vane x1': 'tray: vane 2; disconnected: cable; new: vane 1; loose: stud; scrapped: seal',
      'remove clip': 'tray: clip, vane 2; disconnected: cable; new: vane 1; loose: stud; scrapped: seal',
      'omit clip "No longer made"':
        'tray: vane 2; disconnected: cable; new: vane 1; loose: stud; scrapped: seal; omitted: clip',
      'fit new seal': 'tray: vane 2; disconnected: cable; new: vane 1; loose: stud; omitted: clip; back: seal',
      'connect cable': 'tray: vane 2; new: vane 1; loose: stud; omitted: clip; back: cable, seal',
    });
  });

  test('tells what lies there on its carrier, and what another part carries since', () => {
    const trails = after(`part old-shaft "Shaft"
part new-shaft "Shaft with the long seat"
part gear "Gear" carried by old-shaft
part key "Key" carried by gear
part lid "Lid"
part breather "Breather"
teardown
  step s
    remove lid with breather
    remove old-shaft
    transfer gear from old-shaft to new-shaft
    swap old-shaft for new-shaft
reassembly
  step t
    fit new-shaft
    fit lid with breather`);
    expect(trails).toEqual({
      'remove lid with breather': 'tray: lid with breather',
      'remove old-shaft': 'tray: old-shaft with gear with key, lid with breather',
      'transfer gear from old-shaft to new-shaft': 'tray: old-shaft, lid with breather; moved: gear on new-shaft',
      'swap old-shaft for new-shaft':
        'tray: lid with breather; new: new-shaft; scrapped: old-shaft; moved: gear on new-shaft',
      'fit new-shaft': 'tray: lid with breather; scrapped: old-shaft; moved: gear on new-shaft; back: new-shaft',
      'fit lid with breather': 'scrapped: old-shaft; moved: gear on new-shaft; back: lid, new-shaft',
    });
  });

  test('goes its own way in each branch, and for each code', () => {
    const text = `procedure p "P"
  applies to A, B
part pin x4 "Pin"
part rod "Rod"
teardown
  step s
    remove pin x1 keep in "cup"
    either "Drive it out"
      remove rod keep in "rack"
      mark rod
      remove pin x3 keep in "tin"
    or "Pull it"
      remove pin x3 keep in "box"
      remove rod
    end
    for B
      replace rod
    end
    check "All there"`;
    expect(trailsOf(openText(text), 'A').map(([, trail]) => trail)).toEqual([
      'tray: pin 1 in cup',
      'tray: rod in rack, pin 1 in cup',
      'tray: rod in rack, pin 1 in cup',
      'tray: pin 3 in tin + 1 in cup, rod in rack',
      // As if the first way had not been.
      'tray: pin 3 in box + 1 in cup',
      'tray: rod, pin 3 in box + 1 in cup',
      // The first way stands for both, though the rod is marked in that one only.
      'tray: pin 3 in tin + 1 in cup, rod in rack',
    ]);
    expect(after(text, 'B')['check "All there"']).toBe('tray: pin 3 in tin + 1 in cup; new: rod');
  });

  test('says where it is not certain', () => {
    const { ['remove bolt']: said } = after('part bolt "Bolt"\nteardown\n  step s\n    remove bolt\n    remvoe bolt');
    expect(said).toBe('tray: bolt unsure');
  });

  test('counts the winch’s own statements: its tray at the end holds nothing', () => {
    const { model, judged } = openSample('winch-reducer');
    for (const variant of judged.ledger.variants) {
      const { groups, onTray } = trail(model, variant, variant.entries.length);
      expect(onTray).toBe(0);
      expect(
        groups.map(({ group }) => group).filter((group) => ['tray', 'new', 'loose', 'hand-tight'].includes(group)),
      ).toEqual([]);
    }
  });

  test('loses no piece and makes none, at any moment of any procedure', () => {
    fc.assert(
      fc.property(fc.integer({ min: 5, max: 60 }), fc.integer(), (parts, seed) => {
        const alone = openText(teardownOf(parts, seed));
        const whole = openText(draft(alone.model, alone.judged.ledger).text);
        const { model } = whole;
        for (const variant of whole.judged.ledger.variants) {
          for (let index = 0; index <= variant.entries.length; index++) {
            const { groups, onTray } = trail(model, variant, index);
            const pieces = (part: string, ...wanted: TrailGroup[]): number =>
              groups.reduce(
                (sum, { group, items }) =>
                  sum + (wanted.includes(group) ? (items.find((item) => item.part === part)?.pieces ?? 0) : 0),
                0,
              );
            let tray = 0;
            for (const [part, declaration] of model.parts) {
              const state = stateBefore(variant, part, index)!;
              const off = pieces(part, 'tray', 'disconnected', 'new', 'scrapped', 'omitted');
              expect(off).toBe(
                state.off +
                  state.spoiled +
                  state.fresh +
                  state.scrap +
                  state.settled +
                  state.swappedOut +
                  state.omitted,
              );
              const loose = pieces(part, 'loose', 'hand-tight');
              expect(loose).toBe(state.loose + state.snug);
              expect(pieces(part, 'back')).toBeLessThanOrEqual(state.tight);
              if (!state.stock) expect(off + on(state)).toBeGreaterThanOrEqual(countOf(declaration));
              tray += pieces(part, 'tray');
            }
            expect(onTray).toBe(tray);
          }
          // What the draft answers is back: the tray is empty.
          expect(trail(model, variant, variant.entries.length).onTray).toBe(0);
        }
        // Every lot names a statement of this file that takes its part off.
        const statements = new Set(model.steps.flatMap(({ step }) => [...walk(step.statements)]));
        for (const variant of whole.judged.ledger.variants)
          for (const { items } of trail(model, variant, variant.entries.length >> 1).groups)
            for (const { lots } of items)
              for (const { statement } of lots) expect(statement === undefined || statements.has(statement)).toBe(true);
      }),
      { numRuns: 12 },
    );
  });
});

test('parts by the thousand, each put away anew', () => {
  const cost = (n: number): number => {
    const each = (line: (i: number) => string): string => Array.from({ length: n }, (_, i) => `${line(i)}\n`).join('');
    const text = `${each((i) => `part p${i}`)}teardown\nstep off\n${each((i) => `remove p${i} keep in "bag"`)}${each((i) => `clean p${i} keep in "tin"`)}`;
    const model = bind(parse('test.fettle', text));
    const [variant] = replay(model).variants;
    return operations(() => trail(model, variant!, variant!.entries.length));
  };
  expect(cost(400) / cost(100)).toBeLessThan(4.4);
});
