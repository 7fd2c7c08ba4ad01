import { describe, expect, test } from 'vitest';
import { spanText } from '../../grammar/syntax.ts';
import type { Mark, PartState } from '../../server/src/ledger/state.ts';
import { procedure, variantOf } from './replayed.ts';

const pin = 'part pin x4 "Pin"';
const bolt = 'part bolt x4 "Bolt" thread M8';
const said = (mark: Mark | undefined): string | undefined => mark && spanText(mark.statement);
const final = (declarations: string[], statements: string[], part: string): PartState =>
  variantOf(procedure(declarations, statements)).final.get(part)!;

/** Findings stand at these: the statement that last did something to a part, not one that only tried. */
describe('the statement that last', () => {
  test.each<[what: 'lastOff' | 'lastBack' | 'lastScrap' | 'lastLoose', string[], string[], string, string | undefined]>(
    [
      ['lastOff', [pin], ['remove pin x1', 'remove pin x3', 'remove pin'], 'pin', 'remove pin x3'],
      ['lastOff', [pin], ['clean pin'], 'pin', undefined],
      ['lastOff', [pin], ['remove pin', 'discard pin'], 'pin', 'remove pin'],
      ['lastOff', [pin], ['remove pin', 'replace pin'], 'pin', 'remove pin'],
      [
        'lastOff',
        ['part drum', 'part wheel carried by drum'],
        ['remove drum', 'discard wheel'],
        'wheel',
        'discard wheel',
      ],
      ['lastOff', ['part old', 'part young'], ['remove old', 'swap old for young'], 'young', 'swap old for young'],
      ['lastBack', [pin], ['remove pin', 'fit pin x2', 'fit pin x2', 'fit pin'], 'pin', 'fit pin x2'],
      ['lastBack', [pin], ['fit pin'], 'pin', undefined],
      ['lastScrap', [pin], ['remove pin', 'discard pin x1', 'discard pin x3', 'discard pin'], 'pin', 'discard pin x3'],
      ['lastScrap', [pin], ['discard pin'], 'pin', undefined],
      ['lastScrap', ['part old', 'part young'], ['remove old', 'swap old for young'], 'old', 'swap old for young'],
      ['lastLoose', [bolt], ['loosen bolt x2', 'tighten bolt to 20 N·m', 'loosen bolt x1'], 'bolt', 'loosen bolt x1'],
      ['lastLoose', [bolt], ['remove bolt', 'fit bolt', 'fit bolt'], 'bolt', 'fit bolt'],
      ['lastLoose', [pin], ['remove pin', 'fit pin'], 'pin', undefined],
    ],
  )('%s', (what, declarations, statements, part, expected) => {
    expect(said(final(declarations, statements, part)[what])).toBe(expected);
  });

  test('a second one that did nothing is not taken for the first', () => {
    const { lastBack, lastLoose } = final([bolt], ['remove bolt', 'fit bolt x4', 'fit bolt'], 'bolt');
    expect(said(lastBack)).toBe('fit bolt x4');
    expect(said(lastLoose)).toBe('fit bolt x4');
  });
});

test('of what went to scrap, only the pieces that are fitted again go onto what took the place of their carrier', () => {
  const carriedAfter = (fit: string) =>
    final(
      ['part drum', 'part long-drum', 'part wheel x3 carried by drum'],
      ['remove wheel', 'discard wheel', 'remove drum', 'swap drum for long-drum', fit],
      'wheel',
    ).carried;
  expect(carriedAfter('fit wheel x1')).toEqual([
    { by: 'drum', count: 2 },
    { by: 'long-drum', count: 1 },
  ]);
  expect(carriedAfter('fit wheel')).toEqual([{ by: 'long-drum', count: 3 }]);
});

test('what is stranded already is not stranded again by the next one that goes to scrap', () => {
  const twice = ['remove drum', 'replace drum "Worn"', 'fit drum', 'remove drum', 'replace drum "Cracked"'];
  const { stranded, strandedBy } = final(['part drum', 'part wheel carried by drum'], twice, 'wheel');
  expect(stranded).toBe(1);
  expect(said(strandedBy)).toBe('replace drum "Worn"');
});

describe('counts since all were on', () => {
  test.each<[string[], string[], string, Partial<PartState>]>([
    [[pin], ['remove pin x3'], 'pin', { taken: 3, back: 0, cameOff: true }],
    [[pin], ['remove pin x3', 'fit pin x2'], 'pin', { taken: 3, back: 2 }],
    [[pin], ['remove pin x3', 'fit pin x3'], 'pin', { taken: 0, back: 0, cameOff: true }],
    // Nobody takes none: that is told of by the reader of the text, and the count counts for nothing.
    [[pin], ['remove pin x0'], 'pin', { taken: 4, cameOff: true }],
    [[pin], ['clean pin'], 'pin', { taken: 0, cameOff: false, marked: false }],
    [[pin], ['mark pin'], 'pin', { marked: true }],
    [[pin], ['remove pin', 'discard pin x1', 'fit pin'], 'pin', { taken: 4, back: 3, scrap: 1 }],
    [['part seal x2'], ['fit new seal x1'], 'seal', { stock: false, inStock: 1, tight: 1, cameOff: true }],
    [['part seal x2'], ['fit new seal x2'], 'seal', { stock: false, inStock: 0, tight: 2 }],
    [['part plug x2 renew'], ['remove plug', 'discard plug'], 'plug', { scrap: 2, scrapSpoiled: 2 }],
    [[pin], ['remove pin x2 spoiled', 'remove pin', 'discard pin x3'], 'pin', { scrap: 3, scrapSpoiled: 2, off: 1 }],
    [['part old x2', 'part young x3'], ['remove old', 'swap old for young'], 'young', { fresh: 3, inStock: 0 }],
    // An old part still on is taken as off, loosened or not.
    [['part old x2', 'part young x2'], ['swap old for young'], 'old', { tight: 0, swappedOut: 2 }],
    [[bolt, 'part stud x4'], ['loosen bolt x3', 'swap bolt for stud'], 'bolt', { tight: 0, loose: 0, swappedOut: 4 }],
    [['part old x2', 'part young x2'], ['remove old x1', 'swap old for young'], 'old', { tight: 1, swappedOut: 1 }],
  ])('%j %j: %s', (declarations, statements, part, expected) => {
    expect(final(declarations, statements, part)).toMatchObject(expected);
  });
});

test('leaving a part off is nothing of a fluid', () => {
  const { fluids } = variantOf(procedure([pin, 'supply oil "Oil" 1 L'], ['remove pin', 'omit pin "Blind"']));
  expect([...fluids.keys()]).toEqual([]);
});

describe('who carries the pieces', () => {
  const drums = ['part a', 'part b', 'part c', 'part wheel x3 carried by a'];
  test.each<[string[], [by: string, count: number][]]>([
    [['clean wheel'], [['a', 3]]],
    [
      ['transfer wheel x1 from a to b'],
      [
        ['a', 2],
        ['b', 1],
      ],
    ],
    [
      ['transfer wheel x1 from a to b', 'transfer wheel x1 from a to b'],
      [
        ['a', 1],
        ['b', 2],
      ],
    ],
    [['transfer wheel from a to b'], [['b', 3]]],
    [
      ['transfer wheel x1 from a to b', 'transfer wheel from b to c'],
      [
        ['a', 2],
        ['c', 1],
      ],
    ],
    [['transfer wheel from b to c'], [['a', 3]]],
    [
      ['remove b with wheel x1'],
      [
        ['a', 2],
        ['b', 1],
      ],
    ],
    [['remove b with wheel'], [['b', 3]]],
    [
      ['remove wheel x1', 'fit b with wheel x1'],
      [
        ['a', 2],
        ['b', 1],
      ],
    ],
  ])('%j', (statements, expected) => {
    const { carried } = final(drums, statements, 'wheel');
    expect(carried.filter(({ count }) => count > 0).map(({ by, count }) => [by, count])).toEqual(expected);
  });
});

/** What one statement wanted, could act on and acted on. */
describe('an action tells', () => {
  test.each<[string[], string[], object]>([
    [[pin], ['remove pin x5'], { verb: 'remove', wanted: 5, available: 4, acted: 4 }],
    [[pin], ['remove pin x1 spoiled', 'remove pin', 'fit pin x4'], { refittedOld: 1, refittedScrap: 0, acted: 4 }],
    [
      [pin],
      ['remove pin', 'discard pin x2', 'fit pin x3'],
      { refittedOld: 0, refittedScrap: 0, available: 2, acted: 2 },
    ],
    [[pin], ['remove pin', 'discard pin', 'fit pin'], { refittedScrap: 4, acted: 4 }],
    [[pin], ['remove pin', 'discard pin', 'fit new pin x2'], { fresh: true, refittedScrap: 0, acted: 2, available: 4 }],
    [['part plug x2 renew'], ['remove plug', 'fit plug'], { refittedOld: 2, acted: 2 }],
    [[bolt], ['loosen bolt', 'tighten bolt at holes 1, 3, 3'], { verb: 'tighten', wanted: 2, acted: 2 }],
    [[bolt], ['tighten bolt by hand'], { verb: 'hand-tighten', available: 4, acted: 4 }],
    [['part hub', pin], ['remove hub with pin x3'], { verb: 'remove', along: true, wanted: 3, available: 4, acted: 3 }],
  ])('%j', (declarations, statements, expected) => {
    const { actions } = variantOf(procedure(declarations, statements)).entries.at(-1)!;
    expect(actions.at(-1)).toMatchObject(expected);
  });
  test('what is in the way, but not what goes along or what is off', () => {
    const parts = [
      'part lid held by nut',
      'part nut x2',
      'part gear behind lid',
      'part hub',
      'part ring carried by hub',
      'part cover',
      'part hub-nut behind cover',
    ];
    const last = (...statements: string[]) =>
      variantOf(procedure(parts, statements))
        .entries.at(-1)!
        .actions.map(({ holders, covers }) => ({
          holders: holders.map(({ part, on }) => `${on} ${part}`),
          covers: covers.map(({ part, on, cameOff }) => `${on} ${part}${cameOff ? ', refitted' : ''}`),
        }))[0];
    expect(last('remove lid')).toEqual({ holders: ['2 nut'], covers: [] });
    expect(last('remove nut x1', 'remove lid')).toEqual({ holders: ['1 nut'], covers: [] });
    expect(last('remove lid with nut')).toEqual({ holders: [], covers: [] });
    expect(last('remove gear')).toEqual({ holders: [], covers: ['1 lid'] });
    expect(last('remove nut', 'remove lid', 'remove gear')).toEqual({ holders: [], covers: [] });
    expect(last('remove nut', 'remove lid', 'remove gear', 'fit lid', 'fit gear')).toEqual({
      holders: [],
      covers: ['1 lid, refitted'],
    });
    expect(last('remove nut', 'remove lid', 'fit nut', 'fit lid')).toEqual({ holders: ['2 nut'], covers: [] });
  });
});

describe('a cure', () => {
  const loads = (lines: string[]): string[] =>
    variantOf(
      ['supply glue "Glue" cure 60 min', 'supply oil "Oil" 1 L', 'part lid', ...lines].join('\n'),
    ).earlyLoads.map(({ loading, elapsed }) => `${spanText(loading)} after ${elapsed / 60} min`);
  test.each<[string, string[], string[]]>([
    ['just done', ['step a', 'apply glue to lid', 'wait 60 min', 'fill oil'], []],
    ['a minute short', ['step a', 'apply glue to lid', 'wait 59 min', 'fill oil'], ['fill oil after 59 min']],
    // grammar/LANGUAGE.md: in the applying and the loading step only `wait` counts; whole steps in between count `takes`.
    [
      'its own step',
      ['step a takes 90 min', 'apply glue to lid', 'step b takes 90 min', 'fill oil'],
      ['fill oil after 0 min'],
    ],
    ['steps between', ['step a', 'apply glue to lid', 'step b takes 60 min', 'do "Look."', 'step c', 'fill oil'], []],
    [
      'steps between that are too short, and waits in all',
      [
        'step a takes 9 min',
        'apply glue to lid',
        'wait 10 min',
        'step b takes 20 min',
        'wait 5 min',
        'step c',
        'wait 4 min',
        'fill oil',
      ],
      ['fill oil after 39 min'],
    ],
    [
      'the least time of two ways counts',
      ['step a', 'apply glue to lid', 'either "Long"', 'wait 60 min', 'or "Short"', 'wait 10 min', 'end', 'fill oil'],
      ['fill oil after 10 min'],
    ],
    [
      'in one way only',
      ['step a', 'if "It leaks"', 'apply glue to lid', 'wait 5 min', 'end', 'wait 20 min', 'fill oil'],
      ['fill oil after 25 min'],
    ],
    [
      'both ways load: told in each, and done with',
      ['step a', 'apply glue to lid', 'either "One"', 'fill oil 1 L', 'or "Other"', 'fill oil 2 L', 'end', 'fill oil'],
      ['fill oil 1 L after 0 min', 'fill oil 2 L after 0 min'],
    ],
    [
      'one way loads: the other is still to be waited for',
      ['step a', 'apply glue to lid', 'if "It leaks"', 'fill oil 1 L', 'end', 'wait 5 min', 'fill oil'],
      ['fill oil 1 L after 0 min', 'fill oil after 5 min'],
    ],
    [
      'a step that states no time takes none',
      ['step a', 'apply glue to lid', 'wait 59 min', 'step b', 'do "Look."', 'step c', 'fill oil'],
      ['fill oil after 59 min'],
    ],
    ['told once', ['step a', 'apply glue to lid', 'fill oil', 'fill oil'], ['fill oil after 0 min']],
    [
      'for each application',
      ['step a', 'apply glue to lid', 'wait 5 min', 'apply glue to lid', 'fill oil'],
      ['fill oil after 0 min', 'fill oil after 5 min'],
    ],
    ['a check in the reassembly loads nothing', ['step a', 'apply glue to lid', 'check "Look."'], []],
    ['a fill of what is no supply loads nothing', ['step a', 'apply glue to lid', 'fill lid'], []],
  ])('%s', (_, lines, expected) => {
    expect(loads(['reassembly', ...lines])).toEqual(expected);
  });
  test('a check in the proving loads', () => {
    expect(loads(['reassembly', 'step a', 'apply glue to lid', 'proving', 'step b', 'check "Turn it."'])).toEqual([
      'check "Turn it." after 0 min',
    ]);
  });
});
