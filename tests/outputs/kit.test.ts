import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { card } from '../../server/src/outputs/card.ts';
import { daysBefore, isDay } from '../../server/src/outputs/days.ts';
import { type Kit, type KitOptions, kit } from '../../server/src/outputs/kit.ts';
import { cell, kitCsv } from '../../server/src/outputs/kit-csv.ts';
import { kitText } from '../../server/src/outputs/kit-text.ts';
import { fettle, folder, root } from '../cli/run.ts';
import { type Opened, openSample, openText } from './opened.ts';

const listOf = ({ model, judged }: Opened, options?: KitOptions): Kit => kit(model, judged.ledger, options);
const kitIn = (text: string, options?: KitOptions): Kit => listOf(openText(text), options);
const sample = (name: string, options?: KitOptions): Kit => listOf(openSample(name), options);
const named = <T extends { name: string }>(lines: readonly T[], name: string): T =>
  lines.find((line) => line.name === name)!;
const stepsOf = ({ places }: { places: Kit['tools'][number]['places'] }): number[] => places.map(({ step }) => step);

describe('new parts', () => {
  // Bore, outside diameter and width, in that order, as ISO 15 lists rolling bearings (from memory).
  it.each([
    ['bore 17 mm diameter 40 mm length 12 mm', '17 × 40 × 12 mm'],
    ['bore 17 mm diameter 40 mm', '17 × 40 mm'],
    ['bore 0.75 in diameter 40 mm length 12 mm', '0.75 in × 40 mm × 12 mm'],
    ['bore 20 mm length 30 mm', 'bore 20 mm, 30 mm long'],
    ['length 30 mm', '30 mm'],
    ['bore 20 mm number "6204"', undefined],
    ['thread M8 length 30 mm', 'M8 × 30 mm'],
  ])('tell of %s the size %s', (clauses, size) => {
    const { parts } = kitIn(
      `part race "Race" renew ${clauses}\nteardown\n  step a\n    remove race\n    discard race\nreassembly\n  step b\n    fit new race\n`,
    );
    expect(named(parts, 'race').size).toBe(size);
  });

  // A bolt of the next lower class fits the same hole: who buys it has to be told the class.
  it.each([
    ['thread M8 class 10.9 length 30 mm', 'class 10.9'],
    ['thread 5/16-18 grade 8', 'grade 8'],
    ['thread M8', undefined],
  ])('tell of %s the strength %s', (clauses, strength) => {
    const kit = kitIn(
      `part bolt x6 "Bolt" renew ${clauses}\nteardown\n  step a\n    remove bolt\n    discard bolt\nreassembly\n  step b\n    fit new bolt\n`,
    );
    expect(named(kit.parts, 'bolt').strength).toBe(strength);
    if (strength === undefined) return;
    expect(kitText(kit)).toMatch(new RegExp(`6 × +Bolt +.*; ${strength} +step 2`));
    const [columns, row] = kitCsv(kit)
      .split('\r\n')
      .map((line) => line.split(','));
    expect(row![columns!.indexOf('spec')]).toBe(strength);
  });

  it('count once what both ways of an alternative fit, and as possible what only one replaces', () => {
    const winch = sample('winch-reducer');
    expect(named(winch.parts, 'input-bearing')).toMatchObject({
      count: 2,
      perhaps: 0,
      onlyIf: false,
      marking: '6208-C3',
      how: ['fit new'],
      when: [],
    });
    expect(named(winch.parts, 'idler-gear')).toMatchObject({
      count: 0,
      perhaps: 1,
      onlyIf: true,
      when: ['the idler teeth are pitted or chipped'],
    });
    expect(named(winch.parts, 'new-drum-shaft')).toMatchObject({ count: 1, how: ['swap in'] });
  });

  it('say which code they are for', () => {
    const winch = sample('winch-reducer');
    expect(named(winch.parts, 'heater-gasket').codes).toEqual(['DW-40B']);
    expect(named(winch.parts, 'lid-gasket').codes).toBeUndefined();
    expect(sample('winch-reducer', { code: 'DW-40' }).parts.map(({ name }) => name)).not.toContain('heater-gasket');
    expect(named(sample('winch-reducer', { code: 'DW-40B' }).parts, 'heater-gasket').codes).toBeUndefined();
  });

  it('are those that the ledger takes from stock: every part declared `renew` that comes off in a whole sample', () => {
    for (const name of ['winch-reducer', 'gear-pump', 'chain-hoist-brake', 'centrifugal-clutch']) {
      const text = readFileSync(join(root, `samples/${name}.fettle`), 'utf8');
      const renewed = [...text.matchAll(/^part (\S+).* renew(?: |$)/gm)].map(([, part]) => part!);
      expect(renewed.length).toBeGreaterThan(1);
      expect(sample(name).parts.map((line) => line.name)).toEqual(expect.arrayContaining(renewed));
    }
  });

  const part = 'part seal x4 "Seal" renew\nteardown\n  step off\n    remove seal\n';

  it('laid out by `replace` are not counted again when they are fitted', () => {
    const { parts } = kitIn(`${part}    replace seal\nreassembly\n  step on\n    fit new seal\n`);
    expect(parts).toMatchObject([{ name: 'seal', count: 4, how: ['replace'] }]);
  });

  it('differ by alternative: the least is sure', () => {
    const { parts } = kitIn(`part shoe x6 "Shoe"
teardown
  step off
    remove shoe
inspection
  step judge
    if "some are worn"
      replace shoe x2
    else
      replace shoe x5
    end
`);
    expect(parts).toMatchObject([{ count: 2, perhaps: 3, onlyIf: false, when: ['not so: some are worn'] }]);
    expect(kitText(kitIn('part lid "Lid"\nteardown\n  step off\n    remove lid\n'))).toContain('Nothing to have ready');
  });

  it('name the alternatives that need more than the others, with the letter of the card where a way has no words', () => {
    const when = (statements: string): [number, number, readonly string[]] => {
      const { parts } = kitIn(
        `part shoe x6 "Shoe"\nteardown\n  step off\n    remove shoe\ninspection\n  step judge\n${statements}`,
      );
      expect(parts).toHaveLength(1);
      return [parts[0]!.count, parts[0]!.perhaps, parts[0]!.when];
    };
    const none = 'inspect shoe';
    const either = (...ways: string[]): string => `either ${ways.join('\nor ')}\nend\n`;
    const decide = (yes: string, no: string): string => `if "worn"\n${yes}\nelse\n${no}\nend\n`;
    expect(when(decide(none, 'replace shoe x2'))).toEqual([0, 2, ['not so: worn']]);
    expect(when(decide('replace shoe x2', none))).toEqual([0, 2, ['worn']]);
    expect(when(decide('replace shoe x2', 'replace shoe x2'))).toEqual([2, 0, []]);
    expect(when(either(none, 'replace shoe x2', '"By hand"\nreplace shoe'))).toEqual([0, 6, ['way B', 'By hand']]);
    expect(when(decide(`replace shoe x1\n${decide(none, 'replace shoe x2')}`, none))).toEqual([
      0,
      3,
      ['worn', 'not so: worn'],
    ]);
    expect(when(`replace shoe x1\nif "cracked"\n${decide('replace shoe x2', none)}end\n`)).toEqual([1, 2, ['worn']]);
    const notes = kitText(
      kitIn(
        `part shoe x6 "Shoe"\nteardown\n  step off\n    remove shoe\ninspection\n  step judge\n${decide('replace shoe x2', 'replace shoe x5')}`,
      ),
    );
    expect(notes).toContain('the greater count if “not so: worn”');
  });

  it('stand in columns, be their titles in letters of two columns', () => {
    const text = kitText(
      kitIn(
        'part seal "密封圈" renew\npart plug "Plug" renew\nreassembly\n  step on\n    fit new seal\n    fit new plug\n',
      ),
    );
    expect(text).toContain('  1 ×  密封圈    step 1\n  1 ×  Plug      step 1\n');
  });

  it('are not said to be nothing where a vessel or a tool without a name is needed', () => {
    for (const [declared, done] of [
      ['supply oil "Oil" 1 L', 'drain oil'],
      ['part hub "Hub"', 'heat hub to 80 °C'],
      ['part bolt "Bolt" thread M8', 'remove bolt'],
    ]) {
      const text = kitText(kitIn(`${declared}\nteardown\n  step off\n    ${done}\n`));
      expect(text, done).not.toContain('Nothing to have ready');
      expect(text, done).toMatch(/Vessel|Heating|M8/);
    }
  });

  it('are needed where the old or the scrapped ones are put back by mistake', () => {
    for (const [off, on, count] of [
      ['', 'fit seal', 4],
      ['    discard seal\n', 'fit seal', 4],
      ['', 'fit seal x3', 3],
    ])
      expect(kitIn(`${part}${off}reassembly\n  step on\n    ${on}\n`).parts).toMatchObject([{ name: 'seal', count }]);
    expect(kitIn(`${part.replace(' renew', '')}reassembly\n  step on\n    fit seal\n`).parts).toEqual([]);
  });

  it('differ by code: a line for each count', () => {
    const { parts } = kitIn(`procedure p "P"
  applies to A, B, C
part seal x4 "Seal" renew
teardown
  step off
    remove seal
reassembly
  step on
    for A, B
      fit new seal
    end
    for C
      fit new seal x3
    end
`);
    expect(parts.map(({ count, codes }) => [count, codes])).toEqual([
      [4, ['A', 'B']],
      [3, ['C']],
    ]);
  });
});

describe('order dates', () => {
  // Worked out on a calendar: 2028 is a leap year, 2027 is not.
  it.each([
    ['2028-03-01', 2 * 86400, '2028-02-28'],
    ['2027-03-01', 2 * 86400, '2027-02-27'],
    ['2027-01-01', 86400, '2026-12-31'],
    ['2027-03-01', 3600, '2027-02-28'],
    ['2027-03-01', 36 * 3600, '2027-02-27'],
    ['2027-03-01', 1e15, undefined],
    [undefined, 86400, undefined],
  ])('%s less %d s', (start, seconds, day) => {
    expect(daysBefore(start, seconds)).toBe(day);
  });

  it('know the calendar', () => {
    expect(isDay('2028-02-29')).toBe(true);
    for (const no of ['2027-02-29', '2027-02-30', '2027-13-01', '27-01-01', '2027-1-1', 'x', ''])
      expect(isDay(no)).toBe(false);
  });

  it('stand beside what has a lead time; the earliest of what is sure is the kit’s own', () => {
    const text = `part gear "Gear" lead 30 d
part seal "Seal" renew lead 4 d
part disc "Disc" renew lead 36 h
teardown
  step off
    remove gear
    remove seal
    remove disc
    if "worn"
      replace gear
    end
reassembly
  step on
    fit gear
    fit new seal
    fit new disc
`;
    const list = kitIn(text, { start: '2027-03-10' });
    expect(list.parts.map(({ name, orderBy }) => [name, orderBy])).toEqual([
      ['gear', '2027-02-08'],
      ['seal', '2027-03-06'],
      ['disc', '2027-03-08'],
    ]);
    expect(list.orderBy).toBe('2027-03-06');
    expect(kitIn(text).parts.every(({ orderBy }) => orderBy === undefined)).toBe(true);
  });

  it('allow for the longest of a lead time that is given as a range', () => {
    const text = `part seal "Seal" renew lead 2..4 d
teardown
  step off
    remove seal
    discard seal
reassembly
  step on
    fit new seal
`;
    expect(kitIn(text, { start: '2027-03-10' }).parts[0]!.orderBy).toBe('2027-03-06');
  });
});

describe('tools', () => {
  it('used once are told apart; a second use, in any code, ends that', () => {
    const { tools } = sample('winch-reducer');
    expect(named(tools, 'pin-extractor')).toMatchObject({ once: true, statements: 1 });
    expect(named(tools, 'puller')).toMatchObject({ once: false, statements: 4 });
    expect(stepsOf(named(tools, 'pin-extractor'))).toEqual([13]);
    // Step 35 is for DW-40B alone, but the wrench is for both: one line.
    expect(tools.filter(({ name }) => name === 'small-wrench')).toHaveLength(1);
    expect(stepsOf(named(tools, 'small-wrench'))).toContain(35);
  });

  it('state their range in both unit systems', () => {
    const range = named(sample('winch-reducer').tools, 'large-wrench').range!;
    // 1 lbf·ft = 1.3558179483314004 N·m exactly (NIST SP 811).
    const [, low, high] = /^40 to 200 N·m \((.*) to (.*) lbf·ft\)$/.exec(range)!;
    expect(Number(low)).toBeCloseTo(40 / 1.3558179483314, 1);
    expect(Number(high)).toBeCloseTo(200 / 1.3558179483314, 0);
  });

  it('that no declaration names are listed: adapters, shims, a vessel for what is drained, gauges', () => {
    const list = kitIn(`part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
supply oil "Oil" 1.5 L
part pack "Shims"
teardown
  step off
    drain oil
    remove bolt
    remove pack
reassembly
  step on
    measure gap-a limit 0.4..0.6 mm
    shim pack gap gap-a endplay 0.05..0.10 mm from 0.05 mm, 0.1 mm x3
    fit bolt
    tighten bolt extension 60 mm on 400 mm
    fill oil
`);
    expect(list.extras.map(({ what }) => what)).toEqual([
      'Vessel for 1.5 L',
      'Shims 0.05 mm, 0.1 mm × 3',
      'Torque wrench adapter, 60 mm on a wrench of 400 mm',
    ]);
    expect(list.unnamed.map(({ need }) => need)).toEqual([
      'Measuring gap a, 0.4 to 0.6 mm',
      'Tightening Bolt to 25 N·m (18.4 lbf·ft)',
    ]);
    expect(list.threads).toEqual([{ thread: 'M8', fasteners: ['Bolt × 2'] }]);
  });

  // A torque wrench tells no angle, and a pin bit no torque.
  it.each([
    ['tighten bolt using wrench', ['Turning Bolt 90° further']],
    ['tighten bolt to 40 N·m then 60° using wrench', ['Turning Bolt 60° further']],
    ['tighten bolt to 20 N·m using wrench', []],
    ['tighten bolt using wrench, gauge', []],
    ['tighten bolt using angle-wrench', []],
    // The torque may have been reached in the pass before.
    ['tighten bolt using gauge', []],
    ['tighten bolt using wrench, angle-head', ['Turning Bolt 90° further']],
    ['tighten bolt', ['Tightening Bolt to 40 N·m (29.5 lbf·ft), then 90° further']],
    ['tighten bolt using bit', ['Tightening Bolt to 40 N·m (29.5 lbf·ft), then 90° further']],
    ['tighten bolt using bit, wrench', ['Turning Bolt 90° further']],
    ['tighten bolt by hand using bit', []],
  ])('of `%s` no tool is named for %j', (statement, needs) => {
    const list = kitIn(`part bolt x2 "Bolt" thread M8 class 10.9 torque 40 N·m then 90°
tool wrench "Torque wrench" range 10..100 N·m
tool angle-wrench "Wrench for torque and angle" range 10..100 N·m
tool gauge "Protractor for bolts"
tool bit "Pin bit"
tool angle-head "Right-angle head"
reassembly
  step on
    ${statement}
`);
    expect(list.unnamed.map(({ need }) => need)).toEqual(needs);
  });

  it('takes a tool for a torque wrench where no wrench of the procedure states a range', () => {
    const list = kitIn(
      'part bolt thread M8 torque 40 N·m\ntool wrench "Wrench"\nreassembly\n  step on\n    tighten bolt using wrench\n',
    );
    expect(list.unnamed).toEqual([]);
  });

  it('lists the oil and the paste that threads are declared with, where nothing is applied to them', () => {
    const list = kitIn(`part bolt x2 "Bolt" thread M8 oiled torque 20 N·m
part stud "Stud" thread M10 oiled torque 40 N·m
part nut "Nut" thread M10 paste torque 40 N·m
part cap "Cap" thread M20 paste torque 60 N·m
part plug "Plug" thread M12 oiled torque 30 N·m
supply copper "Copper paste"
reassembly
  step on
    tighten bolt
    apply copper to nut
    tighten nut
    tighten cap
    tighten plug by hand
  step more
    tighten stud
`);
    expect(list.extras.map(({ what, why, places }) => [what, why, places.map(({ step }) => step)])).toEqual([
      ['Oil for threads', 'of Bolt, Stud', [1, 2]],
      ['Anti-seize paste for threads', 'of Cap', [1]],
    ]);
    const extras = kitCsv(list).match(/^extra,.*$/gm);
    expect(extras).toEqual([
      'extra,,Oil for threads,,,,,,,,,,,,,1 2,"of Bolt, Stud"',
      'extra,,Anti-seize paste for threads,,,,,,,,,yes,,,,1,of Cap',
    ]);
  });

  // A socket screw needs a key where a hexagon needs a spanner, and no spanner goes on it.
  it('tells the head where one is declared: of what is turned, and of what is to be had new', () => {
    const { model, judged } = openText(`procedure p
part bolt x2 "Bolt" thread M8 length 30 mm class 8.8 head socket torque 20 N·m renew
part cap x4 "Cap bolt" thread M8 head flange torque 20 N·m
part nut "Nut" thread M8 torque 20 N·m
teardown
  step off
    remove bolt
    discard bolt
    remove cap
    remove nut
reassembly
  step on
    fit new bolt
    tighten bolt
    fit cap
    tighten cap
    fit nut
    tighten nut
`);
    const list = kit(model, judged.ledger);
    expect(list.threads).toEqual([
      {
        thread: 'M8',
        fasteners: ['Bolt × 2 (socket head)', 'Cap bolt × 4 (flange head)', 'Nut'],
        heads: ['socket', 'flange'],
      },
    ]);
    expect(list.parts[0]!.head).toBe('socket head');
    expect(kitText(list)).toMatch(/2 × +Bolt +M8 × 30 mm; class 8\.8; socket head +step 2/);
    expect(kitCsv(list)).toContain('class 8.8; socket head');
    const page = card(model, judged.ledger, { findings: [] });
    expect(page.replace(/<[^>]*>/g, '')).toContain('heads of these threads: M8 (socket, flange)');
    expect(page.replace(/<[^>]*>/g, '')).toContain('(M8 × 30 mm, class 8.8, socket head)');
  });

  it('takes a left-hand thread for one of its size: the heads are alike', () => {
    const { threads } = kitIn(`part bolt x2 "Bolt" thread M8
part nut "Fan nut" thread M8-LH
teardown
  step off
    remove bolt
    remove nut
`);
    expect(threads).toEqual([{ thread: 'M8', fasteners: ['Bolt × 2', 'Fan nut'] }]);
  });

  it('takes one size for one however it is spelled', () => {
    const { threads } = kitIn(`part bolt "Bolt" thread M8x1.25
part nut "Nut" thread M8
part plug "Plug" thread G 1/2
part cock "Cock" thread G1/2
part cap "Cap" thread M8x1
teardown
  step off
    remove bolt
    remove nut
    remove plug
    remove cock
    remove cap
`);
    expect(threads).toEqual([
      { thread: 'M8x1.25', fasteners: ['Bolt', 'Nut'] },
      { thread: 'G 1/2', fasteners: ['Plug', 'Cock'] },
      { thread: 'M8x1', fasteners: ['Cap'] },
    ]);
  });
});

describe('tools and supplies', () => {
  const text = `part cover "Cover"
tool bar x3 "Guide bar" number "G-7" hazard weight
tool cup x2 "Seal cup" number "C-1"
supply paste x2 "Paste" 50 mL number "P-9"
supply oil "Oil" 1.5 L
teardown
  step off
    drain oil
    remove cover using bar, cup
reassembly
  step on
    apply paste to cover using cup
    fit cover
    fill oil 1.5 L
`;

  it('say how many to have and what to match at a supplier', () => {
    const { tools, supplies } = kitIn(text);
    expect(tools).toMatchObject([
      { name: 'bar', count: 3, marking: 'G-7' },
      { name: 'cup', count: 2, marking: 'C-1' },
    ]);
    expect(supplies).toMatchObject([{ name: 'paste', count: 2, marking: 'P-9' }, { name: 'oil' }]);
    expect(supplies[1]!.count).toBeUndefined();
  });

  it('say so as text, as a table and on the card', () => {
    const lines = kitText(kitIn(text)).replace(/ {2,}/g, ' | ');
    expect(lines).toContain('| 3 × Guide bar | marked G-7; hazard: weight | step 1');
    expect(lines).toContain('| 2 × Seal cup | marked C-1 | steps 1, 2');
    expect(lines).toContain('| 50 mL | 2 × Paste | marked P-9; on Cover | step 2');
    expect(lines).toContain('| 1.5 L | Oil | step 2');
    const rows = kitCsv(kitIn(text)).split('\r\n');
    expect(rows).toEqual(
      expect.arrayContaining([
        expect.stringMatching(/^tool,bar,Guide bar,3,,,,,G-7,.*,hazard weight$/),
        expect.stringMatching(/^supply,paste,Paste,2,,50,mL,,P-9,/),
        expect.stringMatching(/^supply,oil,Oil,,,1.5,L,,,/),
      ]),
    );
    const { model, judged } = openText(text);
    const page = card(model, judged.ledger, { findings: [] }).replace(/<[^>]*>/g, '');
    expect(page).toContain('3 × Guide bar marked G-7 · hazard: weight · step 1');
    expect(page).toContain('2 × Paste, 50 mL marked P-9 · on Cover');
  });
});

describe('supplies', () => {
  const filled = (body: string, declared = ''): Kit['supplies'][number] =>
    kitIn(`supply oil "Oil"${declared}\nreassembly\n  step on\n${body}`).supplies[0]!;

  it('sum the fills, in the declared unit and as exactly as they are written', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 99 }), { minLength: 1, maxLength: 8 }), (tenths) => {
        const body = tenths.map((tenth) => `    fill oil ${tenth / 10} L\n`).join('');
        const total = tenths.reduce((sum, tenth) => sum + tenth, 0) / 10;
        expect(filled(body, ' 3 L').amount!.value).toBeCloseTo(total, 9);
      }),
    );
    expect(filled('    fill oil 2 qt\n', ' 3 L').amount).toMatchObject({ unit: 'L' });
    // 1 US liquid quart = 946.352946 mL exactly (NIST SP 811).
    expect(filled('    fill oil 2 qt\n', ' 3 L').amount!.value).toBeCloseTo(2 * 0.946352946, 12);
  });

  it('take the declared quantity where a fill states none, or where they are only applied', () => {
    expect(filled('    fill oil\n', ' 3 L').amount!.text).toBe('3 L');
    expect(filled('    fill oil 1 L\n    fill oil\n', ' 3 L').amount!.value).toBe(3);
    expect(filled('    fill oil\n').amount).toBeUndefined();
    expect(named(sample('winch-reducer').supplies, 'sealant')).toMatchObject({
      amount: { value: 50, unit: 'mL' },
      appliedTo: ['Top housing'],
      cure: '60 min',
      hazards: ['chemical'],
    });
  });

  it('that an alternative adds are told of', () => {
    const oil = filled('    fill oil 1 L\n    if "it ran dry"\n      fill oil 0.5 L\n    end\n');
    expect(oil.amount).toMatchObject({ value: 1, more: 0.5, text: '1 L (1.06 qt), perhaps 1.5 L (1.59 qt)' });
    expect(oil.when).toEqual(['it ran dry']);
  });

  it('only drained are not to be bought', () => {
    expect(kitIn('supply oil "Oil" 1 L\nteardown\n  step off\n    drain oil\n').supplies).toEqual([]);
  });
});

/** Reads RFC 4180: records end with CRLF, a quoted field may hold anything, its quotes doubled. */
function records(csv: string): string[][] {
  const rows: string[][] = [];
  const field = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)/y;
  let row: string[] = [];
  while (field.lastIndex < csv.length) {
    const match = field.exec(csv);
    if (match === null) throw new Error('no RFC 4180');
    row.push(match[1]?.replace(/""/g, '"') ?? match[2]!);
    if (match[3] === '\r\n') {
      rows.push(row);
      row = [];
    }
  }
  expect(row).toEqual([]);
  return rows;
}

describe('CSV', () => {
  it('is RFC 4180, every record as long as the header, for every sample', () => {
    for (const name of ['winch-reducer', 'gear-pump', 'irrigation-pump', 'faulty/syntax']) {
      const [header, ...rows] = records(kitCsv(sample(name)));
      for (const row of rows) expect(row).toHaveLength(header!.length);
    }
  });

  it('keeps any cell whole, and none is taken for a formula', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        const [[back]] = records(`${cell(text)},\r\n`) as [[string]];
        expect([text, `'${text}`]).toContain(back);
        expect(back).not.toMatch(/^[=+\-@\t\r]/);
      }),
      { examples: [['00'], ['1-2'], ["'=1"]] },
    );
    expect(cell('=1+1')).toBe("'=1+1");
    expect(cell('@SUM(A1)')).toBe("'@SUM(A1)");
    expect(cell('＝1')).toBe("'＝1");
    expect(cell('-20, "cold"')).toBe('"\'-20, ""cold"""');
    expect(cell(-20)).toBe('-20');
  });

  // Excel and Calc take `10-32` for October 1932 and `1/4-20` for a day: common practice, no source.
  it('leaves a spreadsheet no text to take for a date, a time or another number', () => {
    for (const text of [
      '10-32',
      '1/4-20',
      '5/16-24',
      '6-12',
      '1.2.3',
      'DEC1',
      'Mar-5',
      'sept 2',
      '12:30',
      '0012',
      '1E5',
      '6204e2',
    ])
      expect(cell(text)).toBe(`'${text}`);
    for (const text of ['6204', '6208-C3', 'M8', '1/4-20 × 3 in', '3 4 12', '1.5', 'DEC-A', 'MARCH', 'A-1', ''])
      expect(cell(text)).toBe(text);
    const csv = kitCsv(
      kitIn(
        'part screw "Screw" renew thread 10-32 lead 5 h\npart bolt "Bolt" thread 1/4-20\nteardown\n  step off\n    remove screw\n    discard screw\n    remove bolt\nreassembly\n  step on\n    fit new screw\n    fit bolt\n',
        { start: '2027-03-01' },
      ),
    );
    expect(csv).toContain("'10-32");
    expect(csv).toContain(',0.208333333333,2027-02-28,');
    expect(csv).toContain("thread,,'1/4-20,");
  });

  it('carries the author’s hostile titles', () => {
    const csv = kitCsv(kitIn('part a "=HYPERLINK(\\"x\\"), b" renew\nreassembly\n  step on\n    fit new a\n'));
    const [header, row] = records(csv);
    expect(row![header!.indexOf('title')]).toBe('\'=HYPERLINK("x"), b');
  });
});

describe('the command', () => {
  it('refuses with the remedy', () => {
    const cwd = folder({ 'a.fettle': 'procedure a "A"\n  applies to X-1\npart a "A"\n' });
    expect(fettle(['kit'], { cwd })).toMatchObject({
      status: 2,
      err: expect.stringContaining('fettle kit pump.fettle'),
    });
    for (const day of ['2027-02-30', '2027-03-01Tea'])
      expect(fettle(['kit', 'a.fettle', '--start', day], { cwd })).toMatchObject({
        status: 2,
        out: '',
        err: expect.stringContaining('write it as in 2027-03-01'),
      });
    expect(fettle(['kit', 'a.fettle', '--code', 'X-2'], { cwd }).err).toContain('does not apply to X-2: it names X-1');
  });

  it('writes a file, for spreadsheets with a byte order mark that the standard output is spared', () => {
    const cwd = folder({
      'a.fettle':
        'procedure a "A"\ntool wrench "Wrench" range 5..100 N·m\npart bolt "Bolt" torque 25 N·m\nreassembly\n  step on\n    tighten bolt using wrench\n',
    });
    const plain = fettle(['kit', 'a.fettle', '--format', 'csv'], { cwd }).out;
    expect(plain).toMatch(/^kind,.*\r\n.*N·m/);
    expect(fettle(['kit', 'a.fettle', '--format', 'csv', '-o', 'kit.csv'], { cwd })).toMatchObject({
      status: 0,
      out: '',
    });
    const bytes = readFileSync(join(cwd, 'kit.csv'));
    // RFC 3629, section 6: the byte order mark in UTF-8.
    expect([...bytes.subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
    expect(bytes.subarray(3).toString()).toBe(plain);
    for (const format of ['text', 'json']) {
      fettle(['kit', 'a.fettle', '--format', format, '-o', 'kit.txt'], { cwd });
      expect(readFileSync(join(cwd, 'kit.txt'), 'utf8')).toBe(
        fettle(['kit', 'a.fettle', '--format', format], { cwd }).out,
      );
    }
    expect(fettle(['kit', 'a.fettle', '-o', 'a.fettle'], { cwd })).toMatchObject({
      status: 2,
      err: expect.stringContaining('name another file'),
    });
  });

  it('takes a time for its day, and warns where the procedure has errors', () => {
    const json = fettle(['kit', 'samples/gear-pump.fettle', '--format', 'json', '--start', '2027-03-01T07:00']);
    expect(json).toMatchObject({ status: 0, err: '' });
    expect(JSON.parse(json.out)).toMatchObject({
      file: 'samples/gear-pump.fettle',
      start: '2027-03-01',
      orderBy: '2027-02-25',
    });
    const { out, err, status } = fettle(['kit', 'samples/irrigation-pump.fettle']);
    expect(status).toBe(0);
    expect(err).toMatch(/\d+ errors in the procedure, so the list may lack something/);
    expect(out).toContain('Hoist and slings, 500 lb');
  });

  it('shows no control character', () => {
    const text = kitText(kitIn('part a "\u202eA\u0007" renew\nreassembly\n  step on\n    fit new a\n'));
    expect(text).toContain('\ufffdA\u2407');
  });
});
