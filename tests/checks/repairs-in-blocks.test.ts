import { describe, expect, test } from 'vitest';
import { repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { patched } from '../../server/src/checks/mend.ts';
import { judgeFiles } from './fixtures.ts';

const codesOf = (text: string): string[] =>
  judgeFiles([{ name: 'example.fettle', text }])[0]!.judged.findings.flatMap(({ code }) =>
    code === 'never-used' ? [] : [code],
  );

/** The text after each repair of the first finding of `code`, without its head. */
function mends(text: string, code: string): string[] {
  const { model, judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
  const context = { model, ledger: judged.ledger, settings: defaultSettings };
  const finding = judged.findings.find((each) => each.code === code)!;
  expect(finding, code).toBeDefined();
  return repairsFor(finding, context).map(({ edits }) => patched(text, edits));
}

const head = `procedure unit "Unit"
  applies to GP-11, GP-14, GP-17
`;
const bolts = 'part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\npart lid "Lid" held by bolt\n';

describe('a repair changes nothing for codes that the finding does not hold for', () => {
  test.each([
    [
      'left-off',
      `part lid "Lid"
teardown
  step open
    identify "Read the code"
    for GP-11, GP-17
      remove lid
    end
reassembly
  step close
    do "Wipe the bench"
`,
      '    do "Wipe the bench"\n    for GP-11, GP-17\n      fit lid\n    end\n',
    ],
    [
      'left-off',
      `part lid "Lid"
teardown
  step open
    identify "Read the code"
    remove lid
reassembly
  step close
    for GP-11
      fit lid
    end
`,
      '    end\n    for GP-14, GP-17\n      fit lid\n    end\n',
    ],
    [
      'left-off',
      `part lid "Lid"
part pin "Pin" behind lid
teardown
  step open
    identify "Read the code"
    remove lid
    for GP-14
      remove pin
    end
reassembly
  step close
    for GP-11
      fit lid
    end
    for GP-14, GP-17
      fit lid
    end
`,
      '    for GP-14, GP-17\n      for GP-14\n        fit pin\n      end\n      fit lid\n    end\n',
    ],
    [
      'left-open',
      `part hose "Hose"
teardown
  step open
    identify "Read the code"
    for GP-14
      disconnect hose
    end
reassembly
  step close
    do "Wipe the bench"
`,
      '    for GP-14\n      connect hose\n    end\n',
    ],
    [
      'left-open',
      `supply oil "Oil" 2 L
teardown
  step open
    identify "Read the code"
    for GP-14
      drain oil
    end
reassembly
  step close
    do "Wipe the bench"
`,
      '    for GP-14\n      fill oil 2 L\n    end\n',
    ],
    [
      'count-short',
      `part pin x4 "Pin"
teardown
  step open
    identify "Read the code"
    remove pin
reassembly
  step close
    fit pin x3
    for GP-11, GP-14
      fit pin x1
    end
`,
      '    for GP-17\n      fit pin x1\n    end\n',
    ],
    [
      'left-loose',
      `${bolts}teardown
  step open
    identify "Read the code"
    loosen bolt
reassembly
  step close
    for GP-11
      tighten bolt order 1 3 2 4
    end
`,
      '    end\n    for GP-14, GP-17\n      tighten bolt',
    ],
    [
      'left-behind',
      `part drum "Drum"
part new-drum "Drum"
part key "Key" carried by drum
teardown
  step open
    identify "Read the code"
    remove drum
    swap drum for new-drum
    for GP-11, GP-14
      transfer key from drum to new-drum
    end
reassembly
  step close
    fit new-drum
`,
      '    swap drum for new-drum\n    for GP-17\n      transfer key from drum to new-drum\n    end\n',
    ],
  ])('%s', (code, body, expected) => {
    const after = mends(head + body, code);
    expect(after).toHaveLength(1);
    expect(after[0]).toContain(expected);
    expect(codesOf(after[0]!)).toEqual([]);
  });

  test('a figure that other codes see is not corrected for one of them', () => {
    const text = `${head}part pin x4 "Pin"
teardown
  step open
    identify "Read the code"
    for GP-11
      remove pin
    end
    for GP-14, GP-17
      remove pin x2
    end
reassembly
  step close
    fit pin x4
`;
    expect(codesOf(text)).toEqual(['count-short']);
    expect(mends(text, 'count-short')).toEqual([]);
  });
});

describe('what alternatives have in common is mended behind them', () => {
  const open = `${bolts}teardown
  step open
    remove bolt
    remove lid
reassembly
  step close
    fit lid
    either "Powered driver"
`;
  test.each([
    ['left-loose', '      fit bolt\n    or "By hand"\n      fit bolt\n    end\n'],
    ['left-off', '      do "Warm it"\n    or "By hand"\n      do "Oil it"\n    end\n'],
    ['count-short', '      fit bolt x3\n    or "By hand"\n      fit bolt x3\n    end\n    tighten bolt x3\n'],
  ])('%s', (code, branches) => {
    const [after, ...others] = mends(open + branches, code);
    expect(others).toEqual([]);
    expect(codesOf(after!).filter((each) => each !== 'left-loose')).toEqual([]);
  });

  test('a part goes back in the alternative that it came off in', () => {
    const text = `part lid "Lid"
part pin "Pin"
teardown
  step open
    do "Wipe it"
reassembly
  step close
    either "Lid on"
      do "Look in"
    or "Lid off"
      remove pin
      remove lid
      fit lid
    end
`;
    // Left unlike by the branches, nothing is concluded about it: the shorter branch is told of.
    expect(codesOf(text)).toEqual(['branches-differ']);
  });

  test('an empty branch is completed, too', () => {
    const text = `part lid "Lid"
teardown
  step open
    remove lid
reassembly
  step close
    either "Press it on"
      fit lid
    or "Push it on"
    end
`;
    const [after] = mends(text, 'branches-differ');
    expect(after).toContain('    or "Push it on"\n      fit lid\n    end\n');
    expect(codesOf(after!)).toEqual([]);
  });

  const bolted = (one: string, other: string): string =>
    `${head}${bolts}teardown\n  step open\n    identify "Read the code"\n    remove bolt\n    remove lid\nreassembly\n  step close\n    either "By hand"\n${one}    or "With the crane"\n${other}    end\n    tighten bolt order star\n`;
  test('what a branch lacks goes where the other has it', () => {
    const whole = '      clean lid\n      fit lid\n      fit bolt\n      tighten bolt by hand\n';
    for (const line of ['fit lid', 'fit bolt', 'tighten bolt by hand']) {
      const short = whole.replace(`      ${line}\n`, '');
      for (const text of [bolted(whole, short), bolted(short, whole)]) {
        const [after, ...more] = mends(text, 'branches-differ');
        expect(after, line).toBe(bolted(whole, whole));
        expect(more).toEqual([]);
      }
    }
    const bare = bolted(whole, '      clean lid\n      do "Look"\n');
    expect(mends(bare, 'branches-differ')).toEqual([
      bolted(whole, '      clean lid\n      do "Look"\n      fit lid\n'),
    ]);
  });

  test('where branches do otherwise, neither is said to be short of what the other does', () => {
    const twice = '      fit lid\n      fit bolt x2\n      fit bolt x2\n';
    expect(mends(bolted(twice, '      fit lid\n      fit bolt x3\n'), 'branches-differ')).toEqual([]);
    const nested = '      fit lid\n      for GP-11\n        fit bolt\n      end\n';
    expect(mends(bolted(nested, '      fit lid\n      fit bolt\n'), 'branches-differ')).toEqual([]);
  });

  // Common practice, no source: what is worn is renewed, what is sound goes back.
  test.each([
    ['with `else`', '      discard ring "Worn"\n    else\n      clean ring\n'],
    ['without', '      do "Look closer"\n      discard ring "Worn"\n'],
  ])('what is scrapped in one branch and good in the other is replaced there, %s', (_, branches) => {
    const text = `part ring "Ring"\nteardown\n  step open\n    remove ring\ninspection\n  step judge\n    if "it is worn"\n${branches}    end\nreassembly\n  step close\n    fit ring\n`;
    expect(codesOf(text)).toContain('branches-differ');
    const [after, ...more] = mends(text, 'branches-differ');
    expect(after).toBe(text.replace('discard', 'replace'));
    expect(codesOf(after!)).toEqual([]);
    expect(more).toEqual([]);
  });
});

test('what one branch replaces where it sits, and is fitted below in any case, comes off above', () => {
  const text = (above: string, ring: string): string => `part shaft "Shaft"
part ring "Ring" carried by shaft
part gear "Gear" carried by shaft held by ring hazard spring
teardown
  step strip
    remove shaft
${ring}inspection
  step judge
${above}    if "it is worn"
      replace gear
    end
reassembly
  step build
    warning "The gear can jump and hurt your eyes. Wear goggles."
    fit gear
    fit ring
    fit shaft
`;
  const off = '    remove ring\n';
  const [after, ...more] = mends(text('', off), 'branches-differ');
  expect(more).toEqual([]);
  const warning = /( {4}warning .*\n)(?= {4}remove)/.exec(after!)?.[1];
  expect(after).toBe(text(`${warning}    remove gear\n`, off));
  expect(codesOf(after!)).toEqual([]);
  // What holds it is on.
  expect(mends(text('', ''), 'branches-differ')).toEqual([]);
});

test('a branch that swaps is not completed in the other, which has nothing of what is swapped in', () => {
  const swapping = (other: string): string => `part old-gear "Gear"
part new-gear "Gear"
part key "Key" carried by old-gear
teardown
  step open
    remove old-gear
reassembly
  step close
    either "Worn"
      swap old-gear for new-gear
      transfer key from old-gear to new-gear
      fit new-gear
    or "Good"
      ${other}
    end
`;
  const offered = (text: string): string[] => {
    const { model, judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
    const context = { model, ledger: judged.ledger, settings: defaultSettings };
    const differ = judged.findings.filter(({ code }) => code === 'branches-differ');
    expect(differ.map(({ message }) => message.split(' ')[0])).toContain('`new-gear`');
    return differ.flatMap((finding) => repairsFor(finding, context)).map(({ title }) => title);
  };
  expect(offered(swapping('fit old-gear'))).toEqual([]);
  // The swap first, then what hangs on it.
  const swap = 'swap old-gear for new-gear';
  expect(offered(swapping('do "Look"'))).toEqual([`Complete the shorter branch: ${swap}`]);
  expect(offered(swapping(swap))).toEqual([
    'Complete the shorter branch: fit new-gear',
    'Complete the shorter branch: transfer key from old-gear to new-gear',
  ]);
});

test('what one branch replaces on its carrier goes back there', () => {
  const text = `part hub "Hub"
part bush "Bush" carried by hub
teardown
  step open
    remove hub
    if "the bush is scored"
      replace bush
    end
reassembly
  step close
    fit hub
`;
  const { model, judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
  const context = { model, ledger: judged.ledger, settings: defaultSettings };
  const [repair, ...others] = judged.findings.flatMap((finding) => repairsFor(finding, context));
  expect(others).toEqual([]);
  expect(repair!.title).toBe('Fit bush where it is replaced');
  const after = patched(text, repair!.edits);
  expect(after).toBe(text.replace('      replace bush\n', '      replace bush\n      fit bush\n'));
  expect(judgeFiles([{ name: 'example.fettle', text: after }])[0]!.judged.findings).toEqual([]);
});

describe('repairs that wrote what is wrong elsewhere', () => {
  test.each([
    [
      'a connection renewed is fitted new: `new` stands behind `fit` alone',
      'renew-refitted',
      'part hose "Hose" renew\nteardown\n  step open\n    disconnect hose\nreassembly\n  step close\n    connect hose "By hand"\n',
      '    fit new hose "By hand"\n',
    ],
    [
      'what comes off below is moved up, with what loosens it and its words',
      'still-held',
      `${bolts}teardown
  step open
    loosen bolt x2
    remove bolt x2
    remove lid
    loosen bolt
    remove bolt "Under the plate" keep in "tray A"
reassembly
  step close
    fit lid
    fit bolt
    tighten bolt order star
`,
      '    remove bolt x2\n    loosen bolt\n    remove bolt "Under the plate" keep in "tray A"\n    remove lid\nreassembly\n',
    ],
    [
      'what comes off below in part is moved up, and the rest taken off with it',
      'still-held',
      `part pin x3 "Pin"
part lid "Lid" held by pin
teardown
  step open
    remove lid
    remove pin x2
reassembly
  step close
    fit lid
    fit pin
`,
      '    remove pin x2\n    remove pin\n    remove lid\n',
    ],
    [
      'only the pieces left behind are transferred',
      'left-behind',
      `part drum "Drum"
part new-drum "Drum"
part key x3 "Key" carried by drum
teardown
  step open
    remove drum
    swap drum for new-drum
    transfer key x1 from drum to new-drum
reassembly
  step close
    fit new-drum
`,
      '    transfer key x2 from drum to new-drum\n',
    ],
  ])('%s', (_, code, text, expected) => {
    const [after, ...others] = mends(text, code);
    expect(others).toEqual([]);
    expect(after).toContain(expected);
    expect(codesOf(after!)).toEqual([]);
  });

  test.each([
    ['nothing is moved out of a block that says when', 'GP-11'],
    ['where it comes off below for one code alone, nothing is taken off for all', 'GP-17'],
  ])('%s', (_, code) => {
    const text = `${head}${bolts}teardown
  step open
    identify "Read the code"
    remove lid
    for ${code}
      remove bolt
    end
reassembly
  step close
    fit lid
    fit bolt
    tighten bolt order star
`;
    expect(mends(text, 'still-held')).toEqual([]);
  });

  test('what is taken off again while it is held, once it is back, stays on', () => {
    const text = (...lines: readonly string[]): string =>
      `part clip "Clip"\npart lid "Lid" held by clip\nteardown\n  step open\n    remove clip\n    remove lid\nreassembly\n  step close\n    fit lid\n    fit clip\n${lines.map((line) => `    ${line}\n`).join('')}`;
    for (const code of ['still-held', 'left-off']) expect(mends(text('remove lid'), code), code).toEqual([text()]);
    // What nothing holds may well be meant to come off again.
    expect(mends(text('remove clip', 'remove lid'), 'left-off')).toEqual([
      text('remove clip', 'remove lid', 'fit clip'),
    ]);
    expect(mends(text('remove lid', 'fit lid'), 'still-held')).toEqual([
      text('remove clip', 'remove lid', 'fit lid', 'fit clip'),
    ]);
  });

  test('a line that slipped down behind where its holders went back moves up again', () => {
    const declared = 'part bolt "Bolt"\npart lid "Lid" held by bolt hazard weight\npart seal "Seal" behind lid\n';
    const text = (off: readonly string[], on: readonly string[]): string =>
      `${declared}teardown\n  step open\n${off.map((line) => `    ${line}\n`).join('')}reassembly\n  step close\n${on.map((line) => `    ${line}\n`).join('')}`;
    const warning = 'warning "A falling part can crush. Keep hands and feet clear."';
    expect(mends(text(['remove bolt'], ['fit lid', 'fit bolt', 'remove lid keep in "tray"']), 'still-held')).toEqual([
      text(['remove bolt', warning, 'remove lid keep in "tray"'], ['fit lid', 'fit bolt']),
    ]);
  });

  test('what is in the way of a holder comes off before it, with its mark, however it is found', () => {
    // The bracket is in the way of the nut and behind the guard, which is behind nothing.
    const text = (...lines: readonly string[]): string =>
      `part guard "Guard"
part clip "Clip" behind guard
part bracket "Bracket" index held by clip behind guard
part nut "Nut" behind bracket
part wheel "Wheel" held by nut
teardown
  step open
${lines.map((line) => `    ${line}\n`).join('')}reassembly
  step close
    fit wheel
    fit nut
    fit bracket
    fit clip
    fit guard
`;
    const others = ['remove guard', 'remove clip', 'mark bracket "A dot"', 'remove bracket', 'remove nut'];
    expect(mends(text('remove wheel', ...others), 'still-held')).toEqual([text(...others, 'remove wheel')]);
  });

  test('what is shut in where it came off is fitted nowhere while that stays on', () => {
    const text = (off: readonly string[], ...lines: readonly string[]): string =>
      `part clip "Clip"\npart lid "Lid" held by clip\npart seal "Seal" behind lid\nteardown\n  step open\n${off.map((line) => `    ${line}\n`).join('')}reassembly\n  step close\n${lines.map((line) => `    ${line}\n`).join('')}`;
    const all = ['remove clip', 'remove lid', 'remove seal'];
    const back = ['fit seal', 'fit lid', 'fit clip'];
    expect(mends(text(all, ...back, 'remove seal'), 'left-off')).toEqual([text(all, ...back)]);
    // `fit seal` between would be as wrong: first the lid has to come off.
    expect(mends(text(all.slice(0, 2), ...back.slice(1), 'remove seal'), 'left-off')).toEqual([]);
    expect(mends(text(['remove lid'], 'do "Look inside"'), 'left-off')).toEqual([]);
    // The clip goes only below: then the lid may well go back.
    expect(mends(text(['remove lid', 'remove clip'], 'fit clip'), 'left-off')).toHaveLength(1);
  });

  test('what holds is taken off, and put back, below a warning of its hazards', () => {
    const text = `part guard "Guard" hazard weight
part lid "Lid" held by guard
teardown
  step open
    remove lid
    warning "The springs fly out. Wear goggles."
    do "Lift the springs out"
reassembly
  step close
    fit lid
`;
    const [after] = mends(text, 'still-held');
    expect(after).toContain(
      'step open\n    warning "A falling part can crush. Keep hands and feet clear."\n    remove guard\n    remove lid\n',
    );
    expect(after).toContain(
      'fit lid\n    warning "A falling part can crush. Keep hands and feet clear."\n    fit guard\n',
    );
    expect(codesOf(after!)).toEqual([]);
  });

  test('a warning stands above all hazardous work of the step, and names each hazard', () => {
    const text = `part ring "Ring"
teardown
  step open
    remove ring
reassembly
  step close
    press ring
    heat ring to 80 °C
    fit ring
`;
    const { model, judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
    const context = { model, ledger: judged.ledger, settings: defaultSettings };
    expect(judged.findings.map(({ code }) => code)).toEqual(['unwarned']);
    const after = patched(text, repairsFor(judged.findings[0]!, context)[0]!.edits);
    expect(after).toMatch(
      /step close\n {4}warning "Parts under force .*"\n {4}warning "Hot parts .*"\n {4}press ring\n/,
    );
    expect(codesOf(after)).toEqual([]);
  });

  test('a part is not said to be held by itself', () => {
    const text = 'part bolt "Bolt" held by blt\npart belt "Belt"\nteardown\n  step s\n    do "Look"\n';
    expect(mends(text, 'unknown-name')[0]).toContain('held by belt');
  });
});

test('an order over holes that `at holes` lists is held against that list', () => {
  const text = `part bolt x6 "Bolt" thread M8 class 8.8 torque 20 N·m holes ring
pattern ring circle 6 diameter 90 mm
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt x2 at holes 1, 4
    tighten bolt x4 at holes 2, 3, 5, 6 order 2 5 3 1
`;
  const { findings } = judgeFiles([{ name: 'example.fettle', text }])[0]!.judged;
  expect(findings.map(({ message }) => message)).toEqual([
    'the order does not name each of the 4 holes of `bolt` once: hole 6 left out; 1 does not stand behind `at holes`.',
  ]);
});

test.each([
  [
    'unwarned',
    'part ring "Ring"\nteardown\n  heat ring to 80 °C\n',
    '  warning "Hot parts burn skin. Wear heat-proof gloves."\n  heat ring to 80 °C\n',
  ],
  [
    'left-off',
    'part lid "Lid" hazard weight\npart pin "Pin"\nteardown\n  step open\n    caution "Heavy."\n    remove lid\n    remove pin\nreassembly\n  fit pin\n',
    '  fit pin\n  warning "A falling part can crush. Keep hands and feet clear."\n  fit lid\n',
  ],
])('%s where no step is open yet', (code, text, expected) => {
  expect(mends(text, code)[0]).toContain(expected);
});
