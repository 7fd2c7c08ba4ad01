import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { unitOf } from '../../grammar/units.ts';
import { chooseShims, type Shim, type ShimTarget } from '../../server/src/mechanics/index.ts';
import { type CardOptions, card, cardParts } from '../../server/src/outputs/card.ts';
import { drawPattern, ordinal } from '../../server/src/outputs/card-pattern.ts';
import { shimTable } from '../../server/src/outputs/card-shims.ts';
import { styleOf } from '../../server/src/outputs/card-style.ts';
import { fettle, folder, root } from '../cli/run.ts';
import { operations } from '../operations.ts';
import { hostileText } from './hostile.ts';
import { type Opened, openSample, openText } from './opened.ts';

const made = ({ model, judged }: Opened, options: Partial<CardOptions> = {}): string =>
  card(model, judged.ledger, { findings: judged.findings, ...options });
const cardIn = (text: string, options?: Partial<CardOptions>): string => made(openText(text), options);
/** Words as a reader sees them. */
const wordsOf = (markup: string): string =>
  markup
    .replace(/<style>[\s\S]*?<\/style>/g, '')
    .replace(/<(?:\/(?:p|li|h\d|article|section|td|th|dd|dt|label|div)|svg)[^>]*>/g, '\n')
    .replace(/<[^>]*>/g, '')
    .replace(/&#39;/g, "'")
    .replace(/&quot;/g, '"')
    .replace(/&lt;/g, '<')
    .replace(/&gt;/g, '>')
    .replace(/&amp;/g, '&')
    .replace(/[ \t]+/g, ' ');
const whole = ['winch-reducer', 'gear-pump', 'chain-hoist-brake', 'centrifugal-clutch'];

describe('the head of each sheet', () => {
  const headOf = (name: string, codes: readonly string[]): string => {
    const page = cardIn(`procedure ${name} "P"\n  applies to ${codes.join(', ')}\npart a "A"\n`);
    return /@top-left \{ content: "([^"]*)"/
      .exec(page)![1]!
      .replace(/\\([0-9a-f]+) /g, (_, code) => String.fromCodePoint(Number.parseInt(code, 16)));
  };

  it('cuts no code short, but tells how many more there are', () => {
    expect(headOf('winch', ['DW-40', 'DW-40B'])).toBe('winch – DW-40, DW-40B');
    const codes = Array.from({ length: 12 }, (_, i) => `DW-4000-${i + 10}-LONG`);
    expect(headOf('winch', codes)).toBe('winch – DW-4000-10-LONG, DW-4000-11-LONG, DW-4000-12-LONG and 9 more');
    expect(headOf('winch', ['X'.repeat(80)])).toBe('winch – 1 code');
    expect(headOf('w'.repeat(90), ['A-1'])).toBe(`${'w'.repeat(69)}… – 1 code`);
  });
});

describe('a step of more statements than a call takes arguments', () => {
  it('is on the card to its end', () => {
    const lines = Array.from({ length: 150_000 }, (_, i) => `    do "Look ${i}."\n`).join('');
    expect(cardIn(`procedure p "P"\nteardown\n  step look "Look"\n${lines}`).includes('Look 149999.')).toBe(true);
  });
});

describe('two of the same title', () => {
  it('are told apart wherever they are named: wrenches by their range, all else by name', () => {
    const page = wordsOf(
      cardIn(`procedure gland "Pack the gland"
part inlet-nut x2 "Clamp nut" renew thread M8 class 8.8 torque 20 N·m
part outlet-nut x2 "Clamp nut" thread M8 class 8.8 torque 200 N·m
tool small "Torque wrench" range 5..50 N·m
tool large "Torque wrench" range 40..250 N·m
tool bar "Bar"
supply oil "Oil" 1 L
supply flush "Oil" 1 L
teardown
  step off
    drain flush
    drain oil
    remove inlet-nut using bar
    remove outlet-nut keep in "can"
reassembly
  step on
    fit new inlet-nut
    fit outlet-nut
    tighten inlet-nut using small
    tighten outlet-nut using large
    fill oil 1 L
    fill flush 1 L
`),
    );
    for (const said of [
      'Remove Clamp nut (inlet-nut) × 2. Use Bar',
      'Fit new Clamp nut (inlet-nut) × 2 (M8, class 8.8).',
      'Tighten Clamp nut (inlet-nut) × 2 to 20 N·m (14.8 lbf·ft). Use Torque wrench, 5 to 50 N·m ',
      'Tighten Clamp nut (outlet-nut) × 2 to 200 N·m (148 lbf·ft). Use Torque wrench, 40 to 250 N·m ',
      'Drain Oil (flush)',
      'Fill Oil (oil): 1 L',
      // What to have at hand, and what lies where.
      '2 × Clamp nut (inlet-nut)',
      'Torque wrench 5 to 50 N·m',
      '2 × Clamp nut (outlet-nut)',
    ])
      expect(page).toContain(said);
  });

  it('are told apart by name where their ranges are the same, too', () => {
    const page = wordsOf(
      cardIn(`procedure a "A"
part bolt "Bolt" thread M8 class 8.8 torque 20 N·m
tool left "Wrench" range 5..50 N·m
tool right "Wrench" range 5..50 N·m
reassembly
  step on
    tighten bolt using right
`),
    );
    expect(page).toContain('Use Wrench (right)');
    // What to have at hand.
    expect(page).toContain('Wrench (right) 5 to 50 N·m');
  });
});

describe('a part that goes back as it came off', () => {
  it('is told to heed its mark, but for a new one, which has none', () => {
    const page = wordsOf(
      cardIn(`procedure coupling "Renew the coupling bolts"
part bolt x3 "Fitted bolt" index renew thread M8 class 8.8 torque 25 N·m
part half "Coupling half" index held by bolt
teardown
  step off
    mark half
    mark bolt
    remove bolt
    remove half
reassembly
  step on
    fit half
    fit new bolt
    tighten bolt order star
`),
    );
    expect(page).toContain('Fit Coupling half. As it came off: heed the mark');
    expect(page).toContain('Fit new Fitted bolt × 3 (M8, class 8.8).\n');
    expect(page.match(/heed the mark/g)).toHaveLength(1);
  });
});

describe('what is pressed or heated', () => {
  it('is the new one where that is fitted next', () => {
    const words = wordsOf(
      cardIn(`procedure pump "Renew the seal"
part seal "Seal" renew
part ring "Ring"
reassembly
  step on
    press ring
    remove ring
    caution "A press crushes."
    press seal
    fit new seal
    heat ring to 80 °C
    fit ring
`),
    );
    expect(words).toContain('Press new Seal');
    expect(words).toContain('Press Ring');
    expect(words).toContain('Heat Ring to 80 °C');
  });
});

describe('bolts of two lengths in one ring', () => {
  const fitted = (tightening: string, at = ''): string =>
    wordsOf(
      cardIn(`procedure pump "Renew the cover gasket"
part long-bolt x4 "Long bolt" thread M8 class 8.8 torque 25 N·m holes rim${at}
pattern rim circle 10 diameter 200 mm
teardown
  step off
    remove long-bolt
reassembly
  step on
    fit long-bolt
${tightening}
`),
    );

  it('are told where to go when they are fitted, as the tightenings below say', () => {
    expect(
      fitted('    tighten long-bolt to 12 N·m at holes 1, 6\n    tighten long-bolt at holes 6, 1, 3, 8'),
    ).toContain('Fit Long bolt × 4 (M8) in holes 1, 3, 6, 8.');
  });

  it('are where they are declared in some of the holes, and tightened there', () => {
    const words = fitted('    tighten long-bolt order star', ' at 1, 3, 6, 8');
    expect(words).toContain('Fit Long bolt × 4 (M8) in holes 1, 3, 6, 8.');
    expect(words).toContain('1 → 6 → 3 → 8');
    expect(words).not.toContain('ask which');
  });

  it('are not where these name others, or not as many, or only where an alternative decides', () => {
    for (const tightening of [
      '    tighten long-bolt at holes 1, 6, 3',
      '    remove long-bolt\n    fit long-bolt x4\n    tighten long-bolt order star',
      '    if "it leaks"\n      tighten long-bolt at holes 1, 6, 3, 8\n    end',
    ])
      expect(fitted(tightening)).not.toContain('in holes');
  });
});

describe('what is on a thread', () => {
  it('is told where it is tightened', () => {
    const page = cardIn(`procedure pump "Renew the cover bolts"
part bolt "Bolt" thread M8 class A2-70 paste torque 15 N·m
part stud "Stud" thread M8 class 8.8 oiled torque 20 N·m
part nut "Lock nut" thread M8 class 8.8 prevailing 1..6 N·m torque 25 N·m
reassembly
  step on
    tighten bolt
    tighten stud
    tighten nut
`);
    expect(wordsOf(page)).toContain('M8, class A2-70, anti-seize paste on the thread');
    expect(wordsOf(page)).toContain('M8, class 8.8, oiled thread');
    expect(wordsOf(page)).toContain('M8, class 8.8, locking: turns with 1 to 6 N·m before it clamps');
  });
});

describe('what belongs on a thread', () => {
  const fitted = (clauses: string, before = ''): string =>
    wordsOf(
      cardIn(`procedure pump "Renew the cover bolts"
part bolt x2 "Bolt" thread M8 ${clauses} torque 15 N·m
supply slick "Copper paste"
teardown
  step off
    remove bolt
reassembly
  step on
    ${before}
    fit bolt
    tighten bolt
`),
    );
  it.each([
    ['oiled', 'Oil on the thread'],
    ['dry', 'Thread dry, without oil'],
    ['paste', 'Anti-seize paste on the thread'],
    ['threadlock', 'Thread lock on the thread'],
  ])('is told of one declared `%s` where it is fitted, while there is time', (condition, told) => {
    expect(fitted(condition)).toMatch(new RegExp(`Fit Bolt × 2 \\(M8\\)\\.\\s+${told}\\s`));
  });
  it('is not told where nothing is declared, or where it is applied', () => {
    expect(fitted('class 8.8')).not.toContain('on the thread');
    expect(fitted('paste', 'apply slick to bolt').match(/on the thread/g)).toHaveLength(1);
  });
});

describe('a left-hand thread', () => {
  it('is told wherever it is turned, with the way to turn it', () => {
    const page = cardIn(`procedure fan "Renew the fan"
part nut "Fan nut" thread M20x1.5-LH class 8.8 torque 60 N·m
part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
part fan "Fan" held by nut, bolt
teardown
  step off
    loosen nut
    remove bolt
    remove nut
    inspect nut
    remove fan
reassembly
  step on
    fit fan
    fit nut
    fit bolt
    tighten nut
    tighten bolt
`);
    const [, ...statements] = page.split('<li class="statement');
    const told = statements.flatMap((each) => {
      const [, verb, way] = /(\w+) Fan nut[\s\S]*Left-hand thread: turn (\w+ to \w+)/.exec(wordsOf(`<li${each}`)) ?? [];
      return way === undefined ? [] : [[verb, way]];
    });
    expect(statements.length).toBe(10);
    expect(told).toEqual([
      ['Loosen', 'clockwise to loosen'],
      ['Remove', 'clockwise to loosen'],
      ['Fit', 'anticlockwise to tighten'],
      ['Tighten', 'anticlockwise to tighten'],
    ]);
  });
});

it('what is loosened is not to be removed yet where that follows, and where it is only tightened again nothing is said of it', () => {
  const card = wordsOf(
    cardIn(
      'procedure p\npart nut "Gland nut"\npart bleeder "Bleed nipple"\nteardown\n  step a\n    loosen nut\n    clean nut\n    remove nut\nreassembly\n  step b\n    fit nut\n    tighten nut to 20 N·m\n    loosen nut\n    tighten nut to 9 N·m\nproving\n  step c\n    loosen bleeder\n    check "No bubbles."\n    tighten bleeder to 8 N·m\n',
    ),
  );
  expect(card.match(/Loosen [^.]*\.(?: Do not remove yet\.)?/g)).toEqual([
    'Loosen Gland nut. Do not remove yet.',
    'Loosen Gland nut.',
    'Loosen Bleed nipple.',
  ]);
});

it('a heated part is never to pass its limit; a cooled one cannot', () => {
  const card = (kind: string): string =>
    wordsOf(
      cardIn(
        `procedure p\npart race "Race" limit 110 °C\nreassembly\n  step a\n    ${kind} race to ${kind === 'heat' ? 90 : -20} °C\n    fit race\n`,
      ),
    );
  expect(card('heat').match(/Never over 110 °C/g)).toHaveLength(1);
  expect(card('cool')).not.toContain('Never over');
});

it('breaks no line within the time of the job or the size of a bolt', () => {
  const page = cardIn(
    'procedure p\npart bolt x2 "Bolt" thread M8 length 20 mm torque 25 N·m\nteardown\n  step a takes 95 min\n    remove bolt keep in "tray A"\nreassembly\n  step b\n    fit bolt\n    tighten bolt\n',
  );
  const kept = [...page.matchAll(/<span class="figure">((?:[^<]|<span[^>]*>[^<]*<\/span>)*)<\/span>/g)].map(
    ([, piece]) => wordsOf(piece!),
  );
  expect(kept).toContain('1 h 35 min');
  // On the line that fits it, and on the tray.
  expect(kept.filter((piece) => piece === 'M8 × 20 mm')).toHaveLength(2);
});

it('tells the class of a bolt where a new one is fitted, and breaks no line within it', () => {
  const page = cardIn(
    'procedure p\npart bolt x2 "Bolt" renew thread M8 class 10.9 length 20 mm torque 30 N·m\nteardown\n  step a\n    remove bolt\n    discard bolt\nreassembly\n  step b\n    fit new bolt\n    tighten bolt\n',
  );
  expect(wordsOf(page)).toContain('Fit new Bolt × 2 (M8 × 20 mm, class 10.9)');
  // Where it is fitted, and where it is tightened.
  expect(page.match(/<span class="figure">class 10\.9<\/span>/g)).toHaveLength(2);
});

describe('what to have at hand', () => {
  const job = (declared: string, done: string): string =>
    wordsOf(cardIn(`procedure p\n${declared}\nteardown\n  step a\n${done}`));

  it('tells of sizes, and of work without a tool, where nothing else is needed', () => {
    const text = job(
      'part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m',
      '    remove bolt\nreassembly\n  step b\n    fit bolt\n    tighten bolt\n',
    );
    expect(text).toContain('Sockets, keys and bits for the heads of these threads: M8');
    // Whoever gathers the tools ticks what is to be thought of as well.
    expect(text).toMatch(/The procedure names no tool for\s+Tightening Bolt to 25 N·m \([^)]*\) +step 2\s/);
    // No list, and no heading of one.
    expect(text).not.toContain('Tools');
  });

  it('is left out where nothing is', () => {
    expect(job('part lid "Lid"', '    remove lid\nreassembly\n  step b\n    fit lid\n')).not.toContain('Have at hand');
  });
});

describe('the card of a sample', () => {
  it.each([...whole, 'irrigation-pump'])('%s has every step and statement once, at its line', (name) => {
    const page = made(openSample(name));
    const lines = readFileSync(join(root, `samples/${name}.fettle`), 'utf8').split('\n');
    const from = lines.findIndex((line) => line.startsWith('teardown'));
    const wanted = (pattern: RegExp): number[] =>
      lines.flatMap((line, i) => (i > from && pattern.test(line) ? [i] : []));
    const found = (pattern: RegExp): number[] => [...page.matchAll(pattern)].map(([, line]) => Number(line));
    // A shared step, of which each of these files takes in one a time, is at the line that takes it in.
    expect(found(/class="step" data-line="(\d+)"/g)).toEqual(wanted(/^ +(step|use) /));
    const statement =
      /^ +(remove|disconnect|discard|replace|fit|connect|swap|transfer|omit|try|loosen|tighten|drain|fill|apply|wait|heat|cool|press|mark|support|clean|inspect|measure|shim|sign|identify|check|do|either|if|for|danger|warning|caution|notice)\b/;
    expect(
      found(/<li class="(?:statement|safety|choice)[^"]*" data-line="(\d+)"/g).filter(
        (line) => !/^ +use /.test(lines[line]!),
      ),
    ).toEqual(wanted(statement));
  });

  it('speaks of one code where there is one, as the card of one of several does', () => {
    const asked = (codes: string, code?: string): string =>
      wordsOf(cardIn(`procedure p "P"\n  applies to ${codes}\npart a "A"\n`, code === undefined ? {} : { code }))
        .split('\n')
        .find((line) => /units? with/.test(line))!;
    const one = 'Only for units with this code. Tick what you read on the plate:';
    expect(asked('A-1')).toBe(one);
    expect(asked('A-1, A-2', 'A-2')).toBe(one);
    expect(asked('A-1, A-2')).toBe('For units with one of these codes. Tick the one that you read on the plate:');
  });

  it.each(whole)('%s names the unit first, is no card to leave alone, and ends with what prevails', (name) => {
    const { model } = openSample(name);
    const text = wordsOf(made(openSample(name), { file: `${name}.fettle` }));
    const at = (words: string): number => {
      expect(text).toContain(words);
      return text.indexOf(words);
    };
    expect(at('Make sure of the unit')).toBeLessThan(at('Safety words'));
    for (const code of model.codes) expect(at(code)).toBeLessThan(at('Safety words'));
    expect(at(model.head!.codePlate!.value)).toBeLessThan(at('Safety words'));
    expect(at('Safety words')).toBeLessThan(at('Have at hand'));
    expect(at('Have at hand')).toBeLessThan(at('What lies where'));
    expect(at('What lies where')).toBeLessThan(at('Teardown'));
    expect(at('Hand over')).toBeLessThan(at('The maker’s data, local codes and licensed practice prevail'));
    expect(text).not.toContain('Do not use this card');
    expect(text).not.toMatch(/undefined|NaN|Infinity|\[object|\bnull\b/);
  });

  it('says what the safety words mean', () => {
    // ANSI Z535.4 and Z535.6 (read): DANGER will, WARNING could cause death or serious injury; CAUTION could cause minor or
    // moderate injury; NOTICE no injury.
    const text = wordsOf(made(openSample('winch-reducer')));
    expect(text).toMatch(/DANGER\s+will cause death or serious injury/);
    expect(text).toMatch(/WARNING\s+could cause death or serious injury/);
    expect(text).toMatch(/CAUTION\s+could cause minor or moderate injury/);
    expect(text).toMatch(/NOTICE\s+no injury/);
  });

  it('prints every safety message with its word', () => {
    const source = readFileSync(join(root, 'samples/winch-reducer.fettle'), 'utf8');
    const text = wordsOf(made(openSample('winch-reducer')));
    for (const [, word, message] of source.matchAll(/^ +(danger|warning|caution|notice) "(.*)"$/gm))
      expect(text).toContain(`${word!.toUpperCase()} ${message}`);
  });

  it('follows what is put away once more from place to place', () => {
    const page = cardIn(`procedure p
part nut x2 "Nut"
part pin "Pin"
teardown
  step off
    mark pin keep in "tin"
    remove nut x1 keep in "bag A"
    remove nut x1 keep in "bag B"
    remove pin keep in "tin"
inspection
  step wash
    clean nut keep in "tray 1"
  step look
    inspect nut keep in "tray 2"
    inspect nut keep in "tray 2"
reassembly
  step on
    fit nut
    fit pin
`);
    const trays = wordsOf(page.slice(page.indexOf('class="tray-map"'), page.indexOf('class="phase"')));
    for (const said of [
      /bag A\s+1 × Nut: off in step 1, to tray 1 in step 2/,
      /bag B\s+1 × Nut: off in step 1, to tray 1 in step 2/,
      /tin\s+1 × Pin: off in step 1, back in step 4/,
      /tray 1\s+2 × Nut: laid here in step 2, to tray 2 in step 3/,
      /tray 2\s+2 × Nut: laid here in step 3, back in step 4/,
    ])
      expect(trays).toMatch(said);
  });

  it('follows as many pieces as are put away once more', () => {
    const page = cardIn(`procedure p
part nut x6 "Nut"
teardown
  step off
    remove nut x4 keep in "bag A"
    remove nut x2 keep in "bag B"
inspection
  step wash
    clean nut x1 keep in "tray 1"
    clean nut x2 keep in "tray 1"
  step look
    inspect nut x2 keep in "tray 2"
reassembly
  step on
    fit nut
`);
    const trays = wordsOf(page.slice(page.indexOf('class="tray-map"'), page.indexOf('class="phase"')));
    for (const said of [
      /bag A\s+3 × Nut: off in step 1, back in step 4\s+1 × Nut: off in step 1, to tray 1 in step 2/,
      /bag B\s+2 × Nut: off in step 1, to tray 1 in step 2/,
      /tray 1\s+1 × Nut: laid here in step 2, back in step 4\s+2 × Nut: laid here in step 2, to tray 2 in step 3/,
      /tray 2\s+2 × Nut: laid here in step 3, back in step 4/,
    ])
      expect(trays).toMatch(said);
  });

  // As many each time: eight lie in the bag, not four.
  it.each([
    [
      'as many at a time',
      'remove bolt x4 "Upper" keep in "bag"\n    remove bolt x4 "Lower" keep in "bag"',
      ['8 × Bolt'],
    ],
    ['otherwise', 'remove bolt x6 keep in "bag"\n    remove bolt x2 "Long way down" keep in "bag"', ['8 × Bolt']],
    [
      'one way or the other',
      'either "Up"\n    remove bolt x8 keep in "bag"\n    or "Down"\n    remove bolt x8 keep in "bag"\n    end',
      ['8 × Bolt'],
    ],
    [
      'in two ways in two goes',
      'if "rusty"\n    remove bolt x4 keep in "bag"\n    remove bolt x4 keep in "bag"\n    else\n    remove bolt x8 keep in "bag"\n    end',
      ['4 × Bolt', '4 × Bolt', '8 × Bolt'],
    ],
    [
      'for each code by itself',
      'for A\n    remove bolt x8 keep in "bag"\n    end\n    for B\n    remove bolt x8 keep in "bag"\n    end',
      ['8 × Bolt'],
    ],
    [
      'for one code in two goes',
      'remove bolt x4 keep in "bag"\n    for A\n    remove bolt x4 keep in "bag"\n    end\n    for B\n    remove bolt x2 keep in "bag"\n    remove bolt x2 keep in "box"\n    end',
      ['8 × Bolt (A)', '6 × Bolt (B)', '2 × Bolt (B)'],
    ],
  ])('counts in a tray what is laid there %s', (_, removing, lying) => {
    const page = cardIn(`procedure p
  applies to A, B
part bolt x8 "Bolt"
teardown
  step off
    ${removing}
reassembly
  step on
    fit bolt
`);
    const trays = wordsOf(page.slice(page.indexOf('class="tray-map"'), page.indexOf('class="phase"')));
    expect(trays.match(/\d+ × [^:]*(?=: off in step 1, back in step 2)/g)).toEqual(lying);
  });

  it('maps the trays: what lies there, from which step, until which', () => {
    const page = made(openSample('winch-reducer'));
    const trays = wordsOf(page.slice(page.indexOf('class="tray-map"'), page.indexOf('class="phase"')));
    expect(trays).toContain('4 × Motor flange bolt M12 × 45 mm: off in step 4, back in step 40');
    expect(trays).toContain('3 × Heater screw M6 × 20 mm (DW-40B): off in step 8, back in step 35');
    const places = [...page.matchAll(/<li class="tray"><h3><bdi>(.*?)<\/bdi>/g)].map(([, place]) => place);
    expect(places).toEqual([
      ...[
        'tray A',
        'tray B',
        'bag 3',
        'tray C',
        'tray D',
        'bag 1',
        'tray E',
        'bag 2',
        'tray F',
        'bag 4',
        'tray G',
        'tray H',
      ],
    ]);
  });

  it('numbers steps as the kit list does', () => {
    const text = wordsOf(made(openSample('winch-reducer')));
    expect(text).toMatch(/Slide-hammer dowel extractor step 13\n/);
    expect(text).toContain('13 Free the housing joint');
    expect(text).toMatch(/14 Lift the top housing\s+20 min · after step 13/);
  });
});

describe('a card for one code', () => {
  const winch = openSample('winch-reducer');
  it('leaves out what others need, and keeps the numbers', () => {
    const plain = wordsOf(made(winch, { code: 'DW-40' }));
    expect(plain).not.toContain('Heater');
    expect(plain).not.toContain('DW-40B');
    expect(plain).toMatch(/35 Put the sump heater back[\s\S]*?Nothing to do on this unit\./);
    expect(plain).toContain('36 Close the drain');
  });
  it('does not mark what is for it', () => {
    expect(wordsOf(made(winch))).toContain('Only on DW-40B:');
    const heated = wordsOf(made(winch, { code: 'DW-40B' }));
    expect(heated).not.toContain('Only on');
    expect(heated).toContain('Disconnect Heater cable');
  });
});

describe('errors', () => {
  it('make the card say that it is not to be used, with how many and which', () => {
    const { judged } = openSample('irrigation-pump');
    const errors = judged.findings.filter(({ severity }) => severity === 'error');
    const page = made(openSample('irrigation-pump'));
    const text = wordsOf(page);
    expect(text).toContain('Do not use this card');
    expect(text).toContain(`${errors.length} errors`);
    expect(text.indexOf('Do not use this card')).toBeLessThan(text.indexOf('Make sure of the unit'));
    expect([...page.matchAll(/data-finding-line="(\d+)"/g)].length).toBe(8);
    expect(text).toContain(`and ${errors.length - 8} more`);
  });

  it('of a line that cannot be read show the line, to be left alone', () => {
    const text = wordsOf(cardIn('part a "A"\nteardown\n  step s "S"\n    remvoe a & b\n'));
    expect(text).toContain('This line cannot be read in full. Do not guess: remvoe a & b');
  });
});

describe('tightening', () => {
  const bolt = (rest: string, tighten: string, more = ''): string => `${more}
part bolt ${rest} "Bolt" thread M10 class 8.8
tool wrench "Wrench" range 5..200 N·m
reassembly
  step s "S"
    tighten bolt ${tighten}
`;
  /** A bolt with an angle, loosened and tightened by these lines. */
  const turned = (...lines: string[]): string =>
    `part bolt x6 "Bolt" torque 40 N·m then 90°\nreassembly\n step s "S"\n${['loosen bolt', ...lines].join('\n')}\n`;

  it('states torque in both systems, from either', () => {
    // 1 lbf·ft = 1.3558179483314004 N·m, 1 lbf·in = 0.1129848290276167 N·m exactly (NIST SP 811).
    const torque = (text: string): [number, number] => {
      const said = wordsOf(cardIn(bolt('x1', `to ${text}`)));
      const [, own, other] = /Tighten Bolt to ([\d.]+) \S+ \(([\d.]+) /.exec(said)!;
      return [Number(own), Number(other)];
    };
    for (const value of [16, 25, 48.5, 115, 1180]) {
      const [own, other] = torque(`${value} N·m`);
      expect(own).toBe(value);
      expect((other * 1.3558179483314) / value).toBeCloseTo(1, 2);
    }
    for (const value of [2.5, 9, 14.9]) expect((torque(`${value} N·m`)[1] * 0.1129848290276) / value).toBeCloseTo(1, 2);
    for (const value of [7, 85]) expect(torque(`${value} lbf·ft`)[1] / (value * 1.3558179483314)).toBeCloseTo(1, 2);
    expect(wordsOf(cardIn(bolt('x1', 'to 25 N·m (18 lbf·ft)')))).toContain('25 N·m (18 lbf·ft)');
    expect(wordsOf(cardIn(bolt('x1', 'to 20..30 N·m')))).toContain('20 to 30 N·m (14.8 to 22.1 lbf·ft)');
  });

  it('sets the wrench for its adapter', () => {
    // Published example, read: 80 N·m, wrench 40 cm, extension 5 cm → 71.1 N·m.
    const text = wordsOf(cardIn(bolt('x1', 'to 80 N·m using wrench extension 50 mm on 400 mm')));
    expect(text).toMatch(/Setting of the wrench[\s\S]*80 N·m \(59 lbf·ft\)\s+71\.1 N·m \(52\.4 lbf·ft\)/);
    expect(wordsOf(cardIn(bolt('x1', 'to 80 N·m using wrench extension 50 mm on 400 mm at 90°')))).not.toContain(
      'Set the wrench to',
    );
  });

  // 10 N·m = 7.376 lbf·ft = 88.5 lbf·in, 15 N·m = 132.8 lbf·in (exact factors as above).
  it('keeps all passes of one tightening to one unit, and the settings of its wrench', () => {
    const rising = wordsOf(cardIn(bolt('x2', 'in stages 10 N·m, 30 N·m using wrench extension 50 mm on 100 mm')));
    expect(rising).toMatch(/10 N·m \(7\.38 lbf·ft\)\s+6\.67 N·m \(4\.92 lbf·ft\)/);
    expect(rising).toMatch(/30 N·m \(22\.1 lbf·ft\)\s+20 N·m \(14\.8 lbf·ft\)/);
    expect(rising).not.toContain('lbf·in');
    const small = wordsOf(cardIn(bolt('x2', 'in stages 6 N·m, 12 N·m')));
    expect(small).not.toContain('lbf·ft');
  });

  // 9.5 N·m = 7.007 lbf·ft, two thirds of it 4.67; 1 kgf·m = 9.80665 N·m exactly (NIST SP 811).
  it('brackets all of them in the unit that the author restates one in, and the declared one as it is declared', () => {
    const declared = (torque: string, tighten: string): string =>
      wordsOf(
        cardIn(bolt('x2', `${tighten} using wrench extension 50 mm on 100 mm`).replace('8.8', `8.8 torque ${torque}`)),
      );
    const feet = declared('9.5 N·m (7 lbf·ft)', 'in stages 6 N·m, 9.5 N·m');
    expect(feet).toMatch(/Tighten Bolt × 2 to 9\.5 N·m \(7 lbf·ft\)/);
    expect(feet).toMatch(/6 N·m \(4\.43 lbf·ft\)\s+4 N·m \(2\.95 lbf·ft\)/);
    expect(feet).toMatch(/9\.5 N·m \(7 lbf·ft\)\s+6\.33 N·m \(4\.67 lbf·ft\)/);
    expect(declared('6 kgf·m (59 N·m)', '')).toMatch(/6 kgf·m \(59 N·m\)\s+4 kgf·m \(39\.2 N·m\)/);
    expect(declared('40 N·m (30 lbf·ft)', 'to 30 lbf·ft')).toMatch(/30 lbf·ft \(40\.7 N·m\)\s+20 lbf·ft \(27\.1 N·m\)/);
  });

  // 10 lbf·ft = 120 lbf·in = 13.558 N·m, 20 lbf·ft = 240 lbf·in = 27.116 N·m, 4 kgf·m = 39.227 N·m = 28.932 lbf·ft (factors as above).
  it('tells what is measured in beside what the author has, where neither of his units is that', () => {
    const job = (torque: string, stages: string, measures = ''): string =>
      wordsOf(cardIn(`procedure p "P"${measures}\n${bolt('x2', stages).replace('8.8', `8.8 torque ${torque}`)}`));
    const american = job('20 lbf·ft (240 lbf·in)', 'in stages 10 lbf·ft, 20 lbf·ft');
    expect(american).toContain('Tighten Bolt × 2 to 20 lbf·ft (240 lbf·in, 27.1 N·m)');
    expect(american).toMatch(/1\s+10 lbf·ft \(120 lbf·in, 13\.6 N·m\)[\s\S]*2\s+20 lbf·ft \(240 lbf·in, 27\.1 N·m\)/);
    expect(job('20 lbf·ft (240 lbf·in)', 'in stages 10 lbf·ft, 20 lbf·ft', ' measures imperial')).toMatch(
      /10 lbf·ft \(120 lbf·in\)[\s\S]*2\s+20 lbf·ft \(240 lbf·in\)/,
    );
    expect(job('4 kgf·m', '')).toContain('to 4 kgf·m (28.9 lbf·ft, 39.2 N·m)');
    expect(job('4 kgf·m (39 N·m)', '', ' measures imperial')).toContain('to 4 kgf·m (39 N·m, 28.9 lbf·ft)');
    expect(job('10 N·m', 'in stages 5 N·m (44 lbf·in), 10 N·m (7.4 lbf·ft)')).toMatch(
      /5 N·m \(44 lbf·in, 3\.69 lbf·ft\)[\s\S]*2\s+10 N·m \(7\.4 lbf·ft\)/,
    );
  });

  // Common practice, no source: all are drawn down to the torque before the first is turned on.
  it('works in passes, the angle in one of its own', () => {
    const text = wordsOf(
      cardIn(bolt('x6', 'in stages 10 N·m, 20 N·m, 40 N·m order star').replace('8.8', '8.8 torque 40 N·m then 90°')),
    );
    expect(text).toContain('4 passes over all holes in order');
    expect(text).toMatch(
      /1\s+10 N·m \(7\.38 lbf·ft\)[\s\S]*2\s+20 N·m \(14\.8 lbf·ft\)[\s\S]*3\s+40 N·m \(29\.5 lbf·ft\)\s[\s\S]*4\s+turn each on by 90°/,
    );
    expect(text.slice(text.indexOf('Tighten Bolt')).match(/90°/g)).toHaveLength(2);
  });

  it('has a pass for the angle where the torque is reached in one', () => {
    const turned = (count: string, more = ''): string =>
      wordsOf(cardIn(bolt(count, `to 40 N·m then 90° order star${more}`)));
    expect(turned('x6')).toMatch(
      /2 passes over all holes in order[\s\S]*Torque or turn at the fastener[\s\S]*1\s+40 N·m \(29\.5 lbf·ft\)\s[\s\S]*2\s+turn each on by 90°/,
    );
    expect(turned('x6', ' using wrench extension 50 mm on 100 mm')).toMatch(/turn each on by 90°\s+–\s/);
    expect(turned('')).not.toContain('passes');
  });

  // Two bolts have no order of holes.
  it('speaks of an order only where there is one', () => {
    expect(wordsOf(cardIn(bolt('x2', 'to 40 N·m then 90°')))).toContain('2 passes over all pieces');
    expect(wordsOf(cardIn(bolt('', 'in stages 20 N·m, 40 N·m')))).not.toContain('over all');
  });

  it('turns the only one on as it reaches its torque', () => {
    const text = wordsOf(cardIn(bolt('', 'to 40 N·m then 90° in stages 20 N·m, 40 N·m')));
    expect(text).toMatch(/2 passes[\s\S]*2\s+40 N·m \(29\.5 lbf·ft\), then 90° further/);
  });

  it('counts no pass twice where `to` restates the last stage', () => {
    const passes = (tightening: string): string => wordsOf(cardIn(bolt('x6', `${tightening} order star`)));
    expect(passes('to 40 N·m then 90° in stages 20 N·m, 40 N·m')).toMatch(
      /3 passes over all holes in order[\s\S]*1\s+20 N·m \(14\.8 lbf·ft\)[\s\S]*2\s+40 N·m \(29\.5 lbf·ft\)\s[\s\S]*3\s+turn each on by 90°/,
    );
    expect(passes('to 40 N·m in stages 20 N·m, 30 N·m')).toContain('3 passes over all holes in order');
  });

  // Common practice, no source: stretched by an angle twice, a bolt is past what it can take.
  it.each([
    [
      'stages first, then a line for the angle',
      'tighten bolt in stages 20 N·m, 40 N·m',
      'tighten bolt to 40 N·m then 90°',
    ],
    ['the angle of the declaration, both times', 'tighten bolt in stages 20 N·m, 40 N·m', 'tighten bolt'],
    [
      'one way or another to turn on',
      'tighten bolt in stages 20 N·m, 40 N·m',
      'either "With the disc"\n tighten bolt to 40 N·m then 90°\n or "By the flats"\n tighten bolt to 40 N·m\n end',
    ],
  ])('asks for the angle of a bolt once: %s', (_, ...lines) => {
    const [before, after] = wordsOf(cardIn(turned(...lines)))
      .split(/(?=Tighten Bolt × 6)/)
      .slice(1);
    expect(before).toContain('40 N·m (29.5 lbf·ft)');
    expect(before).not.toContain('90°');
    expect(after).toContain('then turn 90° further');
  });

  it('asks for the angle once for each code', () => {
    const text = turned(
      'for A\n tighten bolt in stages 20 N·m, 40 N·m\n end',
      'for B\n tighten bolt in stages 30 N·m, 40 N·m\n end',
      'tighten bolt to 40 N·m then 90°',
    );
    const page = wordsOf(cardIn(`procedure p "P"\n applies to A, B\n${text}`));
    expect(page.match(/turn 90° further/g)).toHaveLength(1);
  });

  it.each([
    [
      'other pieces',
      'tighten bolt x3 in stages 20 N·m, 40 N·m at holes 1, 3, 5',
      'tighten bolt x3 to 40 N·m then 90° at holes 2, 4, 6',
    ],
    ['loosened in between', 'tighten bolt in stages 20 N·m, 40 N·m', 'loosen bolt', 'tighten bolt to 40 N·m then 90°'],
    [
      'another way of doing it',
      'tighten bolt to 30 N·m',
      'either "By stages"\n tighten bolt in stages 35 N·m, 40 N·m\n or "At once"\n tighten bolt to 40 N·m then 90°\n end',
    ],
  ])('asks for the angle of each: %s', (_, ...lines) => {
    expect(wordsOf(cardIn(turned(...lines))).match(/turn 90° further/g)).toHaveLength(2);
  });

  // 8: ASME PCC-1 legacy pattern, from memory; 12: read; 4: read.
  it.each([
    [4, '1 → 3 → 2 → 4'],
    [8, '1 → 5 → 3 → 7 → 2 → 6 → 4 → 8'],
    [12, '1 → 7 → 4 → 10 → 2 → 8 → 5 → 11 → 3 → 9 → 6 → 12'],
  ])('draws and lists the order of %d holes', (count, order) => {
    const page = cardIn(
      bolt(`x${count}`, 'to 40 N·m', `pattern c circle ${count} diameter 90 mm`).replace('8.8', '8.8 holes c'),
    );
    expect(wordsOf(page)).toContain(order);
    expect(page).toContain(`<desc id="f1-order">Order of the holes: ${order.replace(/ → /g, ', ')}.</desc>`);
    expect(page).toContain('aria-labelledby="f1-title f1-order"');
    expect(page.match(/class="hole"/g)).toHaveLength(count);
    expect(page.match(/class="turn"/g)).toHaveLength(count);
  });

  it('says that it holds for each of several like sides', () => {
    const eight = 'pattern c circle 8 diameter 90 mm';
    const page = (count: string): string =>
      wordsOf(cardIn(bolt(count, 'to 40 N·m', eight).replace('8.8', '8.8 holes c')));
    expect(page('x16')).toContain('In the ring: the hole. Beside it: its turn. The same on each of the 2 sides.');
    expect(page('x8')).not.toContain('sides');
  });

  it('by hand has no order, without a pattern a list, without a torque a warning', () => {
    expect(cardIn(bolt('x8', 'by hand').replace('8.8', '8.8 holes c'))).not.toContain('<svg');
    const listed = cardIn(bolt('x6', 'to 40 N·m order star'));
    expect(listed).not.toContain('<svg');
    expect(wordsOf(listed)).toContain('1 → 4 → 2 → 5 → 3 → 6');
    expect(wordsOf(listed)).toContain('No hole pattern is declared');
    expect(wordsOf(cardIn(bolt('x1', '')))).toContain('No torque is stated');
  });

  it('at every other hole goes across, not round', () => {
    const page = (at: string, pattern = 'pattern c circle 10 diameter 90 mm'): string =>
      wordsOf(cardIn(bolt('x10', `to 40 N·m ${at}`, pattern).replace('8.8', pattern === '' ? '8.8' : '8.8 holes c')));
    expect(page('at holes 1, 3, 5, 7, 9')).toContain('1 → 5 → 9 → 3 → 7');
    expect(page('at holes 2, 4, 6, 8, 10')).toContain('2 → 6 → 10 → 4 → 8');
    expect(page('at holes 2, 4, 6, 8, 10 order 2 1 3 5 7 9 10 8 6 4')).toContain('2 → 10 → 8 → 6 → 4');
    expect(page('at holes 2, 4, 6, 99')).toContain('2 → 4 → 6');
    expect(page('in stages 20 N·m, 40 N·m at holes 2, 4, 6')).toContain('2 passes over these holes in order');
    expect(page('at holes 2, 4, 6, 8, 10 order star', '')).toContain('2 → 6 → 10 → 4 → 8');
  });

  it('at some holes draws the others dashed', () => {
    const page = cardIn(
      bolt('x6', 'to 40 N·m at holes 2, 5', 'pattern c circle 6 diameter 90 mm').replace('8.8', '8.8 holes c'),
    );
    expect(wordsOf(page)).toContain('Tighten Bolt × 2 of 6 at holes 2, 5');
    expect(page.match(/stroke-dasharray/g)).toHaveLength(4);
    expect(page.match(/class="turn"/g)).toHaveLength(2);
  });
});

describe('loosening', () => {
  const lid = (loosen: string, pattern = 'circle 6 diameter 120 mm'): string =>
    cardIn(
      `part bolt x6 "Bolt" thread M8 torque 25 N·m holes lid\npattern lid ${pattern}\nteardown\n  step a "A"\n    ${loosen}\nreassembly\n  step b "B"\n    tighten bolt order spiral\n`,
    );
  const ordersIn = (page: string): string[] =>
    [...page.matchAll(/<p class="holes">(.*?)<\/p>/g)].map(([, holes]) => holes!.replace(/<[^>]*>/g, ''));

  it('in a stated order shows it, and says which way it is: the order was lost', () => {
    const page = lid('loosen bolt order 6 1 4 2 5 3');
    expect(ordersIn(page)[0]).toBe('6 → 1 → 4 → 2 → 5 → 3');
    expect(page).toContain('Loosening order of Bolt: 6 holes');
    expect(page).toContain('<p>Loosen the holes in this order:</p>');
    expect(page).toContain('Tightening order of Bolt: 6 holes');
    expect(page).toContain('<p>Tighten the holes in this order:</p>');
  });

  // Common practice, no source: fasteners are slackened in the reverse of the order in which they are tightened, of a cover from its edge inwards.
  it.each(['star', 'spiral'])('in a %s runs the tightening order backwards', (style) => {
    const points = 'points (0, 0) (60, 0) (120, 0) (0, 80) (60, 80) (120, 80) mm';
    const [loosened] = ordersIn(lid(`loosen bolt order ${style}`, points));
    const [tightened] = ordersIn(lid(`tighten bolt order ${style}`, points));
    expect(loosened!.split(' → ')).toEqual(tightened!.split(' → ').reverse());
  });

  it('without a stated order shows none', () => {
    expect(ordersIn(lid('loosen bolt'))).toHaveLength(1);
  });

  it('of some of the fasteners says that the order is of more holes', () => {
    expect(wordsOf(lid('loosen bolt x4 order star'))).toContain('These are 6 holes for 4 pieces: ask which to loosen.');
    expect(lid('loosen bolt order star')).not.toContain('ask which');
    expect(lid('loosen bolt x3 order 6 1 4')).not.toContain('ask which');
    const tighten = lid('tighten bolt x1 order star');
    expect(wordsOf(tighten)).toContain('These are 6 holes for 1 piece: ask which to tighten.');
  });
});

describe('a drawn pattern', () => {
  const holesIn = (markup: string): Map<number, { x: number; y: number }> =>
    new Map(
      [...markup.matchAll(/data-hole="(\d+)"><circle cx="([-\d.]+)" cy="([-\d.]+)"/g)].map(([, hole, x, y]) => [
        Number(hole),
        { x: Number(x), y: Number(y) },
      ]),
    );

  it.each([3, 4, 5, 8, 12, 24, 36])('of a circle of %d has hole 1 on top and goes on clockwise', (count) => {
    const order = Array.from({ length: count }, (_, i) => i + 1);
    const { svg, numbered, turned } = drawPattern({ kind: 'circle', count }, order, 'T', 'x');
    expect({ numbered, turned }).toEqual({ numbered: count, turned: true });
    const holes = holesIn(svg.markup);
    expect(holes.get(1)!.x).toBeCloseTo(0, 6);
    for (const [hole, { x, y }] of holes) {
      if (hole !== 1) expect(y).toBeGreaterThan(holes.get(1)!.y);
      // Clockwise as seen on the sheet, where y points down.
      const angle = (Math.atan2(x, -y) * 180) / Math.PI;
      expect((angle + 360.01) % 360).toBeCloseTo((360 * (hole - 1)) / count, 0);
    }
  });

  it('of an uneven circle keeps the stated angles', () => {
    const angles = [0, 72, 144, 216, 281];
    const holes = holesIn(drawPattern({ kind: 'angles', angles }, [1, 3, 5, 2, 4], 'T', 'x').svg.markup);
    for (const [i, angle] of angles.entries()) {
      const { x, y } = holes.get(i + 1)!;
      expect(((Math.atan2(x, -y) * 180) / Math.PI + 360.01) % 360).toBeCloseTo(angle, 0);
    }
  });

  it('of points is to scale, y upwards', () => {
    const points = [
      { x: 0, y: 0 },
      { x: 60, y: 0 },
      { x: 0, y: 80 },
    ];
    const holes = holesIn(drawPattern({ kind: 'points', points }, [1, 2, 3], 'T', 'x').svg.markup);
    const [a, b, c] = [holes.get(1)!, holes.get(2)!, holes.get(3)!];
    expect(b.x - a.x).toBeGreaterThan(0);
    expect(a.y - c.y).toBeGreaterThan(0);
    expect((a.y - c.y) / (b.x - a.x)).toBeCloseTo(80 / 60, 2);
  });

  it('with no room for all numbers shows some and says how many, and no turn that could mislead', () => {
    const order = Array.from({ length: 300 }, (_, i) => i + 1);
    const { svg, numbered, turned } = drawPattern({ kind: 'circle', count: 300 }, order, 'T', 'x');
    expect(turned).toBe(false);
    expect(numbered).toBeGreaterThan(20);
    expect(holesIn(svg.markup).size).toBe(numbered);
    expect(svg.markup.match(/class="dot"/g)).toHaveLength(300 - numbered);
    const same = drawPattern({ kind: 'points', points: Array(5).fill({ x: 1, y: 1 }) }, [1, 2, 3, 4, 5], 'T', 'x');
    expect(same.numbered).toBe(1);
  });

  it('holds any pattern, in finite figures', () => {
    const point = fc.record({
      x: fc.double({ min: -1e6, max: 1e6, noNaN: true }),
      y: fc.double({ min: -1e6, max: 1e6, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(point, { minLength: 1, maxLength: 60 }), (points) => {
        const order = points.map((_, i) => i + 1).reverse();
        const { svg } = drawPattern({ kind: 'points', points }, order, '<T>', 'x');
        expect(svg.markup).not.toMatch(/NaN|Infinity|e[+-]\d|<T>/);
        const [, width, height] = /width="([\d.]+)mm" height="([\d.]+)mm"/.exec(svg.markup)!;
        expect(Number(width)).toBeLessThanOrEqual(180);
        expect(Number(height)).toBeLessThanOrEqual(130);
      }),
    );
  });

  it.each([
    [1, '1st'],
    [2, '2nd'],
    [3, '3rd'],
    [4, '4th'],
    [11, '11th'],
    [12, '12th'],
    [13, '13th'],
    [21, '21st'],
    [112, '112th'],
    [102, '102nd'],
  ])('calls turn %d %s', (n, said) => expect(ordinal(n)).toBe(said));
});

describe('a wait', () => {
  const job = (
    glue: string,
    after: string,
    fill = 'step fill takes 5 min after glue-lid, mount',
    options: Partial<CardOptions> = {},
  ): string =>
    wordsOf(
      cardIn(
        `procedure winch "Overhaul the winch"
  applies to DW-40, DW-40B
part lid "Lid"
part pump "Pump"
part vane x4 "Vane" carried by pump
supply glue "Flange sealant" cure 4 h
supply oil "Oil" 1 L
teardown
  step off takes 10 min
    remove lid
    remove pump
    drain oil
  step strip takes 20 min
    remove vane
reassembly
  step glue-lid takes 15 min
    apply glue to lid
    fit lid
${glue}
  step build takes 1 h ${after}
    fit vane
  step mount takes 20 min
    fit pump
  ${fill}
    fill oil 1 L
`,
        options,
      ),
    );

  it('names the steps that need not wait for it, as many as it has time for', () => {
    expect(job('    wait 4 h', 'after strip')).toContain('Meanwhile go on with steps 4 and 5.');
    expect(job('    wait 60 min', 'after strip')).toContain('Meanwhile go on with step 4.');
    expect(job('    wait 59 min', 'after strip')).not.toContain('Meanwhile');
  });

  it('names none where the next step waits as well, or where it is not known which wait is planned', () => {
    expect(job('    wait 4 h', '')).not.toContain('Meanwhile');
    const either = 'either "Thick"\n wait 4 h\n or "Thin"\n wait 1 h\n end';
    expect(job(either, 'after strip')).not.toContain('Meanwhile');
  });

  it('names them at a wait for some codes, on the card of such a code and on that of all', () => {
    const some = (more = ''): string => `    for DW-40B\n      wait 4 h\n${more}    end`;
    const on = (code?: string, more?: string): string =>
      job(some(more), 'after strip', undefined, code ? { code } : {});
    expect(on('DW-40B')).toContain('Meanwhile go on with steps 4 and 5.');
    expect(on()).toContain('Meanwhile go on with steps 4 and 5.');
    expect(on('DW-40')).not.toContain('Meanwhile');
    expect(on('DW-40B', 'if "Cold"\n wait 1 h\n end\n')).not.toContain('Meanwhile');
  });

  it('names at a wait for all codes no more than each of them has time for', () => {
    const wait = '    wait 2 h';
    const longer = 'after strip\n    for DW-40B\n      wait 90 min\n    end';
    expect(job(wait, longer, undefined, { code: 'DW-40' })).toContain('Meanwhile go on with steps 4 and 5.');
    expect(job(wait, longer, undefined, { code: 'DW-40B' })).not.toContain('go on with steps 4');
    expect(job(wait, longer)).not.toContain('go on with steps 4');
  });

  it('lets nobody fill the unit while something cures', () => {
    for (const fill of ['step fill takes 5 min', 'step fill takes 5 min after mount'])
      expect(job('    wait 4 h', 'after strip', fill)).toContain('Meanwhile go on with steps 4 and 5.');
  });

  it('names no step twice, and none that waits longer itself', () => {
    const twice = job('    wait 60 min\n    wait 2 h', 'after strip');
    expect(twice.match(/Meanwhile go on with steps? [^.]*/g)).toEqual([
      'Meanwhile go on with step 4',
      'Meanwhile go on with step 5',
    ]);
    const soaking = (time: string): string => job('    wait 4 h', `after strip\n    do "Soak it."\n    wait ${time}`);
    expect(soaking('3 h')).toContain('Meanwhile go on with step 4.');
    expect(soaking('181 min')).not.toContain('Meanwhile');
  });

  it('names none where a line or a name cannot be read: a step may wait for just that', () => {
    expect(job('    wait 4 h\n    tihgten lid', 'after strip')).not.toContain('Meanwhile');
    expect(job('    wait 4 h', 'after stirp')).not.toContain('Meanwhile');
  });
});

describe('the shim table', () => {
  const mm = unitOf('mm')!;

  it('has no row for a single reading that the next one serves as well', () => {
    const shims = [500, 100, 50].map((thickness) => ({ thickness }));
    const target: ShimTarget = { kind: 'endplay', low: 50, high: 100 };
    const rows = shimTable({ limits: { low: 600, high: 1000 }, target, shims }, mm)!;
    expect(rows[0]).toMatchObject({ from: 600, to: 650, total: 550 });
    expect(rows.at(-1)).toMatchObject({ from: 950, to: 1000, total: 900 });
    for (const { from, to } of rows) expect(to - from).toBeCloseTo(50, 6);
  });

  it('gives for every reading within the limits a stack that is there and does', () => {
    const shim = fc.record({
      thickness: fc.integer({ min: 1, max: 20 }).map((n) => n * 50),
      count: fc.option(fc.integer({ min: 1, max: 4 }), { nil: undefined }),
    });
    fc.assert(
      fc.property(
        fc.array(shim, { minLength: 1, maxLength: 5 }),
        fc.constantFrom<ShimTarget['kind']>('endplay', 'preload'),
        fc.integer({ min: 0, max: 20 }),
        fc.integer({ min: 0, max: 15 }),
        fc.integer({ min: 10, max: 150 }),
        fc.integer({ min: 0, max: 60 }),
        (shims: Shim[], kind, low, band, from, span) => {
          const target: ShimTarget = { kind, low: low * 10, high: (low + band) * 10 };
          const limits = { low: from * 10, high: (from + span) * 10 };
          const rows = shimTable({ limits, target, shims }, mm);
          if (rows === undefined) return;
          expect(rows[0]!.from).toBeCloseTo(limits.low, 6);
          expect(rows.at(-1)!.to).toBeCloseTo(limits.high, 6);
          for (const [i, row] of rows.entries()) {
            if (i > 0) expect(row.from).toBeCloseTo(rows[i - 1]!.to, 6);
            for (const reading of [row.from + 1e-3, (row.from + row.to) / 2, row.to - 1e-3]) {
              if (reading < row.from || reading > row.to) continue;
              if (row.pieces === undefined) {
                // The mechanics' own choice is the reference: no stack there either.
                if (row.to - row.from < 0.1) continue;
                const choice = chooseShims(reading, target, shims);
                expect('problem' in choice ? false : choice.reached, `${reading}`).toBe(false);
                continue;
              }
              const total = row.pieces.reduce((sum, piece) => sum + piece, 0);
              expect(total).toBeCloseTo(row.total!, 6);
              const result = kind === 'endplay' ? reading - total : total - reading;
              expect(result).toBeGreaterThanOrEqual(target.low - 0.01);
              expect(result).toBeLessThanOrEqual(target.high + 0.01);
              for (const piece of new Set(row.pieces)) {
                const used = row.pieces.filter((each) => each === piece).length;
                const stock = shims.filter(({ thickness }) => Math.abs(thickness - piece) < 1e-6);
                expect(stock.length).toBeGreaterThan(0);
                if (stock.every(({ count }) => count !== undefined))
                  expect(used).toBeLessThanOrEqual(stock.reduce((sum, { count }) => sum + count!, 0));
              }
            }
          }
        },
      ),
    );
  });

  it('leaves the result well inside the target where the shims allow it', () => {
    const shims = [50, 100, 200, 400].map((thickness) => ({ thickness }));
    const rows = shimTable(
      { limits: { low: 500, high: 900 }, target: { kind: 'endplay', low: 150, high: 250 }, shims },
      mm,
    )!;
    expect(rows.length).toBeLessThanOrEqual(9);
    for (const { from, to, total } of rows) {
      expect(from - total!).toBeGreaterThanOrEqual(160);
      expect(to - total!).toBeLessThanOrEqual(250);
      if (to < 900) expect(to / 10).toBeCloseTo(Math.round(to / 10), 6);
    }
  });

  it('names the step in which the reading was written down', () => {
    const measure = 'measure end-gap limit 0.5..0.9 mm';
    const shim = 'shim ring gap end-gap endplay 0.1..0.2 mm from 0.1 mm, 0.2 mm';
    const steps = (...bodies: string[]): string =>
      wordsOf(cardIn(`part ring "Ring"\nreassembly\n${bodies.map((body, i) => `step s${i} "S"\n${body}\n`).join('')}`));
    expect(steps('clean ring', measure, shim)).toContain('the reading ‘end gap’ of step 2 less end play');
    expect(steps(`if "worn"\n${measure}\nend`, measure, shim)).toContain('‘end gap’ of steps 1 and 2 less');
    expect(steps(shim)).toContain('the reading ‘end gap’ less end play');
  });

  it('is left out where it would be endless, and where the reading has no limits', () => {
    const shims = [{ thickness: 1 }, { thickness: 1000 }];
    expect(
      shimTable({ limits: { low: 0, high: 1e6 }, target: { kind: 'endplay', low: 0, high: 1 }, shims }, mm),
    ).toBeUndefined();
    expect(shimTable({ limits: undefined, target: { kind: 'endplay', low: 0, high: 1 }, shims }, mm)).toBeUndefined();
  });

  it('stands on the card in the unit of the procedure', () => {
    const text = wordsOf(made(openSample('centrifugal-clutch')));
    expect(text).toContain('Stack for each reading (in)');
    expect(text).toMatch(/from 0\.030\s+0\.03\d\s+0\.010 \+ 0\.005\s+0\.015/);
  });
});

describe('what is to be filled in', () => {
  const page = cardIn(`part a "A"
supply glue "Glue" cure 60 min
teardown
  step s "S" takes 5 min
    identify "Read it"
    measure gap-a limit 0.1..0.2 mm "Twice"
    inspect a "No cracks"
    apply glue to a
    wait 60 min "Cures"
    sign "Inspector"
    either "Hot"
      heat a to 80 °C
    or "Cold"
      press a max 5 kN
    end
    if "worn"
      replace a
    end
    if "loose"
      do "x"
    else
      do "y"
    end
`);
  const text = wordsOf(page);
  const inputs = (label: string): number =>
    [
      ...page.matchAll(
        new RegExp(
          `<label class="[a-z]+">(?:<span>${label}</span> <input type="text"|<input type="checkbox"[^>]*><span>${label}</span>)`,
          'g',
        ),
      ),
    ].length;

  it('has its field', () => {
    expect(inputs('Code on the unit')).toBe(1);
    expect(inputs('Reading')).toBe(1);
    expect(text).toContain('Measure gap a, 0.1 to 0.2 mm. Twice');
    expect(inputs('within limits')).toBe(1);
    expect(inputs('good')).toBe(1);
    expect(inputs('not good')).toBe(1);
    expect(inputs('Began at')).toBe(1);
    expect(inputs('Over at')).toBe(1);
    expect(text).toContain('Wait at least 60 min. Cures');
    // The statement's own, and the card's.
    expect(inputs('Signature')).toBe(2);
    expect(text).toContain('Cures 60 min: no filling or load before');
  });

  it('of a reading without a limit asks for its unit, and for no verdict', () => {
    const asFound = cardIn('teardown\n  step s "S"\n    measure old-play "For comparison"\n    do "Go on"\n');
    expect(asFound).toContain('<span>Reading and its unit</span> <input type="text"');
    expect(asFound).not.toContain('within limits');
  });

  it('stands in alternatives that are clearly apart, each with its box', () => {
    expect(text).toContain('Choose one of 2 ways:');
    expect(inputs('<b>Way A.</b> <bdi>Hot</bdi>')).toBe(1);
    expect(inputs('<b>Way B.</b> <bdi>Cold</bdi>')).toBe(1);
    expect(inputs('<b>If</b> <bdi>worn</bdi>:')).toBe(1);
    expect(inputs('Not so: leave this out.')).toBe(1);
    expect(inputs('<b>Otherwise:</b>')).toBe(1);
  });

  it('has a box for each statement that is no safety message', () => {
    for (const [statement] of page.matchAll(/<li class="statement"[\s\S]*?(?=<li class="statement"|<\/ol>)/g))
      expect(statement).toMatch(/^<li class="statement" data-line="\d+"><label class="tick"><input type="checkbox"/);
  });
});

describe('counts', () => {
  it('say how many of how many, and differ by code where the replay does', () => {
    const text = wordsOf(
      cardIn(`procedure p "P"
  applies to A, B
part bolt x10 "Bolt"
part nut "Nut"
teardown
  step s "S"
    for A
      remove bolt x2
    end
    remove nut
    remove bolt x8
    remove bolt
`),
    );
    expect(text).toContain('Remove Bolt × 2 of 10.');
    expect(text).toContain('Remove Nut.');
    expect(text).toContain('Remove Bolt × 8 of 10.');
    expect(text).toContain('Remove Bolt × 2 of 10.');
  });
});

describe('hostile text', () => {
  it('is text: no element, attribute, style or comment of its own', () => {
    const page = cardIn(hostileText, { file: '"><script>' });
    const tags = new Set([...page.matchAll(/<([a-z!/][^\s>]*)/gi)].map(([, tag]) => tag!.toLowerCase()));
    for (const tag of ['script', 'img', 'iframe', 'i', 'u', 'a', 'link', 'object', 'form'])
      expect(tags).not.toContain(tag);
    expect(page).not.toMatch(/<[^>]*\son\w+=/i);
    expect(page).not.toMatch(/<[^>]*\s(?:style|href|src|srcset|action)=/i);
    expect(page.match(/<style>/g)).toHaveLength(1);
    expect(page).not.toContain('<!--');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: none may be left
    expect(page).not.toMatch(/[\u0000-\u0008\u202a-\u202e\u2066-\u2069]/);
    expect(page).not.toMatch(/\p{Cs}/u);
  });

  it('cannot leave the style sheet', () => {
    const style = styleOf('a4', '"} </style><script>\\\n\u{1f600}é');
    expect(style).not.toContain('</style');
    expect(style).not.toContain('<script');
    expect(style).toContain('content: "\\22 \\7d  \\3c \\2f style\\3e ');
  });

  it('never stops the card: samples with lines lost, doubled and cut', () => {
    const source = readFileSync(join(root, 'samples/winch-reducer.fettle'), 'utf8');
    const lines = source.split('\n');
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(lines.length - 1), fc.constantFrom('lose', 'double', 'cut', 'swap')), {
          maxLength: 12,
        }),
        (edits) => {
          const text = [...lines];
          for (const [at, edit] of edits) {
            if (edit === 'lose') text[at] = '';
            else if (edit === 'double') text[at] = `${text[at]}\n${text[at]}`;
            else if (edit === 'cut') text[at] = text[at]!.slice(0, text[at]!.length / 2);
            else [text[at], text[(at * 7) % lines.length]] = [text[(at * 7) % lines.length]!, text[at]!];
          }
          const page = cardIn(text.join('\n'));
          expect(page.endsWith('</html>\n')).toBe(true);
          expect(wordsOf(page)).not.toMatch(/\bundefined\b|NaN|\[object/);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('may be nothing at all', () => {
    expect(wordsOf(cardIn(''))).toContain('This procedure has no steps.');
    expect(wordsOf(cardIn('teardown\n  step s\n'))).toContain('Nothing is written in this step.');
    expect(wordsOf(cardIn('teardown\n  do "Loose"\n'))).toContain('Statements outside any step');
  });
});

describe('the pieces for a view of its own', () => {
  it('are the card’s, with nothing that a strict content policy stops', () => {
    const { model, judged } = openSample('gear-pump');
    const parts = cardParts(model, judged.ledger, { findings: judged.findings });
    const page = made(openSample('gear-pump'));
    expect(page).toContain(parts.body);
    expect(page).toContain(parts.style);
    expect(parts.title).toBe('Reseal the hydraulic gear pump');
    expect(parts.style).not.toContain('url(');
    expect(page).toContain(
      "content=\"default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'\"",
    );
  });

  it('need neither Node nor the editor, so that the web build can make them', () => {
    const seen = new Set<string>();
    const visit = (file: string): void => {
      if (seen.has(file)) return;
      seen.add(file);
      for (const [, specifier] of readFileSync(file, 'utf8').matchAll(/from '([^']+)'/g)) {
        expect(specifier, file).not.toMatch(/^node:|^vscode$/);
        if (specifier!.startsWith('.')) visit(join(file, '..', specifier!));
      }
    };
    visit(join(root, 'server/src/outputs/card.ts'));
    expect(seen.size).toBeGreaterThan(20);
  });
});

describe('the command', () => {
  it('writes the file whole, with the paper asked for, and replaces it', () => {
    const cwd = folder({ 'card.html': 'old' });
    const sample = join(root, 'samples/gear-pump.fettle');
    expect(fettle(['card', sample, '-o', 'card.html', '--paper', 'letter'], { cwd })).toEqual({
      status: 0,
      out: '',
      err: '',
    });
    const page = readFileSync(join(cwd, 'card.html'), 'utf8');
    expect(page).toContain('size: letter portrait');
    expect(page.endsWith('</html>\n')).toBe(true);
    expect(fettle(['card', sample, '--output=new.html', '--code', 'GP-14'], { cwd }).status).toBe(0);
    expect(readFileSync(join(cwd, 'new.html'), 'utf8')).toContain('size: A4 portrait');
    expect(readdirSync(cwd).sort()).toEqual(['card.html', 'new.html']);
  });

  it('refuses to harm a file, and names the remedy', () => {
    const cwd = folder({ 'a.fettle': 'procedure a "A"\n  applies to X-1\n', 'shared.fettle': 'part a "A"\n' });
    mkdirSync(join(cwd, 'folder'));
    const refused = (...args: string[]): string => {
      const { status, out, err } = fettle(['card', ...args], { cwd });
      expect({ status, out }).toEqual({ status: 2, out: '' });
      return err;
    };
    expect(refused('a.fettle', '-o', 'a.fettle')).toContain('is a procedure, which stays as it is');
    expect(readFileSync(join(cwd, 'a.fettle'), 'utf8')).toBe('procedure a "A"\n  applies to X-1\n');
    expect(refused('a.fettle', '-o', 'folder')).toContain('is a folder');
    expect(refused('a.fettle', '-o', 'gone/card.html')).toContain('its folder does not exist');
    expect(refused('a.fettle', '--code', 'X-2')).toContain('it names X-1');
    expect(refused('a.fettle', '--start', '2027-02-30')).toContain('no day of the calendar');
    expect(refused('shared.fettle')).toContain('declarations only');
    expect(readdirSync(cwd).sort()).toEqual(['a.fettle', 'folder', 'shared.fettle']);
  });

  it('takes the moment that a plan begins at for its day, as the kit list does', () => {
    const begun = (start: string) => fettle(['card', 'samples/gear-pump.fettle', '--start', start]);
    const day = begun('2027-03-01');
    expect(day.out).toContain('order by 2027-02-25');
    expect(begun('2027-03-01T07:00')).toEqual(day);
  });

  it('ends with 1 where the procedure has errors, and still writes the card', () => {
    const cwd = folder({});
    const { status, err } = fettle(['card', join(root, 'samples/irrigation-pump.fettle'), '-o', 'c.html'], { cwd });
    expect(status).toBe(1);
    expect(err).toMatch(/\d+ errors in the procedure: the card says not to use it/);
    expect(existsSync(join(cwd, 'c.html'))).toBe(true);
  });
});

it('counts one step as one', () => {
  const { model, judged } = openText('teardown\n  step look\n    do "Look."');
  expect(card(model, judged.ledger, { findings: [] })).toContain('<p>Job card: 1 step</p>');
});

type Lines = (each: (line: (i: number) => string) => string) => readonly string[];
it.each<[what: string, lines: Lines]>([
  [
    'readings and shims',
    (each) => [
      each((i) => `part pack${i} "Shims"`),
      'reassembly',
      'step choose',
      each((i) => `measure gap${i} limit 0.2..0.4 mm`),
      each((i) => `shim pack${i} gap gap${i} endplay 0.1..0.2 mm from 0.1 mm`),
    ],
  ],
  [
    'wrenches that are called the same',
    (each) => [
      each((i) => `part bolt${i} "Bolt"\ntool wrench${i} "Torque wrench" range 5..${20 + i} N·m`),
      'reassembly',
      'step close',
      each((i) => `tighten bolt${i} to 15 N·m using wrench${i}`),
    ],
  ],
])('takes time by the number of %s', (_, lines) => {
  const cost = (n: number): number => {
    const { model, judged } = openText(
      lines((line) => Array.from({ length: n }, (_, i) => line(i)).join('\n')).join('\n'),
    );
    return operations(() => card(model, judged.ledger, { findings: [] }));
  };
  expect(cost(200) / cost(50)).toBeLessThan(5);
});
