import { describe, expect, test } from 'vitest';
import { format } from '../../grammar/printer.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import type { Repair } from '../../server/src/checks/check.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judgeFiles } from './fixtures.ts';

/** The codes of all findings. */
const codesIn = (text: string): string[] =>
  judgeFiles([{ name: 'example.fettle', text }])[0]!.judged.findings.map(({ code }) => code);

/** What the findings of `code` say. */
const messagesIn = (text: string, code: string): string[] =>
  judgeFiles([{ name: 'example.fettle', text }])[0]!.judged.findings.flatMap((finding) =>
    finding.code === code ? [finding.message] : [],
  );

/** Every repair of the findings of `code`, each with the text that it leaves. */
function repairsIn(text: string, code: string): { title: string; safe: boolean; after: string }[] {
  const { model, judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
  const context = { model, ledger: judged.ledger, settings: defaultSettings };
  const check = allChecks.find((each) => each.code === code)!;
  const mend = ({ title, safe, edits }: Repair) => {
    let after = text;
    for (const edit of [...edits].sort((a, b) => b.start - a.start))
      after = after.slice(0, edit.start) + edit.text + after.slice(edit.end);
    return { title, safe, after };
  };
  return judged.findings
    .filter((finding) => finding.code === code)
    .flatMap((finding) => (check.repairs?.(finding, context) ?? []).map(mend));
}

/** Lines taken out (`-`) and put in (`+`), in order, each run behind the line it follows. */
function changed(before: string, after: string): string[] {
  const [old, now] = [before.split('\n'), after.split('\n')];
  // Longest common subsequence, from the end.
  const length = Array.from({ length: old.length + 1 }, () => new Array<number>(now.length + 1).fill(0));
  for (let i = old.length - 1; i >= 0; i--)
    for (let k = now.length - 1; k >= 0; k--)
      length[i]![k] = old[i] === now[k] ? length[i + 1]![k + 1]! + 1 : Math.max(length[i + 1]![k]!, length[i]![k + 1]!);
  const lines: string[] = [];
  let quiet = true;
  for (let i = 0, k = 0; i < old.length || k < now.length; ) {
    if (i < old.length && k < now.length && old[i] === now[k]) {
      quiet = true;
      i++;
      k++;
      continue;
    }
    if (quiet && i > 0) lines.push(`  ${old[i - 1]}`);
    quiet = false;
    if (i < old.length && (k >= now.length || length[i + 1]![k]! >= length[i]![k + 1]!)) lines.push(`- ${old[i++]}`);
    else lines.push(`+ ${now[k++]}`);
  }
  return lines;
}

/** By code: what each repair of the check's own bad example is called, and what it does. */
const repairs: Readonly<
  Record<string, readonly (readonly [title: string, safe: boolean, lines: readonly string[]])[]>
> = {
  'left-off': [
    [
      'Put cover back in the mirrored place',
      false,
      ['  ', '+ reassembly', '+   step put-back "Put it back"', '+     fit cover', '+ '],
    ],
  ],
  'count-short': [
    [
      'Correct the count to x12 where it goes back',
      false,
      ['    step close', '-     fit bolt x10', '+     fit bolt x12'],
    ],
    ['Fit the other 2', false, ['      fit bolt x10', '+     fit bolt x2']],
  ],
  'already-off': [],
  'renew-refitted': [
    ['Fit a new bore-plug', true, ['    step close', '-     fit bore-plug', '+     fit new bore-plug']],
  ],
  'not-replaced': [
    [
      'Fit a new seal in the mirrored place',
      false,
      ['  ', '+ reassembly', '+   step put-back "Put it back"', '+     fit new seal', '+ '],
    ],
  ],
  'left-behind': [
    [
      'Transfer wheel to new-drum',
      false,
      ['      swap old-drum for new-drum', '+     transfer wheel from old-drum to new-drum'],
    ],
  ],
  'left-loose': [['Tighten bolt to the declared torque', false, ['      loosen bolt', '+     tighten bolt to 25 N·m']]],
  'run-loose': [['Tighten bolt to the declared torque', false, ['      fit bolt', '+     tighten bolt to 25 N·m']]],
  'still-held': [
    ['Remove bolt first', false, ['    step open', '+     remove bolt', '      fit cover', '+     fit bolt']],
  ],
  'closed-in': [
    ['Move it above `fit cover`', false, ['    step close', '-     fit cover', '      fit gear', '+     fit cover']],
  ],
  'left-open': [['Fill oil', false, ['      drain oil', '+     fill oil 1.8 L']]],
  'fill-differs': [
    ['Fill 1.8 L as declared', false, ['    step fill', '-     fill oil 2.4 L', '+     fill oil 1.8 L']],
  ],
  'lost-mark': [['Mark flange first', false, ['    step open', '+     mark flange']]],
  'branches-differ': [['Complete the shorter branch: fit ring', false, ['        fit race', '+       fit ring']]],
  'stray-count': [
    [
      'Take it out',
      false,
      ['  part bolt x4 "Bolt"', '- part cover "Cover" held by bolt x4', '+ part cover "Cover" held by bolt'],
    ],
    [
      'Count cover with it',
      false,
      ['  part bolt x4 "Bolt"', '- part cover "Cover" held by bolt x4', '+ part cover x4 "Cover" held by bolt'],
    ],
  ],
  'never-used': [['Take the declaration of spacer out', false, ['  part cover "Cover"', '- part spacer "Spacer"']]],
  'no-order': [
    ['Tighten in a star order', false, ['    step close', '-     tighten bolt', '+     tighten bolt order star']],
  ],
  'stage-falls': [],
  'other-hand': [
    [
      'Declare `M16-LH`',
      false,
      [
        '- part nut "Fan nut" thread M16 class 8.8 torque 150 N·m',
        '+ part nut "Fan nut" thread M16-LH class 8.8 torque 150 N·m',
      ],
    ],
  ],
  'late-heat': [
    [
      'Move it above `fit gear`',
      false,
      [
        '      warning "Hot parts burn skin. Wear heat-proof gloves."',
        '-     fit gear',
        '      heat gear to 110 °C',
        '+     fit gear',
      ],
    ],
  ],
  'late-shim': [
    [
      'Fit pack behind it',
      false,
      ['    step set', '-     fit pack', '      shim pack gap play endplay 0.1..0.2 mm from 0.1 mm', '+     fit pack'],
    ],
  ],
  'angle-twice': [['Loosen bolt first', false, ['      tighten bolt', '+     loosen bolt']]],
  'kept-together': [
    [
      'Keep short-bolt in a place of its own',
      false,
      [
        '      remove long-bolt keep in "bag A"',
        '-     remove short-bolt keep in "bag A"',
        '+     remove short-bolt keep in "bag A, short-bolt"',
      ],
    ],
  ],
  'condition-differs': [
    [
      'Declare it with `paste`',
      false,
      [
        '- part bolt "Bolt" thread M8 class 8.8 torque 15 N·m',
        '+ part bolt "Bolt" thread M8 class 8.8 paste torque 15 N·m',
      ],
    ],
  ],
  'no-locker': [],
  'odd-size': [],
  'next-door': [
    [
      'Use order 1 4 2 5 3 6',
      false,
      ['    step close', '-     tighten bolt order 1 2 4 6 3 5', '+     tighten bolt order 1 4 2 5 3 6'],
    ],
  ],
  'torque-differs': [
    [
      'Tighten to 25 N·m as declared',
      false,
      ['    step close', '-     tighten bolt to 22 N·m', '+     tighten bolt to 25 N·m'],
    ],
  ],
  'no-unit': [
    [
      'Write 25 N·m',
      false,
      [
        '    measures metric',
        '- part bolt "Bolt" thread M8 class 8.8 torque 25',
        '+ part bolt "Bolt" thread M8 class 8.8 torque 25 N·m',
      ],
    ],
  ],
  'odd-thread': [
    ['Change it to M8x1.25', false, ['- part bolt "Bolt" thread M8x1.3', '+ part bolt "Bolt" thread M8x1.25']],
  ],
  'wrong-carrier': [],
  'tool-range': [],
  'adapter-setting': [
    [
      'Say it on the card: dial in 21.7 N·m',
      false,
      [
        '    step close',
        '-     tighten bolt using wrench extension 60 mm on 400 mm',
        '+     tighten bolt using wrench extension 60 mm on 400 mm "Dial in 21.7 N·m."',
      ],
    ],
  ],
  'mixed-units': [
    [
      'Restate it as (24.4 N·m)',
      true,
      [
        '    measures metric',
        '- part bolt "Bolt" thread M8 class 8.8 torque 18 lbf·ft',
        '+ part bolt "Bolt" thread M8 class 8.8 torque 18 lbf·ft (24.4 N·m)',
      ],
    ],
  ],
  'restated-wrong': [
    [
      'Keep 25 N·m, restate it as (18 lbf·ft)',
      false,
      [
        '- part bolt "Bolt" thread M8 class 8.8 torque 25 N·m (25 lbf·ft)',
        '+ part bolt "Bolt" thread M8 class 8.8 torque 25 N·m (18 lbf·ft)',
      ],
    ],
  ],
  'not-cured': [['Wait 40 min first', false, ['      wait 20 min', '+     wait 40 min "sealant cures"']]],
  'unit-unread': [
    [
      'Have the code read first',
      false,
      ['    step open', '+     identify "Read the code on the unit and compare it with the codes of this procedure."'],
    ],
  ],
  'unknown-name': [
    ['Change it to `cover`', false, ['      fit cover', '-     clean covr', '+     clean cover']],
    ['Declare the part `covr`', false, ['  part cover "Cover"', '+ part covr "Covr"']],
  ],
  'drain-open': [
    [
      'Fill oil behind fit drain-plug',
      false,
      ['    step fill', '-     fill oil 1.8 L', '      fit drain-plug', '+     fill oil 1.8 L'],
    ],
  ],
  'late-warning': [
    [
      'Move the warning above it',
      false,
      [
        '    step on',
        '-     heat race to 100 °C',
        '      warning "Hot parts burn. Wear gloves."',
        '+     heat race to 100 °C',
      ],
    ],
    [
      'Write a warning above it',
      false,
      ['    step on', '+     warning "Hot parts burn skin. Wear heat-proof gloves."'],
    ],
  ],
  unwarned: [
    [
      'Write a warning above it',
      false,
      ['    step on', '+     warning "Hot parts burn skin. Wear heat-proof gloves."'],
    ],
  ],
  'not-isolated': [
    [
      'Write a warning above it',
      false,
      [
        '      warning "Hot oil burns. Wear gloves."',
        '+     warning "Live parts can kill. Lock off the supply and prove them dead."',
      ],
    ],
  ],
  unsupported: [['Support head first', false, ['      warning "Edges cut. Wear gloves."', '+     support head']]],
  'hidden-text': [
    [
      'Take the hidden character out',
      false,
      ['    step look', '-     do "Turn the sha\u200bft by hand."', '+     do "Turn the shaft by hand."'],
    ],
  ],
  'look-alike': [
    [
      'Write bolt in Latin letters',
      false,
      [
        '- part b\u043elt "Bolt"',
        '+ part bolt "Bolt"',
        '    step open',
        '-     remove b\u043elt',
        '+     remove bolt',
        '    step close',
        '-     fit b\u043elt',
        '+     fit bolt',
      ],
    ],
  ],
  'idle-allow': [
    [
      'Take the allowance out',
      false,
      ['    step open', '-     # fettle-allow left-off: it goes back with the new lid'],
    ],
  ],
  syntax: [['Write `remove`', false, ['    step open', '-     remvoe cover', '+     remove cover']]],
};

describe.each(allChecks.filter((check) => check.repairs !== undefined))('the repairs of $code', ({ code, bad }) => {
  test('are these, and only a certain one is called safe', () => {
    const text = `${bad}\n`;
    expect(repairsIn(text, code).map(({ title, safe, after }) => [title, safe, changed(text, after)])).toEqual(
      repairs[code],
    );
  });
});

/** `lines` as a file: three parts, taken off from the outside inwards. */
const stack = (...lines: readonly string[]): string =>
  ['part cover "Cover"', 'part gear "Gear"', 'part ring "Ring"', ...lines].map((line) => `${line}\n`).join('');
const opened = ['teardown', '  step open', '    remove cover', '    remove gear', '    remove ring'];
const closing = ['reassembly', '  step close'];

describe('more go back than came off', () => {
  const text = (off: string, back: string) =>
    `part bolt x12 "Bolt"\nteardown\n  step open\n    remove bolt${off}\nreassembly\n  step close\n    fit bolt ${back}\n`;

  // All that there are go back: which of the two counts is wrong nobody can tell.
  test('where all that are declared do, either count may be wrong', () => {
    const [finding] = judgeFiles([{ name: 'example.fettle', text: text(' x11', 'x12') }])[0]!.judged.findings;
    expect(finding!.message).toBe(
      '11 off, 12 back: 1 of `bolt` more than there are to fit; take all 12 off above, or write `x11`.',
    );
    expect(repairsIn(text(' x11', 'x12'), 'count-short').map(({ title, safe }) => [title, safe])).toEqual([
      ['Correct the count to x11', false],
    ]);
  });

  test('where more do than are declared, or one went to scrap, that count is wrong', () => {
    expect(
      repairsIn(text('\n    discard bolt x1', 'x12'), 'count-short').map(({ title, safe }) => [title, safe]),
    ).toEqual([['Correct the count to x11', true]]);
    expect(repairsIn(text('', 'x14'), 'count-short').map(({ title, safe }) => [title, safe])).toEqual([
      ['Correct the count to x12', true],
    ]);
  });
});

describe('what is missing goes back where it came from in the mirror', () => {
  test.each([
    ['the one taken off last, before all', ['    fit gear', '    fit cover'], ['    step close', '+     fit ring']],
    ['one from between, between', ['    fit ring', '    fit cover'], ['      fit ring', '+     fit gear']],
    ['the one taken off first, behind all', ['    fit ring', '    fit gear'], ['      fit gear', '+     fit cover']],
    [
      'other work does not count',
      ['    clean cover', '    fit ring', '    clean gear', '    fit gear', '    clean ring'],
      ['      fit gear', '+     fit cover'],
    ],
  ])('%s', (_, back, lines) => {
    const text = stack(...opened, ...closing, ...back);
    const [repair, ...more] = repairsIn(text, 'left-off');
    expect(more).toEqual([]);
    expect(changed(text, repair!.after)).toEqual(lines);
    expect(repairsIn(repair!.after, 'left-off')).toEqual([]);
  });

  const bolted = (count: number): string =>
    `part bolt x${count} "Bolt" thread M8 class 8.8 torque 25 N·m holes rim\npattern rim circle ${count} diameter 90 mm\n`;
  test.each([
    [
      'few fasteners, to their torque',
      `${bolted(2)}teardown\n  step open\n    remove bolt\nreassembly\n  step close\n    do "Look."\n`,
      ['      do "Look."', '+     fit bolt', '+     tighten bolt to 25 N·m'],
    ],
    [
      'an angle, in the units of the procedure, with the tools that suit, as the draft has it',
      [
        'procedure lid "Lid"\n  measures imperial',
        'part bolt x6 "Bolt" thread M8 class 10.9 torque 20 N·m then 90° holes rim',
        'pattern rim circle 6 diameter 90 mm',
        'tool small "Small wrench" range 11..60 N·m',
        'tool gauge "Angle gauge"',
        'teardown\n  step open\n    remove bolt\nreassembly\n  step close\n    do "Look."\n',
      ].join('\n'),
      [
        '      do "Look."',
        '+     fit bolt',
        '+     tighten bolt to 20 N·m (14.8 lbf·ft) then 90° in stages 11 N·m (8.11 lbf·ft), 20 N·m (14.8 lbf·ft) order star using small, gauge',
      ],
    ],
    [
      'four or more, in two stages and a star',
      `${bolted(4)}teardown\n  step open\n    remove bolt\nreassembly\n  step close\n    do "Look."\n`,
      ['      do "Look."', '+     fit bolt', '+     tighten bolt in stages 13 N·m, 25 N·m order star'],
    ],
    [
      'some of a part, by count',
      `${bolted(4)}teardown\n  step open\n    remove bolt x2\nreassembly\n  step close\n    do "Look."\n`,
      ['      do "Look."', '+     fit bolt x2', '+     tighten bolt x2 to 25 N·m'],
    ],
    [
      'no step of the reassembly there yet',
      `${stack('teardown', '  step open', '    remove gear')}reassembly\n`,
      ['  reassembly', '+   step put-back "Put it back"', '+     fit gear'],
    ],
    [
      'only a proving behind it',
      `${stack('teardown', '  step open', '    remove gear')}proving\n  step run\n    check "Turn it."\n`,
      ['      remove gear', '+ reassembly', '+   step put-back "Put it back"', '+     fit gear', '+ '],
    ],
    [
      'taken off after the reassembly',
      stack(
        'procedure gear "Gear"',
        ...closing,
        '    do "Look."',
        'proving',
        '  step run',
        '    remove gear',
        '    check "Turn it."',
      ),
      ['      check "Turn it."', '+     fit gear'],
    ],
    [
      'a step with nothing in it',
      stack('teardown', '  step open', '    remove gear', 'reassembly', '  step close "Close it" takes 5 min'),
      ['    step close "Close it" takes 5 min', '+     fit gear'],
    ],
    [
      'a comment behind the line',
      stack('teardown', '  step open', '    remove gear', ...closing, '    clean gear # both faces'),
      ['      clean gear # both faces', '+     fit gear'],
    ],
    [
      'two statements on one line',
      stack(...opened, ...closing, '    fit ring fit cover'),
      ['    step close', '-     fit ring fit cover', '+     fit ring fit gear', '+     fit cover'],
    ],
    [
      'line ends of two signs',
      stack(...opened, ...closing, '    fit ring', '    fit gear').replaceAll('\n', '\r\n'),
      ['      fit gear\r', '+     fit cover\r'],
    ],
  ])('%s', (_, text, lines) => {
    const [repair] = repairsIn(text, 'left-off');
    expect(changed(text, repair!.after)).toEqual(lines);
    expect(repairsIn(repair!.after, 'left-off')).toEqual([]);
  });

  test('what was disconnected is connected', () => {
    const text = stack(
      'part hose "Hose"',
      'teardown',
      '  step open',
      '    remove cover',
      '    disconnect hose',
      ...closing,
      '    fit cover',
    );
    const [repair] = repairsIn(text, 'left-open');
    expect(repair!.title).toBe('Connect hose in the mirrored place');
    expect(changed(text, repair!.after)).toEqual(['    step close', '+     connect hose']);
  });
  test('what can hurt goes back below a warning, its own where none stands above the place', () => {
    const text = (...lines: string[]): string =>
      stack(
        'part hose "Hose" hazard pressure',
        'teardown',
        '  step open',
        '    remove cover',
        '    warning "Oil can spray out. Bleed the line."',
        '    disconnect hose',
        ...closing,
        ...lines,
      );
    const own = '+     warning "Trapped pressure can pierce skin. Release it and prove it gone."';
    for (const [lines, added] of [
      [['    fit cover'], ['    step close', own, '+     connect hose']],
      [
        ['    fit cover', '    warning "Oil can spray out."', '    do "Look."'],
        ['    step close', own, '+     connect hose'],
      ],
      [
        ['    warning "Oil can spray out."', '    fit cover'],
        ['      warning "Oil can spray out."', '+     connect hose'],
      ],
    ] as const) {
      const before = text(...lines);
      const [repair] = repairsIn(before, 'left-open');
      expect(changed(before, repair!.after)).toEqual(added);
      expect(codesIn(repair!.after)).toEqual([]);
    }
  });
  test('what is to be filled and can hurt, too', () => {
    const acid =
      'supply acid "Acid" 1.8 L hazard chemical\nteardown\n  step open\n    warning "Burns."\n    drain acid\n';
    const text = `${acid}reassembly\n  step close\n    do "Look."\n`;
    const after = repairsIn(text, 'left-open')[0]!.after;
    expect(changed(text, after)).toEqual([
      '      do "Look."',
      '+     warning "Chemicals irritate skin and eyes. Wear gloves and goggles."',
      '+     fill acid 1.8 L',
    ]);
    expect(codesIn(after)).toEqual([]);
  });
  test('also beside statements that stand in no step', () => {
    const text = `part cover "Cover"
part hose "Hose" hazard pressure
teardown
  remove cover
  disconnect hose
reassembly
  fit cover
`;
    const own = 'warning "Trapped pressure can pierce skin. Release it and prove it gone."';
    expect(changed(text, repairsIn(text, 'left-open')[0]!.after)).toEqual([
      '  reassembly',
      `+   ${own}`,
      '+   connect hose',
    ]);
    expect(changed(text, repairsIn(text, 'unwarned')[0]!.after)).toEqual(['    remove cover', `+   ${own}`]);
  });
  test('captive bolts of which some are loosened: the rest are loosened, too', () => {
    const text = (
      ...off: string[]
    ): string => `part bolt x4 "Captive bolt" carried by cover thread M6 class 8.8 torque 9 N·m
part cover "Cover" held by bolt
teardown
  step open
${off.map((line) => `    ${line}\n`).join('')}reassembly
  step close
    fit cover
    tighten bolt order star
`;
    const mended = text('loosen bolt x1', 'loosen bolt', 'remove cover');
    for (const off of [[], ['loosen bolt']]) {
      const [repair] = repairsIn(text('loosen bolt x1', 'remove cover', ...off), 'still-held');
      expect(repair).toMatchObject({ title: 'Loosen bolt first', after: mended });
    }
    expect(codesIn(mended)).toEqual([]);
  });
  test('captive bolts that nothing loosens: they are loosened, tightened where the cover is back, and stripped where they were', () => {
    const text = (off: string, on = ''): string =>
      `part bolt x4 "Captive bolt" carried by cover thread M6 class 8.8 torque 9 N·m\npart cover "Cover" held by bolt\nteardown\n  step open\n${off}reassembly\n  step close\n    fit cover\n${on}`;
    const mended = (off: string, on: string): void => {
      const [repair, ...more] = repairsIn(text(off, on), 'still-held');
      expect(more).toEqual([]);
      expect(repair?.title).toBe('Loosen bolt first');
      const order = '    tighten bolt in stages 4.5 N·m, 9 N·m order star\n';
      expect(repair!.after).toBe(
        text(off.replace('    remove cover', '    loosen bolt\n    remove cover'), on || order),
      );
      expect(codesIn(repair!.after)).not.toContain('still-held');
    };
    mended('    remove cover\n', '');
    mended('    remove cover\n', '    tighten bolt order star\n');
    mended('    remove cover\n    remove bolt\n', '    fit bolt\n    tighten bolt order star\n');
  });
  test('of what still holds a part, what is captive is loosened, and the rest removed', () => {
    const text = `part screw x4 "Captive screw" carried by cover thread M6 class 8.8 torque 9 N·m
part clip "Clip"
part cover "Cover" held by screw, clip
teardown
  step open
    loosen screw x3
    remove cover
reassembly
  step close
    fit cover
    tighten screw order star
`;
    const [repair] = repairsIn(text, 'still-held');
    expect(repair?.title).toBe('Loosen screw and remove clip first');
    expect(repair?.after).toContain('    loosen screw x3\n    loosen screw\n    remove clip\n    remove cover\n');
    expect(codesIn(repair!.after)).toEqual([]);
  });
  test('in a loop, or where nothing puts back what was held, no holder is taken off first', () => {
    const loop = `part screw x2 "Screw" held by head
part head "Head" held by screw
teardown
  step open
    remove head
    remove screw
reassembly
  step close
    fit head
    fit screw
`;
    expect(codesIn(loop)).toContain('still-held');
    expect(repairsIn(loop, 'still-held')).toEqual([]);
    const among = `part screw x2 "Screw" held by clip
part clip "Clip" held by screw
part head "Head" held by screw
teardown
  step open
    remove head
reassembly
  step close
    fit head
`;
    expect(codesIn(among)).toContain('still-held');
    expect(repairsIn(among, 'still-held')).toEqual([]);
    const drafted = `part screw x4 "Screw"
part plate "Plate" held by screw
teardown
  step open
    remove plate
`;
    expect(codesIn(drafted)).toEqual(['left-off', 'still-held']);
    expect(repairsIn(drafted, 'still-held')).toEqual([]);
  });
  test('a step that has nothing but the line to be moved keeps it', () => {
    const bolted = `part bolt x2 "Bolt"
part cover "Cover" held by bolt
teardown
  step open
    remove cover
  step unscrew
    remove bolt
reassembly
  step close
    fit cover
    fit bolt
`;
    expect(repairsIn(bolted, 'still-held')).toEqual([]);
    const closed = `part lid "Lid"
part gear "Gear" behind lid
teardown
  step open
    remove lid
    remove gear
reassembly
  step close
    fit lid
  step late
    fit gear
`;
    expect(repairsIn(closed, 'closed-in')).toEqual([]);
  });
  test('what was swapped in goes where the old one came off, and not above the swap', () => {
    const text = `part cover "Cover"
part seal "Seal" behind cover
part old-wheel "Wheel" behind cover
part new-wheel "New wheel"
part bush "Bush" behind old-wheel
teardown
  step open
    remove cover
    remove seal
    remove old-wheel
    remove bush
reassembly
  step build
    fit bush
    swap old-wheel for new-wheel
    fit seal
    fit cover
`;
    const [repair] = repairsIn(text, 'left-off');
    expect(changed(text, repair!.after)).toEqual(['      swap old-wheel for new-wheel', '+     fit new-wheel']);
    expect(codesIn(repair!.after)).toEqual([]);
  });
  test('what came out as one assembly goes in as one, without what was stripped from it', () => {
    const head = 'part head "Head"\npart valve x4 "Valve"\npart seat "Seat"\nteardown\n  step open\n';
    const text = `${head}    remove head with valve, seat\n    remove valve\nreassembly\n  step close\n    fit valve\n`;
    expect(changed(text, repairsIn(text, 'left-off')[0]!.after)).toEqual([
      '      fit valve',
      '+     fit head with seat',
    ]);
    const renewed = text
      .replace('    remove valve\n', '    discard head\n')
      .replace('    fit valve\n', '    clean seat\n');
    expect(repairsIn(renewed, 'left-off')).toEqual([]);
  });

  test('what was drained is filled at the end of the reassembly, or of its own later step', () => {
    const oil = 'supply oil "Oil" 1.8 L\n';
    const early = `${oil}teardown\n  step open\n    drain oil\nreassembly\n  step close\n    do "Look."\n  step last\n    do "Look again."\nproving\n  step run\n    check "Turn it."\n`;
    expect(changed(early, repairsIn(early, 'left-open')[0]!.after)).toEqual([
      '      do "Look again."',
      '+     fill oil 1.8 L',
    ]);
    const late = `procedure unit "Unit"\n${oil}reassembly\n  step close\n    do "Look."\nproving\n  step run\n    drain oil\n    check "Turn it."\n  step more\n    check "Turn it again."\n`;
    const misspelt = late.replace('reassembly', 'teardown\n  step open\n    drain oil\nreassembly');
    for (const text of [late, misspelt.replace('oil\n    check', 'oill\n    check')])
      expect(changed(text, repairsIn(text, 'left-open')[0]!.after)).toEqual([
        '      check "Turn it."',
        '+     fill oil 1.8 L',
      ]);
  });
  test('what was drained in parts, and declares no quantity, is filled as a whole, without what only flushed it', () => {
    const text = (...drains: readonly string[]): string =>
      `supply oil "Oil"\npart cover "Cover"\nteardown\n  step open\n    ${drains.join('\n    ')}\nreassembly\n  step close\n    clean cover\n`;
    const filled = (...drains: readonly string[]): string[] => {
      const before = text(...drains);
      const after = repairsIn(before, 'left-open')[0]!.after;
      expect(codesIn(after)).toEqual([]);
      return changed(before, after).slice(1);
    };
    expect(filled('drain oil 4 L', 'drain oil 500 mL')).toEqual(['+     fill oil 4500 mL']);
    expect(filled('drain oil 1.5 L (1.6 qt)')).toEqual(['+     fill oil 1.5 L (1.6 qt)']);
    expect(filled('drain oil 4 L', 'fill oil 1 L', 'drain oil 1 L')).toEqual(['+     fill oil 4 L']);
  });
  test('what is laid out or scrapped goes back behind that', () => {
    const pump = (...back: readonly string[]): string =>
      `part ring "Ring"\npart cover "Cover"\npart lid "Lid"\nteardown\n  step open\n    remove lid\n    remove cover\n    remove ring\nreassembly\n  step close\n${back.map((line) => `    ${line}\n`).join('')}`;
    const replaced = pump('fit cover', 'replace ring', 'fit lid');
    expect(changed(replaced, repairsIn(replaced, 'left-off')[0]!.after)).toEqual([
      '      replace ring',
      '+     fit ring',
    ]);
    const scrapped = pump('fit cover', 'discard ring', 'fit lid');
    expect(changed(scrapped, repairsIn(scrapped, 'not-replaced')[0]!.after)).toEqual([
      '      discard ring',
      '+     fit new ring',
    ]);
  });
  test('what goes back before it comes off for the last time, or was never off, leads nowhere', () => {
    const text = (line: string): string =>
      `part bolt x2 "Bolt"\npart cover "Cover"\npart plug "Plug"\nteardown\n  step open\n    remove bolt\n    ${line}\n    remove cover\n    remove plug\nreassembly\n  step close\n    clean cover\n`;
    for (const line of ['fit plug', 'connect plug']) {
      const before = text(line);
      expect(changed(before, repairsIn(before, 'left-off')[0]!.after), line).toEqual([
        '      clean cover',
        '+     fit bolt',
      ]);
    }
  });
  test('what was loosened to take others off is tightened where these are back', () => {
    const captive = (...back: readonly string[]): string =>
      `part bolt x2 "Bolt" torque 25 N·m carried by cover\npart cover "Cover" held by bolt\npart gear "Gear" behind cover\npart guard "Guard"\nteardown\n  step open\n    remove guard\n    loosen bolt\n    remove cover\n    remove gear\nreassembly\n  step close\n${back.map((line) => `    ${line}\n`).join('')}`;
    const text = captive('fit gear', 'fit cover', 'fit guard');
    const [repair] = repairsIn(text, 'left-loose');
    expect(changed(text, repair!.after)).toEqual(['      fit cover', '+     tighten bolt to 25 N·m']);
    expect(codesIn(repair!.after)).toEqual(['no-class']);
    // Loosened again in the reassembly, there.
    const again = captive('fit gear', 'fit cover', 'tighten bolt', 'loosen bolt', 'fit guard');
    expect(changed(again, repairsIn(again, 'left-loose')[0]!.after)).toEqual([
      '      loosen bolt',
      '+     tighten bolt to 25 N·m',
    ]);
    // What is missing goes back above what was loosened before it.
    const short = captive('fit gear', 'tighten bolt', 'fit guard');
    expect(changed(short, repairsIn(short, 'left-off')[0]!.after)).toEqual(['      fit gear', '+     fit cover']);
  });
  test('what was closed in moves up with its heating and its tightening, but not past what it covers itself', () => {
    const text = (...back: readonly string[]): string =>
      `part nut "Nut" torque 20 N·m behind cover\npart cover "Cover" hazard weight\npart seal "Seal" behind nut\nteardown\n  step open\n    warning "It falls."\n    remove cover\n    remove nut\n    remove seal\nreassembly\n  step close\n    warning "It falls. It burns."\n${back.map((line) => `    ${line}\n`).join('')}`;
    const late = text(
      'fit seal',
      'heat cover to 60 °C',
      'fit cover',
      'clean cover',
      'heat nut to 60 °C',
      'fit nut',
      'tighten nut',
    );
    const mended = text(
      'fit seal',
      'heat nut to 60 °C',
      'fit nut',
      'tighten nut',
      'heat cover to 60 °C',
      'fit cover',
      'clean cover',
    );
    expect(codesIn(late).sort()).toEqual(['closed-in', 'no-class']);
    const repairs = repairsIn(late, 'closed-in');
    expect(repairs).toHaveLength(1);
    expect(repairs[0]!.after).toBe(mended);
    expect(codesIn(mended)).toEqual(['no-class']);
    expect(repairsIn(text('fit cover', 'fit seal', 'fit nut', 'tighten nut'), 'closed-in')).toEqual([]);
  });
  test('what was closed in stays below what took it off, swapped it in or renewed it, and in a loop', () => {
    const text = (head: string, ...lines: readonly string[]): string =>
      `${head}teardown\n  step open\n    remove lid\n    remove gear\nreassembly\n  step close\n${lines.map((line) => `    ${line}\n`).join('')}`;
    const head = 'part lid "Lid"\npart gear "Gear" behind lid\npart fresh-gear "Gear"\n';
    for (const late of [
      text(head, 'fit gear', 'fit lid', 'remove gear', 'fit gear', 'discard fresh-gear'),
      text(head, 'fit lid', 'swap gear for fresh-gear', 'fit fresh-gear'),
      text(head, 'fit lid', 'replace gear', 'fit gear', 'discard fresh-gear'),
      text('part lid "Lid" behind gear\npart gear "Gear" behind lid\n', 'fit lid', 'fit gear'),
    ]) {
      expect(codesIn(late), late).toContain('closed-in');
      expect(repairsIn(late, 'closed-in'), late).toEqual([]);
    }
    const own = text(head, 'fit gear', 'fit lid', 'remove gear', 'fit gear', 'discard fresh-gear');
    expect(messagesIn(own, 'closed-in')).toEqual([
      '`gear` is fitted while `lid`, which covers or holds it, is still on: `remove` it first.',
    ]);
  });
  test('what is closed in on the bench goes above what closed it in there, not above their carrier', () => {
    const text = (...lines: readonly string[]): string =>
      `part drum "Drum"\npart ring "Ring" carried by drum\npart race "Race" carried by drum held by ring\nteardown\n  step open\n    remove drum\n    remove ring\n    remove race\nreassembly\n  step close\n${lines.map((line) => `    ${line}\n`).join('')}`;
    expect(repairsIn(text('fit ring', 'fit drum', 'fit race'), 'closed-in').map(({ after }) => after)).toEqual([
      text('fit race', 'fit ring', 'fit drum'),
    ]);
  });
  test('what is tightened anew is tightened with the finest wrench that reads its torques', () => {
    const text = (tools: string): string =>
      `part bolt x4 "Bolt" torque 25 N·m\n${tools}teardown\n  step open\n    remove bolt\nreassembly\n  step close\n    do "Look."\n`;
    const big = 'tool big "Big wrench" range 5..100 N·m\n';
    const fine = 'tool fine "Wrench" range 5..50 N·m\n';
    const late = 'tool late "Wrench" range 20..40 N·m\n';
    for (const [tools, using] of [
      [big + fine, ' using fine'],
      // It does not read the first stage.
      [big + late, ' using big'],
      ['tool coarse "Wrench" range 40..200 N·m\n', ''],
    ] as const) {
      const [repair] = repairsIn(text(tools), 'left-off');
      expect(repair!.after).toContain(`\n    tighten bolt in stages 13 N·m, 25 N·m order star${using}\n`);
      expect(codesIn(repair!.after)).not.toContain('tool-range');
    }
  });
  test('of two values in one unit nobody can say which is wrong', () => {
    const text =
      'part bolt "Bolt" thread M8 class 8.8 torque 20 lbf·ft (15 lbf·ft)\nteardown\n  step a\n    loosen bolt\n    tighten bolt\n';
    expect(messagesIn(text, 'restated-wrong')).toEqual([
      '20 lbf·ft and 15 lbf·ft are in the same unit and differ: the second value restates the first in another one, so correct the unit of one of them, or the value.',
    ]);
    expect(repairsIn(text, 'restated-wrong')).toEqual([]);
  });
  test('what is heavy is supported before what holds it is loosened, below the warning', () => {
    const text = (...lines: readonly string[]): string =>
      `part head "Head" hazard weight held by nut\npart nut "Nut"\nteardown\n  step open\n${lines.map((line) => `    ${line}\n`).join('')}reassembly\n  step close\n    warning "It weighs 18 kg."\n    fit head\n    fit nut\n    tighten nut to 20 N·m\n`;
    const burns = 'warning "Hot oil burns."';
    for (const [lines, mended] of [
      [
        [burns, 'clean nut', 'loosen nut', 'remove nut', 'remove head'],
        [burns, 'clean nut', 'support head', 'loosen nut', 'remove nut', 'remove head'],
      ],
      [
        ['loosen nut', burns, 'remove nut', 'remove head'],
        ['loosen nut', burns, 'support head', 'remove nut', 'remove head'],
      ],
      [
        ['remove nut', burns, 'remove head'],
        ['remove nut', burns, 'support head', 'remove head'],
      ],
    ] as const) {
      expect(repairsIn(text(...lines), 'unsupported').map(({ after }) => after)).toEqual([text(...mended)]);
      expect(codesIn(text(...mended))).not.toContain('unwarned');
    }
  });
  test('what was closed in takes along what warns of it alone, and is warned of where nothing else would', () => {
    const text = (...lines: readonly string[]): string =>
      `part lid "Lid"\npart race "Race" behind lid\nteardown\n  step open\n    remove lid\n    remove race\nreassembly\n  step close\n${lines.map((line) => `    ${line}\n`).join('')}`;
    const ready = ['press race max 5 kN', 'fit race'];
    const own = 'caution "The press can crush fingers."';
    for (const [late, mended] of [
      [text('fit lid', own, ...ready), text(own, ...ready, 'fit lid')],
      [
        text('fit lid', own, ...ready, 'do "Sweep the bench"'),
        text(
          'warning "Parts under force can fly off and injure. Wear eye protection and stand aside."',
          ...ready,
          'fit lid',
          own,
          'do "Sweep the bench"',
        ),
      ],
    ] as const) {
      expect(codesIn(late)).toEqual(['closed-in']);
      expect(repairsIn(late, 'closed-in').map(({ after }) => after)).toEqual([mended]);
      expect(codesIn(mended)).toEqual([]);
    }
  });
  test('what was closed in moves up with the cleaning, the sealant and the looks that it got for its fit', () => {
    const text = (...lines: readonly string[]): string =>
      `part lid "Lid"\npart gear "Gear" behind lid\nsupply glue "Glue"\nteardown\n  step open\n    remove lid\n    remove gear\nreassembly\n  step close\n${lines.map((line) => `    ${line}\n`).join('')}`;
    const ready = ['clean gear', 'inspect gear', 'apply glue to gear', 'fit gear'];
    expect(repairsIn(text('fit lid', ...ready), 'closed-in').map(({ after }) => after)).toEqual([
      text(...ready, 'fit lid'),
    ]);
    const apart = text('fit lid', 'apply glue to gear', 'do "Sweep the bench"', 'fit gear');
    expect(repairsIn(apart, 'closed-in')).toEqual([]);
  });
  test('what holds or covers a holder comes off before that, and goes back behind it', () => {
    const text = `part hose-bolt "Hose bolt" torque 25 N·m behind guard\npart guard "Guard"\npart hose "Hose" held by hose-bolt\npart caliper "Caliper" held by hose\nteardown\n  step off\n    remove caliper\nreassembly\n  step on\n    fit caliper\n`;
    const [repair] = repairsIn(text, 'still-held');
    expect(repair!.title).toBe('Remove guard, hose-bolt, hose first');
    expect(changed(text, repair!.after)).toEqual([
      '    step off',
      '+     remove guard',
      '+     remove hose-bolt',
      '+     remove hose',
      '      fit caliper',
      '+     fit hose',
      '+     fit hose-bolt',
      '+     tighten hose-bolt to 25 N·m',
      '+     fit guard',
    ]);
    expect(codesIn(repair!.after)).toEqual(['no-class']);
  });
  test('what proving turns by an angle is turned so once: its line moves up', () => {
    const text = `part bolt x2 "Bolt" torque 20 N·m then 90°\nteardown\n  step open\n    remove bolt\nreassembly\n  step close\n    fit bolt\nproving\n  step run\n    check "No leak."\n    tighten bolt using wrench # mind the pipe\ntool wrench\n`;
    const [repair] = repairsIn(text, 'run-loose');
    expect(changed(text, repair!.after)).toEqual([
      '      fit bolt',
      '+     tighten bolt using wrench # mind the pipe',
      '      check "No leak."',
      '-     tighten bolt using wrench # mind the pipe',
    ]);
  });
  test('what was scrapped in part is fitted new in part', () => {
    const text = `part pin x4 "Pin"\nteardown\n  step open\n    remove pin\n    discard pin x1\nreassembly\n  step close\n    do "Look."\n`;
    const [repair] = repairsIn(text, 'left-off').concat(repairsIn(text, 'not-replaced'));
    expect(changed(text, repair!.after).filter((line) => line.startsWith('+'))).toEqual([
      '+     fit pin x3',
      '+     fit new pin x1',
    ]);
  });
});

describe('counts and values', () => {
  const bolt = 'part bolt x10 "Bolt" thread M8 class 8.8 torque 25 N·m\n';
  test.each([
    [
      'already-off',
      `${bolt}teardown\n  step open\n    remove bolt x12\n`,
      'Correct the count to x10',
      '    remove bolt x10',
    ],
    [
      'count-short',
      `part pin x4 "Pin"\nteardown\n  step open\n    remove pin x2\nreassembly\n  step close\n    fit pin x3\n`,
      'Correct the count to x2',
      '    fit pin x2',
    ],
    [
      'stage-falls',
      `${bolt}reassembly\n  step close\n    loosen bolt\n    tighten bolt in stages 12 N·m, 20 N·m order 1 4 7 10 2 5 8 3 6 9\n`,
      'End with 25 N·m',
      '    tighten bolt in stages 12 N·m, 25 N·m order 1 4 7 10 2 5 8 3 6 9',
    ],
    [
      'tool-range',
      `${bolt}tool small "Small wrench" range 2..20 N·m\ntool big "Big wrench" range 100..500 N·m\ntool right "Wrench" range 10..60 N·m\nreassembly\n  step close\n    loosen bolt\n    tighten bolt order 1 4 7 10 2 5 8 3 6 9 using small\n`,
      'Use right',
      '    tighten bolt order 1 4 7 10 2 5 8 3 6 9 using right',
    ],
  ])('%s', (code, text, title, line) => {
    const repair = repairsIn(text, code).find((each) => each.title === title);
    expect(repair, JSON.stringify(repairsIn(text, code).map((each) => each.title))).toBeDefined();
    expect(changed(text, repair!.after).filter((each) => each.startsWith('+'))).toEqual([`+ ${line}`]);
    // More than came off cannot go back: that count alone is certain.
    expect(repair!.safe).toBe(code === 'count-short');
  });

  test('where no wrench reads all stages, a second one is named', () => {
    const two = `${bolt}tool small "Small wrench" range 2..20 N·m\ntool big "Big wrench" range 20..100 N·m\nreassembly\n  step close\n    loosen bolt\n    tighten bolt in stages 12 N·m, 25 N·m order star using big "Evenly."\n`;
    const [repair, ...others] = repairsIn(two, 'tool-range');
    expect(others).toEqual([]);
    expect(repair!.title).toBe('Name small as well');
    expect(changed(two, repair!.after)).toContain(
      '+     tighten bolt in stages 12 N·m, 25 N·m order star using big, small "Evenly."',
    );
    expect(codesIn(repair!.after)).not.toContain('tool-range');
  });

  test('stages do not end with a declared torque that is no more than the stage before', () => {
    const slipped = `${bolt.replace('25', '2.5')}reassembly\n  step close\n    loosen bolt\n    tighten bolt in stages 12 N·m, 25 N·m order star\n`;
    expect(messagesIn(slipped, 'stage-falls')).toHaveLength(1);
    expect(repairsIn(slipped, 'stage-falls')).toEqual([]);
  });

  test('what restates a torque in the other unit goes along', () => {
    const restated = `procedure unit "Unit"
  measures imperial
${bolt.replace('N·m', 'N·m (18 lbf·ft)')}pattern ring circle 10 diameter 180 mm (7.09 in)
`;
    const loose = `${restated}teardown\n  step open\n    loosen bolt\n`;
    expect(changed(loose, repairsIn(loose, 'left-loose')[0]!.after)).toEqual([
      '      loosen bolt',
      '+     tighten bolt in stages 13 N·m (9.59 lbf·ft), 25 N·m (18 lbf·ft) order star',
    ]);
    const short = `${restated}reassembly\n  step close\n    tighten bolt in stages 12 N·m (9 lbf·ft), 20 N·m (15 lbf·ft) order star\n`;
    const { title, after } = repairsIn(short, 'stage-falls')[0]!;
    expect(title).toBe('End with 25 N·m (18 lbf·ft)');
    expect(codesIn(after)).not.toContain('mixed-units');
    expect(after).toContain('in stages 12 N·m (9 lbf·ft), 25 N·m (18 lbf·ft) order star');
  });

  test('curly quotes of a line become straight ones, but not in its comment', () => {
    const text = (lid: string, last: string): string =>
      `part lid ${lid}\nteardown\n  step open “Open it”\n    remove lid “Don’t drop #1” keep in „tray“ # a “lid”\n    do ${last}\n`;
    const curly = text('“Top lid”', '“Look.”');
    const [lid, step, remove, act] = repairsIn(curly, 'syntax');
    expect([lid, step, remove, act].map((each) => [each?.title, each?.safe])).toEqual(
      Array.from({ length: 4 }, () => ['Write straight quotes', true]),
    );
    expect(lid!.after).toBe(text('"Top lid"', '“Look.”'));
    expect(remove!.after).toContain('remove lid "Don’t drop #1" keep in "tray" # a “lid”\n');
    for (const last of ['“Say "no".”', '“Say', '“C:\\tray”'])
      expect(
        repairsIn(text('"Top lid"', last), 'syntax')
          .slice(2)
          .map(({ title }) => title),
      ).not.toContain('Write straight quotes');
  });

  test('limits of a reading that are turned round', () => {
    const text = 'inspection\n  step look\n    measure play max 0.1 mm (0.004 in) "Shaft" min 0.3 mm\n';
    const [repair] = repairsIn(text, 'odd-size');
    expect(repair).toMatchObject({ title: 'Exchange the two limits', safe: false });
    expect(repair!.after).toContain('measure play max 0.3 mm "Shaft" min 0.1 mm (0.004 in)\n');
  });

  test('a range that runs downwards, with what restates it', () => {
    const text = 'tool wrench "Wrench" range 100 .. 20 N·m (74..15 lbf·ft)\n';
    const [repair] = repairsIn(text, 'odd-size');
    expect(repair).toMatchObject({ title: 'Write the lower end first', safe: false });
    expect(repair!.after).toBe('tool wrench "Wrench" range 20 .. 100 N·m (15..74 lbf·ft)\n');
  });

  test('thread locker goes on before the bolt: written there, or moved there', () => {
    const text = (...lines: string[]): string => `part bolt "Bolt" thread M8 class 8.8 threadlock torque 22 N·m
supply locker "Thread locker" hazard chemical
supply grease "Grease"
teardown
  step open
    remove bolt
reassembly
  step close
    caution "Chemicals irritate."
${lines.map((line) => `    ${line}\n`).join('')}`;
    const right = text('apply locker to bolt', 'fit bolt', 'tighten bolt');
    for (const [lines, title] of [
      [['fit bolt', 'tighten bolt'], 'Apply locker to it first'],
      [['fit bolt', 'tighten bolt', 'apply locker to bolt'], 'Move it above `fit bolt`'],
    ] as const)
      expect(repairsIn(text(...lines), 'no-locker')).toEqual([{ title, safe: false, after: right }]);
    expect(codesIn(right)).toEqual([]);
  });

  test('a message behind the work of its step moves above it, but not out of a branch', () => {
    const text = (...lines: string[]): string => `part cover "Cover"
teardown
  step open
    clean cover
${lines.map((line) => `    ${line}\n`).join('')}`;
    const message = 'notice "Keep it dry."';
    expect(repairsIn(text(message), 'late-warning').map(({ title, after }) => [title, after])).toEqual([
      ['Move the notice above it', text().replace('    clean', `    ${message}\n    clean`)],
    ]);
    expect(repairsIn(text('if "wet"', message, 'end'), 'late-warning')).toEqual([]);
  });

  test('an allowance behind a statement leaves no blanks there', () => {
    const text = (...lines: readonly string[]): string =>
      `part cover "Cover"\nteardown\n  step open\n${lines.map((line) => `    ${line}\n`).join('')}`;
    const allowance = '# fettle-allow left-off: it stays with the owner';
    const behind = text(`remove cover "By hand"  ${allowance}`, 'do "Look"');
    expect(codesIn(behind).sort()).toEqual(['idle-allow', 'left-off']);
    expect(repairsIn(behind, 'idle-allow')).toEqual([
      { title: 'Take the allowance out', safe: false, after: text('remove cover "By hand"', 'do "Look"') },
    ]);
  });
  test('what was to tighten it above its fit moves below that', () => {
    const text = (...back: readonly string[]): string =>
      `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\ntool wrench "Wrench" range 5..50 N·m\nteardown\n  step open\n    remove bolt\nreassembly\n  step close\n${back.map((line) => `    ${line}\n`).join('')}`;
    const passes = [
      'tighten bolt to 12 N·m order star using wrench',
      'tighten bolt order star using wrench # crosswise',
    ];
    const late = text(...passes, 'do "Look"', 'fit bolt', 'do "Look again"');
    expect(codesIn(late)).toEqual(['already-off', 'already-off', 'left-loose']);
    const right = text('do "Look"', 'fit bolt', ...passes, 'do "Look again"');
    expect(repairsIn(late, 'left-loose')).toEqual([{ title: 'Tighten bolt below its fit', safe: false, after: right }]);
    expect(codesIn(right)).toEqual([]);
    // Where a cover went on in between, the fit moves up.
    const covered = (...back: readonly string[]): string =>
      text(...back)
        .replace('Bolt"', 'Bolt" behind lid')
        .replace('tool', 'part lid "Lid"\ntool')
        .replace('    remove bolt', '    remove lid\n    remove bolt');
    const shut = covered(...passes, 'fit lid', 'fit bolt "Dry"');
    expect(codesIn(shut).sort()).toEqual(['already-off', 'already-off', 'closed-in', 'left-loose']);
    const open = covered('fit bolt "Dry"', ...passes, 'fit lid');
    expect(repairsIn(shut, 'left-loose')).toEqual([
      { title: 'Fit bolt above its tightening', safe: false, after: open },
    ]);
    expect(codesIn(open)).toEqual([]);
    // What took them off in between was tightened before.
    const again = text('fit bolt', ...passes, 'remove bolt', 'fit bolt');
    expect(repairsIn(again, 'left-loose').map(({ title }) => title)).toEqual(['Tighten bolt to the declared torque']);
    const inBlock = text('if "dry"', passes[1]!, 'end', 'fit bolt');
    expect(repairsIn(inBlock, 'left-loose').map(({ title }) => title)).toEqual(['Tighten bolt to the declared torque']);
  });
  test('a new piece goes in with the others, above what tightens them all', () => {
    const text = (...back: readonly string[]): string =>
      `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\npart pin x3 "Pin"\nteardown\n  step open\n    remove bolt\n    discard bolt x1\n    remove pin\n    discard pin x2\nreassembly\n  step close\n${back.map((line) => `    ${line}\n`).join('')}`;
    const mended = (...back: readonly string[]): string[] =>
      repairsIn(text(...back), 'not-replaced').map(({ after }) => after);
    const bolts = ['fit bolt', 'tighten bolt by hand', 'tighten bolt order star'];
    expect(mended(...bolts, 'fit pin x1', 'do "Look"')).toEqual([
      text('fit bolt', 'fit new bolt x1', ...bolts.slice(1), 'fit pin x1', 'do "Look"'),
      text(...bolts, 'fit pin x1', 'fit new pin x2', 'do "Look"'),
    ]);
    // What tightens the others alone leaves it loose.
    expect(mended('fit bolt', 'tighten bolt x3', 'fit new pin x2', 'fit pin x1')).toEqual([
      text(
        'fit bolt',
        'tighten bolt x3',
        'fit new pin x2',
        'fit pin x1',
        'fit new bolt x1',
        'tighten bolt x1 to 25 N·m',
      ),
    ]);
  });
  test('a scrapped piece put back is made a new one, which is certain; some of several are not', () => {
    const put = (fit: string): string =>
      `part pin x2 "Pin"\nteardown\n  step open\n    remove pin\n    discard pin\nreassembly\n  step close\n    ${fit}\n`;
    expect(repairsIn(put('fit pin'), 'not-replaced')).toEqual([
      { title: 'Fit a new pin', safe: true, after: put('fit new pin') },
    ]);
    // The other is told of once the first is new.
    const short = put('fit pin x1');
    expect(repairsIn(short, 'not-replaced')).toEqual([
      { title: 'Fit a new pin', safe: true, after: put('fit new pin x1') },
    ]);
    const [rest] = repairsIn(put('fit new pin x1'), 'not-replaced');
    expect(changed(put('fit new pin x1'), rest!.after)).toEqual(['      fit new pin x1', '+     fit new pin x1']);
    // What is scrapped again is another slip.
    const again = `${put('fit pin')}    remove pin\n    discard pin\n`;
    expect(repairsIn(again, 'not-replaced').map(({ title }) => title)).toEqual([
      'Fit a new pin',
      'Fit a new pin in the mirrored place',
    ]);
    // `new` stands behind `fit` alone.
    expect(repairsIn(put('connect pin'), 'not-replaced')).toEqual([
      { title: 'Fit a new pin', safe: true, after: put('fit new pin') },
    ]);
  });
});

test.each([
  ['part bolt "Bolt" M8 class 8.8', 'Write `thread M8`', 'part bolt "Bolt" thread M8 class 8.8'],
  ['part bolt "Bolt" held by a and b', 'Write `,`', 'part bolt "Bolt" held by a, b'],
  ['teardown\n  step s\n    tighten bolt 20 N·m', 'Write `to 20`', 'teardown\n  step s\n    tighten bolt to 20 N·m'],
  ['part nut "Nut" torque 25 N·m, oiled', 'Take `,` out', 'part nut "Nut" torque 25 N·m oiled'],
  ['teardown\n  step s\n    wait for 20 min', 'Take `for` out', 'teardown\n  step s\n    wait 20 min'],
])('what was meant is written: %s', (text, title, after) => {
  expect(repairsIn(text, 'syntax')).toEqual([{ title, safe: false, after }]);
  expect(repairsIn(after, 'syntax')).toEqual([]);
});

test('a transfer the wrong way round is turned', () => {
  const text = `part old-drum "Drum"
part new-drum "Drum"
part wheel "Wheel" carried by old-drum
teardown
  step open
    remove old-drum
    swap old-drum for new-drum
    transfer wheel from new-drum to old-drum
reassembly
  step close
    fit new-drum
`;
  const [repair, ...more] = repairsIn(text, 'wrong-carrier');
  expect(more).toEqual([]);
  expect(changed(text, repair!.after)).toEqual([
    '      swap old-drum for new-drum',
    '-     transfer wheel from new-drum to old-drum',
    '+     transfer wheel from old-drum to new-drum',
  ]);
  expect(repairsIn(repair!.after, 'left-behind')).toEqual([]);
});

describe('a line that is moved takes the comment behind it along', () => {
  test.each([
    [
      'late-warning',
      'part lid "Lid"',
      ['heat lid to 80 °C # slowly', 'warning "Hot parts burn." # all of them', 'remove lid'],
      ['warning "Hot parts burn." # all of them', 'heat lid to 80 °C # slowly', 'remove lid'],
    ],
    [
      'still-held',
      'part lid "Lid" held by bolt\npart bolt "Bolt"',
      ['remove lid # by hand', 'remove bolt # left-hand thread'],
      ['remove bolt # left-hand thread', 'remove lid # by hand'],
    ],
    [
      'no-locker',
      'part bolt "Bolt" thread M8 class 8.8 threadlock torque 25 N·m\nsupply locker "Locker" ',
      ['remove bolt', 'fit bolt', 'tighten bolt', 'apply locker to bolt # two drops'],
      ['remove bolt', 'apply locker to bolt # two drops', 'fit bolt', 'tighten bolt'],
    ],
  ])('for %s', (code, declared, lines, right) => {
    const text = (statements: readonly string[]): string =>
      `${declared}\nreassembly\n  step go\n${statements.map((line) => `    ${line}\n`).join('')}`;
    expect(repairsIn(text(lines), code)[0]?.after).toBe(text(right));
  });
});

test('a unit that is missing is offered in the system that is measured in, where it belongs', () => {
  const text = `procedure p "P"
  measures imperial
part race "Race" bore 2 interference 0.001 lead 2
pattern lid points (0, 0) (3, 0 )
pattern rim circle angles 0, 120°, 240°
tool wrench "Wrench" range 5..100
part bolt "Bolt" torque 25 lbf·ft (34)
`;
  const offered = repairsIn(text, 'no-unit').map(({ title, after }) => [title, changed(text, after).at(-1)]);
  expect(offered).toEqual([
    ['Write 2 in', '+ part race "Race" bore 2 in interference 0.001 lead 2'],
    ['Write 0.001 in', '+ part race "Race" bore 2 interference 0.001 in lead 2'],
    ['Write 2 d', '+ part race "Race" bore 2 interference 0.001 lead 2 d'],
    ['Write 2 h', '+ part race "Race" bore 2 interference 0.001 lead 2 h'],
    ['Write in', '+ pattern lid points (0, 0) (3, 0 ) in'],
    ['Write 0°', '+ pattern rim circle angles 0°, 120°, 240°'],
    ['Write 5..100 lbf·ft', '+ tool wrench "Wrench" range 5..100 lbf·ft'],
    ['Write 5..100 lbf·in', '+ tool wrench "Wrench" range 5..100 lbf·in'],
    ['Write 5..100 in', '+ tool wrench "Wrench" range 5..100 in'],
    ['Write 34 N·m', '+ part bolt "Bolt" torque 25 lbf·ft (34 N·m)'],
  ]);
});

test('units are offered of the system that the file is written in, and of what a fluid is declared by', () => {
  const offered = (text: string): string[] => repairsIn(text, 'no-unit').map(({ title }) => title);
  const file = (declared: string, line: string): string =>
    `supply oil "Oil" ${declared}\nsupply grease "Grease"\npart gear "Gear" length 20\nreassembly\n  step close\n    ${line}\n`;
  expect(offered(file('1.8 L', 'fill oil 1.8'))).toEqual(['Write 20 mm', 'Write 1.8 L', 'Write 1.8 mL']);
  expect(offered(file('2 lb', 'fill oil 2'))).toEqual(['Write 20 in', 'Write 2 lb']);
  // Both systems, or neither, say nothing; what is declared by no quantity may be weighed.
  expect(offered(file('2 lb', 'measure gap max 3 mm'))).toEqual(['Write 20 mm', 'Write 20 in']);
  expect(offered(file('1.8 L', 'fill grease 1.8'))).toContain('Write 1.8 kg');
  // What restates stands in the other system.
  expect(offered('part bolt "Bolt" thread M8 class 8.8 torque 25 N·m (18.4)\n')).toEqual([
    'Write 18.4 lbf·ft',
    'Write 18.4 lbf·in',
  ]);
});

describe('of two values that differ either may stay', () => {
  const bolt = (torque: string): string => `part bolt "Bolt" torque ${torque}\n`;

  test.each([
    // As rounded 3 N·m would be 26.6 lbf·in: it takes a decimal more to be 30.
    ['3 N·m (30 lbf·in)', ['3 N·m (27 lbf·in)', '3.4 N·m (30 lbf·in)']],
    ['20..30 N·m (15..25 lbf·ft)', ['20..30 N·m (15..22 lbf·ft)', '20..34 N·m (15..25 lbf·ft)']],
    ['25 ± 2 N·m (25 ± 1.5 lbf·ft)', ['25 ± 2 N·m (18 ± 1.5 lbf·ft)', '34 ± 2 N·m (25 ± 1.5 lbf·ft)']],
  ])('%s', (torque, either) => {
    const all = repairsIn(bolt(torque), 'restated-wrong').map(({ after }) => after);
    expect(all).toEqual(either.map(bolt));
    for (const after of all) expect(codesIn(after)).not.toContain('restated-wrong');
  });
});

test('what was closed in takes along what was put on it meanwhile', () => {
  const unit = (close: string): string => `part cover "Cover"
part shaft "Shaft" behind cover
part bearing "Bearing" carried by shaft
part ring "Circlip" carried by bearing
teardown
  step open
    remove cover
    remove shaft
    remove ring
    remove bearing
reassembly
  step close
${close}
`;
  const text = unit('    fit cover\n    clean bearing\n    fit bearing\n    fit ring # with its gap up\n    fit shaft');
  const { after } = repairsIn(text, 'closed-in')[0]!;
  expect(after).toBe(
    unit('    clean bearing\n    fit bearing\n    fit ring # with its gap up\n    fit shaft\n    fit cover'),
  );
  expect(codesIn(after)).toEqual([]);
  // What was on it before stays where it is, and what is renewed in between cannot go up.
  const before = unit('    fit bearing\n    fit ring\n    fit cover\n    fit shaft');
  expect(repairsIn(before, 'closed-in')[0]!.after).toBe(
    unit('    fit bearing\n    fit ring\n    fit shaft\n    fit cover'),
  );
  const renewed = unit('    fit cover\n    replace bearing\n    fit bearing\n    fit ring\n    fit shaft');
  expect(repairsIn(renewed, 'closed-in')).toEqual([]);
});

test('of two torques the one that the bolt would not bear is the wrong one', () => {
  const titles = (torque: string): string[] =>
    repairsIn(`part bolt "Bolt" thread M8 class 8.8 torque ${torque}\n`, 'restated-wrong').map(({ title }) => title);
  expect(titles('20 N·m (18 lbf·ft)')).toEqual([
    'Keep 20 N·m, restate it as (15 lbf·ft)',
    'Keep 18 lbf·ft, write 24 N·m before it',
  ]);
  expect(titles('25 N·m (25 lbf·ft)')).toEqual(['Keep 25 N·m, restate it as (18 lbf·ft)']);
});

test.each([
  ['tighten bolt to 25 N·m (30 lbf·ft)', 'the torque is as declared'],
  ['tighten bolt in stages 12 N·m (30 lbf·ft), 25 N·m', 'the stages would fall'],
  ['heat ring to 80 °C (300 °F)', 'the part would not bear it'],
  ['fill oil 1.8 L (1.1 qt)', 'the quantity is as declared'],
])('of `%s` only the restatement is mended: %s', (line) => {
  const text = `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
part ring "Ring"
supply oil "Oil" 1.8 L
reassembly
  step close
    ${line}
`;
  const [repair, ...more] = repairsIn(text, 'restated-wrong');
  expect(more).toEqual([]);
  expect(repair!.title).toMatch(/^Keep .* restate it as/);
  expect(codesIn(repair!.after)).not.toContain('restated-wrong');
});

test.each(['tighten bolt to 20 N·m (18 lbf·ft)', 'heat ring to 80 °C (180 °F)', 'fill oil 1.5 L (1.9 qt)'])(
  'of `%s` either may stay',
  (line) => {
    const text = `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m\npart ring "Ring"\nsupply oil "Oil" 1.8 L\nreassembly\n  step close\n    ${line}\n`;
    expect(repairsIn(text, 'restated-wrong').map(({ title }) => title.slice(0, 4))).toEqual(['Keep', 'Keep']);
  },
);

describe('a declaration that is taken out', () => {
  const unit = (declarations: string): string => `procedure unit "Unit"
part cover "Cover"

${declarations}
teardown
  step open
    remove cover

reassembly
  step close
    fit cover
`;
  const takenOut = (declarations: string): { title: string; after: string } => {
    const { title, after } = repairsIn(unit(declarations), 'never-used')[0]!;
    expect(format(after)).toBe(after);
    return { title, after };
  };

  test('leaves one blank line where one stood above and below it', () => {
    expect(takenOut('part spacer "Spacer"\n').after).toBe(format(unit('')));
  });

  test('takes the comment along that was for it alone, and leaves the heading of others', () => {
    const alone = takenOut('# left of the older unit\npart spacer "Spacer"\n');
    expect(alone.after).toBe(format(unit('')));
    expect(alone.title).toBe('Take the declaration of spacer out, with its comment');
    const heading = takenOut('# turning parts\npart spacer "Spacer"\npart shaft "Shaft" held by cover\n');
    expect(heading.after).toContain('\n\n# turning parts\npart shaft');
    expect(heading.title).toBe('Take the declaration of spacer out');
  });

  test('takes along what silences a check on it', () => {
    const { after } = takenOut(
      '# fettle-allow no-class: bought in\npart spacer "Spacer" thread M8\npart shaft "Shaft" held by cover\n',
    );
    expect(after).not.toContain('fettle-allow');
  });
});

describe('what seals the plug cures before the fluid goes in', () => {
  const unit = (close: string): string => `part plug "Drain plug"
supply oil "Gear oil" 2 L
supply thread-sealant "Sealant" cure 30 min
teardown
  step drain
    remove plug
    drain oil 2 L
reassembly
  step close
    clean plug
${close}
`;
  const early = '    fill oil 2 L\n    apply thread-sealant to plug\n    fit plug';
  const mended = (text: string, code: string): string => {
    const { after } = repairsIn(text, code)[0]!;
    expect(codesIn(after)).toEqual([]);
    return after;
  };

  test('a fill that goes behind the plug waits for it', () => {
    const text = unit(early);
    expect(repairsIn(text, 'drain-open').map(({ title }) => title)).toEqual([
      'Fill oil behind fit plug, wait 30 min before it',
    ]);
    expect(changed(text, mended(text, 'drain-open'))).toEqual([
      '      clean plug',
      '-     fill oil 2 L',
      '      fit plug',
      '+     wait 30 min "thread-sealant cures"',
      '+     fill oil 2 L',
    ]);
  });

  test('behind the wait that stands there, if it is long enough', () => {
    const text = unit(`${early}\n    wait 30 min`);
    expect(repairsIn(text, 'drain-open').map(({ title }) => title)).toEqual(['Fill oil behind fit plug and its wait']);
    expect(mended(text, 'drain-open')).toContain('    fit plug\n    wait 30 min\n    fill oil 2 L\n');
  });

  test('a fluid that is filled nowhere, too', () => {
    const text = unit('    apply thread-sealant to plug\n    fit plug');
    expect(mended(text, 'left-open')).toContain(
      '    fit plug\n    wait 30 min "thread-sealant cures"\n    fill oil 2 L\n',
    );
  });
});

test('a place whose quote is left open is kept whole, and closed, where a place of its own is offered', () => {
  const check = allChecks.find(({ code }) => code === 'kept-together')!;
  const text = check.bad.replace('short-bolt keep in "bag A"', 'short-bolt keep in "bag A');
  const { after } = repairsIn(text, 'kept-together')[0]!;
  expect(changed(text, after).at(-1)).toBe('+     remove short-bolt keep in "bag A, short-bolt"');
  expect(codesIn(after)).toEqual([]);
});

test('a drain plug that holds what goes back below the fill goes behind that, where no cover is shut in by it', () => {
  const text = `part plug "Drain plug"
part cover "Cover" held by plug
supply oil "Gear oil" 2 L
teardown
  step drain
    remove plug
    drain oil 2 L
    remove cover
reassembly
  step close
    fill oil 2 L
    fit cover
`;
  const { after } = repairsIn(text, 'left-off')[0]!;
  expect(changed(text, after)).toEqual(['      fit cover', '+     fit plug']);
  expect(codesIn(after)).toEqual(['drain-open']);
});

test('what is filled too early goes behind the last that is done to the plug, also into a later step, and not out of a branch or an only line', () => {
  const unit = (fill: string, close: string): string => `part plug "Drain plug" thread M12 class 8.8 torque 70 N·m
supply oil "Gear oil" 2 L
teardown
  step drain
    remove plug
    drain oil 2 L
reassembly
  step fill
    clean plug
${fill}
  step close
${close}
`;
  const fit = '    fit plug\n    tighten plug to 70 N·m';
  const text = unit('    fill oil 2 L # to the sight glass', fit);
  const [mended, ...others] = repairsIn(text, 'drain-open');
  expect(others).toEqual([]);
  expect(mended?.title).toBe('Fill oil behind tighten plug');
  expect(changed(text, mended!.after)).toEqual([
    '      clean plug',
    '-     fill oil 2 L # to the sight glass',
    '      tighten plug to 70 N·m',
    '+     fill oil 2 L # to the sight glass',
  ]);
  expect(codesIn(mended!.after)).toEqual([]);
  const looked = '    fill oil 2 L\n    wait 5 min\n    check "The oil level stands at the middle of the glass."';
  const together = repairsIn(unit(`${looked}\n    check "The bench is clean."`, fit), 'drain-open')[0]!.after;
  expect(together).toContain(`${fit}\n${looked}\n`);
  expect(together).toContain('clean plug\n    check "The bench is clean."\n  step close');
  const inBranch = unit('    fill oil 2 L', `    either "A"\n${fit}\n    or "B"\n${fit}\n    end`);
  expect(codesIn(inBranch)).toContain('drain-open');
  expect(repairsIn(inBranch, 'drain-open')).toEqual([]);
  const alone = text.replace('    clean plug\n', '');
  expect(codesIn(alone)).toContain('drain-open');
  expect(repairsIn(alone, 'drain-open')).toEqual([]);
});

describe('what is declared and named in texts only', () => {
  const text = `procedure hub "Hub"
part cover "Cover"
part bearing "Bearing"
tool puller "Two-leg puller"
tool lamp "Lamp"
supply solvent "Degreasing solvent" 0.5 L
supply grease "Bearing grease"
supply sealant "Grey sealant" cure 60 min
teardown
  step open
    caution "The puller may slip."
    do "Pull the bearing with the two-leg puller."
    remove bearing "Hold the puller straight" keep in "tray"
    remove cover using lamp "Use the Puller again"
    clean cover "Wipe with degreasing solvent"
reassembly
  step close
    fit cover "Spread sealant on it"
    do "Pack with grease."
    fit bearing
`;

  test('is not said to be noise: the finding tells how it is named, and that the kit leaves it out', () => {
    expect(messagesIn(text, 'never-used')).toEqual([
      'the tool `puller` is declared and never used, and is left out of the kit: write `using puller` behind what it is used for, or take the declaration out.',
      'the supply `solvent` is declared and never used, and is left out of the kit: write `apply solvent to` and the part, or of a fluid `fill solvent`, or take the declaration out.',
      'the supply `grease` is declared and never used, and is left out of the kit: write `apply grease to` and the part, or of a fluid `fill grease`, or take the declaration out.',
      'the supply `sealant` is declared and never used, and is left out of the kit: write `apply sealant to` and the part, or take the declaration out.',
    ]);
    expect(messagesIn('procedure p "P"\npattern rim circle 4 diameter 80 mm\n', 'never-used')).toEqual([
      'the pattern `rim` is declared and never used: write `holes rim` in the declaration of the part that is in these holes, or take the declaration out.',
    ]);
  });

  test('is named where a text speaks of it', () => {
    const all = repairsIn(text, 'never-used').map(({ title, safe, after }) => [title, safe, changed(text, after)]);
    expect(all.filter(([title]) => !String(title).startsWith('Take'))).toEqual([
      [
        'Write `using puller` where the texts name it',
        false,
        [
          '      caution "The puller may slip."',
          '-     do "Pull the bearing with the two-leg puller."',
          '-     remove bearing "Hold the puller straight" keep in "tray"',
          '-     remove cover using lamp "Use the Puller again"',
          '+     do "Pull the bearing with the two-leg puller." using puller',
          '+     remove bearing "Hold the puller straight" keep in "tray" using puller',
          '+     remove cover using lamp, puller "Use the Puller again"',
        ],
      ],
      [
        'Write `apply solvent` where the texts name it',
        false,
        ['      remove cover using lamp "Use the Puller again"', '+     apply solvent to cover'],
      ],
    ]);
    expect(all.filter(([title]) => String(title).startsWith('Take'))).toHaveLength(4);
  });

  test('is named, of wrenches, where its range suits the torque best and none is named', () => {
    const wrenches = `procedure p "P"
part bolt "Bolt" x4 thread M8 class 8.8 torque 25 N·m
part plug "Plug" thread M8 class 8.8 torque 14 N·m
part cap "Cap" thread M8 class 8.8 torque 90 N·m
part stud "Stud" thread M8 class 8.8
tool big "Big wrench" range 20..100 N·m
tool small "Small wrench" range 2..30 N·m
tool middling "Middling wrench" range 10..60 N·m
tool used "Wrench of the bench" range 1..20 N·m
reassembly
  step close
    tighten bolt in stages 12 N·m, 25 N·m order star
    tighten plug
    tighten plug to 14 N·m using used
    tighten cap to 90 N·m
    tighten stud by hand
`;
    const all = repairsIn(wrenches, 'never-used').map(({ title, safe, after }) => [
      title,
      safe,
      changed(wrenches, after),
    ]);
    expect(all.filter(([title]) => !String(title).startsWith('Take'))).toEqual([
      [
        'Write `using big` where its range suits the torque best',
        false,
        [
          '      tighten plug to 14 N·m using used',
          '-     tighten cap to 90 N·m',
          '+     tighten cap to 90 N·m using big',
        ],
      ],
      [
        'Write `using small` where its range suits the torque best',
        false,
        [
          '    step close',
          '-     tighten bolt in stages 12 N·m, 25 N·m order star',
          '+     tighten bolt in stages 12 N·m, 25 N·m order star using small',
        ],
      ],
    ]);
  });

  test.each([
    'Do not pull it off with the puller.',
    'Never set the puller on the cage.',
    "Don't use a puller here.",
    'Draw it off by hand, without the puller.',
  ])('is not named where a text warns against it: %s', (told) => {
    const warning = `procedure p "P"\ntool puller "Puller"\nteardown\n  step open\n    do "${told}"\n`;
    expect(repairsIn(warning, 'never-used').map(({ title }) => title)).toEqual(['Take the declaration of puller out']);
  });
});

describe('what silences a check on a statement', () => {
  const unit = (steps: string): string => `procedure p "P"
part cover "Cover" held by bolt
part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
part lid "Lid" held by cover
teardown
  step open
    remove bolt
    remove cover
    remove lid
reassembly
  step close
${steps}`;

  test('goes along with one that is moved, and stays above the one that it is moved to', () => {
    const text = unit(`    # fettle-allow no-torque: the maker gives none
    tighten bolt to 25 N·m
    # fettle-allow unsupported: it rests on the bench
    # fettle-allow closed-in: seen from below
    fit bolt
    fit lid
    fit cover
`);
    const [repair] = repairsIn(text, 'left-loose');
    expect(repair!.title).toBe('Tighten bolt below its fit');
    expect(changed(text, repair!.after)).toEqual([
      '    step close',
      '-     # fettle-allow no-torque: the maker gives none',
      '-     tighten bolt to 25 N·m',
      '      fit bolt',
      '+     # fettle-allow no-torque: the maker gives none',
      '+     tighten bolt to 25 N·m',
    ]);
  });

  test('stays with the one that something is put above', () => {
    const text = `part race "Bearing"
part housing "Housing"
reassembly
  step on
    # fettle-allow no-limit: the maker gives none
    # fettle-allow unwarned: they know
    heat race to 100 °C
    # fettle-allow mixed-units: it is the maker's
    warning "Hot parts burn. Wear gloves."
    fit race
`;
    const [repair] = repairsIn(text, 'late-warning');
    expect(changed(text, repair!.after)).toEqual([
      '    step on',
      "+     # fettle-allow mixed-units: it is the maker's",
      '+     warning "Hot parts burn. Wear gloves."',
      '      heat race to 100 °C',
      "-     # fettle-allow mixed-units: it is the maker's",
      '-     warning "Hot parts burn. Wear gloves."',
    ]);
  });

  test('goes with one that is taken out, and other allowances stay where one of several is idle', () => {
    const text = unit(`    # fettle-allow no-torque: the maker gives none
    # fettle-allow already-off: it is another one
    fit lid
    fit cover
    fit bolt
    tighten bolt to 25 N·m
`);
    expect(repairsIn(text, 'idle-allow').map(({ after }) => changed(text, after))).toEqual([
      ['    step close', '-     # fettle-allow no-torque: the maker gives none'],
      ['      # fettle-allow no-torque: the maker gives none', '-     # fettle-allow already-off: it is another one'],
    ]);
  });
});

describe('a repair that would take the only line of a step away is not offered', () => {
  const bolt = 'part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m';
  const cap = 'part cap "Cap" held by bolt\n';
  test.each([
    [
      'left-loose',
      'a tightening above its fit',
      (more: string) =>
        `${bolt}\nteardown\n  step open\n    remove bolt\nreassembly\n  step turn\n    tighten bolt\n${more}  step close\n    fit bolt\n`,
    ],
    [
      'left-loose',
      'a fit that is closed in',
      (more: string) =>
        `${bolt} behind cap\npart cap "Cap"\nteardown\n  step open\n    remove cap\n    remove bolt\nreassembly\n  step turn\n    tighten bolt\n    fit cap\n  step close\n    fit bolt\n${more}`,
    ],
    [
      'run-loose',
      'an angle that is turned only in proving',
      (more: string) =>
        `${bolt} then 90°\n${cap}teardown\n  step open\n    remove bolt\n    remove cap\nreassembly\n  step close\n    fit cap\n    fit bolt\nproving\n  step run\n    check "No leak."\n  step turn\n    tighten bolt\n${more}`,
    ],
  ])('%s: %s', (code, _, text) => {
    const moves = (more: string): string[] =>
      repairsIn(text(more), code).flatMap(({ after }) =>
        after.split('\n').length === text(more).split('\n').length ? [after] : [],
      );
    expect(codesIn(text(''))).toContain(code);
    expect(moves('    do "Look"\n')).toHaveLength(1);
    expect(moves('')).toEqual([]);
  });
});

describe('a repair copies no declared value that is itself told of, and restates what is of the other system', () => {
  const job = (torque: string, oil: string, tightening: string, fill: string): string => `procedure unit "Unit"
  measures metric
part bolt x4 "Bolt" thread M8 class 8.8 torque ${torque} holes ring
tool wrench "Torque wrench" range 2..100 N·m
supply oil "Oil" ${oil}
pattern ring circle 4 diameter 80 mm
teardown
  step open
    drain oil
    loosen bolt
reassembly
  step close
    do "Look."
${tightening}${fill}`;
  /** What is wrong behind a repair and was not before, and what each repair wrote. */
  const caused = (text: string, code: string): { more: string[]; wrote: string[] } => {
    const before = codesIn(text);
    const repairs = repairsIn(text, code);
    const more = repairs.flatMap(({ after }) => {
      const left = [...before];
      return codesIn(after).filter((each) => {
        const at = left.indexOf(each);
        if (at >= 0) left.splice(at, 1);
        return at < 0;
      });
    });
    const wrote = repairs.flatMap(({ after }) => changed(text, after).filter((line) => line.startsWith('+')));
    return { more, wrote: wrote.map((line) => line.slice(1).trim()) };
  };
  const fill = '    fill oil 1.8 L\n';
  const star = 'order star';
  test.each([
    ['46 mm', [`tighten bolt ${star}`]],
    ['25', [`tighten bolt ${star}`]],
    ['25 N·m (25 lbf·ft)', [`tighten bolt ${star} using wrench`]],
    ['250 N·m', [`tighten bolt ${star}`]],
    ['60 N·m', [`tighten bolt ${star} using wrench`]],
    ['-25 N·m', [`tighten bolt ${star}`]],
    ['30..20 N·m', [`tighten bolt ${star} using wrench`]],
    ['18 lbf·ft', ['tighten bolt in stages 9 lbf·ft (12.2 N·m), 18 lbf·ft (24.4 N·m) order star using wrench']],
  ])('left-loose: %s', (torque, wrote) => {
    expect(caused(job(torque, '1.8 L', '', fill), 'left-loose')).toEqual({ more: [], wrote });
  });
  test.each([
    ['25 N·m (25 lbf·ft)', 'tighten bolt to 20 N·m', []],
    ['60 N·m', 'tighten bolt to 20 N·m', []],
    ['-25 N·m', 'tighten bolt to 20 N·m', []],
    ['18 lbf·ft', 'tighten bolt to 20 N·m', ['tighten bolt to 18 lbf·ft (24.4 N·m)']],
    ['18 lbf·ft (24 N·m)', 'tighten bolt to 20 N·m', ['tighten bolt to 18 lbf·ft (24 N·m)']],
    ['25 N·m', 'tighten bolt to 20 N·m (15 lbf·ft)', ['tighten bolt to 25 N·m']],
  ])('torque-differs: %s', (torque, tightening, wrote) => {
    expect(caused(job(torque, '1.8 L', `    ${tightening}\n`, fill), 'torque-differs')).toEqual({ more: [], wrote });
  });
  test.each([
    ['25 N·m (25 lbf·ft)', []],
    ['60 N·m', []],
    ['30..20 N·m', []],
    ['18 lbf·ft', ['tighten bolt in stages 5 N·m, 18 lbf·ft (24.4 N·m)']],
  ])('stage-falls: %s', (torque, wrote) => {
    expect(caused(job(torque, '1.8 L', '    tighten bolt in stages 5 N·m, 10 N·m\n', fill), 'stage-falls')).toEqual({
      more: [],
      wrote,
    });
  });
  test.each([
    ['1.8 qt', ['fill oil 1.8 qt (1.7 L)']],
    ['1.8 qt (1.7 L)', ['fill oil 1.8 qt (1.7 L)']],
    ['1.8 L (1.8 qt)', []],
    ['-1.8 L', []],
  ])('fill-differs: %s', (oil, wrote) => {
    expect(caused(job('25 N·m', oil, '    tighten bolt\n', '    fill oil 1.2 L\n'), 'fill-differs')).toEqual({
      more: [],
      wrote,
    });
  });
  test.each([
    ['1.8 qt', ['fill oil 1.8 qt (1.7 L)']],
    ['1.8 L (1.8 qt)', []],
    ['1.8', []],
    ['2..1 L', []],
    ['1.8 mm', []],
    ['1.8 kg', ['fill oil 1.8 kg']],
  ])('left-open: %s', (oil, wrote) => {
    expect(caused(job('25 N·m', oil, '    tighten bolt\n', ''), 'left-open')).toEqual({ more: [], wrote });
  });
});

test('what is missing goes behind the line that heats, cools or presses it', () => {
  const text = (way: string): string => `part shaft "Shaft"
part key "Key" carried by shaft
part gear "Gear" carried by shaft behind key bore 40 mm H7/k6
teardown
  step strip
    remove shaft
    remove key
    remove gear
reassembly
  step build
    warning "Hot parts burn skin. Wear heat-proof gloves."
${way}    fit key
    fit shaft
`;
  const heated = '    heat gear to 110 °C\n';
  expect(repairsIn(text(heated), 'left-off')[0]!.after).toBe(text(`${heated}    fit gear\n`));
  const either = `    either "Hot"\n  ${heated}    or "Cold"\n      press gear max 20 kN\n    end\n`;
  expect(repairsIn(text(either), 'left-off')[0]!.after).toBe(text(`${either}    fit gear\n`));
  const late = text('').replace('    fit key\n', `    fit key\n${heated}`);
  // What covers it is back by then.
  expect(repairsIn(late, 'left-off')[0]!.after).toBe(late.replace('    fit key\n', '    fit gear\n    fit key\n'));
});

test('what is missing goes below the safety messages that end its step', () => {
  const text = (last: string): string => `part lead "Battery lead" hazard charge
part cover "Cover"
teardown
  step strip
    warning "The starter can turn and maim. Take the battery lead off and prove it dead."
    disconnect lead
    remove cover
reassembly
  step build
    fit cover
    warning "The starter can turn and maim. Keep the lead locked off until hands are clear."
    notice "The clock stops."
${last}`;
  expect(codesIn(text(''))).toEqual(['left-open', 'late-warning', 'late-warning']);
  const [repair] = repairsIn(text(''), 'left-open');
  expect(repair!.after).toBe(text('    connect lead\n'));
  expect(codesIn(repair!.after)).toEqual([]);
});

test.each([
  ['a bolt would be drawn too little', '18 N·m (4 lbf·ft)', '', []],
  ['its wrench reads it poorly', '8 N·m (4 lbf·ft)', ' using wrench', []],
  ['its wrench reads either', '8 N·m (4 lbf·ft)', '', ['Keep 4 lbf·ft, write 5 N·m before it']],
  [
    'the first is the one that is too little',
    '9 N·m (18 lbf·ft)',
    ' using wrench',
    ['Keep 18 lbf·ft, write 24 N·m before it'],
  ],
])('of two torques that differ the second is not offered where %s', (_, torque, using, offered) => {
  const text = `part bolt x2 "Bolt" thread M8 class 8.8 torque ${torque}
tool wrench "Torque wrench" range 5..30 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt${using}
`;
  const [first, ...others] = repairsIn(text, 'restated-wrong').map(({ title }) => title);
  expect(first).toContain('restate it as');
  expect(others).toEqual(offered);
});
