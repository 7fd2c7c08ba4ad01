import { describe, expect, it } from 'vitest';
import type { Client } from '../../server/src/features/feature.ts';
import { hover } from '../../server/src/features/hover.ts';
import type { Preferences, ShownUnits } from '../../server/src/settings.ts';
import { scene } from './scene.ts';

const text = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
  code plate "On the foot"
part bolt x8 "Bolt" thread M8 class 8.8 torque 25 N·m (18 lbf·ft) then 90° holes rim
part cover "Cover_A" held by bolt hazard weight
part seal "Seal" renew
tool wrench "Wrench" range 5..40 N·m
supply oil "Oil" 1.8 L spec "VG 220"
pattern rim circle 8 diameter 100 mm
teardown
  step open "Open it" takes 10 min
    remove bolt x6
    remove bolt x2 using wrench
    remove cover
    for P-2
      remove seal
    end
reassembly
  step close "Close it" after open
    fit cover
    fit bolt
    tighten bolt to 25 N·m order star
    measure play limit 0.1..0.2 mm "At the rim"
`;

async function shown(
  place: string,
  client: Partial<Client> = {},
  preferences: Partial<Preferences> = {},
): Promise<string | undefined> {
  const [before, after] = place.split('¦') as [string, string];
  if (!text.includes(before + after)) throw new Error(`${place} is not in the text`);
  const { snapshot, position, textDocument, site } = await scene(text.replace(before + after, place), client);
  const found = await hover.answer(
    snapshot,
    { textDocument, position },
    { ...site, preferences: { ...site.preferences, ...preferences } },
  );
  return found === null ? undefined : (found.contents as { value: string }).value;
}
const unlinked = (markdown: string | undefined): string[] =>
  (markdown ?? '').replace(/\[([^\]]*)\]\([^)]*\)/g, '$1').split('\n');

describe('hover', () => {
  it('tells a part’s life: what is declared, where it comes off and goes back, how many', async () => {
    expect(unlinked(await shown('fit bo¦lt'))).toEqual([
      '**bolt** ×8 – Bolt',
      '- thread M8, class 8.8, torque 25 N·m (18 lbf·ft) then 90°, holes `rim`',
      '',
      'Here: 8 off',
      '- line 12, step `open`: 6 of 8 off',
      '- line 13, step `open`: 2 of 8 off',
      '- line 21, step `close`: 8 back on',
      '- line 22, step `close`: 8 tightened to 25 N·m',
    ]);
  });

  it('keeps a title that runs from right to left apart, and its figures in their order', async () => {
    const { snapshot, position, textDocument, site } = await scene('part se¦al "חותם ציר 40 mm" renew\n');
    const { contents } = (await hover.answer(snapshot, { textDocument, position }, site))!;
    const [title] = (contents as { value: string }).value.split('\n');
    // Isolates of UAX #9: the title by its first letter, in it what reads from left to right.
    expect(title).toBe('**seal** – \u2068חותם ציר \u206640 mm\u2069\u2069');
  });

  it('adds the units that the reader wants, and never takes away what is written', async () => {
    // 1 lbf·ft = 1.355818 N·m (NIST SP 811, appendix B): 5 N·m are 3.69 lbf·ft, 40 N·m are 29.5.
    const range = async (units: ShownUnits) => unlinked(await shown('using wre¦nch', {}, { units }))[1];
    expect(await range('asWritten')).toBe('- range 5..40 N·m');
    expect(await range('metric')).toBe('- range 5..40 N·m');
    expect(await range('imperial')).toBe('- range 5..40 N·m (3.69..29.5 lbf·ft)');
  });

  it('tells of the words of a clause together, whichever of them the pointer is on', async () => {
    const about = async (text: string) => {
      const { snapshot, position, textDocument, site } = await scene(text);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      const { start, end } = found!.range!;
      return [(found!.contents as { value: string }).value, end.character - start.character];
    };
    const held = '`held by` – What must come off or be loose before this part comes away.';
    expect(await about('part cover "Cover" he¦ld by bolt\n')).toEqual([held, 7]);
    expect(await about('part cover "Cover" held b¦y bolt\n')).toEqual([held, 7]);
    const [carried] = await about('part key "Key" carried b¦y shaft\n');
    expect(carried).toBe('`carried by` – It sits on that part and comes away with it.');
    const step = 'part bolt "Bolt"\nteardown\n  step open\n    ';
    expect(await about(`${step}remove bolt keep i¦n "tray"`)).toEqual([
      '`keep in` – Where the piece is kept meanwhile.',
      7,
    ]);
    expect((await about(`${step}tighten bolt b¦y hand`))[0]).toBe('`by hand` – Snug only; still to be torqued.');
    expect((await about(`${step}tighten bolt i¦n stages 5 N·m, 9 N·m`))[0]).toBe(
      '`in stages` – Torques of the passes, rising to the last.',
    );
    expect((await about('procedure p\n  applies t¦o P-1\n'))[0]).toBe(
      '`applies to` – The codes stamped on the units that this procedure is for.',
    );
    // Words that are a clause of their own keep their own help.
    expect((await about(`${step}measure play "Play" l¦imit 0.1..0.2 mm`))[0]).toBe(
      '`limit` – The range that the reading must lie in.',
    );
  });

  it('gives a quantity in units that a person would write it in', async () => {
    const about = async (text: string) => {
      const { snapshot, position, textDocument, site } = await scene(text);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      return unlinked((found!.contents as { value: string }).value).slice(1);
    };
    expect(await about('supply glue "Glue" cure 2¦0 min\n')).toEqual(['- 1200 s']);
    expect(await about('supply glue "Glue" cure 9¦0 min\n')).toEqual(['- 5400 s', '- 1.5 h']);
    expect(await about('supply glue "Glue" cure 4¦8 h\n')).toEqual(['- 2880 min', '- 2 d']);
    expect(await about('part bolt "Bolt" length 2¦5 mm\n')).toEqual(['- 0.025 m', '- 0.9843 in']);
    expect(await about('part pin "Pin" length 0.0¦5 mm\n')).toEqual(['- 50 µm', '- 0.001969 in']);
    expect(await about('part pin "Pin" bore 20 mm interference 1¦0..45 µm\n')).toEqual([
      '- 0.01..0.045 mm',
      '- 0.0003937..0.001772 in',
    ]);
  });

  it('tells what a thread and a class or grade amount to', async () => {
    // ISO 898-1, tables 4 and 6 (from memory): M8 has a stress area of 36.6 mm², and class 8.8 a proof load of 21 200 N.
    const bolt = [
      '**M8x1.25** ISO metric thread, coarse',
      '- pitch 1.25 mm, stress area 36.6 mm²',
      '- class 8.8: proof load 21.2 kN',
    ];
    expect(unlinked(await shown('thread M¦8 class'))).toEqual(bolt);
    expect(unlinked(await shown('class 8¦.8 torque'))).toEqual(bolt);
    const nut = await scene('part nut "Nut" thread M8x1-L¦H\n');
    const about = await hover.answer(nut.snapshot, nut, nut.site);
    expect(unlinked((about!.contents as { value: string }).value)[0]).toBe(
      '**M8x1-LH** ISO metric thread, fine, left-hand: turned clockwise it comes loose',
    );
    // ASME B1.1 (from memory): 1/4-20 UNC has a stress area of 0.0318 in², which is 20.5 mm²; SAE J429 lists 2700 lbf for it in grade 5 (85 ksi), rounded.
    const { snapshot, position, textDocument, site } = await scene('part pin "Pin" thread 1/4-2¦0 grade 5\n');
    const found = await hover.answer(snapshot, { textDocument, position }, site);
    expect(unlinked((found!.contents as { value: string }).value)).toEqual([
      '**1/4-20** unified thread, coarse',
      '- 20 threads per inch (pitch 1.27 mm), stress area 20.5 mm²',
      '- grade 5: proof load 2705 lbf',
    ]);
  });

  it('tells what a head bears on', async () => {
    // ISO 4762 (read in a public copy): the face of an M8 socket screw is 12.33 mm at least; ISO 273, medium: a hole of 9 mm.
    const { snapshot, position, textDocument, site } = await scene(
      'part cap "Screw" thread M8 class 8.8 head soc¦ket\n',
    );
    const found = await hover.answer(snapshot, { textDocument, position }, site);
    expect(unlinked((found!.contents as { value: string }).value).at(-1)).toBe(
      '- socket head: bears on 12.3 mm over a hole of 9 mm, so that friction acts at 10.7 mm',
    );
  });

  it('tells what a pipe thread is', async () => {
    const about = async (text: string) => {
      const { snapshot, position, textDocument, site } = await scene(text);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      return unlinked((found!.contents as { value: string }).value);
    };
    // ISO 228-1 and ASME B1.20.1: read in public tables.
    expect(await about('part plug "Plug" thread G1¦/2 torque 60 N·m\n')).toEqual([
      '**G1/2** pipe thread of ISO 228-1, parallel: a washer or ring seals it',
      "- 20.955 mm over the thread, 14 threads per inch; no class of bolts covers it, the torque is the maker's",
    ]);
    expect((await about('part plug "Plug" thread 1/2 N¦PT-LH\n'))[0]).toBe(
      '**1/2-14 NPT-LH** pipe thread of ASME B1.20.1, tapered: it seals in the thread; left-hand: turned clockwise it comes loose',
    );
  });

  it('tells what a fit comes to', async () => {
    const about = async (clauses: string) => {
      const { snapshot, position, textDocument, site } = await scene(`part ring "Ring" ${clauses}\n`);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      return found === null ? null : unlinked((found.contents as { value: string }).value);
    };
    // ISO 286-2 and ISO 492, read in makers' tables: m6 on 50 mm +25/+9, the bore of a bearing 0/-12; 37 µm need 59 K.
    expect(await about('bore 50 mm m¦6')).toEqual([
      '**m6** on 50 mm: interference fit, ISO 286',
      '- bore of a bearing of Normal class (ISO 492) 0/-12 µm, shaft +25/+9 µm',
      '- 9 to 37 µm of interference, which 59.2 K of heat open, and some more for clearance',
    ]);
    expect(await about('bore 62 mm H7/¦k6')).toEqual([
      '**H7/k6** on 62 mm: transition fit, ISO 286',
      '- hole +30/0 µm, shaft +21/+2 µm',
      '- 28 µm of clearance to 21 µm of interference, which 27.1 K of heat open, and some more for clearance',
    ]);
    expect((await about('bore 50 mm H7/¦g6'))?.at(-1)).toBe('- 9 to 50 µm of clearance');
    expect(await about('bore 50 mm H7/¦za9')).toBeNull();
  });

  it('tells what a class of stainless steel amounts to', async () => {
    const { snapshot, position, textDocument, site } = await scene('part stud "Stud" thread M12 class A2¦-70\n');
    const found = await hover.answer(snapshot, { textDocument, position }, site);
    // ISO 3506-1, read: 450 MPa at 0.2 %; on 84.3 mm².
    expect(unlinked((found!.contents as { value: string }).value)[2]).toBe(
      '- class A2-70: load at its 0.2 % proof strength 37.9 kN',
    );
  });

  it('tells what an angle behind a torque does', async () => {
    const at = async (line: string): Promise<string[]> => {
      const { snapshot, position, textDocument, site } = await scene(`${line}\n`);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      return unlinked((found!.contents as { value: string }).value);
    };
    // By hand: a quarter turn of 1.25 mm. M8 has 36.6 mm² (ISO 898-1, from memory), yield 640 MPa in class 8.8: 23.4 kN.
    // Grip 40 − 8 = 32 mm: bolt 205000·36.6/32 = 234.5 N/µm; parts (Shigley, ch. 8) 0.5774·π·205000·8/(2·ln(5·22.48/38.48)) = 1387 N/µm;
    // 0.3125 mm/(1/234.5 + 1/1387) = 62.7 kN.
    const bolt = 'part bolt "Bolt" thread M8 class 8.8';
    expect(await at(`${bolt} length 40 mm torque 20 N·m then 9¦0°`)).toEqual([
      '**90°** angle',
      '- travel of the thread: 0.313 mm',
      '- clamp load gained: about 62.7 kN while nothing yields (the bolt yields at 23.4 kN), an estimate: all of steel, threaded up to the head, one diameter of the length in the thread',
    ]);
    // Grade 5 yields at 92 ksi on 0.0775 in² (SAE J429, ASME B1.1; from memory): 7130 lbf.
    expect((await at('part bolt thread 3/8-16 grade 5 length 2 in torque 20 lbf·ft then 9¦0°')).at(-1)).toMatch(
      /about [0-9]+ lbf while nothing yields \(the bolt yields at 71[23][0-9] lbf\)/,
    );
    expect(await at(`${bolt} torque 20 N·m then 9¦0°`)).toEqual(['**90°** angle', '- travel of the thread: 0.313 mm']);
    expect(await at(`${bolt} length 8 mm torque 20 N·m then 9¦0°`)).toHaveLength(2);
    expect(
      await at(`${bolt} length 40 mm torque 20 N·m\nreassembly\n  step s\n    tighten bolt to 20 N·m then 9¦0°`),
    ).toHaveLength(3);
    expect(await at('part nut "Nut" torque 20 N·m then 9¦0°')).toEqual(['**90°** angle']);
    expect(await at('pattern ring circle angles 0°, 12¦0°, 240°')).toEqual(['**120°** angle']);
  });

  it('tells what the check looks for that a `fettle-allow` names', async () => {
    const allow = async (line: string) => {
      const { snapshot, position, textDocument, site } = await scene(`# ${line}\npart pin "Pin"\n`);
      const found = await hover.answer(snapshot, { textDocument, position }, site);
      return found === null ? undefined : [(found.contents as { value: string }).value, found.range?.start.character];
    };
    const [said, from] = (await allow('fettle-allow never-¦used: a spare'))!;
    expect(said).toBe('`never-used` – Fires when nothing refers to a declaration.');
    expect(from).toBe(15);
    expect(await allow('fettle-allow no-such-¦check: a spare')).toBeUndefined();
    expect(await allow('fettle-allow never-used: a sp¦are')).toBeUndefined();
  });

  it('tells what a hazard asks of the steps that work on the part', async () => {
    expect(unlinked(await shown('hazard wei¦ght'))).toEqual([
      '`weight` – what can hurt about `cover`: a safety message stands above the work in each step that works on it.',
      '- such as: A falling part can crush. Keep hands and feet clear.',
      '- worked on without one: line 14, step `open`; line 20, step `close`',
    ]);
    const { snapshot, position, textDocument, site } = await scene(
      [
        'supply degreaser "Degreaser" hazard chemi¦cal',
        'part lid "Lid" hazard heat, spring',
        'teardown',
        '  step one',
        '    caution "Chemicals irritate skin and eyes. Wear gloves and goggles."',
        '    apply degreaser to lid',
        '    clean lid using degreaser',
        '',
      ].join('\n'),
    );
    const found = await hover.answer(snapshot, { textDocument, position }, site);
    expect(unlinked((found!.contents as { value: string }).value)).toEqual([
      '`chemical` – what can hurt about `degreaser`: a safety message stands above the work in each step that works on it.',
      '- such as: Chemicals irritate skin and eyes. Wear gloves and goggles.',
      '- warned of: line 6, step `one`',
    ]);
    expect(found!.range).toEqual({ start: { line: 0, character: 36 }, end: { line: 0, character: 44 } });
  });

  it('tells of how many a count is, and where they are', async () => {
    expect(unlinked(await shown('bolt x¦8'))).toEqual(['`x8` – how many of `bolt` there are', '- At the start: 8 on']);
    expect(unlinked(await shown('remove bolt x¦6'))).toEqual(['`x6` – of 8 `bolt` in all', '- Here: 8 on']);
    expect(unlinked(await shown('remove bolt x2¦ using'))).toEqual([
      '`x2` – of 8 `bolt` in all',
      '- Here: 2 on; 6 off',
    ]);
    const { snapshot, position, textDocument, site } = await scene(
      [
        'procedure pump "Pump"',
        '  applies to A, B',
        'part bolt x8 "Bolt"',
        'part plate "Plate"',
        'teardown',
        '  step one',
        '    for B',
        '      remove bolt x4',
        '    end',
        '    remove plate with bolt x¦4',
        '    shim plate gap play endplay 0.1 mm from 0.1 mm x3',
        '',
      ].join('\n'),
    );
    const told = async (line: number, character: number) => {
      const found = await hover.answer(snapshot, { textDocument, position: { line, character } }, site);
      return found === null ? undefined : unlinked((found.contents as { value: string }).value);
    };
    expect(await told(position.line, position.character)).toEqual([
      '`x4` – of 8 `bolt` in all',
      '- for A, here: 8 on',
      '- for B, here: 4 on; 4 off',
    ]);
    expect(await told(10, 52)).toEqual(['`x3` – shims of 0.1 mm at hand']);
  });

  it('links to the lines', async () => {
    expect(await shown('fit bo¦lt')).toContain('[line 12](file:///bench/unit.fettle#L12)');
  });

  it('judges the state by the place', async () => {
    expect(unlinked(await shown('remove bo¦lt x2'))).toContain('Here: 2 on; 6 off');
    expect(unlinked(await shown('part bo¦lt'))).toContain('At the start: 8 on');
  });

  it('tells the codes apart where their lives differ, and what is owed at the end', async () => {
    expect(unlinked(await shown('part se¦al'))).toEqual([
      '**seal** – Seal',
      '- single-use: renew',
      '',
      'for P-1: no step touches it',
      '',
      'for P-2, at the start: 1 on',
      '- line 16, step `open`: off',
      '- at the end: **1 off, not to go back**',
    ]);
  });

  it('keeps the author’s signs from being read as markup', async () => {
    expect((await shown('fit cov¦er'))!.split('\n')[0]).toBe('**cover** – Cover\\_A');
  });

  it('gives a quantity in the other units of its kind', async () => {
    expect(unlinked(await shown('tighten bolt to 25 N·¦m'))).toEqual([
      '**25 N·m** torque',
      '- 18.44 lbf·ft',
      '- 221.3 lbf·in',
      '- 2.549 kgf·m',
      '- 254.9 kgf·cm',
    ]);
    expect(unlinked(await shown('limit 0.1..0.¦2 mm'))).toContain('- 0.003937..0.007874 in');
  });

  it('on the name of the procedure says what is in it', async () => {
    expect(unlinked(await shown('procedure pu¦mp'))).toEqual([
      '**pump** – Overhaul the pump',
      '- for P-1, P-2',
      '- parts: 3 kinds, 10 pieces; 1 kind single-use',
      '- fasteners: 1 kind, 8 pieces; 1 kind with a torque',
      '- steps: 2, with 9 statements',
      '- safety messages: none',
      // The step that says no time takes none.
      '- time: 10 min hands-on, 0 min waiting, 10 min in all',
    ]);
  });

  it.each([
    ['step cl¦ose', ['**close** – Close it', '- reassembly, line 19', '- after `open`', '- 0 off, 9 back']],
    [
      'using wre¦nch',
      [
        '**wrench** – Wrench',
        '- range 5..40 N·m',
        // ISO 6789:2003 (read as quoted): ±4 % above 10 N·m, tested at 20, 60 and 100 % of the upper end.
        '- may read ±4 % out by ISO 6789:2003, tested from 8 N·m up',
        '- used at line 13',
      ],
    ],
    ['supply o¦il', ['**oil** – Oil', '- quantity 1.8 L', '- VG 220', '- used nowhere in this file']],
    ['holes ri¦m', ['**rim** pattern', '- circle of 8 holes, diameter 100 mm', '- used at line 4']],
    ['measure pl¦ay', ['**play** reading – At the rim', '- limit 0.1..0.2 mm', '- measured at line 23']],
    ['for P-¦2', ['**P-2** code of the unit', '- On the foot', '- statements of its own at line 15']],
    ['tigh¦ten bolt', ['`tighten` – Tightens a fastener to its declared torque, or to the one given here.']],
    ['order st¦ar', ['`star` – From side to side across the joint.']],
    ['cover "Cover_A" he¦ld', ['`held by` – What must come off or be loose before this part comes away.']],
    ['limit¦ 0.1', ['`limit` – The range that the reading must lie in.']],
  ])('at %s', async (place, lines) => {
    expect(unlinked(await shown(place))).toEqual(lines);
  });

  it.each([
    [
      'bore 62 mm H7/k6 diameter 90 mm interference 10..45 µm limit 120 °C sealed number "6206"',
      [
        '- bore 62 mm, H7/k6, interference 10..45 µm, diameter 90 mm, sealed',
        '- heat to 120 °C at most',
        '- marking 6206',
      ],
    ],
    ['interference 10..45 µm greased', ['- interference 10..45 µm, greased']],
  ])('tells all that a bearing is declared with: %s', async (declared, facts) => {
    const { snapshot, position, textDocument, site } = await scene(`part bea¦ring "Bearing" ${declared}\n`);
    const found = await hover.answer(snapshot, { textDocument, position }, site);
    const told = unlinked((found!.contents as { value: string }).value);
    expect(told.slice(1, told.indexOf(''))).toEqual(facts);
  });

  it('is silent in texts and blanks', async () => {
    expect(await shown('"Overhaul ¦the pump"')).toBeUndefined();
    expect(await shown('  ¦  remove cover')).toBeUndefined();
  });

  it('writes plain text for clients without markup', async () => {
    expect((await shown('fit cov¦er', { markdown: false }))!.split('\n')).toEqual([
      'cover – Cover_A',
      '- held by bolt',
      '- hazard: weight',
      '',
      'Here: 1 off',
      '- line 14, step open: off',
      '- line 20, step close: back on',
    ]);
  });
});

it('names ten of what a part is held by, and how many more', async () => {
  const bolts = Array.from({ length: 3000 }, (_, i) => `b${i}`);
  const declared = bolts.map((name) => `part ${name} "Bolt"`).join('\n');
  const { snapshot, position, textDocument, site } = await scene(
    `${declared}\npart co¦ver "Cover" held by ${bolts.join(', ')}\n`,
  );
  const found = await hover.answer(snapshot, { textDocument, position }, site);
  expect((found!.contents as { value: string }).value).toMatch(/held by `b0`, (?:`b\d`, ){8}`b9` and 2,990 more/);
});
