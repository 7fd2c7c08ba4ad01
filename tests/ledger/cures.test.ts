import { expect, test } from 'vitest';
import { reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { type Ledger, replay } from '../../server/src/ledger/ledger.ts';
import { bind, type Model } from '../../server/src/model/model.ts';

/** By code and supply, how many minutes too early the unit is loaded. */
const early = ({ variants }: Ledger): string[] =>
  variants.flatMap(({ code, earlyLoads }) =>
    earlyLoads.map(({ supply, cure, elapsed }) => `${code}: ${supply} ${Math.round((cure - elapsed) / 60)}`),
  );

function edited(before: Model, old: string, by: string): Model {
  const start = before.tree.text.indexOf(old);
  expect(start, old).toBeGreaterThanOrEqual(0);
  return bind(reparse(before.tree, { start, end: start + old.length, text: by }), undefined, before);
}

const text = `procedure pump "Reseal the pump"
  applies to PU-1, PU-2
part cover "Cover"
supply sealant "Sealant" cure 60 min
supply paste "Paste"
supply oil "Oil" 1 L
reassembly
  step close
    apply sealant to cover
    apply paste to cover
  step tidy takes 10 min
    clean cover
  step check-it
    check "Bead unbroken"
  step look
    notice "Look."
  step fill-up
    wait 20 min
    fill oil 1 L
`;

test.each<[what: string, old: string, by: string, minutes: string[]]>([
  ['a wait', 'wait 20 min', 'wait 25 min', ['PU-1: sealant 25', 'PU-2: sealant 25']],
  ['a wait taken out', '    wait 20 min\n', '', ['PU-1: sealant 50', 'PU-2: sealant 50']],
  ['the time of a step', 'takes 10 min', 'takes 15 min', ['PU-1: sealant 25', 'PU-2: sealant 25']],
  ['a time that a step had not', 'step look', 'step look takes 5 min', ['PU-1: sealant 25', 'PU-2: sealant 25']],
  ['no time any more', 'step tidy takes 10 min', 'step tidy', ['PU-1: sealant 40', 'PU-2: sealant 40']],
  ['what cures', 'cure 60 min', 'cure 70 min', ['PU-1: sealant 40', 'PU-2: sealant 40']],
  ['what cures no more', ' cure 60 min', '', []],
  [
    'what cures as well',
    'supply paste "Paste"',
    'supply paste "Paste" cure 40 min',
    ['PU-1: paste 10', 'PU-1: sealant 30', 'PU-2: paste 10', 'PU-2: sealant 30'],
  ],
  ['a fluid of another name', 'supply oil', 'supply grease', []],
  ['an application taken out', '    apply sealant to cover\n', '', []],
  ['a loading taken out', '    fill oil 1 L\n', '', []],
  [
    'a check that has become one of the proving',
    '  step check-it',
    'proving\n  step check-it',
    ['PU-1: sealant 50', 'PU-2: sealant 50'],
  ],
  [
    'work that has become that of one code',
    '    clean cover\n',
    '    for PU-2\n      clean cover\n    end\n',
    ['PU-1: sealant 40', 'PU-2: sealant 30'],
  ],
  ['a text that bears on none', 'clean cover', 'clean cover "Dry"', ['PU-1: sealant 30', 'PU-2: sealant 30']],
])('after an edit of %s the times are those of a fresh reading', (_, old, by, minutes) => {
  const before = bind(parse('test.fettle', text));
  const now = edited(before, old, by);
  const after = replay(now, replay(before));
  expect(early(after)).toEqual(minutes);
  expect(early(replay(bind(parse('test.fettle', now.tree.text))))).toEqual(minutes);
  const back = edited(now, by, old);
  if (by !== '') expect(early(replay(back, after))).toEqual(['PU-1: sealant 30', 'PU-2: sealant 30']);
});

const branching = text.replace(
  '    wait 20 min\n',
  '    for PU-2\n      wait 20 min\n    end\n    if "it is cold"\n      wait 30 min\n    end\n',
);
test.each<[what: string, old: string, by: string, minutes: string[]]>([
  ['the code that a wait is for', 'for PU-2', 'for PU-1', ['PU-1: sealant 30', 'PU-2: sealant 50']],
  ['a wait in a branch', 'wait 30 min', 'wait 40 min', ['PU-1: sealant 50', 'PU-2: sealant 30']],
  [
    'a branch that has an other',
    'wait 30 min\n',
    'wait 30 min\n    else\n      wait 10 min\n',
    ['PU-1: sealant 40', 'PU-2: sealant 20'],
  ],
  [
    'what a branch does',
    'wait 30 min',
    'apply sealant to cover',
    ['PU-1: sealant 60', 'PU-1: sealant 50', 'PU-2: sealant 60', 'PU-2: sealant 30'],
  ],
  ['a text in a branch', 'if "it is cold"', 'if "it is very cold"', ['PU-1: sealant 50', 'PU-2: sealant 30']],
])('after an edit of %s among branches the times are those of a fresh reading', (_, old, by, minutes) => {
  const before = bind(parse('test.fettle', branching));
  expect(early(replay(before))).toEqual(['PU-1: sealant 50', 'PU-2: sealant 30']);
  const now = edited(before, old, by);
  expect(early(replay(now, replay(before)))).toEqual(minutes);
  expect(early(replay(bind(parse('test.fettle', now.tree.text))))).toEqual(minutes);
});
