import { describe, expect, test } from 'vitest';
import { stateBefore } from '../../server/src/ledger/ledger.ts';
import { describe as inWords, type PartState } from '../../server/src/ledger/state.ts';
import { lastStep, ledgerOf, procedure, variantOf } from './replayed.ts';

/** Declarations, statements, the part looked at, and where it is before and after the last statement. */
type Row = [part: string, declarations: string[], statements: string[], before: string, after: string];

const bolt = 'part bolt x4 "Bolt" thread M8';
const pin = 'part pin x4 "Pin"';
const drums = ['part drum "Drum"', 'part long-drum "Long drum"', 'part wheel x2 "Wheel" carried by drum'];

describe('the table of statements, row by row', () => {
  test.each<Row>([
    // remove, disconnect
    ['pin', [pin], ['remove pin'], '4 on', '4 off'],
    ['pin', [pin], ['remove pin x3'], '4 on', '1 on; 3 off'],
    ['pin', [pin], ['remove pin x3', 'remove pin'], '1 on; 3 off', '4 off'],
    ['pin', [pin], ['remove pin x5'], '4 on', '4 off'],
    ['hose', ['part hose'], ['disconnect hose'], '1 on', '1 off'],
    ['bolt', [bolt], ['loosen bolt x2', 'remove bolt x3'], '2 on; 2 on, loose', '1 on; 3 off'],
    // discard
    ['pin', [pin], ['remove pin', 'discard pin x1'], '4 off', '3 off; 1 scrapped'],
    ['pin', [pin], ['remove pin x3', 'discard pin'], '1 on; 3 off', '1 on; 3 scrapped'],
    ['pin', [pin], ['discard pin'], '4 on', '4 on'],
    ['wheel', drums, ['remove drum', 'discard wheel'], '2 on', '2 scrapped'],
    ['wheel', drums, ['discard wheel'], '2 on', '2 on'],
    ['gear', [...drums, 'part gear carried by wheel'], ['remove drum', 'discard gear'], '1 on', '1 scrapped'],
    // replace
    ['pin', [pin], ['remove pin', 'replace pin x1'], '4 off', '3 off; 1 new, off'],
    ['pin', ['part pin x2 renew'], ['remove pin', 'replace pin'], '2 off, not to go back', '2 new, off'],
    ['pin', [pin], ['replace pin'], '4 on', '4 on'],
    ['pin', [pin], ['remove pin', 'replace pin', 'discard pin x1'], '4 new, off', '3 new, off; 1 scrapped'],
    // fit, fit new, connect
    ['pin', [pin], ['remove pin', 'fit pin'], '4 off', '4 on'],
    ['pin', [pin], ['remove pin', 'fit pin x3'], '4 off', '3 on; 1 off'],
    ['pin', [pin], ['remove pin', 'discard pin x2', 'fit pin'], '2 off; 2 scrapped', '2 on; 2 scrapped'],
    ['pin', [pin], ['remove pin', 'discard pin x2', 'fit new pin x2'], '2 off; 2 scrapped', '2 on; 2 off'],
    ['pin', [pin], ['remove pin', 'replace pin x1', 'fit pin'], '3 off; 1 new, off', '4 on'],
    ['hose', ['part hose'], ['disconnect hose', 'connect hose'], '1 off', '1 on'],
    ['bolt', [bolt], ['remove bolt', 'fit bolt'], '4 off', '4 on, loose'],
    ['seal', ['part seal x2'], ['fit new seal x1'], 'in stock', '1 on'],
    ['pin', [pin], ['fit pin'], '4 on', '4 on'],
    // swap
    ['drum', drums, ['remove drum', 'swap drum for long-drum'], '1 off', '1 swapped out'],
    ['long-drum', drums, ['remove drum', 'swap drum for long-drum'], 'in stock', '1 new, off'],
    ['wheel', drums, ['remove drum', 'swap drum for long-drum'], '2 on', '2 on; 2 of them on a scrapped carrier'],
    ['long-drum', drums, ['remove drum', 'swap drum for long-drum', 'fit long-drum'], '1 new, off', '1 on'],
    // A name that is no part, or the part itself, goes along with nothing.
    ['pin', [pin], ['remove pin', 'fit pin x1 with ghost'], '4 off', '1 on; 3 off'],
    ['pin', [pin], ['remove pin', 'fit pin x1 with pin'], '4 off', '1 on; 3 off'],
    ['pin', [pin], ['remove pin x1 with ghost, pin'], '4 on', '3 on; 1 off'],
    // Where a carrier has several pieces, what sits on it is stranded with the last of them.
    ['wheel', ['part drum x2', 'part wheel x2 carried by drum'], ['remove drum', 'discard drum x1'], '2 on', '2 on'],
    [
      'wheel',
      ['part drum x2', 'part wheel x2 carried by drum'],
      ['remove drum', 'discard drum x1', 'discard drum'],
      '2 on',
      '2 on; 2 of them on a scrapped carrier',
    ],
    // transfer
    [
      'wheel',
      drums,
      ['remove drum', 'swap drum for long-drum', 'transfer wheel x1 from drum to long-drum'],
      '2 on; 2 of them on a scrapped carrier',
      '2 on; 1 of them on a scrapped carrier',
    ],
    ['wheel', drums, ['remove wheel', 'transfer wheel from drum to long-drum'], '2 off', '2 off'],
    [
      'wheel',
      drums,
      [
        'remove drum',
        'swap drum for long-drum',
        'transfer wheel from drum to long-drum',
        'fit long-drum',
        'remove long-drum',
        'discard long-drum',
      ],
      '2 on',
      '2 on; 2 of them on a scrapped carrier',
    ],
    // tighten at one hole
    [
      'bolt',
      [`${bolt} holes rim`, 'pattern rim circle 4 diameter 80 mm'],
      ['remove bolt', 'fit bolt', 'tighten bolt to 20 N·m at holes 3'],
      '4 on, loose',
      '1 on; 3 on, loose',
    ],
    [
      'bolt',
      [`${bolt} holes rim`, 'pattern rim circle 4 diameter 80 mm'],
      ['remove bolt', 'fit bolt', 'tighten bolt to 20 N·m at holes 3', 'tighten bolt to 20 N·m at holes 3'],
      '1 on; 3 on, loose',
      '1 on; 3 on, loose',
    ],
    // spoiled, renew
    ['pin', [pin], ['remove pin x1 spoiled'], '4 on', '3 on; 1 off, not to go back'],
    ['plug', ['part plug renew'], ['remove plug'], '1 on', '1 off, not to go back'],
    ['plug', ['part plug renew'], ['remove plug', 'fit plug'], '1 off, not to go back', '1 on'],
    ['plug', ['part plug renew'], ['remove plug', 'fit new plug'], '1 off, not to go back', '1 on'],
    // with
    ['wheel', ['part hub', 'part wheel'], ['remove hub with wheel'], '1 on', '1 on'],
    ['hub', ['part hub', 'part wheel'], ['remove hub with wheel'], '1 on', '1 off'],
    ['wheel', ['part hub', 'part wheel'], ['remove hub with wheel', 'remove wheel'], '1 on', '1 off'],
    [
      'wheel',
      ['part hub', 'part wheel'],
      ['remove hub with wheel', 'remove wheel', 'fit hub with wheel'],
      '1 off',
      '1 on',
    ],
    // loosen, tighten: what is tight is loosened first, what is loose is tightened first
    [
      'bolt',
      [bolt],
      ['loosen bolt x3', 'tighten bolt x2 by hand'],
      '1 on; 3 on, loose',
      '1 on; 2 on, hand-tight; 1 on, loose',
    ],
    [
      'bolt',
      [bolt],
      ['loosen bolt x3', 'tighten bolt x2 by hand', 'loosen bolt x2'],
      '1 on; 2 on, hand-tight; 1 on, loose',
      '1 on, hand-tight; 3 on, loose',
    ],
    [
      'bolt',
      [bolt],
      ['loosen bolt', 'tighten bolt by hand', 'tighten bolt x1 to 20 N·m'],
      '4 on, hand-tight',
      '1 on; 3 on, hand-tight',
    ],
    ['bolt', [bolt], ['tighten bolt x2 by hand'], '4 on', '2 on; 2 on, hand-tight'],
    ['bolt', [bolt], ['loosen bolt x1', 'tighten bolt x3 by hand'], '3 on; 1 on, loose', '1 on; 3 on, hand-tight'],
    ['bolt', [bolt], ['loosen bolt', 'tighten bolt at holes 1, 3'], '4 on, loose', '2 on; 2 on, loose'],
    [
      'bolt',
      [bolt],
      ['loosen bolt', 'tighten bolt at holes 1, 3', 'tighten bolt at holes 1, 2'],
      '2 on; 2 on, loose',
      '3 on; 1 on, loose',
    ],
    // what must not go back is taken only where the text asks for more than is good
    [
      'pin',
      [pin],
      ['remove pin x1 spoiled', 'remove pin', 'fit pin'],
      '3 off; 1 off, not to go back',
      '3 on; 1 off, not to go back',
    ],
    ['pin', [pin], ['remove pin x1 spoiled', 'remove pin', 'fit pin x4'], '3 off; 1 off, not to go back', '4 on'],
    [
      'pin',
      [pin],
      ['remove pin x1 spoiled', 'remove pin', 'fit new pin x2'],
      '3 off; 1 off, not to go back',
      '2 on; 2 off',
    ],
    // omit, in the order of what is owed
    ['pin', [pin], ['remove pin x2', 'omit pin x3 "Blind"'], '2 on; 2 off', '2 on; 2 left off on purpose'],
    [
      'pin',
      [pin],
      ['remove pin', 'discard pin x2', 'omit pin x3 "Blind"'],
      '2 off; 2 scrapped',
      '1 scrapped; 3 left off on purpose',
    ],
    [
      'wheel',
      drums,
      ['remove drum', 'swap drum for long-drum', 'omit wheel x1 "None on this one"'],
      '2 on; 2 of them on a scrapped carrier',
      '1 on; 1 left off on purpose; 1 of them on a scrapped carrier',
    ],
    [
      'wheel',
      drums,
      ['remove drum', 'swap drum for long-drum', 'discard wheel', 'omit wheel x1 "None on this one"'],
      '2 scrapped with its carrier',
      '1 scrapped with its carrier; 1 left off on purpose',
    ],
    [
      'wheel',
      drums,
      ['remove drum', 'swap drum for long-drum', 'discard wheel', 'fit new wheel x1'],
      '2 scrapped with its carrier',
      '1 on; 1 scrapped with its carrier',
    ],
    // omit
    ['pin', [pin], ['remove pin', 'omit pin x1 "Blind hole"'], '4 off', '3 off; 1 left off on purpose'],
    ['pin', [pin], ['remove pin', 'discard pin', 'omit pin "None"'], '4 scrapped', '4 left off on purpose'],
    ['pin', [pin], ['omit pin "None"'], '4 on', '4 on'],
    // try, mark, support, clean, inspect, heat, press, measure change nothing
    ['pin', [pin, 'part hub'], ['remove pin', 'try pin on hub'], '4 off', '4 off'],
    ['pin', [pin], ['remove pin', 'heat pin to 80 °C'], '4 off', '4 off'],
    ['pin', [pin], ['remove pin', 'inspect pin'], '4 off', '4 off'],
    ['pin', [pin], ['remove pin', 'mark pin'], '4 off', '4 off'],
    // loosen, tighten
    ['bolt', [bolt], ['loosen bolt'], '4 on', '4 on, loose'],
    ['bolt', [bolt], ['loosen bolt x1'], '4 on', '3 on; 1 on, loose'],
    ['bolt', [bolt], ['loosen bolt', 'tighten bolt x3'], '4 on, loose', '3 on; 1 on, loose'],
    ['bolt', [bolt], ['loosen bolt', 'tighten bolt by hand'], '4 on, loose', '4 on, hand-tight'],
    [
      'bolt',
      [bolt],
      ['loosen bolt', 'tighten bolt by hand', 'tighten bolt x1'],
      '4 on, hand-tight',
      '1 on; 3 on, hand-tight',
    ],
    ['bolt', [bolt], ['tighten bolt by hand'], '4 on', '4 on, hand-tight'],
    ['bolt', [bolt], ['loosen bolt', 'tighten bolt at holes 1, 3'], '4 on, loose', '2 on; 2 on, loose'],
    [
      'bolt',
      [bolt],
      ['loosen bolt', 'tighten bolt at holes 1, 3', 'tighten bolt at holes 1, 3'],
      '2 on; 2 on, loose',
      '2 on; 2 on, loose',
    ],
    ['bolt', [bolt], ['loosen bolt', 'tighten bolt x2', 'tighten bolt x2'], '2 on; 2 on, loose', '4 on'],
    ['knob', ['part knob'], ['loosen knob', 'tighten knob'], '1 on, loose', '1 on'],
  ])('%s, %j, %j: %s → %s', (part, declarations, statements, before, after) => {
    expect(lastStep(declarations, statements, part)).toEqual({ before, after });
  });
});

describe('at the start', () => {
  const first = (declarations: string[], statements: string[], part: string): string =>
    inWords(variantOf(procedure(declarations, statements)).initial.get(part)!);

  test.each<[string, string[], string[], string]>([
    ['pin', [pin], ['clean pin'], '4 on'],
    ['pin', [pin], ['fit new pin x1', 'fit new pin'], 'in stock'],
    ['pin', [pin], ['remove pin', 'fit new pin x1'], '4 on'],
    ['pin', [pin], ['fit new pin', 'fit pin'], '4 on'],
    ['lip', ['part cap', 'part lip carried by cap'], ['remove cap', 'discard lip', 'fit new lip'], '1 on'],
    ['cup', ['part hub', 'part cup'], ['remove hub with cup', 'fit new cup'], '1 on'],
    ['nut', ['part nut thread M8'], ['fit new nut', 'tighten nut', 'loosen nut'], 'in stock'],
    ['nut', ['part nut thread M8'], ['loosen nut', 'fit new nut'], '1 on'],
    ['long-drum', drums, ['swap drum for long-drum', 'fit long-drum'], 'in stock'],
  ])('%s, %j, %j: %s', (part, declarations, statements, state) =>
    expect(first(declarations, statements, part)).toBe(state),
  );

  test('each code has its own', () => {
    const { variants } = ledgerOf(
      `procedure p applies to A, B\npart seal\nteardown\n  step s\n    for A\n      fit new seal\n    end\n    for B\n      remove seal\n    end\n`,
    );
    expect(variants.map(({ code, initial }) => [code, inWords(initial.get('seal')!)])).toEqual([
      ['A', 'in stock'],
      ['B', '1 on'],
    ]);
  });
});

describe('branches', () => {
  test('each begins where the block begins, and the first goes on', () => {
    const variant = variantOf(
      procedure([pin], ['remove pin x1', 'either', 'remove pin x2', 'or', 'remove pin x2', 'end', 'fit pin x1']),
    );
    const seen = variant.entries.map(({ statement, role }, index) => [
      statement.kind,
      role,
      inWords(stateBefore(variant, 'pin', index + 1)!),
    ]);
    expect(seen).toEqual([
      ['remove', 'statement', '3 on; 1 off'],
      ['remove', 'statement', '1 on; 3 off'],
      ['either', 'restored', '3 on; 1 off'],
      ['remove', 'statement', '1 on; 3 off'],
      ['either', 'restored', '3 on; 1 off'],
      ['either', 'merged', '1 on; 3 off'],
      ['fit', 'statement', '2 on; 2 off'],
    ]);
  });

  test('goes on with the part that the first one swaps in, and with none that only a later one does', () => {
    const swaps = (...lines: string[]): [string, string][] => {
      const text = procedure(['part bush', 'part ring', 'part sleeve'], ['remove bush', ...lines]);
      return [...variantOf(text).swaps];
    };
    expect(swaps('if "worn"', 'swap bush for ring', 'else', 'clean bush', 'end')).toEqual([['bush', 'ring']]);
    expect(swaps('if "good"', 'clean bush', 'else', 'swap bush for ring', 'end')).toEqual([]);
    expect(swaps('either', 'swap bush for ring', 'or', 'swap bush for sleeve', 'end')).toEqual([['bush', 'ring']]);
  });

  test('goes on from the first where they do not agree', () => {
    const after = (...lines: string[]): string =>
      inWords(stateBefore(variantOf(procedure([pin], lines)), 'pin', Number.POSITIVE_INFINITY)!);
    expect(after('either', 'remove pin x1', 'or', 'remove pin x2', 'end')).toBe('3 on; 1 off');
    expect(after('if "bent"', 'remove pin x1', 'end')).toBe('3 on; 1 off');
    expect(after('if "good"', 'clean pin', 'else', 'remove pin x1', 'end')).toBe('4 on');
  });

  test('an `if` without `else` has an empty one', () => {
    const variant = variantOf(procedure([pin], ['if "bent"', 'remove pin x1', 'end']));
    expect(
      variant.disagreements.map(({ subject, states }) => [subject, states.map((each) => inWords(each as PartState))]),
    ).toEqual([['pin', ['3 on; 1 off', '4 on']]]);
  });
});

describe('the clock', () => {
  const sealing = (steps: string): string =>
    `part cover\nsupply sealant cure 60 min\nsupply oil 1 L\nreassembly\n${steps}`;
  const missing = (steps: string): number[] =>
    variantOf(sealing(steps)).earlyLoads.map(({ cure, elapsed }) => Math.round((cure - elapsed) / 60));

  test.each([
    [
      'only `wait` in the applying step',
      'step a takes 90 min\n apply sealant to cover\n wait 5 min\n fill oil 1 L',
      [55],
    ],
    ['not what was waited before', 'step a\n wait 60 min\n apply sealant to cover\n fill oil 1 L', [60]],
    [
      '`takes` and `wait` of whole steps between',
      'step a takes 90 min\n apply sealant to cover\nstep b takes 20 min\n wait 15 min\nstep c takes 90 min\n wait 5 min\n fill oil 1 L\n wait 60 min',
      [20],
    ],
    ['long enough', 'step a\n apply sealant to cover\nstep b takes 1 h\nstep c\n fill oil 1 L', []],
    ['the first loading only', 'step a\n apply sealant to cover\n fill oil 0.5 L\n fill oil 0.5 L', [60]],
    ['a check outside `proving` is no load', 'step a\n apply sealant to cover\n check "Bead unbroken"', []],
    ['a check in `proving` is one', 'step a\n apply sealant to cover\nproving\nstep b\n check "Dry"', [60]],
    ['a supply without a cure', 'step a\n apply oil to cover\n fill oil 1 L', []],
  ])('%s', (_, steps, minutes) => expect(missing(steps)).toEqual(minutes));
});

describe('lines that cannot be read', () => {
  test('leave their parts in doubt from there on, and no others', () => {
    const variant = variantOf(
      procedure([pin, 'part cup'], ['remove cup', 'remove pin', 'fti pin', 'fit cup', 'fit pin']),
    );
    expect([...variant.unsure]).toContain('pin');
    expect(variant.unsure.has('cup')).toBe(false);
    const actions = variant.entries.flatMap((entry) => entry.actions);
    expect(actions.map(({ part, unsure }) => [part, unsure])).toEqual([
      ['cup', false],
      ['pin', false],
      ['cup', false],
      ['pin', true],
    ]);
  });

  test('leave names of up to four words in doubt whose hyphens are missing', () => {
    const hub = ['part left-front-wheel-hub "Hub"', 'part left-front-wheel-hub-nut "Nut"'];
    const variant = variantOf(procedure(hub, ['left front wheel hub nut comes off']));
    expect(variant.unsure.has('left-front-wheel-hub')).toBe(true);
    expect(variant.unsure.has('left-front-wheel-hub-nut')).toBe(false);
  });
});
