import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { format } from '../../grammar/printer.ts';
import { judge } from '../../server/src/checks/run.ts';
import { Loader } from '../../server/src/cli/load.ts';
import { bind, type Model } from '../../server/src/model/model.ts';
import { type Draft, draft } from '../../server/src/outputs/draft.ts';
import { originsOf, Relations } from '../../server/src/outputs/draft-relations.ts';
import { root } from '../cli/run.ts';
import { operations } from '../operations.ts';
import { openText } from './opened.ts';

const drafted = (text: string): Draft => {
  const { model, judged } = openText(text);
  return draft(model, judged.ledger);
};
/** The drafted lines between `reassembly` and `proving`, without the steps' own lines and their indentation. */
const linesOf = (text: string): string[] =>
  drafted(text)
    .text.split(/^reassembly\n/m)[1]!
    .split(/^proving$/m)[0]!
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('step '));
const teardown = (declarations: string, statements: string, rest = ''): string =>
  `${declarations.trim()}\n\nteardown\n  step open "Open it" takes 20 min\n${statements
    .trim()
    .split('\n')
    .map((line) => `    ${line.trim()}`)
    .join('\n')}\n${rest}`;

// Assembly in the reverse order of removal: common practice, no source.
describe('the mirrored order', () => {
  test('of parts, each fastener tightened where it is fitted', () => {
    expect(
      linesOf(
        teardown(
          `part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
part cover "Cover" held by bolt
part seal "Seal" renew behind cover`,
          'remove bolt\nremove cover\nremove seal\ndiscard seal',
        ),
      ),
    ).toEqual(['fit new seal', 'fit cover', 'fit bolt', 'tighten bolt to 25 N·m']);
  });

  test('tightens what proving tightens only once the unit has run on it', () => {
    const parts = 'part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m\npart cover "Cover" held by bolt';
    const proving = (...statements: readonly string[]): string =>
      `\nproving\n  step run\n${statements.map((each) => `    ${each}\n`).join('')}`;
    const off = 'remove bolt\nremove cover';
    expect(linesOf(teardown(parts, off, proving('check "No leak."', 'tighten bolt to 25 N·m')))).toEqual([
      'fit cover',
      'fit bolt',
      'tighten bolt to 25 N·m',
    ]);
    // What lines the cover up first may tighten it itself.
    expect(linesOf(teardown(parts, off, proving('tighten bolt to 25 N·m', 'check "No leak."')))).toEqual([
      'fit cover',
      'fit bolt',
    ]);
  });

  test('yields to what holds: a nut is tightened before its lock goes on, though the lock came off after it was loosened', () => {
    expect(
      linesOf(
        teardown(
          `part lock "Lock tab"
part nut "Nut" held by lock thread M10 class 8.8 torque 40 N·m then 90°`,
          'loosen nut\nremove lock\nremove nut',
        ),
      ),
    ).toEqual(['fit nut', 'tighten nut to 40 N·m then 90°', 'fit lock']);
  });

  test('puts all pieces back before what the last of them sat under', () => {
    expect(
      linesOf(
        teardown(
          `part bolt x10 "Bolt" thread M8 class 8.8 torque 25 N·m
part plate "Plate"
part top "Top" held by bolt`,
          'remove bolt x8\nremove plate\nremove bolt x2 "Under the plate"\nremove top',
        ),
      ),
    ).toEqual(['fit top', 'fit bolt', 'tighten bolt in stages 13 N·m, 25 N·m order star', 'fit plate']);
  });

  test('fits the fasteners of one part, then tightens them', () => {
    expect(
      linesOf(
        teardown(
          `part screw x2 "Screw" torque 9 N·m
part bolt x2 "Bolt" torque 25 N·m
part lid "Lid" held by screw, bolt`,
          'remove screw\nremove bolt\nremove lid',
        ),
      ),
    ).toEqual(['fit lid', 'fit bolt', 'fit screw', 'tighten bolt to 25 N·m', 'tighten screw to 9 N·m']);
  });

  test('keeps captive bolts in their cover and tightens what was only loosened', () => {
    expect(
      linesOf(
        teardown(
          `part cover "Cover" held by bolt
part bolt x3 "Captive bolt" carried by cover torque 25 N·m
part gear "Gear" behind cover`,
          'loosen bolt\nremove cover\nremove gear',
        ),
      ),
    ).toEqual(['fit gear', 'fit cover', 'tighten bolt to 25 N·m']);
  });

  test('a loop of `held by` leaves no part out', () => {
    const lines = linesOf(teardown('part a "A" held by b\npart b "B" held by a', 'remove a\nremove b'));
    expect(lines.sort()).toEqual(['fit a', 'fit b']);
  });
});

describe('what goes back', () => {
  test.each([
    ['part a "A" renew', 'remove a', ['fit new a']],
    ['part a "A"', 'remove a spoiled\ndiscard a', ['fit new a']],
    ['part a "A"', 'remove a\nreplace a', ['fit a']],
    ['part a x4 "A"', 'remove a\ndiscard a x1', ['fit a x3', 'fit new a x1']],
    ['part a x4 "A"', 'remove a x2', ['fit a x2']],
    ['part a "A"', 'disconnect a', ['connect a']],
    ['part a "A" renew', 'disconnect a', ['fit new a']],
    ['part a "A"', 'remove a\nomit a "Not needed any more"', []],
    ['part a x3 "A" torque 9 N·m', 'loosen a x2', ['tighten a x2 to 9 N·m']],
    ['part a "A"\npart b "B" carried by a', 'remove a', ['fit a']],
    ['part a "A"\npart b "B" carried by a', 'remove a\ndiscard a', ['fit new b', 'fit new a']],
    ['part a "A"\npart b "B"\npart c "C"', 'remove a with b, c', ['fit a with b, c']],
    ['part a "A" held by b\npart b "B"\npart c "C"', 'remove a with b, c\nremove b', ['fit a with c', 'fit b']],
    ['part a "A" index', 'mark a "A dot on top"\nremove a', ['fit a "Line up the marks: A dot on top"']],
    ['part a "A" index', 'mark a\nremove a', ['fit a "Line up the marks"']],
    [
      'part a "A"\ntool hoist "Hoist"',
      'support a using hoist\nremove a using hoist',
      ['warning "A falling part can crush. Keep hands and feet clear."', 'support a using hoist', 'fit a using hoist'],
    ],
    // Gear that lifts, grips or squeezes serves both ways; what only draws out does not: common practice, no source.
    [
      'part a "A" hazard weight\ntool gear "Chain hoist"',
      'remove a using gear',
      ['warning "A falling part can crush. Keep hands and feet clear."', 'fit a using gear'],
    ],
    ['part a "A" renew\ntool ring-pliers "Pliers"', 'remove a using ring-pliers', ['fit new a using ring-pliers']],
    ['part a "A"\ntool t "Spring compressor"', 'remove a using t', ['fit a using t']],
    ['part a "A"\ntool t "Bearing puller"\ntool strap "Strap"', 'remove a using t, strap', ['fit a using strap']],
    ['part a "A"\ntool t "Clamp puller"', 'remove a using t', ['fit a']],
    ['part a "A"\ntool t "Wheel jack"', 'loosen a using t\nremove a', ['fit a', 'tighten a']],
  ])('%s: %s', (declarations, statements, lines) => {
    const text = teardown(declarations, statements);
    if (lines.length === 0) expect(drafted(text)).toEqual({ edits: [], text, notes: [] });
    else expect(linesOf(text)).toEqual(lines);
  });

  test('what a swapped carrier carried moves to what took its place, except what is renewed anyway', () => {
    const declarations = `part old "Drum"
part fresh "Drum"
part wheel "Wheel" carried by old
part key "Key" carried by old behind wheel
part bearing x2 "Bearing" carried by old
part gear "Gear" carried by old`;
    const lines = linesOf(
      teardown(
        declarations,
        'remove wheel\nremove old\nremove bearing spoiled\ndiscard bearing',
        `inspection
  step judge
    swap old for fresh
    transfer gear from old to fresh
`,
      ),
    );
    expect(lines).toEqual([
      'fit new bearing',
      'transfer wheel from old to fresh',
      'transfer key from old to fresh',
      'fit fresh',
      'fit wheel',
    ]);
  });

  test('covers that were put back over what is still off come off once more', () => {
    expect(
      linesOf(
        teardown(
          'part screw x2 "Screw"\npart cover "Cover" held by screw\npart gear "Gear" behind cover',
          'remove screw\nremove cover\nremove gear\nfit cover\nfit screw',
        ),
      ),
    ).toEqual(['remove screw', 'remove cover', 'fit gear', 'fit cover', 'fit screw']);
  });

  test('a part of which a line cannot be read is left to the author, and a note says so', () => {
    const { text, notes } = drafted(teardown('part a "A"\npart b "B"', 'remove a\nremove b\ndiscard b b b'));
    expect(text).toContain('fit a');
    expect(text).not.toContain('fit b');
    expect(notes.join('\n')).toContain('Nothing is drafted for `b`');
  });

  // Friction discs lie on both sides of a ratchet wheel: common practice, no source.
  test('pieces that came off with another part between are put back in one, and told of', () => {
    const told = (statements: string): readonly string[] =>
      drafted(teardown('part disc x2 "Disc" renew\npart wheel "Wheel"', statements)).notes.filter((note) =>
        note.includes('one `fit`'),
      );
    expect(told('remove disc x1\nremove wheel\nremove disc x1\ndiscard disc')).toEqual([
      '`disc` came off piece by piece, with `wheel` between, and goes back in one `fit`: write a `fit` for each side if they lie on both.',
    ]);
    expect(told('remove disc x1\nremove disc x1\ndiscard disc\nremove wheel')).toEqual([]);
    expect(told('remove disc\ndiscard disc\nremove wheel')).toEqual([]);
    // Of two ways only one is gone; and a disc that was put back lies on one side again.
    expect(
      told('either\nremove disc x1\nremove disc x1\nremove wheel\nor\nremove wheel\nremove disc\nend\ndiscard disc'),
    ).toEqual([]);
    expect(told('remove disc x1\nfit disc x1\nremove wheel\nremove disc\ndiscard disc')).toEqual([]);
  });
});

describe('codes and alternatives', () => {
  const head = 'procedure unit "Unit"\n  applies to K-1, 2B\n';
  test('what comes off in one code only goes back in a `for`', () => {
    expect(
      linesOf(
        teardown(
          `${head}part cable "Cable"\npart screw x4 "Screw" torque 9 N·m\npart lid "Lid" held by screw`,
          'identify "The code"\nfor 2B\ndisconnect cable\nend\nremove screw\nremove lid',
        ),
      ),
    ).toEqual([
      'fit lid',
      'fit screw',
      'tighten screw in stages 4.5 N·m, 9 N·m order star',
      'for 2B',
      'connect cable',
      'end',
    ]);
  });

  test('counts that differ between codes are each written', () => {
    expect(
      linesOf(
        teardown(
          `${head}part shim x3 "Shim"`,
          'identify "The code"\nfor K-1\nremove shim x1\nend\nfor 2B\nremove shim x2\nend',
        ),
      ),
    ).toEqual(['for 2B', 'fit shim x2', 'end', 'for K-1', 'fit shim x1', 'end']);
  });

  test('branches that agree are answered once', () => {
    expect(
      linesOf(
        teardown(
          'part race "Race"',
          'either "Pull it"\nremove race\nor "Cut it"\ndo "Cut it"\nremove race\nend\nif "it is worn"\nreplace race\nend',
        ),
      ),
    ).toEqual(['fit race']);
  });
});

describe('tightening', () => {
  const one = (declarations: string, head = ''): string =>
    linesOf(teardown(`${head}${declarations}`, `loosen ${/^part (\S+)/.exec(declarations)![1]}`)).at(-1)!;

  test.each([
    ['part b "B" torque 25 N·m (18 lbf·ft)', 'tighten b to 25 N·m (18 lbf·ft)'],
    ['part b x3 "B" torque 25 N·m holes r\npattern r circle 3 diameter 60 mm', 'tighten b to 25 N·m order star'],
    [
      'part b x4 "B" torque 40 N·m (30 lbf·ft)',
      'tighten b in stages 20 N·m (14.8 lbf·ft), 40 N·m (30 lbf·ft) order star',
    ],
    ['part b x4 "B" torque 40 N·m then 90°', 'tighten b to 40 N·m then 90° in stages 20 N·m, 40 N·m order star'],
    ['part b x4 "B" torque 20..25 N·m', 'tighten b to 20..25 N·m order star'],
    ['part b x4 "B"', 'tighten b order star'],
    // Each holds a hose by itself.
    ['part b x4 "Hose clip" torque 5 N·m', 'tighten b to 5 N·m'],
    [
      'part b x6 "B" torque 9 N·m holes r\npattern r points (0, 0) (50, 0) (99, 0) (0, 70) (50, 70) (99, 70) mm',
      'tighten b in stages 4.5 N·m, 9 N·m order spiral',
    ],
    [
      'part b "B" torque 48 N·m\ntool big "Big" range 40..300 N·m\ntool fit "Fit" range 10..60 N·m',
      'tighten b to 48 N·m using fit',
    ],
    ['part b "B" torque 48 N·m\ntool small "Small" range 4..20 N·m', 'tighten b to 48 N·m'],
    [
      'part b x4 "B" torque 50 N·m\ntool big "Big" range 30..200 N·m',
      'tighten b in stages 30 N·m, 50 N·m order star using big',
    ],
    ['part b x4 "B" torque 42 N·m\ntool big "Big" range 40..200 N·m', 'tighten b to 42 N·m order star using big'],
    [
      'part b "B" torque 40 N·m then 90°\ntool big "Big" range 10..100 N·m\ntool g "Angle gauge"',
      'tighten b to 40 N·m then 90° using big, g',
    ],
    ['part b "B" torque 40 N·m then 90°\ntool g "Angle gauge"', 'tighten b to 40 N·m then 90° using g'],
    ['part b "B" torque 40 N·m\ntool g "Angle gauge"', 'tighten b to 40 N·m'],
    [
      'part b "B" torque 40 N·m then 90°\ntool g "Angle gauge"\ntool saw "Angle grinder"',
      'tighten b to 40 N·m then 90° using g',
    ],
  ])('%s', (declarations, line) => {
    expect(one(declarations)).toBe(line);
  });

  test('restates what it computes where the procedure measures otherwise', () => {
    expect(one('part b x4 "B" torque 30 lbf·ft', 'procedure p "P"\n  measures metric\n')).toBe(
      'tighten b in stages 15 lbf·ft (20.3 N·m), 30 lbf·ft (40.7 N·m) order star',
    );
  });

  test('tells of interference fits that nothing mounts by heat, cold or force', () => {
    const note = (fit: string, mounting = ''): string[] =>
      drafted(
        `part race "Bearing race" bore 62 mm ${fit}\nteardown\n  step open\n    remove race\nreassembly\n  step close\n${mounting}`,
      ).notes.filter((each) => each.includes('interference fit'));
    expect(note('interference 10..45 µm')).toEqual([
      '`race` (Bearing race) is an interference fit: write `heat`, `cool` or `press` above its `fit`.',
    ]);
    // ISO 286-2: 62 H7/s6 is tight by 23 µm at least, H7/g6 loose by 10 µm at least (from memory).
    expect(note('H7/s6')).toHaveLength(1);
    expect(note('H7/g6')).toEqual([]);
    for (const mounting of ['heat race to 90 °C', 'cool race to -20 °C', 'press race max 20 kN'])
      expect(note('interference 10..45 µm', `    ${mounting}\n`), mounting).toEqual([]);
  });

  test('tells of shims and selective parts that no reading chooses', () => {
    const notes = (part: string, choice = ''): string[] =>
      drafted(
        `part pack ${part}\nteardown\n  step open\n    remove pack\nreassembly\n  step close\n${choice}`,
      ).notes.filter((each) => each.includes('reading'));
    expect(notes('"Shim pack"')).toEqual([
      '`pack` (Shim pack) is chosen by a reading: write `measure` and `shim` above its `fit`, if it is chosen anew.',
    ]);
    expect(notes('"Selective washer"')).toHaveLength(1);
    expect(notes('"Washer"')).toEqual([]);
    expect(notes('"Shims"', '    shim pack gap gap-a endplay 0.1..0.2 mm from 0.1 mm\n')).toEqual([]);
  });

  test('says which torques and wrenches are for the author to fill in', () => {
    expect(drafted(teardown('part b x4 "B" thread M8', 'loosen b')).notes.join('\n')).toContain(
      'No torque is declared for `b`',
    );
    expect(
      drafted(teardown('part b "B" torque 48 N·m\ntool small "Small" range 4..20 N·m', 'loosen b')).notes.join('\n'),
    ).toContain('No declared wrench suits the torque of `b`');
  });
});

describe('supplies', () => {
  const oil = 'supply oil "Gear oil" 1.8 L';
  test.each([
    [oil, 'drain oil', 'fill oil 1.8 L'],
    ['supply oil "Gear oil" 4.2 L (4.4 qt)', 'drain oil 4 L', 'fill oil 4.2 L (4.4 qt)'],
    ['supply oil "Gear oil"', 'drain oil 1.5 L (1.6 qt)', 'fill oil 1.5 L (1.6 qt)'],
    ['supply oil "Gear oil"', 'drain oil 1.5 L\ndrain oil 700 mL', 'fill oil 2200 mL'],
    // What flushed it is out again.
    ['supply oil "Gear oil"', 'drain oil 4 L\nfill oil 1 L\ndrain oil 1 L', 'fill oil 4 L'],
  ])('%s: %s', (declarations, statements, line) => {
    expect(linesOf(teardown(declarations, statements))).toEqual([line]);
  });

  test('a fluid that nobody measured is left to the author', () => {
    const { edits, notes } = drafted(teardown('supply oil "Gear oil"', 'drain oil'));
    expect(edits).toEqual([]);
    expect(notes.join('\n')).toContain('`oil` is drained');
  });

  test('of which only a part goes in when the job is proved is noted: the unit would run without the rest', () => {
    const proved = (...fills: readonly string[]): readonly string[] =>
      drafted(teardown(oil, 'drain oil', `reassembly\nproving\n  step run\n${fills.map((f) => `    ${f}\n`).join('')}`))
        .notes;
    expect(proved('check "Run it."', 'fill oil 0.3 L')).toContain(
      'All of `oil` that goes in is 0.3 L in proving, and 1.8 L is declared: `fill` the rest in the reassembly.',
    );
    for (const fills of [['fill oil 1.8 L'], ['fill oil 1.5 L', 'check "Run it."', 'fill oil 300 mL'], ['fill oil']])
      expect(proved(...fills).join('\n')).not.toContain('the rest');
    // What a line that cannot be read puts in is not known.
    expect(proved('put in 1.5 L oil', 'fill oil 0.3 L').join('\n')).not.toContain('the rest');
  });

  test('goes in behind all that closes the unit, ahead of its filler plug and of the cable of an earlier step', () => {
    const text = `part cable "Cable"
part drain-plug "Drain plug"
part filler-plug "Filler plug"
part guard "Guard" behind nothing-else
part nothing-else "Bracket"
part cover "Cover"
${oil}

teardown
  step make-safe
    disconnect cable
  step drain
    remove nothing-else
    remove guard
    remove filler-plug
    remove drain-plug
    drain oil
  step open
    remove cover
`;
    expect(linesOf(text)).toEqual([
      'fit cover',
      'fit drain-plug',
      'fit guard',
      'fit nothing-else',
      'fill oil 1.8 L',
      'fit filler-plug',
      'connect cable',
    ]);
  });

  // Common practice, no source: the battery is connected last, whatever was drained in the same step.
  test('what carries current is connected after the fill, though the step that cut it off drained as well', () => {
    const lead = (hazard: string, statements: string): string[] =>
      linesOf(teardown(`part lead "Lead" ${hazard}\n${oil}`, statements)).filter(
        (line) => !/^(danger|warning)/.test(line),
      );
    expect(lead('hazard charge', 'disconnect lead\ndrain oil')).toEqual(['fill oil 1.8 L', 'connect lead']);
    expect(lead('hazard charge', 'drain oil\ndisconnect lead')).toEqual(['connect lead', 'fill oil 1.8 L']);
    // A line that the fluid may run out of is closed first.
    expect(lead('', 'disconnect lead\ndrain oil')).toEqual(['connect lead', 'fill oil 1.8 L']);
  });

  const sealant = 'supply sealant "Flange sealant" cure 60 min';
  test.each([
    [
      'a text names it',
      `part lid "Lid"\n${sealant}`,
      'remove lid\nclean lid "Old sealant off"',
      'apply sealant to lid',
    ],
    [
      'its spec names the part',
      `part lid-plate "Lid"\nsupply goo "Paste" spec "For the lid plate" cure 60 min`,
      'remove lid-plate',
      'apply goo to lid-plate',
    ],
    [
      'the one bolted joint without a gasket',
      `part bolt x2 "Bolt" torque 9 N·m\npart lid "Lid" held by bolt\n${sealant}`,
      'remove bolt\nremove lid',
      'apply sealant to lid',
    ],
    [
      'a thread takes the one locker',
      'part bolt "Bolt" torque 9 N·m threadlock\nsupply glue "Thread locker" cure 12 h',
      'remove bolt',
      'apply glue to bolt',
    ],
  ])('%s', (_, declarations, statements, line) => {
    const lines = linesOf(teardown(declarations, statements));
    const at = lines.indexOf(line);
    expect(at).toBeGreaterThanOrEqual(0);
    expect(lines[at + 1]).toMatch(new RegExp(`^fit ${line.split(' ').at(-1)}$`));
    expect(lines.at(-1)).toMatch(/^wait /);
  });

  // "Old sealant off" may as well mean that none is to go on.
  test('what a text alone places is told in a note, what its spec places is not', () => {
    const of = (declarations: string, statements: string): readonly string[] =>
      drafted(teardown(declarations, statements)).notes.filter((note) => note.includes('goes'));
    const parts = 'part lid "Lid"\npart base "Base"';
    expect(of(`${parts}\n${sealant}`, 'remove lid\nclean lid "Old sealant off"')).toEqual([
      '`sealant` goes on `lid`, as a text about it names it: look whether it does.',
    ]);
    expect(
      of(
        `${parts}\n${sealant}`,
        'remove lid "Break the sealant"\nremove base "Cut the sealant"\nclean lid "Sealant off"',
      ),
    ).toEqual(['`sealant` goes on `lid` and `base`, as a text about them names it: look whether it does.']);
    expect(
      of(
        'part lid-plate "Lid"\nsupply sealant "Sealant" spec "For the lid plate" cure 1 h',
        'remove lid-plate\nclean lid-plate "Old sealant off"',
      ),
    ).toEqual([]);
  });

  // Common practice, no source: a flange is drawn together by two fasteners or more; one nut holds a gear or a drum.
  test('a sealant that nothing places is guessed for a flange, and a note says so', () => {
    const { text, notes } = drafted(
      teardown(
        `part bolt x4 "Bolt" torque 9 N·m
part lid "Lid" held by bolt
part nut "Nut" torque 90 N·m behind lid
part drum "Drum" held by nut behind lid
${sealant}`,
        'remove bolt\nremove lid\nremove nut\nremove drum',
      ),
    );
    expect(text).toContain('apply sealant to lid');
    expect(text).not.toContain('apply sealant to drum');
    expect(notes).toContain(
      'Nothing says where `sealant` goes: `lid` is the one bolted joint without a gasket, look whether it is the place.',
    );
  });

  test.each([
    ['one nut', `part bolt "B" torque 9 N·m\npart drum "D" held by bolt\n${sealant}`, 'remove bolt\nremove drum'],
    [
      'two joints',
      `part a "A"\npart bolt x4 "B" torque 9 N·m\npart c "C" held by bolt\npart d "D" held by bolt\n${sealant}`,
      'remove bolt\nremove c\nremove d',
    ],
    [
      'a gasket',
      `part bolt x4 "B" torque 9 N·m\npart c "C" held by bolt\npart g "Gasket" renew behind c\n${sealant}`,
      'remove bolt\nremove c\nremove g',
    ],
  ])('%s: none is guessed, a note asks', (_, declarations, statements) => {
    const { text, notes } = drafted(teardown(declarations, statements));
    expect(text).not.toContain('apply');
    expect(notes.join('\n')).toContain('Nothing says where `sealant` goes');
  });

  test('the whole cure is waited for before the first fill: step times are estimates', () => {
    const text = `part lid "Lid"\n${oil}\n${sealant}

teardown
  step drain takes 90 min
    drain oil
  step open takes 90 min
    remove lid
    clean lid "Old sealant off"
`;
    expect(linesOf(text)).toEqual([
      'apply sealant to lid',
      'fit lid',
      'wait 60 min "Flange sealant cures"',
      'fill oil 1.8 L',
    ]);
  });
});

describe('safety', () => {
  test('each kind of hazard is warned of once a step, above its work; danger stays danger', () => {
    expect(
      linesOf(
        teardown(
          `part cable "Cable" hazard charge
part spring x2 "Spring" hazard spring
part ring "Ring" hazard spring`,
          'danger "Live terminals will kill you. Lock off the supply."\ndisconnect cable\nwarning "Goggles."\nremove ring\nremove spring',
        ),
      ),
    ).toEqual([
      'warning "A loaded spring can fly out and injure eyes. Wear goggles."',
      'fit spring',
      'fit ring',
      'danger "Live parts can kill. Lock off the supply and prove them dead."',
      'connect cable',
    ]);
  });
});

describe('steps', () => {
  test('one for each step of the teardown, last first, with its time; names stay free of each other', () => {
    const text = `part a "A"
part b "B"

teardown
  step first "Take \\"a\\" off" takes 10 min
    remove a

  step second takes 20 min
    remove b

inspection
  step refit-first "Look"
    inspect a
`;
    expect(drafted(text).text).toBe(`${text}
reassembly
  step refit-second "Reverse of: second" takes 20 min
    fit b

  step refit-first-2 "Reverse of: Take \\"a\\" off (further)"
    fit a
`);
  });

  test('take the names that later steps wait for', () => {
    const proving = `
proving
  step prove after fill-oil, close-lid
    check "It runs"
`;
    const text = teardown('part lid "Lid"\nsupply oil "Oil" 1 L', 'drain oil 1 L\nremove lid', proving);
    const { text: whole } = drafted(`${text.replace('    remove lid', '  step open-lid\n    remove lid')}`);
    expect(whole).toContain('  step close-lid "Reverse of: open-lid"\n    fit lid\n');
    expect(whole).toMatch(/ {2}step fill-oil "Fill: Oil"\n {4}fill oil 1 L\n/);
    expect(whole.endsWith(proving)).toBe(true);
  });

  test.each(['\n', '\r\n', '\r'])('keep the line ending %j, and the end of a file that ends within a line', (eol) => {
    const text = ['part a "A"', '', 'teardown', '  step open', '    remove a'].join(eol);
    expect(drafted(text).text).toBe(
      [text, '', 'reassembly', '  step refit-open "Reverse of: open"', '    fit a', ''].join(eol),
    );
  });

  test('go ahead of the proving and its comment, and ahead of the comments that close a file', () => {
    const text =
      'part a "A"\n\nteardown\n  step open\n    remove a\n\n# Prove it last\nproving\n  step prove\n    check "Runs"\n';
    expect(drafted(text).text).toContain('    remove a\n\nreassembly\n  step refit-open');
    expect(drafted(text).text).toContain('    fit a\n\n# Prove it last\nproving');
    expect(drafted('part a "A"\n\nteardown\n  step open\n    remove a\n\n# End\n').text).toMatch(/fit a\n\n# End\n$/);
  });

  test('stand with one blank line around them, however many there were', () => {
    const text = 'part a "A"\n\nteardown\n  step open\n    remove a\n';
    const whole = `${text}\nreassembly\n  step refit-open "Reverse of: open"\n    fit a\n`;
    const proving = 'proving\n  step prove\n    check "Runs"\n';
    for (const end of ['', '\n', '\n\n  \n', '\nreassembly\n', '\nreassembly\n\n\n'])
      expect(drafted(`${text}${end}`).text, JSON.stringify(end)).toBe(whole);
    for (const between of ['', '\n', '\n\n\n'])
      expect(drafted(`${text}\nreassembly\n${between}${proving}`).text, JSON.stringify(between)).toBe(
        `${whole}\n${proving}`,
      );
  });

  test('nothing is invented where nothing is owed', () => {
    for (const text of ['', 'part a "A"\n', 'part a "A"\n\nteardown\n  step look\n    inspect a\n'])
      expect(drafted(text)).toEqual({ edits: [], text, notes: [] });
  });
});

describe('a partly written reassembly', () => {
  const declarations = `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
part cover "Cover" held by bolt
part gear "Gear" behind cover
part key "Key" behind gear`;
  const off = 'remove bolt\nremove cover\nremove gear\nremove key';
  const complete = (reassembly: string): string[] => {
    const text = teardown(declarations, off, `\nreassembly\n${reassembly}`);
    const { text: whole, edits } = drafted(text);
    for (const edit of edits) expect(edit.start).toBe(edit.end);
    return whole.split(/^reassembly\n/m)[1]!.split('\n');
  };

  test('gets what is missing at its mirrored place, each line of the author as it was', () => {
    expect(
      complete(`  step close "Close   it"
    fit gear   # mind the key
    do "Turn it"
      fit   bolt
    # snug first
    tighten bolt by hand
`),
    ).toEqual([
      '  step close "Close   it"',
      '    fit key',
      '    fit gear   # mind the key',
      '    fit cover',
      '    do "Turn it"',
      '      fit   bolt',
      '    # snug first',
      '    tighten bolt by hand',
      '    tighten bolt in stages 13 N·m, 25 N·m order star',
      '',
    ]);
  });

  test('gets the missing fit before the tightening that waits for it', () => {
    const lines = complete('  step close\n    fit key\n    fit gear\n    tighten bolt to 25 N·m order star\n').join(
      '\n',
    );
    expect(lines).toContain('    fit gear\n    fit cover\n    fit bolt\n    tighten bolt to 25 N·m order star\n');
  });

  test('gets the missing fit behind the heating of the part', () => {
    const lines = complete(
      '  step close\n    fit key\n    warning "Hot."\n    heat gear to 90 °C\n    inspect key\n    fit cover\n',
    ).join('\n');
    expect(lines).toContain('    heat gear to 90 °C\n    fit gear\n    inspect key\n    fit cover\n');
  });

  test('keeps an allowance with its statement', () => {
    const lines = complete(
      '  step close\n    fit key\n    fit gear\n    # fettle-allow no-order: four only\n    fit bolt\n',
    );
    expect(lines.join('\n')).toContain('    fit cover\n    # fettle-allow no-order: four only\n    fit bolt\n');
  });

  test('puts the missing work behind a safety message that stands alone', () => {
    const text = teardown(
      'part cable "Cable" hazard charge\npart motor "Motor"',
      'danger "Dead first."\ndisconnect cable\nremove motor',
      '\nreassembly\n  step mount\n    fit motor\n    danger "Live terminals will kill you."\n\nproving\n  step prove\n    check "Runs"\n',
    );
    expect(drafted(text).text).toContain('    danger "Live terminals will kill you."\n    connect cable\n\nproving');
  });

  test('completes the shorter branch', () => {
    const lines = complete(
      '  step close\n    fit key\n    either "Heat it"\n      fit gear\n    or "Press it"\n      do "Set the press"\n    end\n    fit cover\n    fit bolt\n',
    ).join('\n');
    expect(lines).toContain('    or "Press it"\n      do "Set the press"\n      fit gear\n    end\n');
  });

  test('writes the other branch of an `if`', () => {
    const lines = complete(
      '  step close\n    fit key\n    if "it is tight"\n      do "Oil it"\n      fit gear\n    end\n    fit cover\n    fit bolt\n',
    ).join('\n');
    expect(lines).toContain('      fit gear\n    else\n      fit gear\n    end\n');
  });

  test('puts what one code needs into the `for` that is there', () => {
    const text = `procedure u "U"
  applies to K-1, K-2
part cable "Cable"
part screw x2 "Screw" torque 9 N·m

teardown
  step open
    identify "The code"
    for K-2
      disconnect cable
      remove screw
    end

reassembly
  step close
    for K-2
      fit screw
      do "Route the cable"
    end
`;
    expect(drafted(text).text).toContain(
      '    for K-2\n      fit screw\n      tighten screw to 9 N·m\n      connect cable\n      do "Route the cable"\n    end\n',
    );
  });
});

describe.each([
  ['irrigation-pump', (text: string) => text],
  ['winch-reducer', (text: string) => text.replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, '')],
  ['gear-pump', (text: string) => text.replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, '')],
  ['centrifugal-clutch', (text: string) => text.replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, '')],
  ['chain-hoist-brake', (text: string) => text.replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, '')],
])('the sample %s without its reassembly', (name, strip) => {
  const path = join(root, 'samples', `${name}.fettle`);
  const open = (text: string): Model => {
    const { tree, resolve } = new Loader().open(path, text);
    return bind(tree, resolve);
  };
  const stripped = strip(readFileSync(path, 'utf8'));
  const model = open(stripped);
  const { text, edits } = draft(model, judge(model).ledger);
  const whole = open(text);
  const judged = judge(whole);

  test('has findings to answer', () => {
    expect(judge(model).findings.some(({ code }) => code === 'left-off')).toBe(true);
    expect(stripped).not.toMatch(/^ {2}step (?:refit|close|mount|build)/m);
  });
  test('is drafted to a file without errors or warnings', () => {
    const bad = judged.findings.filter(({ severity }) => severity === 'error' || severity === 'warning');
    expect(bad.map(({ code, message }) => `${code}: ${message}`)).toEqual([]);
  });
  test('is laid out as the formatter would', () => expect(text).toBe(format(text)));
  test('is the same when drafted again', () => expect(draft(whole, judged.ledger).edits).toEqual([]));
  test('keeps every byte that was there', () => {
    const kept = edits.toReversed().reduce((now, edit) => {
      const at = now.indexOf(edit.text, edit.start);
      expect(at).toBe(edit.start);
      return now.slice(0, at) + now.slice(at + edit.text.length);
    }, text);
    expect(kept).toBe(stripped);
  });
});

test('the winch goes together as its author wrote it, where the two need agree', () => {
  const { text } = ((): Draft => {
    const path = join(root, 'samples/winch-reducer.fettle');
    const { tree, resolve } = new Loader().open(
      path,
      readFileSync(path, 'utf8').replace(/^reassembly\n[\s\S]*?(?=^proving$)/m, ''),
    );
    const model = bind(tree, resolve);
    return draft(model, judge(model).ledger);
  })();
  const order = [
    'fit drum-gear',
    'fit new drum-bearing',
    'fit new-drum-shaft',
    'apply sealant to top-housing',
    'fit top-housing with breather, dipstick',
    'fit dowel',
    'fit joint-bolt',
    'tighten joint-bolt in stages 40 N·m',
    'tighten hidden-bolt',
    'fit oil-plate',
    'fit drum-cover',
    'fit brake-wheel',
    'fit brake-guard',
    'apply thread-locker to hub-screw',
    'fit hub-screw',
    'fit motor using hoist',
    'fit drain-plug',
    'wait 12 h',
    'fill gear-oil 4.2 L (4.4 qt)',
    'fit filler-plug',
    'connect motor-cable',
  ];
  const places = order.map((line) => text.indexOf(`\n    ${line}`));
  expect(
    places.every((place) => place > 0),
    JSON.stringify(order.filter((_, i) => places[i]! < 0)),
  ).toBe(true);
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(text).toContain('  step fill-oil "Reverse of: Drain the oil"');
});

test('a code that has waited for the cure before its filling does not wait once more at the end', () => {
  const { text } = drafted(`procedure job "Job"
  applies to A, B, C
part screw x2 "Screw" thread M4 class 8.8 threadlock torque 2.8 N·m
supply locker "Thread locker" cure 3 h
supply coolant "Coolant" 3 L
teardown
  step drain
    identify "Read the code."
    for C
      drain coolant
    end
  step open
    remove screw
`);
  expect(text.match(/^ *for .*(?:\n *wait .*)/gm)?.map((lines) => lines.trim().split(/\s*\n\s*/))).toEqual([
    ['for C', 'wait 3 h "Thread locker cures"'],
    ['for A, B', 'wait 3 h "Thread locker cures"'],
  ]);
  expect(text.match(/\bwait /g)).toHaveLength(2);
  expect(drafted(text).edits).toEqual([]);
});

test('what covers the first of a chain of 8,000 carriers covers the last, and nothing covers itself', () => {
  const count = 8000;
  const parts = Array.from({ length: count }, (_, i) =>
    i === 0 ? 'part p0 "Root" behind lid' : `part p${i} "Part ${i}" carried by p${i - 1}`,
  );
  const { model, judged } = openText(`part lid "Lid" carried by p3999\n${parts.join('\n')}
teardown
  step open "Open it" takes 20 min
    remove lid
    remove p0
`);
  const relations = new Relations(model, judged.ledger.variants[0]!, originsOf(model));
  expect([...relations.blockers(`p${count - 1}`)]).toEqual(['lid']);
  expect([...relations.blockers('p1')]).toEqual(['lid']);
  expect([...relations.blockers('lid')]).toEqual([]);
});

test('the work of drafting grows with the parts, not with their square', () => {
  const each = (n: number, line: (i: number) => string): string =>
    Array.from({ length: n }, (_, i) => line(i)).join('\n');
  type Lines = (i: number) => string;
  const shapes: Readonly<Record<string, [declaration: Lines, teardown: Lines, reassembly?: Lines]>> = {
    plain: [(i) => `part p${i} "Part"`, (i) => `remove p${i}`],
    carried: [(i) => `part p${i} "Part"${i === 0 ? '' : ` carried by p${i - 1}`}`, (i) => `remove p${i}`],
    supported: [(i) => `part p${i} "Part" hazard weight`, (i) => `support p${i}\nremove p${i}`],
    marked: [(i) => `part p${i} "Part" index`, (i) => `mark p${i} "Towards the front"\nremove p${i}`],
    'cured anywhere': [(i) => `part p${i} "Part"\nsupply s${i} "Sealant" cure 60 min`, (i) => `remove p${i}`],
    loosened: [(i) => `part p${i} "Bolt" thread M8 class 8.8 torque 20 N·m`, (i) => `loosen p${i}`],
    replaced: [
      (i) => `part p${i} "Seal" renew`,
      (i) => `remove p${i}\nif "it leaks"\nreplace p${i}\nelse\ndiscard p${i}\nend`,
    ],
    exchanged: [
      (i) => `part p${i} "Drum"\npart new-p${i} "Drum"\npart rim-${i} "Rim" carried by p${i}`,
      (i) => `remove p${i}\nswap p${i} for new-p${i}`,
    ],
    'piece by piece': [
      (i) => `part p${i} x2 "Part"`,
      (i) => `remove p${i} x1${i === 0 ? '' : `\nremove p${i - 1} x1`}`,
    ],
    'loaded too early': [
      (i) => `part p${i} "Part"\nsupply s${i} "Sealant" cure 60 min\nsupply oil${i} "Oil"`,
      (i) => `mark p${i}`,
      (i) => `apply s${i} to p${i}\nfill oil${i} 1 L`,
    ],
  };
  for (const [name, [declaration, teardown, reassembly]] of Object.entries(shapes)) {
    const cost = (n: number): number => {
      const { model, judged } = openText(
        `${each(n, declaration)}\nteardown\nstep open "Open it" takes 9 min\n${each(n, teardown)}\n${
          reassembly === undefined ? '' : `reassembly\nstep close "Close it" takes 9 min\n${each(n, reassembly)}\n`
        }`,
      );
      return operations(() => draft(model, judged.ledger));
    };
    const [small, great] = [cost(50), cost(200)];
    expect(small, name).toBeGreaterThan(50);
    expect(great / small, name).toBeLessThan(4.4);
  }
});

test('what only came in to flush is not filled again where another fluid takes its place', () => {
  const text = teardown(
    'part cover "Cover"\nsupply flush "Flushing oil" 2 L\nsupply oil "Oil" 3 L',
    'drain oil\nfill flush 2 L\ndrain flush\nremove cover',
  );
  expect(linesOf(text)).toEqual(['fit cover', 'fill oil 3 L']);
  expect(openText(drafted(text).text).judged.findings).toEqual([]);
  // With nothing else to take its place the check asks for it.
  expect(linesOf(text.replace('    drain oil\n', ''))).toEqual(['fit cover', 'fill flush 2 L']);
  // What was in the unit before it was drained is no flush.
  expect(linesOf(text.replace('    fill flush 2 L\n', '    drain flush\n    fill flush 2 L\n'))).toEqual([
    'fit cover',
    'fill oil 3 L',
    'fill flush 2 L',
  ]);
});

test('branches are completed, but not with the square of what thousands hold', () => {
  const lines = (n: number): number => {
    const each = (line: (i: number) => string): string => Array.from({ length: n }, (_, i) => line(i)).join('\n');
    const { model, judged } = openText(
      `${each((i) => `part p${i} "P"`)}\nteardown\nstep open\n${each((i) => `remove p${i}`)}\nreassembly\nstep close\n` +
        `either\n${each((i) => `fit p${i}\n${i < n - 1 ? 'or' : 'end'}`)}\n`,
    );
    return (draft(model, judged.ledger).text.match(/\bfit p/g) ?? []).length;
  };
  expect(lines(10)).toBe(100);
  expect(lines(200)).toBe(200);
});
