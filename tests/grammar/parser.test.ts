import { describe, expect, test } from 'vitest';
import { maxNesting } from '../../grammar/limits.ts';
import {
  type Declaration,
  type Head,
  offsetsOf,
  type Quantity,
  type Span,
  type Statement,
  type SyntaxIssue,
  spanText,
  type Use,
} from '../../grammar/syntax.ts';
import { reservedWords } from '../../grammar/tokens.ts';
import { units } from '../../grammar/units.ts';
import { operations } from '../operations.ts';
import { contract, everything } from './contract.ts';
import { declaration, issuesOf, plain, read, shape, statement, statementsOf, stepsOf } from './tree.ts';

const names = (list: readonly { text: string }[] | undefined): string[] => (list ?? []).map((name) => name.text);
const show = (quantity: Quantity | undefined): string | undefined =>
  quantity &&
  `${quantity.numbers.map((number) => number.value).join(quantity.form === 'range' ? '..' : '±')} ${quantity.unit?.unit?.symbol ?? quantity.unit?.text ?? '-'}${
    quantity.restated ? ` = ${show(quantity.restated)}` : ''
  }`;
const spans = (...list: (Span | undefined)[]): (string | undefined)[] => list.map((span) => span && spanText(span));
/** The one issue of `text`, as `place: message`. */
function issue(text: string): string {
  const all = issuesOf(read(text));
  expect(all).toHaveLength(1);
  return all[0]!;
}

describe('the contract', () => {
  test('its example has no trouble and all its parts', () => {
    const tree = read(contract);
    expect(issuesOf(tree)).toEqual([]);
    expect(tree.chunks.map((chunk) => chunk.item?.kind)).toEqual([
      'procedure',
      'use',
      ...Array(6).fill('part'),
      'tool',
      'tool',
      'supply',
      'supply',
      ...Array(3).fill('pattern'),
      'teardown',
      'step',
      'step',
      'reassembly',
      'step',
    ]);
    expect(statementsOf(tree).map((each) => each.kind)).toEqual([
      'identify',
      'caution',
      'drain',
      'remove',
      'discard',
      'remove',
      'remove',
      'remove',
      'clean',
      'apply',
      'fit',
      'fit',
      'tighten',
      'fit',
      'wait',
      'fill',
    ]);
  });

  for (const [title, text] of [
    ['the example', contract],
    ['every construct', everything],
  ] as const) {
    const bare = text.replace(/#.*/g, '');
    const words = bare.match(/"[^"]*"|[^\s"]+/g)!;
    test(`${title}: no trouble`, () => expect(issuesOf(read(text))).toEqual([]));
    test(`${title}: line breaks mean nothing`, () => {
      const wanted = shape(read(text));
      expect(shape(read(words.join(' ')))).toEqual(wanted);
      expect(shape(read(words.join('\n')))).toEqual(wanted);
      expect(shape(read(words.join('\n\n   \t')))).toEqual(wanted);
    });
    test(`${title}: the kind of line break means nothing`, () => {
      const wanted = shape(read(text));
      expect(shape(read(text.replaceAll('\n', '\r\n')))).toEqual(wanted);
      expect(shape(read(text.replaceAll('\n', '\r')))).toEqual(wanted);
      expect(shape(read(`\uFEFF${text}`))).toEqual(wanted);
    });
  }
});

describe('head', () => {
  const head = (text: string): Head => read(text).chunks[0]!.item as Head;

  test('all clauses', () => {
    const item = head('procedure p "Title"\n  applies to DW-40, DW-40B\n  code plate "Rib"\n  measures metric\n');
    expect([item.name?.text, item.title?.value, names(item.codes), item.codePlate?.value, item.measures?.text]).toEqual(
      ['p', 'Title', ['DW-40', 'DW-40B'], 'Rib', 'metric'],
    );
    expect(spans(item, item.keyword, item.name, item.title, item.codes[1], item.codePlate, item.measures)).toEqual([
      'procedure p "Title"\n  applies to DW-40, DW-40B\n  code plate "Rib"\n  measures metric',
      'procedure',
      'p',
      '"Title"',
      'DW-40B',
      '"Rib"',
      'metric',
    ]);
  });

  test('codes may begin with a digit, hold points, slashes and keywords', () => {
    const codes = [
      '40B',
      '6206-C3',
      '3/8A',
      'A.B',
      '4015-2',
      '40-for',
      'fit-3',
      '8.8',
      '12m',
      '40N.m',
      'in',
      'code',
      'x10',
    ];
    const tree = read(`procedure p applies to ${codes.join(', ')} measures metric`);
    expect(issuesOf(tree)).toEqual([]);
    expect(names((tree.chunks[0]!.item as Head).codes)).toEqual(codes);
    expect(names(statement('for 40B, 6206-C3 fit p end').codes)).toEqual(['40B', '6206-C3']);
  });

  test('a text that is no path', () => {
    const use = read('use "a \\"b\\".fettle"').chunks[0]!.item as Use;
    expect(use.path?.value).toBe('a "b".fettle');
    expect(issue('use common/a.fettle')).toContain('expected a text in double quotes, found `common`');
  });
});

describe('declarations', () => {
  test('every property of a part', () => {
    const p = declaration(
      'part b x4 "Bolt" thread M8x1.25 class 8.8 dry length 40 mm torque 25 N·m (18 lbf·ft) then 90° holes rim renew ' +
        'lead 2 d held by c, d behind e, f carried by g index hazard heat, weight bore 62 mm H7/k6 interference 10..45 µm ' +
        'limit 120 °C sealed number "6206-C3"',
    );
    expect(p.broken).toBe(false);
    expect({
      ...(plain(p, ['start', 'end', 'keyword', 'kind', 'broken']) as object),
      length: show(p.length),
      torque: show(p.torque),
      angle: show(p.angle),
      lead: show(p.lead),
      bore: show(p.bore),
      interference: show(p.interference),
      limit: show(p.limit),
      propertyClass: p.propertyClass?.image,
    }).toEqual({
      name: { text: 'b' },
      title: { value: 'Bolt' },
      count: { value: 4 },
      thread: { text: 'M8x1.25' },
      propertyClass: '8.8',
      condition: { text: 'dry' },
      length: '40 mm',
      torque: '25 N·m = 18 lbf·ft',
      angle: '90 °',
      holes: { text: 'rim' },
      renew: { text: 'renew' },
      lead: '2 d',
      heldBy: [{ text: 'c' }, { text: 'd' }],
      behind: [{ text: 'e' }, { text: 'f' }],
      carriedBy: { text: 'g' },
      index: { text: 'index' },
      hazards: [{ text: 'heat' }, { text: 'weight' }],
      bore: '62 mm',
      fit: { text: 'H7/k6' },
      interference: '10..45 µm',
      limit: '120 °C',
      filled: { text: 'sealed' },
      number: { value: '6206-C3' },
    });
    expect(
      spans(p.torque, p.torque?.restated, p.torque?.unit, p.torque?.numbers[0], p.index, p.renew, p.count),
    ).toEqual(['25 N·m (18 lbf·ft)', '18 lbf·ft', 'N·m', '25', 'index', 'renew', 'x4']);
    expect(declaration('part b grade 5').grade?.value).toBe(5);
  });

  test.each([
    'M8x1.25',
    'M8',
    'M8x1',
    'M1.6',
    'M10×1.5',
    '1/4-20',
    '5/16-24',
    '1-1/8-7',
    '10-32',
    'M20x1.5-LH',
    'M8-LH',
    '3/4-16-LH',
    '10-32-LH',
    'G1',
    'G1/2',
    'G 1/2',
    'G1/2A',
    'G1 1/4',
    'G1-1/4-LH',
    'Rp3/8',
    '1/2-14 NPT',
    '1/2 NPT',
    '1-11.5 NPT',
    '1-1/4-11.5 NPTF-LH',
    'NPT 1/8',
  ])('thread %s', (thread) => {
    const tree = read(`part b thread ${thread} class 10.9`);
    expect(issuesOf(tree)).toEqual([]);
    expect((tree.chunks[0]!.item as Declaration).thread?.text).toBe(thread);
  });

  test.each(['8.8', '10.9', 'A2-70', 'A4L-80', 'C1-110', 'F1-45'])('class %s', (image) => {
    const part = declaration(`part b thread M8 class ${image} torque 8 N·m`);
    expect(part.propertyClass?.image).toBe(image);
    expect(spans(part.propertyClass)).toEqual([image]);
    expect(show(part.torque)).toBe('8 N·m');
  });

  test.each([
    ['bore 50 mm k6', 'k6'],
    ['bore 50 mm js5 renew', 'js5'],
    ['bore 50 mm j6', 'j6'],
    ['bore 50 mm H7/k6', 'H7/k6'],
    ['bore 50 mm', undefined],
    ['bore 50 mm behind k6', undefined],
    ['bore 50 mm x6', undefined],
  ])('%s: the fit', (clauses, fit) => {
    const part = declaration(`part b ${clauses} limit 90 °C`);
    expect([part.broken, part.fit?.text, show(part.limit)]).toEqual([false, fit, '90 °C']);
  });

  test('codes of a unit may look like threads of pipes', () => {
    const { codes } = read('procedure p "P" applies to G1/2, 12-7 NPT\n').chunks[0]!.item as Head;
    expect(codes.map(({ text }) => text)).toEqual(['G1/2', '12-7 NPT']);
  });

  test('supply, tool and patterns', () => {
    const oil = declaration('supply oil "Oil" 1.8 L spec "API GL-4" cure 60 min hazard chemical');
    expect([show(oil.amount), oil.spec?.value, show(oil.cure), names(oil.hazards)]).toEqual([
      '1.8 L',
      'API GL-4',
      '60 min',
      ['chemical'],
    ]);
    expect(show(declaration('tool w range 5..100 N·m').range)).toBe('5..100 N·m');
    const hub = declaration('part hub bore 50 mm diameter 80 mm');
    expect([show(hub.outside), hub.pattern]).toEqual(['80 mm', undefined]);
    const even = declaration('pattern rim circle 10 diameter 180 mm').pattern!;
    expect([even.form, even.count?.value, show(even.diameter)]).toEqual(['circle', 10, '180 mm']);
    const uneven = declaration('pattern hub circle angles 0°, 60°, 297.5° diameter 70 mm').pattern!;
    expect([uneven.angles?.map(show), show(uneven.diameter)]).toEqual([['0 °', '60 °', '297.5 °'], '70 mm']);
    const points = declaration('pattern lid points (0, 0) (-60, 80.5) mm').pattern!;
    expect([points.points?.map(({ x, y }) => [x.value, y.value]), points.unit?.text]).toEqual([
      [
        [0, 0],
        [-60, 80.5],
      ],
      'mm',
    ]);
  });

  test('a declaration of one kind does not take properties of another', () => {
    expect(issue('tool w torque 5 N·m\n')).toBe(
      'torque: expected a property of a tool, found `torque`: write `range`; reading went on behind it',
    );
    expect(issue('part b torque 5 N·m "Bolt" torque 6 N·m\n')).toContain('expected `torque` once, found it again');
  });

  test.each([
    ['part b dry lead 2 d oiled', 'dry', 'oiled', 'dry'],
    ['part b threadlock dry', 'threadlock', 'dry', 'threadlock'],
    ['part b paste oiled', 'paste', 'oiled', 'paste'],
    ['part b class 8.8 grade 5', 'class', 'grade', 'class 8.8'],
    ['part b grade 5 class 8.8', 'grade', 'class', 'grade 5'],
    ['pattern p circle 6 diameter 90 mm points (0, 0) (1, 1) mm', 'circle', 'points', 'circle count 6 diameter 90 mm'],
    ['pattern p points (0, 0) (1, 1) mm circle 6', 'points', 'circle', 'points 0 1 mm'],
    ['pattern p points (0, 0) (1, 1) mm diameter 90 mm', 'points', 'diameter', 'points 0 1 mm'],
    ['pattern p points (0, 0) (1, 1) mm angles 0°, 90°', 'points', 'angles', 'points 0 1 mm'],
    ['pattern p angles 0°, 90° points (0, 0) (1, 1) mm', 'angles', 'points', 'circle angles 0 °, 90 °'],
    // A diameter alone says nothing of holes.
    ['pattern p diameter 90 mm points (0, 0) (1, 1) mm', 'diameter', 'points', 'points 0 1 mm'],
  ])('%s: one of the two has to go, and the first counts', (text, first, second, counts) => {
    expect(issue(`${text}\n`)).toContain(`expected \`${first}\` or \`${second}\`, found both: take one of them out`);
    const { condition, propertyClass, grade, pattern } = read(`${text}\n`).chunks[0]!.item as Declaration;
    const stated = [
      condition?.text,
      propertyClass && `class ${propertyClass.image}`,
      grade && `grade ${grade.image}`,
      pattern?.form,
      pattern?.count && `count ${pattern.count.image}`,
      pattern?.angles && `angles ${pattern.angles.map(show).join(', ')}`,
      pattern?.diameter && `diameter ${show(pattern.diameter)}`,
      pattern?.points?.map(({ x }) => x.value).join(' '),
      pattern?.unit?.text,
    ];
    expect(stated.filter((each) => each !== undefined).join(' ')).toBe(counts);
  });

  test.each([
    ['circle 6 diameter 90 mm points (0,0), (1,1) mm', 'circle', undefined],
    ['points (0,0), (1,1) mm circle 6', 'points', [0, 1]],
    ['diameter 90 mm points (0,0), (1,1) mm', 'points', [0, 1]],
    ['points (0, 0) (1, 1) mm points (2,2) mm', 'points', [0, 1]],
    ['points (0,0) (1,1) mm points (2,2) mm', 'points', [0, 1]],
  ])('pattern p %s: the first shape counts, though the points are written otherwise', (shape, form, x) => {
    const { pattern } = read(`pattern p ${shape}\n`).chunks[0]!.item as Declaration;
    expect([pattern?.form, pattern?.points?.map((point) => point.x.value)]).toEqual([form, x]);
  });

  test.each([
    ['tighten b by hand to 10 N·m', 'by', 'to', 'by hand'],
    ['tighten b to 10 N·m then 60° by hand', 'to', 'by', '10 N·m and 60 °'],
    ['tighten b in stages 5 N·m, 10 N·m by hand', 'in', 'by', '2 stages'],
    ['tighten b by hand in stages 5 N·m, 10 N·m', 'by', 'in', 'by hand'],
  ])('%s: one of the two has to go, and the first counts', (line, first, second, counts) => {
    const text = `step s\n  ${line}\n`;
    expect(issue(text)).toContain(`expected \`${first}\` or \`${second}\`, found both: take one of them out`);
    const [{ byHand, to, angle, stages }] = statementsOf(read(text)) as [Statement];
    const stated = [byHand && 'by hand', to && `${show(to)} and ${show(angle)}`, stages && `${stages.length} stages`];
    expect(stated.filter((each) => each !== undefined)).toEqual([counts]);
  });

  test.each<[text: string, wanted: string, remedy?: string]>([
    ['part b head', 'the head of a bolt or nut behind `head`', 'write one of hexagon, socket, flange'],
    ['part b hazard', 'a hazard behind `hazard`', 'write one of heat, pressure, spring, charge, chemical, weight'],
    ['part b thread', 'a thread such as `M8x1.25` or `1/4-20` behind `thread`'],
    ['part b class', 'a class such as `8.8` behind `class`'],
    ['part b grade', 'a grade such as `5` behind `grade`'],
    ['part b length', 'a length such as `40 mm` behind `length`'],
    ['part b torque', 'a torque such as `25 N·m` behind `torque`'],
    ['part b torque 5 N·m then', 'an angle such as `90°` behind `then`'],
    ['part b prevailing', 'a torque such as `1..6 N·m` behind `prevailing`'],
    ['part b holes', 'the name of a pattern behind `holes`'],
    ['part b holes rim at', 'hole numbers such as `1, 3` behind `at`'],
    ['part b lead', 'a time such as `2 d` behind `lead`'],
    ['part b held by', 'the name of a part behind `by`'],
    ['part b behind a,', 'the name of a part behind `,`'],
    ['part b bore', 'a diameter such as `62 mm` behind `bore`'],
    ['part b interference', 'a range such as `10..45 µm` behind `interference`'],
    ['part b limit', 'a temperature such as `120 °C` behind `limit`'],
    ['part b number', 'a marking in double quotes such as `"6206-C3"` behind `number`'],
    ['tool t range', 'a range such as `5..100 N·m` behind `range`'],
    ['supply s cure', 'a time such as `60 min` behind `cure`'],
    ['supply s spec', 'a specification in double quotes such as `"ISO VG 68"` behind `spec`'],
    ['pattern p circle angles', 'angles such as `0°, 60°` behind `angles`'],
    ['pattern p circle 6 diameter', 'a diameter such as `80 mm` behind `diameter`'],
    ['pattern p points', 'a point such as `(60, 0)` behind `points`'],
    ['use', 'a path in double quotes such as `"common/fasteners.fettle"` behind `use`'],
    ['procedure p code plate', 'a place in double quotes such as `"On the rib"` behind `plate`'],
    ['step s takes', 'a time such as `30 min` behind `takes`'],
    ['step s after', 'the name of a step behind `after`'],
  ])('nothing behind the word of a clause: `%s`', (text, wanted, remedy) => {
    const mend = remedy === undefined ? '' : `: ${remedy}`;
    expect(issue(`${text}\ntool u\n`)).toContain(`expected ${wanted}, found the end of the line${mend}; reading`);
  });

  test.each([
    ['head', 'the head of a bolt or nut, found `thread`: write one of hexagon, socket, flange'],
    ['hazard', 'a hazard, found `thread`: write one of heat, pressure, spring, charge, chemical, weight'],
    ['length', 'a length such as `40 mm`, found `thread`'],
    ['grade', 'a grade such as `5`, found `thread`'],
    ['prevailing', 'a torque such as `1..6 N·m`, found `thread`'],
    ['holes', 'the name of a pattern, found `thread`'],
    ['holes rim at', 'hole numbers such as `1, 3`, found `thread`'],
    ['held by', 'the name of a part, found `thread`'],
    ['behind a,', 'the name of a part, found `thread`'],
    ['carried by', 'the name of a part, found `thread`'],
  ])('another clause where `%s` wants a value is that clause', (clause, told) => {
    const text = `part b ${clause} thread M8 torque 5 N·m\n`;
    expect(issue(text)).toContain(`thread: expected ${told}; reading went on at \`thread\``);
    const { thread, torque, holes, heldBy, behind, carriedBy, head, hazards } = declaration(text);
    expect([thread?.text, show(torque), head?.text, carriedBy?.text]).toEqual(['M8', '5 N·m', undefined, undefined]);
    expect([names(heldBy), names(behind), names(hazards)]).toEqual([[], clause === 'behind a,' ? ['a'] : [], []]);
    expect(holes?.text).toBe(clause === 'holes rim at' ? 'rim' : undefined);
  });

  test.each([
    ['part b thread torque 5 N·m', 'torque: expected a thread such as `M8x1.25` or `1/4-20`, found `torque`; reading'],
    ['supply s hazard lead 2 d', 'lead: expected a hazard, found `lead`: write one of heat, '],
    ['part b behind held by c', 'held: expected the name of a part, found `held`; reading went on at `held`'],

    ['step s\n  tighten a using order star', 'order: expected the name of a tool, found `order`; reading'],
  ])('%j: the clause is told of once', (text, told) => {
    expect(issue(`${text}\n`)).toContain(told);
  });

  test('a part may be called as a clause is', () => {
    const text =
      'part thread\npart head behind thread torque 5 N·m\npart lid held by thread, head "Lid" behind held\npart held\n';
    expect(issuesOf(read(text))).toEqual([]);
  });

  test('an angle or hole numbers that nothing leads to, or twice', () => {
    expect(issue('part b then 90°')).toContain('an angle stands right behind a torque, as in `torque 40 N·m then 90°`');
    expect(issue('part b torque 5 N·m then 9° then 8°')).toContain('one angle stands behind a torque, take the other');
    expect(issue('part b at 1, 3')).toContain('hole numbers stand right behind their pattern, as in `holes rim at 1');
    expect(issue('part b holes rim at 1 at 2')).toContain('all holes stand behind one `at`, as in `at 1, 3`');
  });

  test('a property of another kind of declaration', () => {
    expect(issue('part b cure 5 h')).toContain('`cure` does not belong to `part` but to `supply`, take it out');
    expect(issue('tool t thread M8')).toContain('`thread` does not belong to `tool` but to `part`, take it out');
    expect(issue('pattern p x6 circle 6')).toContain('`x6` does not belong to `pattern`, take it out');
  });

  test('a bearing may be sealed and greased', () => {
    expect(issuesOf(read('part b sealed greased\n'))).toEqual([]);
  });

  test.each([
    ['part hub diameter 80 mm diameter 90 mm', 'diameter', 'outside 80 mm'],
    ['pattern rim circle 6 circle 8 diameter 90 mm', 'circle', 'count 6'],
    ['pattern rim circle 6 diameter 80 mm diameter 90 mm', 'diameter', 'diameter 80 mm'],
    ['pattern rim circle angles 0°, 90° angles 10°, 20°, 30° diameter 90 mm', 'angles', 'angles 0 °, 90 °'],
    ['pattern lid points (0, 0) (1, 1) mm points (2, 2) in', 'points', 'points 0 1 mm'],
    ['part bolt torque 5 N·m torque 6 N·m then 80°', 'torque', 'torque 5 N·m and undefined'],
    ['part race bore 50 mm bore 60 mm H7/k6', 'bore', 'bore 50 mm and undefined'],
  ])('%s: the first counts, and it is said', (text, word, first) => {
    expect(issue(`${text}\n`)).toContain(
      `expected \`${word}\` once, found it again: the first counts, take one of them out`,
    );
    const { outside, pattern, torque, angle, bore, fit } = read(`${text}\n`).chunks[0]!.item as Declaration;
    expect([
      `outside ${show(outside)}`,
      `count ${pattern?.count?.value}`,
      `diameter ${show(pattern?.diameter)}`,
      `angles ${pattern?.angles?.map(show).join(', ')}`,
      `points ${pattern?.points?.map(({ x }) => x.value).join(' ')} ${pattern?.unit?.text}`,
      `torque ${show(torque)} and ${angle && show(angle)}`,
      `bore ${show(bore)} and ${fit?.text}`,
    ]).toContain(first);
  });

  test.each([
    ['measures metric measures imperial', 'measures', 'metric'],
    ['code plate "On the rib" code plate "On the lid"', 'code', 'On the rib'],
  ])('procedure p %s: the first counts, and it is said', (text, word, first) => {
    expect(issue(`procedure p ${text}\n`)).toContain(`expected \`${word}\` once, found it again: the first counts`);
    const { measures, codePlate } = read(`procedure p ${text}\n`).chunks[0]!.item as Head;
    expect(measures?.text ?? codePlate?.value).toBe(first);
  });
});

describe('numbers and units', () => {
  test.each(units.flatMap((unit) => [unit.symbol, ...unit.also].map((spelling) => [spelling, unit.symbol] as const)))(
    '%s is %s, with a blank or without',
    (spelling, symbol) => {
      for (const text of [`25 ${spelling}`, `25${spelling}`, `25\u00A0${spelling}`, `25\u202F${spelling}`]) {
        const p = declaration(`part b torque ${text} index`);
        expect([text, show(p.torque), p.index && 'index', p.broken]).toEqual([text, `25 ${symbol}`, 'index', false]);
      }
    },
  );

  test.each([
    ['μm', 'µm'],
    ['N⋅m', 'N·m'],
    ['N∙m', 'N·m'],
    ['N•m', 'N·m'],
    ['N\u0387m', 'N·m'],
    ['lbf⋅ft', 'lbf·ft'],
    ['º', '°'],
    ['˚', '°'],
    ['ºC', '°C'],
    ['˚F', '°F'],
    ['℃', '°C'],
    ['℉', '°F'],
  ])('%s looks like %s and counts as it', (spelling, symbol) => {
    const tree = read(`part b torque 25 ${spelling}`);
    expect([issuesOf(tree), show((tree.chunks[0]!.item as Declaration).torque)]).toEqual([[], `25 ${symbol}`]);
  });

  test('forms', () => {
    const forms = '25 N, 1.8 N, -20 N, −20 N, 20..100 N, 20 .. 100 N, 25 ± 2 N, 25±2N, 25 +/- 2 N, 5..6 N (1..2 lbf)';
    expect(statement(`tighten b in stages ${forms}`).stages?.map(show)).toEqual([
      '25 N',
      '1.8 N',
      '-20 N',
      '-20 N',
      '20..100 N',
      '20..100 N',
      '25±2 N',
      '25±2 N',
      '25±2 N',
      '5..6 N = 1..2 lbf',
    ]);
  });

  test('digits behind the point are kept', () => {
    const [number] = declaration('part b torque 25.50 N·m').torque!.numbers;
    expect([number!.value, number!.decimals, number!.image]).toEqual([25.5, 2, '25.50']);
  });

  test('a number without a unit is no syntax trouble', () => {
    const tree = read('part b torque 25 length 40 index\nstep s\n  tighten b to 25\n  wait 60\n');
    expect(issuesOf(tree)).toEqual([]);
    expect(show((tree.chunks[0]!.item as Declaration).torque)).toBe('25 -');
  });

  test.each([
    ['25 newton', 'N'],
    ['25 nm', 'N·m'],
    ['25 ft-lb', 'lbf·ft'],
    ['25 N-m', 'N·m'],
    ['25 °c', '°C'],
    ['1.8 l', 'L'],
    ['1.8 litres', 'L'],
    ['3 hrs', 'h'],
  ])('an unknown unit: %s', (text, meant) => {
    const tree = read(`part b torque ${text} index`);
    const unit = text.split(' ')[1];
    expect(issuesOf(tree)).toEqual([
      `${unit}: expected a unit, found \`${unit}\`: write \`${meant}\`; reading went on behind it`,
    ]);
    expect(tree.chunks[0]!.issues[0]!.replacement).toBe(meant);
    expect((tree.chunks[0]!.item as Declaration).index).toBeDefined();
  });

  test('a unit nobody knows opens the text', () => {
    expect(issue('°f')).toContain('`°f`');
  });

  test('a unit nobody knows', () => {
    expect(issue('part b torque 25 zorkmid')).toBe(
      'zorkmid: expected a unit, found `zorkmid`: write one that Fettle knows, such as `N·m`, `mm` or `min`; reading went on behind it',
    );
    expect(issue('part b torque 25 N m index')).toContain('found `N m`: write `N·m`');
    expect(issue('part b torque 25 N*m')).toContain('the unit is written `N·m`');
    expect(issue('part b limit 120 ° C')).toContain('found `° C`: write `°C`');
  });

  test('a comma between digits offers the point and reads as one', () => {
    const tree = read('part b torque 1,8 N·m index');
    expect(issuesOf(tree)).toEqual([
      '1,8: expected a decimal point, found the comma in `1,8`: write `1.8`, or `1, 8` for a list; reading went on behind it',
    ]);
    expect(tree.chunks[0]!.issues[0]!.replacement).toBe('1.8');
    expect(show((tree.chunks[0]!.item as Declaration).torque)).toBe('1.8 N·m');
  });

  test('a comma between digits of a list offers the blank and reads as two', () => {
    const tree = read('step s\n  tighten b order 1,5,3 at holes 1,5\npattern p points (0,0) (60,80) mm');
    expect(tree.chunks.flatMap((chunk) => chunk.issues.map((each) => each.replacement))).toEqual([
      '1, 5, 3',
      '1, 5',
      '(0, 0) (60, 80) mm',
    ]);
    const [tighten] = statementsOf(tree);
    expect([tighten!.order?.holes.map(spanText), tighten!.holes?.map((hole) => hole.value)]).toEqual([
      ['1', '5', '3'],
      [1, 5],
    ]);
    expect((tree.chunks[1]!.item as Declaration).pattern?.points?.[1]?.y.value).toBe(80);
  });

  test('other ways to write a number or a range', () => {
    expect(issue('part b torque .5 N·m')).toContain('write `0.5`');
    expect(issue('part b bore 20-30 mm')).toContain('a range is written `20..30`');
    expect(issue('part b bore 20–30 mm')).toContain('a range is written with two points');
    expect(issue('part b bore 20..30 ± 2 mm')).toContain('expected a property of a part, found `±`');
    expect(issue('part b bore 20...30 mm')).toContain('a range is written with two points');
  });
});

describe('names', () => {
  const special =
    'plate m in to index using on mm N h d min x1y x-1 threadlock support-ring torque held by behind with after takes order DW-40B Ölring µm'.split(
      ' ',
    );
  test.each(special)('`%s` may name a part, a tool, a reading and a step', (name) => {
    const text = `part ${name} x2 held by ${name}, ${name} behind ${name} carried by ${name} holes ${name}
tool ${name}
step ${name} after ${name}, ${name}
  remove ${name} x2 with ${name} x2, ${name} using ${name}, ${name}
  swap ${name} for ${name}
  transfer ${name} x2 from ${name} to ${name}
  fit new ${name}
  apply ${name} to ${name}, ${name}
  try ${name} on ${name}
  measure ${name} max 1 mm
  shim ${name} gap ${name} endplay 1..2 mm from 1 mm
`;
    const tree = read(text);
    expect(issuesOf(tree)).toEqual([]);
    expect(shape(read(text.replaceAll(/\s+/g, ' ')))).toEqual(shape(tree));
    const part = tree.chunks[0]!.item as Declaration;
    expect([part.name?.text, names(part.heldBy), names(part.behind), part.carriedBy?.text, part.holes?.text]).toEqual([
      name,
      [name, name],
      [name],
      name,
      name,
    ]);
    const [remove, swap, transfer, fit, apply, attempt, measure, shim] = statementsOf(tree);
    expect(remove!.together?.map((each) => each.name.text)).toEqual([name, name]);
    expect(names(remove!.using)).toEqual([name, name]);
    expect([swap!.name?.text, names(swap!.targets)]).toEqual([name, [name]]);
    expect([transfer!.source?.text, names(transfer!.targets)]).toEqual([name, [name]]);
    expect([fit!.fresh && spanText(fit!.fresh), fit!.name?.text]).toEqual(['new', name]);
    expect([names(apply!.targets), names(attempt!.targets)]).toEqual([[name, name], [name]]);
    expect([measure!.name?.text, shim!.gap?.text]).toEqual([name, name]);
  });

  test.each(reservedWords)('`%s` is reserved: it names no part, and the error says so', (word) => {
    for (const text of [`part ${word} x2`, `part b held by c, ${word}`, `step s\n  fit b using ${word}`]) {
      const [first] = issuesOf(read(text));
      expect(first).toMatch(new RegExp(`^${word}: expected a name, found the reserved word \`${word}\``));
    }
  });

  test.each(reservedWords)('`%s` may name a step', (word) => {
    const text = `step ${word} "T" takes 1 h after ${word}, ${word}\n  fit b\nstep ${word}\n  fit c\nstep ${word} after ${word} fit d`;
    const tree = read(text);
    expect(issuesOf(tree)).toEqual([]);
    expect(stepsOf(tree).map((step) => [step.name?.text, names(step.after), step.statements.length])).toEqual([
      [word, [word, word], 1],
      [word, [], 1],
      [word, [word], 1],
    ]);
  });

  test('a name begins with a letter and is no count', () => {
    expect(issue('part 4bolt "Bolt"')).toContain('expected a name, found `4bolt`: a name begins with a letter');
    expect(issue('part x10 "Bolt"')).toContain('`x` and digits is a count, not a name');
    expect(issue('part bolt_4 "Bolt"')).toContain('a name is made of letters, digits and hyphens, write `bolt-4`');
    expect(issue('part bolt&a "Bolt"')).toContain('a name is made of letters, digits and hyphens; reading');
  });
});

describe('what was most likely meant is said', () => {
  const inStep = (statement: string): string => `step s\n  ${statement}\n`;
  test.each<[string, string, string?]>([
    [
      'procedure p "P"\n  for DW-40, DW-40B\n  code plate "Rib"\n  measures metric\n',
      'expected `applies to`, found `for`: codes of the unit stand behind it',
      'applies to',
    ],
    ['procedure p "P"\n  applies to DW-40 DW-40B\n', 'found `DW-40B`: codes are parted by commas', ', DW-40B'],
    ['procedure p for DW-40 "P" measures metric\n', 'expected `applies to`, found `for`', 'applies to'],
    ['procedure p Refit the actuator', 'found `Refit`: a text stands in double quotes'],
    ['procedure p "P" applies to GA1 and GA2', 'found `and`: codes are parted by commas', ','],
    ['part b "B" held by a and c', 'found `and`: names in a list are parted by commas', ','],
    [
      'part b "B" thread M6 class A4 torque 8 N·m',
      'expected a class such as `8.8`, found `A4`: the class stands behind',
    ],
    ['part b "B" thread M6 class high torque 8 N·m', 'expected a class such as `8.8`, found `high`'],
    ['part b "B" thread g1/2 torque 8 N·m', 'found `/`: a pipe thread is written as in its standard, `G1/2`', 'G1/2'],
    ['part b "B" thread R 3 torque 8 N·m', 'a pipe thread is written as in its standard, `R3`', 'R3'],
    ['part b "B" thread g 1 1/4 renew', 'a pipe thread is written as in its standard, `G1-1/4`', 'G1-1/4'],
    ['part b "B" thread RC1/8 renew', 'a pipe thread is written as in its standard, `Rc1/8`', 'Rc1/8'],
    ['part b "B" thread BSP 1/2 torque 8 N·m', 'a pipe thread is written as in its standard, `G1/2`', 'G1/2'],
    ['part b "B" thread BSPT1/2 torque 8 N·m', 'a pipe thread is written as in its standard, `R1/2`', 'R1/2'],
    ['part b "B" thread NPT 1 torque 8 N·m', 'a pipe thread is written as in its standard, `1 NPT`', '1 NPT'],
    [
      'part b "B" thread NPT 3/8-18 torque 8 N·m',
      'a pipe thread is written as in its standard, `3/8-18 NPT`',
      '3/8-18 NPT',
    ],
    ['part b "B" thread G1/2-14 torque 8 N·m', 'a pipe thread is written as in its standard, `G1/2`', 'G1/2'],
    ['part b "B" thread 1/2-14 BSP torque 8 N·m', 'a pipe thread is written as in its standard, `G1/2`', 'G1/2'],
    ['part b "B" thread 1-1/4 BSP torque 8 N·m', 'a pipe thread is written as in its standard, `G1-1/4`', 'G1-1/4'],
    ['part b "B" thread G1 A torque 8 N·m', 'a pipe thread is written as in its standard, `G1A`', 'G1A'],
    ['part b "B" thread G1 BSP torque 8 N·m', 'found `BSP`: take it out', ''],
    [
      'part b "B" thread M10x1 NPT torque 8 N·m',
      'expected a property of a part, found `NPT`: take it out, or say it in the title; reading',
    ],
    ['part b "B" thread 1.25 NPT torque 8 N·m', 'found `NPT`: write one that Fettle knows'],
    ['part b "B" thread 3/4 torque 8 N·m', 'as in `1/2-13`, a pipe thread is written as in `G3/4`'],
    ['part b "B" G1/2 torque 8 N·m', 'found `G1/2`: write `thread G1/2`', 'thread G1/2'],
    ['part b "B" G1 torque 8 N·m', 'found `G1`: write `thread G1`', 'thread G1'],
    ['part b "B" 1/2 BSP torque 8 N·m', 'found `1/2 BSP`: write `thread G1/2`', 'thread G1/2'],
    ['part b x2 1/2" NPT torque 8 N·m', 'found `"`: write `thread 1/2 NPT`', 'thread 1/2 NPT torque 8 N·m'],
    ['part b "B" thread M8 G1/2 torque 8 N·m', 'found `G1/2`; reading went on'],
    ['part b "B" 1/2-14 NPT torque 8 N·m', 'found `1/2-14 NPT`: write `thread 1/2-14 NPT`', 'thread 1/2-14 NPT'],
    ['part b "B" thread M6 class A4 80 torque 8 N·m', 'found `A4`: write `A4-80`', 'A4-80'],
    ['part b "B" thread M6 class a2-70 torque 8 N·m', 'found `a2-70`: write `A2-70`', 'A2-70'],
    ['part b "B" thread M6 A2-70 torque 8 N·m', 'found `A2-70`: write `class A2-70`', 'class A2-70'],
    ['part b "B" thread M6 grade A2-70 torque 8 N·m', 'found `A2-70`: write `class A2-70`', 'class A2-70'],
    ['part b "B" thread 3/4 bsp torque 8 N·m', 'found `3/4 bsp`: a pipe thread is written', 'G3/4'],
    ['part b "B" thread G1/2 BSP torque 8 N·m', 'found `BSP`: take it out', ''],
    ['part b "B" thread 1/2" NPT', 'found `"`: a pipe thread is written as in its standard, `1/2 NPT`', '1/2 NPT'],
    [
      'part b "B" thread 1/2"-14 NPT torque 8 N·m',
      'a pipe thread is written as in its standard, `1/2-14 NPT`',
      '1/2-14 NPT torque 8 N·m',
    ],
    ['part b "B" thread G1/2" torque 8 N·m', 'the size of a pipe thread has no sign for inches', ' torque 8 N·m'],
    ['part b "B" p/n "6206-2RS"', 'found `p`: write `number "6206-2RS"`', 'number "6206-2RS"'],
    ['part b "B" held in place by a, c', 'found `in`: take `in place` out', ''],
    ['part b "B" qty: 4', 'found `qty`: a count is written `x4`', 'x4'],
    ['part b "B" Ø62 mm H7/k6', 'found `Ø62`: of a hole write `bore`, of the outside `diameter`'],
    [inStep('hand-tighten the bolt x2'), 'write `tighten bolt by hand`', 'tighten bolt by hand'],
    ['part b "B" thread M6 8.8', 'found `8.8`: write `class 8.8`', 'class 8.8'],
    ['step s\nfit bolt x2 new', 'found `new`: write `fit new bolt`'],
    ['part b "B" thread M20x1.5LH', 'found `LH`: a left-hand thread ends in `-LH`, as in `M20x1.5-LH`', '-LH'],
    ['part b "B" thread 3/4-16 left-hand', 'found `left-hand`: a left-hand thread ends in `-LH`, as in `3/4-16-LH`'],
    ['part b "B" 25 N·m', 'found `25`: write `torque 25 N·m`', 'torque 25'],
    ['part b "B" thread M6 40 mm', 'found `40`: write `length 40 mm`', 'length 40'],
    ['part b "B" 40 mm', 'found `40`: write `length`, `bore` or `diameter` before it'],
    ['part b "B" bore 62 mm 10..45 µm', 'found `10`: write `interference 10..45 µm`', 'interference 10'],
    ['part b "B" 62 mm H7/k6', 'found `62`: write `bore 62 mm H7/k6`', 'bore 62'],
    ['part b "B" H7/k6', 'found `H7/k6`: a fit stands behind a size, as in `bore 62 mm H7/k6`'],
    ['part b "B" 120 °C', 'found `120`: write `limit 120 °C`', 'limit 120'],
    ['part b "B" 2 d', 'found `2`: write `lead 2 d`', 'lead 2'],
    ['part b "B" torque 25 N·m 90°', 'found `90`: write `then 90°`', 'then 90'],
    ['part b "B" 90°', 'found `90`: a bare quantity does not belong to `part`'],
    ['tool t "T" 5..100 N·m', 'found `5`: write `range 5..100 N·m`', 'range 5'],
    ['pattern r circle 6 180 mm', 'found `180`: write `diameter 180 mm`', 'diameter 180'],
    ['step s "S" 20 min', 'found `20`: write `takes 20 min`', 'takes 20'],
    ['part b "B" M6 class 8.8', 'found `M6`: write `thread M6`', 'thread M6'],
    ['part b "B" 1/4-20', 'found `1/4-20`: write `thread 1/4-20`', 'thread 1/4-20'],
    ['part b "B" behind a weight', 'found `weight`: write `hazard weight`', 'hazard weight'],
    ['part 4 "Bolt"', 'found `4`: a name begins with a letter, as `part-4` does'],
    ['step 1 "Open"', 'found `1`: a name begins with a letter, as `step-1` does'],
    ['step s "S" after r and q', 'found `and`: names in a list are parted by commas', ','],
    ['teardown 🛠\n', 'found `🛠`: this sign belongs nowhere outside a text'],
    ['part 𠮷 "B"\n', 'found `𠮷`: this sign belongs nowhere outside a text'],
    [inStep('tighten b order a'), 'found `a`; reading went on'],
    [inStep('tighten b order stra'), 'found `stra`: perhaps `star` was meant', 'star'],
    [inStep('measure lift max in mm'), 'found `in`; reading went on'],
    [inStep('remove a, c'), 'found `,`: `remove` takes one part, give each a line of its own', '\n  remove c'],
    [inStep('remove a and c'), 'found `and`: `remove` takes one part, give each a line of its own', '\n  remove c'],
    [inStep('remove a using t and u'), 'found `and`: names in a list are parted by commas', ','],
    [inStep('remove a with b and c'), 'found `and`: names in a list are parted by commas', ','],
    [inStep('remove a carefully'), 'found `carefully`: a text stands in double quotes'],
    [inStep('tighten a 20 N·m'), 'found `20`: write `to` before it', 'to 20'],
    [inStep('tighten a torque 20 N·m'), 'found `torque`: write `to`', 'to'],
    [inStep('tighten a at 20 N·m'), 'found `20`: a torque stands behind `to`', 'to'],
    [inStep('tighten a to 20 N·m 90°'), 'found `90`: a bare quantity does not belong to `tighten`'],
    [inStep('heat a 110 °C'), 'found `110`: write `to` before it', 'to 110'],
    [inStep('press a 12 kN'), 'found `12`: write `max` before it', 'max 12'],
    [inStep('measure gap 0.1 mm'), 'found `0.1`: write `limit`, `max` or `min` before it'],
    [inStep('measure gap <= 0.1 mm'), 'found `<`: write `max`'],
    [inStep('measure gap ≥ 0.1 mm'), 'found `≥`: write `min`', 'min'],
    [inStep('apply s on b'), 'expected `to`, found `on`: write `to`', 'to'],
    [inStep('swap a with b'), 'expected `for`, found `with`: write `for`', 'for'],
    [inStep('clean a with rag'), 'found `with`: a tool stands behind `using`', 'using'],
    [inStep('replace a by c'), 'found `by`: `swap a for …` puts another part in its place'],
    [inStep('fill 1.8 L oil'), 'expected a name, found `1.8`: write `fill oil 1.8 L`', 'oil 1.8 L'],
    [inStep('drain 1.8 L of oil "Warm"'), 'found `1.8`: write `drain oil 1.8 L`', 'oil 1.8 L'],
    [inStep('fill with 1.8..2 L of the oil'), 'found `with`: write `fill oil 1.8..2 L`', 'oil 1.8..2 L'],
    [
      'Procedure p "P"\n  applies to A1, A2\n  code plate "Rib"\n  measures metric\n',
      'found `Procedure`: perhaps `procedure` was meant',
      'procedure',
    ],
    [
      'procedure p "P"\n  apply to A1, A2\n  measures metric\n',
      'found `apply`: perhaps `applies` was meant',
      'applies',
    ],
    ['procedure p "P"\n  measure metric\n', 'found `measure`: perhaps `measures` was meant', 'measures'],
    ['part b 4 off "B"', 'expected a unit, found `off`: a count is written `x4`', 'x4'],
    ['part b 4pcs "B"', 'expected a unit, found `pcs`: a count is written `x4`', 'x4'],
    ['part b qty 4 "B"', 'found `qty`: a count is written `x4`', 'x4'],
    ['tear down\n', 'found `tear`: perhaps `teardown` was meant', 'teardown'],
    ['step s\n  remove b\nre-assembly\n', 'found `re-assembly`: perhaps `reassembly` was meant', 'reassembly'],
    ['step s\n  remove b\nreassemble\n', 'found `reassemble`: perhaps `reassembly` was meant', 'reassembly'],
    ['dismantle\n', 'found `dismantle`: perhaps `teardown` was meant', 'teardown'],
    [inStep('if A-41\n    fit b\n  end'), 'found `A-41`: what is for one code stands behind `for`, write `for A-41`'],
    [inStep('if "x"\n    fit b\n  end if'), 'expected a statement, found `if`: `end` stands alone, take it out', ''],
    [inStep('if "x"\n    fit b\n  endif'), 'expected a statement, found `endif`: write `end`', 'end'],
    [inStep('fit "gear"'), 'expected a name, found `"gear"`: a name stands without quotes, write `gear`', 'gear'],
    [inStep('fit "Front gear"'), 'expected a name, found `"Front gear"`: write one before it'],
    [inStep('and fit b'), 'expected a statement, found `and`: take it out', ''],
    [inStep('identify "A"\n  now fit b'), 'expected a statement, found `now`: take it out', ''],
    [inStep('1.2 fit b'), 'expected a statement, found `1.2`: lines have no numbers, take it out', ''],
    [
      'teardown\n  1.1 step s\n',
      'expected a declaration, phase or step, found `1.1`: lines have no numbers, take it out',
      '',
    ],
    [inStep('3) fit b'), 'found `3`: lines have no numbers, take it out', ''],
    [inStep('do not fit b yet'), 'found `not`: write `"Do not fit b yet"`', '"Do not fit b yet"'],
    [inStep('warning support the cover'), 'expected a text in double quotes, found none'],
    ['<<<<<<< ours\npart b "B"\n', 'found `<`: a merge left this mark, keep one of its two sides'],
    ['part b "B"\r\n=======\r\n', 'found `=`: a merge left this mark'],
    [inStep('remove b\n||||||| base\n'), 'expected a statement, found `|`: a merge left this mark'],
    [inStep('remove b\n>>>>>>> theirs\n'), 'found `>`: a merge left this mark'],
    [inStep('remove b\n >>>>>>> theirs\n'), 'found `>`: the line is left out'],
    [
      inStep('if "worn"\n fit b\n end\n "Wear gloves"\n fit b'),
      'found `"Wear gloves"`: write `warning`, `do` or what else it is before it; reading',
    ],
    [inStep('// fit it'), 'expected a statement, found `/`: a comment begins with `#`', '#'],
    ['part b "B" 6206-2RS', 'found `6206-2`: write `number "6206-2RS"`', 'number "6206-2RS"'],
    ['part b "B" number 6206-2RS', 'expected a text in double quotes, found `6206-2`: write', '"6206-2RS"'],
    ['supply s "S" cures 24 h', 'found `cures`: perhaps `cure` was meant', 'cure'],
    ['pattern r circle 6 holes diameter 100 mm', 'found `holes`: take it out', ''],
    ['pattern r 6 holes diameter 100 mm', 'found `6`: write `circle 6`', 'circle 6'],
    ['part b "B" single use', 'found `single`: write `renew`', 'renew'],
    ['part b "B" lead time 2 d', 'expected a number, found `time`: take it out', ''],
    ['part b "B" lead 2 weeks', 'expected a unit, found `weeks`: write `14 d`', '14 d'],
    ['part b "B" lead two days', 'found `two`: a number is written in digits, `2 d`', '2 d'],
    ['pattern r circle six diameter 9 mm', 'found `six`: a number is written in digits, `6`', '6'],
    ['part b four "B"', 'found `four`: a count is written `x4`', 'x4'],
    [inStep('remove bolt four'), 'found `four`: a count is written `x4`', 'x4'],
    [inStep('remove four bolts'), 'found `bolts`: a count stands behind the name, `bolts x4`', 'bolts x4'],
    [inStep('wait ten minutes'), 'found `ten`: a number is written in digits, `10 min`', '10 min'],
    [inStep('tighten b to twenty N·m'), 'found `twenty`: a number is written in digits, `20 N·m`', '20 N·m'],
    ['part b "B" thread "M8"', 'found `"M8"`: it stands without quotes, write `M8`', 'M8'],
    ['part b "B" class "8.8"', 'found `"8.8"`: it stands without quotes, write `8.8`', '8.8'],
    ['part b "B" length "40 mm"', 'found `"40 mm"`: it stands without quotes, write `40 mm`', '40 mm'],
    ['part b "B" held by "c"', 'found `"c"`: a name stands without quotes, write `c`', 'c'],
    // An inch is 25.4 mm, a foot 12 in, a thou a thousandth of an inch (NIST SP 811).
    ['part b "B" length 3 cm', 'expected a unit, found `cm`: write `30 mm`', '30 mm'],
    ['part b "B" length 1.5 ft', 'found `ft`: write `18 in`', '18 in'],
    ['part b "B" interference 0.5..2 thou', 'found `thou`: write both numbers in another unit, 2 thou are `0.002 in`'],
    ['part b "B" torque 90 cNm', 'found `cNm`: write `0.9 N·m`', '0.9 N·m'],
    ['part b "B" torque 5 kgm', 'found `kgm`: write `kgf·m`', 'kgf·m'],
    [inStep('tighten b to 25 N·m then 0.25 turn'), 'found `turn`: write `90°`', '90°'],
    [inStep('tighten b to 25 N·m then 1/4 turn'), 'found `1/4 turn`: write `90°`', '90°'],
    // More than a number can hold.
    [inStep(`tighten b to 25 N·m then ${'9'.repeat(308)} turn`), 'found `turn`: write one that Fettle knows'],
    [
      inStep('measure r min 100 MΩ'),
      'found `MΩ`: write one that Fettle knows, such as `N·m`, `mm` or `min`, or all of it in a text: `check "…"`',
    ],
    // Vibration of machines is judged by its velocity (ISO 20816-1).
    [
      inStep('measure vibration max 2.8 mm/s'),
      'found `/`: `mm/s` is no unit that Fettle knows, write all of it in a text: `check "…"`',
    ],
    [inStep('measure flow min 12 L/min'), 'found `/`: `L/min` is no unit that Fettle knows, write all of it in a text'],
    [
      inStep('measure flatness max 0.02 mm per 100 mm'),
      'found `per`: `mm per 100 mm` is no unit that Fettle knows, write all of it in a text',
    ],
    [inStep('measure drag max 3 %'), 'found `%`: it is no unit that Fettle knows, write all of it in a text'],
    // NIST SP 811, appendix B: 2000 lbf are 8.896443 kN, 1000 kgf 9.80665 kN.
    [inStep('press b max 2 tons'), 'found `tons`: write it in `kN`: a metric ton is 9.81 kN, one of 2000 lb 8.90 kN'],
    // By weight or by volume: that is for the author to tell.
    ['supply s "S" 8 oz', 'found `oz`: write one that Fettle knows'],
    // A property of every object.
    ['supply s "S" 10 constructor', 'found `constructor`: write one that Fettle knows'],
    [
      'part b "B" torque 25 N·m ±10%',
      'found `±`: a tolerance is written in the unit, write `25 ± 2.5 N·m`',
      '25 ± 2.5 N·m',
    ],
    ['part b "B" torque 25 N·m, oiled', 'found `,`: no comma stands between clauses, take it out', ''],
    ['part b "B" held by 4 bolts', 'expected a name, found `4`: how many there are is declared with `bolts`'],
    [
      'part b "B" interference 0.01-0.03 mm',
      'expected `..`, found `-0.03`: a range is written with two points',
      '..0.03',
    ],
    ['tool t "T" 1/2 in drive', 'a fraction is written `0.5`', '0.5'],
    [inStep('apply thread locker to b'), 'expected `to`, found `locker`: a name is one word, such as `thread-locker`'],
    [
      inStep('tighten b to 25 N·m in two passes'),
      'expected `stages`, found `two`: `in stages` names the torque of each',
    ],
    [inStep('tighten b to 25 N·m then turn 90°'), 'expected a number, found `turn`: take it out', ''],
    [inStep('tighten b to 25 N·m then a further 90°'), 'found `a`: take `a further` out', ''],
    [
      inStep('fit b with 4 bolts'),
      'expected a name, found `4`: a count stands behind the name, `bolts x4`',
      'bolts x4',
    ],
    [inStep('wait at least 30 min'), 'found `at`: take `at least` out', ''],
    [
      inStep('measure gap limit 0.1-0.2 mm'),
      'expected `..`, found `-0.2`: a range is written with two points',
      '..0.2',
    ],
    [
      inStep('measure end play max 0.2 mm'),
      'expected a name, found the reserved word `end`: write `end-play`',
      'end-play',
    ],
    [
      inStep('swap for gear'),
      'expected a name, found the reserved word `for`: write what goes out before it, as in `swap OLD for gear`',
    ],
    [inStep('remove 2 of b'), 'expected a name, found `2`: a count stands behind the name, `b x2`', 'b x2'],
    [inStep('fill 2 litres of oil'), 'expected a name, found `2`: write `fill oil 2 L`', 'oil 2 L'],
    [inStep('remove b carefully, keep in "bag"'), 'found `carefully`: a text stands in double quotes'],
    [inStep('remove b and keep in "bag"'), 'found `and`: take it out', ''],
    [inStep('remove b 1-4'), 'found `1-4`: pieces have no numbers, a count is written `x4`'],
    [inStep('fit b (long side out)'), 'found `(`: a text stands in double quotes'],
    [inStep('grease b'), 'found `grease`: write `apply SUPPLY to b`'],
    [inStep('retighten b'), 'found `retighten`: perhaps `tighten` was meant', 'tighten'],
    ['part b "B" torque 2 ltr', 'found `ltr`: write `L`', 'L'],
    [inStep('fill oil with 1.8 L'), 'found `with`: take it out', ''],
    [inStep('fill oil to 1.8 L'), 'found `to`: take it out', ''],
    [
      inStep('fill oil to the mark'),
      'found `to`: `fill` needs a quantity such as `1.8 L`, words for the reader stand in',
    ],
    [inStep('fill oil to mark'), 'found `to`: `fill` needs a quantity'],
    [inStep('fill oil up to the mark "Cold"'), 'found `up`: `fill` needs a quantity'],
    [inStep('fill oil until it overflows'), 'found `until`: `fill` needs a quantity'],
    [inStep('drain oil to the mark'), 'found `to`: words for the reader stand in quotes'],
    [inStep('clean a and inspect'), 'found `and`: write what follows as a statement of its own'],
    [inStep('remove a near the mark'), 'found `near`: a text stands in double quotes'],
    [inStep('replace a with new'), 'found `with`: `replace` brings a new one, take `with new` out', ''],
    [inStep('replace a with a new one'), 'found `with`: `replace` brings a new one, take `with a new one` out', ''],
    [inStep('replace a by new a "Dry"'), 'found `by`: `replace` brings a new one, take `by new a` out', ''],
    [inStep('replace a with new b'), 'found `with`: `swap a for …` puts another part in its place'],
    [inStep('fit b by hand'), 'found `by`: it belongs to `tighten`, write `tighten b by hand` below'],
    [inStep('fit b hand tight'), 'found `hand`: write `tighten b by hand` below'],
    [inStep('tighten b finger-tight'), 'found `finger-tight`: write `by hand`', 'by hand'],
    [inStep('tighten b hand tight'), 'found `hand`: write `by hand`', 'by hand'],
    [inStep('fit b to 25 N·m'), 'found `to`: it belongs to `tighten`, write `tighten b to 25 N·m` below'],
    [inStep('fit b 25 N·m'), 'found `25`: a torque belongs to `tighten`, write `tighten b to 25 N·m` below'],
    [inStep('fit b order star'), 'found `order`: it belongs to `tighten`, write `tighten b order star` below'],
    [inStep('remove b by hand'), 'found `by`: a text stands in double quotes', '"by hand"'],
    [inStep('remove b order spiral'), 'found `order`: it belongs to `loosen`, write `loosen b order spiral` above'],
    [inStep('fit b on c'), 'found `on`: where a part sits is declared', ''],
    [inStep('fit b to the c'), 'found `to`: where a part sits is declared', ''],
    [inStep('press b into c'), 'found `into`: where a part sits is declared', ''],
    [inStep('remove b from c "Pull"'), 'or `behind`, take `from c` out', ''],
    [inStep('fit b on two dowels'), 'found `on`: a text stands in double quotes'],
    [inStep('clean b on c'), 'found `on`: a text stands in double quotes'],
    [inStep('fit front seal'), 'found `seal`: a text stands'],
    [inStep('fit x4 b'), 'found `x4`: a count stands behind the name, `b x4`', 'b x4'],
    [inStep('remove b (4)'), 'found `(`: a count is written `x4`', 'x4'],
    ['part b "B" thread M8 x 1.25', 'found `x`: a thread is written without blanks, `M8x1.25`'],
    [inStep('tighten b in star pattern'), 'found `star`: write `order star`', 'order star'],
    [inStep('tighten b in stages 5 N·m, 9 N·m in star pattern'), 'found it again: write `order star`', 'order star'],
    [inStep('tighten b in stages 5 N·m, 9 N·m in a spiral'), 'found it again: write `order spiral`', 'order spiral'],
    [inStep('tighten b in a star pattern'), 'found `a`: write `order star`', 'order star'],
    [inStep('tighten b in two stages'), 'found `two`: `in stages` names the torque of each'],
    [inStep('tighten b in stages of 10 N·m, 20 N·m'), 'found `of`: take it out', ''],
    [inStep('tighten b in stages 10 N·m then 20 N·m'), 'found `then`: stages are parted by commas', ','],
    [inStep('tighten b to 20 N·m + 90°'), 'found `+`: an angle stands behind `then`', 'then'],
    [inStep('tighten b to 20 N·m plus 90°'), 'found `plus`: an angle stands behind `then`', 'then'],
    [inStep('tighten b to 20 N·m and then 90°'), 'found `and`: take it out', ''],
    [inStep('heat b up to 110 °C'), 'found `up`: take it out', ''],
    [inStep('press b 12 kN max'), 'found `12`: write `max` before it', 'max 12'],
    [inStep('remove the 4 bolts'), 'found `4`: a count stands behind the name, `bolts x4`', 'bolts x4'],
    [inStep('fit b at 25 N·m'), 'found `at`: it belongs to `tighten`, write `tighten b to 25 N·m` below'],
    [inStep('tighten b with 25 N·m'), 'found `with`: write `to`', 'to'],
    [inStep('tighten b star'), 'found `star`: write `order star`', 'order star'],
    [inStep('tighten b to max 25 N·m'), 'found `max`: take it out', ''],
    [inStep('check the level'), 'found `the`: write `"the level"`', '"the level"'],
    [inStep('remove b keep in the bag'), 'found `the`: write `"the bag"`; reading', '"the bag"'],
    [inStep('sign off "Done"'), 'found `off`: take it out', ''],
    [inStep('fill oil approx 1.8 L'), 'found `approx`: take it out', ''],
    ['supply s "S" volume 1.8 L', 'found `volume`: take it out', ''],
    [inStep('remove b “gently”'), 'found `“`: texts stand in straight double quotes'],
    [inStep('remove b // all of them'), 'found `/`: a comment begins with `#`', '#'],
    [inStep('- remove b'), 'found `-`: take it out', ''],
    [inStep('identify "A"\n  1. remove b'), 'found `1`: lines have no numbers, take it out', ''],
    [inStep('new b'), 'found `new`: perhaps `fit new` was meant', 'fit new'],
    [inStep('fit b new'), 'found `new`: write `fit new b`'],
    [inStep('renew b'), 'found `renew`: perhaps `replace` was meant', 'replace'],
    [inStep('throw away b'), 'found `throw`: perhaps `discard` was meant', 'discard'],
    [inStep('note "Hot"'), 'found `note`: perhaps `notice` was meant', 'notice'],
    ['part b "B" by a', 'found `by`: write `held by`', 'held by'],
    ['part b "B" under a', 'found `under`: write `behind`, or `carried by` where it sits on it'],
    ['part b "B" new', 'found `new`: write `renew`', 'renew'],
    ['part b "B" single-use', 'found `single-use`: write `renew`', 'renew'],
    ['part a, b "B"', 'found `,`: a declaration has one name, give each one of its own'],
    [
      'part "Front seal"',
      'expected a name, found `"Front seal"`: write one before it, such as `front-seal`',
      'front-seal "Front seal"',
    ],
    ['step "Open"', 'expected a name, found `"Open"`: write one before it, such as `open`', 'open "Open"'],
    ['step 1 open "Open"', 'expected a name, found `1`: take it out', ''],
    ['tool t "T" range 5 to 100 N·m', 'found `to`: a range is written with two points, `5..100`', '..'],
    ['tool t "T" torque 5..100 N·m', 'found `torque`: write `range`', 'range'],
    ['part b "B" torque=25 N·m', 'found `=`: write a blank in its place', ''],
    ['part b "B" torque = 25 N·m', 'found `=`: take it out', ''],
    [
      'procedure p "P"\n  author "A"\n',
      'found `author`: the head says no such thing, write it in a comment behind `#`',
    ],
    [
      'procedure p "P"\n  version 3\n',
      'found `version`: the head says no such thing, write it in a comment behind `#`',
    ],
    ['teardown:\n', 'found `:`: take it out', ''],
    ['part b "B" thread M8*1.25', 'found `*`: a thread is written `M8x1.25`', 'x'],
    [
      'part b "B" thread M8x1.25-6g class 8.8',
      'found `-6`: a thread is written without its tolerance, take `-6g` out',
      '',
    ],
    ['part b "B" class 8.8.1', 'found `.1`: a number has one point, take the rest out'],
    ['part b x4.5 "B"', 'expected a whole number, found `.5`: a count has no point, take the rest out'],
    [
      'part b "B" M8x40-8.8',
      'found `M8x40-8.8`: write `thread M8 length 40 mm class 8.8`',
      'thread M8 length 40 mm class 8.8',
    ],
    [
      'part b "B" thread M8x40-8.8',
      'found `M8x40-8.8`: write `M8 length 40 mm class 8.8`',
      'M8 length 40 mm class 8.8',
    ],
    ['part b - "B"', 'found `-`: this sign belongs nowhere outside a text, take it out'],
    [
      'pattern p circle angles 0° 90° 180° diameter 9 mm',
      'found `90`: angles are parted by commas, write `0°, 90°, 180°`',
      '0°, 90°, 180°',
    ],
    ['procedure p "P"\n  applies to: A-1\n', 'expected a code such as `DW-40`, found `:`: take it out', ''],
    ['procedure p "P"\n  measure: metric\n', 'found `measure:`: perhaps `measures` was meant', 'measures'],
    [inStep('remove: b'), 'found `:`: take it out', ''],
    [inStep('for A-1 "Later ones"\n    fit b\n  end'), 'found `"Later ones"`: words for the reader stand in a `do`'],
    [inStep('for A-1 only\n    fit b\n  end'), 'found `only`: take it out', ''],
    [inStep('for "A-1"\n    fit b\n  end'), 'found `"A-1"`: it stands without quotes, write `A-1`', 'A-1'],
    [
      inStep('for A-1\n    fit b\n  else\n    fit c\n  end'),
      'found `else`: close the `for` above with `end`, and open one for the other codes',
    ],
    [
      inStep('for A-1\n    fit b\n  or A-2\n    fit c\n  end'),
      'found `or`: close the `for` above with `end`, and open one for the other codes',
    ],
    [
      inStep('if "x"\n    fit b\n  elseif "y"\n    fit c\n  end'),
      'found `elseif`: write `else`, below it `if`, and one `end` more',
    ],
    [
      inStep('if "x"\n    fit b\n  elif "y"\n    fit c\n  end'),
      'found `elif`: write `else`, below it `if`, and one `end` more',
    ],
    [inStep('remove b x4, keep in "bag A"'), 'found `,`: no comma stands between clauses, take it out', ''],
    [inStep('tighten b stages 10 N·m, 25 N·m'), 'found `stages`: write `in stages`', 'in stages'],
    [inStep('tighten b to 10 N·m, 25 N·m'), 'found `,`: write `in stages 10 N·m, 25 N·m`', 'in stages 10 N·m, 25 N·m'],
    [
      inStep('tighten b to 10 N·m then to 25 N·m'),
      'found `to`: write `in stages 10 N·m, 25 N·m`',
      'in stages 10 N·m, 25 N·m',
    ],
    [inStep('wait until glue is dry'), 'found `until`: `wait` needs a time such as `60 min`, words for the reader'],
    [inStep('wait overnight'), 'found `overnight`: `wait` needs a time such as `60 min`, words for the reader'],
    ['part b "B" torque +25 N·m', 'found `+`: take it out', ''],
    ['part b "B" torque 1 250 N·m', 'found `250`: write `1250`', '1250'],
    ['part b "B" torque 1\'250 N·m', "found `'`: write `1250`", '1250'],
    ['part b "B" torque 1.250,5 N·m', 'found `,`: write `1250.5`', '1250.5'],
    ['part b "B" torque 1,250 N·m', 'write `1.250`, `1250` where it parts thousands, or `1, 250` for a list', '1.250'],
    ['part b "B" torque 12½ N·m', 'found `½`: write `12.5`', '12.5'],
    ['part b "B" torque 25 +2/-1 N·m', 'found `+`: write `24..27`', '24..27'],
    ['part b "B" torque 25 +2 -1 N·m', 'found `+`: write `24..27`', '24..27'],
    ['pattern p circle angles 30 150', 'found `150`: a bare quantity does not belong to `pattern`'],
    [
      inStep('tighten b in stages 50 120 N·m'),
      'found `120`: stages are parted by commas, each with its unit, write `50 N·m, 120 N·m`',
      '50 N·m, 120 N·m',
    ],
    [inStep('wait: 30 min'), 'found `:`: take it out', ''],
    [inStep('tighten b to N·m, 25 N·m'), 'expected a number, found `N·m`'],
    ['part b "B" torque 25.5 N·m +2/-1', 'found `+`: write `24.5..27.5 N·m`', '24.5..27.5 N·m'],
    ['part b "B" torque 250 N·cm', 'found `N·cm`: write `2.5 N·m`', '2.5 N·m'],
    ['supply s "S" cure 1:30 h', 'found `:`: write `90 min`', '90 min'],
    ['supply s "S" cure 1h30', 'found `h30`: write `90 min`', '90 min'],
    ['supply s "S" cure 4h30min', 'found `h30min`: write `4.5 h`', '4.5 h'],
    ['supply s "S" 1½ L', 'found `½`: write `1.5`', '1.5'],
    ['supply s "S" 1800 cm³', 'found `cm³`: write `1800 mL`', '1800 mL'],
    ['supply s "S" 2 dm³', 'found `dm³`: write `2 L`', '2 L'],
    ['supply s "S" 2 gal', 'found `gal`: a US gallon is 4 qt, an imperial one 8 pt'],
    ['supply s "S" quantity 2 L', 'found `quantity`: take it out', ''],
    ['part b "B" holes in rim', 'found `in`: take it out', ''],
    ['part b "B" holes by rim', 'found `by`: take it out', ''],
    ['part b "B" hidden behind c', 'found `hidden`: take it out, or say it in the title'],
    [inStep('remove b "Slowly" gently using t'), 'found `gently`: take it out, or say it in the text'],
    ['pattern p circle 4 radius 50.5 mm', 'found `radius`: write `diameter 101 mm`', 'diameter 101 mm'],
    ['pattern p circle angles 0°, 90° radius 50 mm', 'found `radius`: write `diameter 100 mm`', 'diameter 100 mm'],
    ['disassembly\n', 'found `disassembly`: perhaps `teardown` was meant', 'teardown'],
    ['step s\n  remove b\nassembly\n', 'found `assembly`: perhaps `reassembly` was meant', 'reassembly'],
    ['Step s\n  remove b\n', 'perhaps `step` was meant', 'step'],
    [inStep('drain 2 L'), 'expected a name, found `2`: name the supply before it'],
    [inStep('remove 4 a'), 'expected a name, found `4`: a count stands behind the name, `a x4`', 'a x4'],
    ['part 4 bolt "Bolt"', 'expected a name, found `4`: a count stands behind the name, `bolt x4`', 'bolt x4'],
    [inStep('clean 4'), 'expected a name, found `4`: name the part before it'],
    ['part b torque 60 N·m ± 5 N·m', 'found `±`: the unit stands once, behind both numbers, write', '60 ± 5 N·m'],
    ['tool t range 20 N·m..100 N·m', 'found `..`: the unit stands once, behind both numbers'],
    ['step s takes 1h 30min', 'found `30`: write `90 min`', '90 min'],
    ['step s takes 1 h 30 min', 'found `30`: write `90 min`', '90 min'],
    [inStep('remove a x5 and bag it'), 'found `and`: write what follows as a statement of its own'],
    [inStep('tighten a in 3 stages'), 'expected `stages`, found `3`: `in stages` names the torque of each'],
    [inStep('wait for 20 min'), 'expected a time such as `60 min`, found `for`: take it out', ''],
    ['part b x1 "B" qty 2', 'found `qty`: take it out, or say it in the title; reading'],
    ['part b x2 x3', 'expected one count, found a second: the first counts'],
    ['part top cover "Top cover"', 'found `cover`: a name is one word, such as `top-cover`', 'top-cover'],
    ['part oil drain plug x2 "Plug"', 'found `drain`: a name is one word, such as `oil-drain-plug`', 'oil-drain-plug'],
    ['tool arbor press "Arbor press"', 'found `press`: a name is one word, such as `arbor-press`', 'arbor-press'],
    ['part pawl spring "Pawl spring"', 'found `spring`: a name is one word, such as `pawl-spring`', 'pawl-spring'],
    ['pattern rim bolts circle 6', 'found `bolts`: a name is one word, such as `rim-bolts`', 'rim-bolts'],
    ['pattern rim ci', 'found `ci`: a text stands in double quotes'],
    ['part b "B" held by lid screw', 'found `screw`: a name is one word, such as `lid-screw`'],
    [inStep('remove idler shim "Keep them"'), 'found `shim`: a name is one word, such as `idler-shim`'],
    ['part b big x2 "B"', 'found `big`: a name is one word, such as `b-big`', 'b-big'],
    [inStep('remove top cover "Lift it"'), 'found `cover`: a name is one word, such as `top-cover`'],
    [inStep('clean top house "Wipe it"'), 'found `house`: a name is one word, such as `top-house`'],
    [inStep('remove the cover'), 'found `cover`; reading'],
    [inStep('remove a x2 gently "Lift it"'), 'found `gently`; reading'],
    [inStep('apply s cover'), 'expected `to`, found `cover`: write `to` before it', 'to cover'],
    [inStep('swap a b'), 'expected `for`, found `b`: write `for` before it', 'for b'],
    [inStep('remove a keep "bag"'), 'expected `in`, found `"bag"`: write `in` before it', 'in "bag"'],
    [inStep('transfer a to b'), 'expected `from`, found `to`: what carries it now stands first, as in `from A to B`'],
    [inStep('apply s and t to b'), 'expected `to`, found `and`: `apply` takes one supply, give each a line of its own'],
    [inStep('tighten a by 90°'), 'expected `hand`, found `90`: an angle stands behind `then`'],
    [inStep('remove a keep in 12'), 'found `12`: write `"12"`; reading', '"12"'],
    [inStep('remove a keep in bag'), 'found `bag`: write `"bag"`; reading', '"bag"'],
    [inStep('remove a in "bag"'), 'found `in`: a place stands behind `keep in`', 'keep in'],
    [inStep('replace a with c'), 'found `with`: `swap a for …` puts another part in its place, a tool stands behind'],
    [inStep('tighten a to 20 N·m and 90°'), 'found `and`: an angle stands behind `then`', 'then'],
    ['part b torque 20 N·m and 90°', 'found `and`: an angle stands behind `then`', 'then'],
    [inStep('tighten a to 20 to 30 N·m'), 'found it again: a range is written with two points, `20..30`', '..'],
    [inStep('measure gap limit 0.1 to 0.2 mm'), 'found `to`: a range is written with two points, `0.1..0.2`', '..'],
    // One of few words is expected, and one near to it stands there.
    ['procedure p "P" measures metrc', 'or `imperial`, found `metrc`: perhaps `metric` was meant', 'metric'],
    ['procedure p "P" code palte "Rib"', 'expected `plate`, found `palte`: perhaps `plate` was meant', 'plate'],
    [
      'procedure p "P" code label "Rib"',
      'expected `plate`, found `label`: where the code stands is told behind `code plate`',
      'plate',
    ],
    [
      'procedure p "P" code "Rib"',
      'expected `plate`, found `"Rib"`: where the code stands is told behind `code plate`',
      'plate "Rib"',
    ],
    ['procedure p "P" applies ot A-1', 'expected `to`, found `ot`: perhaps `to` was meant', 'to'],
    ['part b "B" held yb c', 'expected `by`, found `yb`: perhaps `by` was meant', 'by'],
    [inStep('tighten b order sar'), 'or hole numbers, found `sar`: perhaps `star` was meant', 'star'],
    [inStep('tighten b by hnad'), 'expected `hand`, found `hnad`: perhaps `hand` was meant', 'hand'],
    [inStep('tighten b at hloes 1, 2'), 'found `hloes`: perhaps `holes` was meant', 'holes'],
    [inStep('tighten b in satges 1 N·m, 2 N·m'), 'found `satges`: perhaps `stages` was meant', 'stages'],
    [inStep('transfer a form b to c'), 'expected `from`, found `form`: perhaps `from` was meant', 'from'],
    [inStep('swap a fro b'), 'expected `for`, found `fro`: perhaps `for` was meant', 'for'],
    [inStep('shim a gpa g endplay 1 mm from 1 mm'), 'found `gpa`: perhaps `gap` was meant', 'gap'],
    [inStep('shim a gap g endpaly 1 mm from 1 mm'), 'found `endpaly`: perhaps `endplay` was meant', 'endplay'],
    ['part b x2 Motor cable" hazard weight', 'found `Motor`: the quote before the text is missing', '"Motor'],
    [inStep('warning Hot oil burns."'), 'found `Hot`: the quote before the text is missing', '"Hot'],
    [inStep('sawp a for b'), 'found `sawp`: perhaps `swap` was meant', 'swap'],
    [inStep('and'), 'expected a statement, found `and`: take it out', ''],
    [inStep('try a in b'), 'expected `on`, found `in`: write `on`', 'on'],
    [inStep('remove b for DW-40B'), 'expected the `end` of this `for`'],
    [inStep('fit b for DWX'), 'stand in quotes, what is for one code ends with `end`'],
    [inStep('fit b for 4015'), 'stand in quotes, what is for one code ends with `end`'],
    [inStep('heat b for 20 min'), 'words for the reader stand in quotes; reading', '"for 20 min"'],
    [inStep('remove b for inspection'), 'words for the reader stand in quotes; reading', '"for inspection"'],
    [inStep('remove b for cleaning and inspection'), 'words for the reader stand in quotes; reading'],
    [inStep('fit b for dw-x, dw-y clean b'), 'expected the `end` of this `for`'],
    [inStep('inspect b for press fit'), 'words for the reader stand in quotes', '"for press fit"'],
    [inStep('fit b see figure 3 using bar'), 'found `figure`: write `"figure 3"`', '"figure 3"'],
    ['part b number B-100 renew', 'found `B-100`: write `"B-100"`', '"B-100"'],
    ['supply s spec ISO 1234 cure 2 h', 'found `ISO`: write `"ISO 1234"`', '"ISO 1234"'],
    [inStep('tighten b to 9 N·m crosswise'), 'found `crosswise`: write `order star`', 'order star'],
    [inStep('tighten b to 9 N·m in a cross pattern'), 'found `a`: write `order star`', 'order star'],
    [inStep('fit b in a star pattern'), 'belongs to `tighten`, write `tighten b order star` below'],
    [inStep('fit b at "bench"'), 'found `at`: a place stands behind `keep in`', 'keep in'],
    [inStep('tighten b to spec 9 N·m'), 'expected a number, found `spec`: take it out', ''],
    [inStep('tighten b to torque of 9 N·m'), 'found `torque`: take `torque of` out', ''],
    [inStep('measure a between 0,1 and 0,2 mm'), 'points, `limit 0.1..0.2`', 'limit 0.1..0.2'],
    [inStep('tighten b to spec'), 'the declared torque is meant, take `to spec` out', ''],
    [inStep('tighten b 4, 9 N·m'), 'found `4`: write `in stages 4 N·m, 9 N·m`', 'in stages 4 N·m, 9 N·m'],
    [inStep('tighten b 1, 3, 2, 4'), 'found `1`: hole numbers stand behind `order` or `at holes`'],
    [inStep('check 4 bolts'), 'found `4`: write `"4 bolts"`', '"4 bolts"'],
    [inStep('check 2 mm gap'), 'found `2`: write `"2 mm gap"`', '"2 mm gap"'],
    [inStep('danger 400 V'), 'found `400`: write `"400 V"`', '"400 V"'],
    ['supply s spec ISO 68 1.8 L', 'found `ISO`: write `"ISO 68"`', '"ISO 68"'],
    [inStep('drain b into "pan"'), 'found `into`: a place stands behind `keep in`', 'keep in'],
    [inStep('caution Hot at 80 °C'), 'found `Hot`: write `"Hot at 80 °C"`', '"Hot at 80 °C"'],
    [inStep('if lip is worn\n  clean b\n  end'), 'found `lip`: write `"lip is worn"`', '"lip is worn"'],
    [inStep('if "worn" then\n  clean b\n  end'), 'found `then`: take it out', ''],
    [inStep('shim b to 0.1 mm'), 'expected `gap`, found `to`: its reading and what is to be left'],
    [inStep('measure p limit between 1 and 2 mm'), 'with two points, `1..2`', '1..2'],
    [inStep('tighten b 60, 90°'), 'found `60`: write `to` before it', 'to 60'],
    [inStep('remove b.'), 'found `.`: take it out', ''],
    [inStep('remove b;'), 'found `;`: take it out', ''],
    [inStep('remove b (x4)'), 'found `(`: a count is written `x4`', 'x4'],
    ['step s "S" duration 15 min', 'found `duration`: write `takes`', 'takes'],
    ['consumable rag "Rag"', 'found `consumable`: perhaps `supply` was meant', 'supply'],
    ['include "common.fettle"', 'found `include`: perhaps `use` was meant', 'use'],
    ['procedure p\n  units metric', 'found `units`: perhaps `measures` was meant', 'measures'],
    ['procedure p\n  measures inches', 'found `inches`: write `imperial`', 'imperial'],
    ['procedure p\n  measures mm', 'found `mm`: write `metric`', 'metric'],
    [inStep('warn "Hot"'), 'found `warn`: perhaps `warning` was meant', 'warning'],
    ['part b carried-by c', 'found `carried-by`: write `carried by`', 'carried by'],
    ['part b held-by c', 'found `held-by`: write `held by`', 'held by'],
    ['part b carried by c and d', 'found `and`: one part carries a part'],
    ['part b ID 25 mm', 'found `ID`: write `bore`', 'bore'],
    ['part b OD 52 mm', 'found `OD`: write `diameter`', 'diameter'],
    ['part b inner diameter 25 mm', 'found `inner`: write `bore`', 'bore'],
    ['part b outside diameter 52 mm', 'found `outside`: write `diameter`', 'diameter'],
    ['part b bore 25 mm fit H7/k6', 'found `fit`: take it out', ''],
    ['part b size M8', 'found `size`: write `thread`', 'thread'],
    ['part b torque: 25 N·m', 'found `:`: take it out', ''],
    ['part b index mark', 'found `mark`: take it out', ''],
    ['part b hazard electricity', 'perhaps `charge` was meant', 'charge'],
    ['part b hazard Heavy', 'perhaps `weight` was meant', 'weight'],
    ['pattern p circle of 8', 'found `of`: take it out', ''],
    ['pattern p circle 8 PCD 120 mm', 'found `PCD`: perhaps `diameter` was meant', 'diameter'],
    ['pattern p circle 8 d 120 mm', 'found `d`: write `diameter`', 'diameter'],
    [inStep('loosen b by 1 turn'), 'found `by`: write `"by 1 turn"`', '"by 1 turn"'],
    [inStep('loosen b by 1/4 turn'), 'found `by`: write `"by 1/4 turn"`', '"by 1/4 turn"'],
    [inStep('loosen b by 90° using t'), 'found `by`: write `"by 90°"`', '"by 90°"'],
    [inStep('loosen b 2 turns'), 'found `2`: write `"2 turns"`', '"2 turns"'],
    [inStep('tighten b 1/4 turn'), 'found `1`: an angle stands behind `then`, in degrees'],
    [inStep('tighten b by 1 turn'), 'found `1`: an angle stands behind `then`, in degrees'],
    [inStep('tighten b by 25 N·m'), 'found `25`: a torque stands behind `to`', 'to'],
    [
      inStep('tighten b order star in a cross pattern'),
      '`order star` says it already, take `in a cross pattern` out',
      '',
    ],
    [inStep('tighten b order star crosswise'), '`order star` says it already, take `crosswise` out', ''],
    [inStep('tighten b in star pattern order star'), '`order star` says it already, take `in star pattern` out', ''],
    [inStep('tighten b order 1 3 2 in a star pattern'), '`order` says it already, take `in a star pattern` out', ''],
    [inStep('tighten b in stages 9 N·m order spiral in a star pattern'), '`order spiral` says it already', ''],
    [inStep('caution Hot surface using gloves'), 'found `Hot`: write `"Hot surface"`', '"Hot surface"'],
    [inStep('caution Lift it using both hands'), 'write `"Lift it using both hands"`', '"Lift it using both hands"'],
    [inStep('do Turn b keep in "bag" using t, u'), 'found `Turn`: write `"Turn b"`', '"Turn b"'],
    [inStep('if lip worn clean b end'), 'found `lip`: write `"lip worn"`', '"lip worn"'],
    [inStep('if lip worn then clean b\n  end'), 'found `lip`: write `"lip worn"`', '"lip worn"'],
    [
      inStep('if the press fit is loose\n  clean b\n  end'),
      'write `"the press fit is loose"`',
      '"the press fit is loose"',
    ],
    [inStep('if lip worn or cracked\n  clean b\n  end'), 'write `"lip worn or cracked"`', '"lip worn or cracked"'],
    [inStep('if worn or torn clean b else fit b end'), 'found `worn`: write `"worn or torn"`', '"worn or torn"'],
    [inStep('remove 6 ea b'), 'found `6`: a count stands behind the name, `b x6`', 'b x6'],
    [inStep('remove b (4 off)'), 'found `off`: a count is written `x4`', 'x4'],
    [inStep('remove b 4 ea.'), 'found `ea`: a count is written `x4`', 'x4'],
    [inStep('remove b pcs 4'), 'found `pcs`: a count is written `x4`', 'x4'],
    [inStep('remove b × 4'), 'found `×`: a count is written `x4`', 'x4'],
    [inStep('tighten b to approx. 25 N·m'), 'found `approx`: take `approx.` out', ''],
    [inStep('tighten b to ~25 N·m'), 'found `~`: take it out', ''],
    [inStep('tighten b to max. 25 N·m'), 'found `max`: take `max.` out', ''],
    ['part b "B" torque max. 25 N·m', 'take `max.` out, or give the least as well, as in `20..25 N·m`', ''],
    ['part b "B" torque min. 25 N·m', 'take `min.` out, or give the most as well, as in `20..25 N·m`', ''],
    ['part b "B" torque Maximum 25 N·m', 'take it out, or give the least as well', ''],
    ['part b "B" bore 62 mm interference max. 45 µm', 'take `max.` out, or give the least as well', ''],
    ['part b "B" length max. 40 mm', 'found `max`: take `max.` out; reading', ''],
    ['part b "B" limit max. 120 °C', 'found `max`: take `max.` out; reading', ''],
    ['supply s "S" cure min. 60 min', 'found `min`: take `min.` out; reading', ''],
    [inStep('measure play limit max. 0.2 mm'), 'write `max`', 'max'],
    [inStep('fill b about 2 L'), 'found `about`: take it out', ''],
    [inStep('wait approx. 60 min'), 'found `approx`: take `approx.` out', ''],
    [inStep('press b max. 12 kN'), 'found `.`: take it out', ''],
    [inStep('measure play max. 0.2 mm'), 'found `.`: take it out', ''],
    [inStep('tighten b to 25 newton metres'), 'found `newton metres`: write `N·m`', 'N·m'],
    [inStep('heat b to 110 Celsius'), 'found `Celsius`: write `°C`', '°C'],
    [inStep('heat b to 110 degrees C'), 'found `degrees C`: write `°C`', '°C'],
    [inStep('heat b to 110 deg C'), 'found `deg C`: write `°C`', '°C'],
    [inStep('heat b to 110 ° C'), 'found `° C`: write `°C`', '°C'],
    [inStep('heat b to 230 degrees Fahrenheit'), 'found `degrees Fahrenheit`: write `°F`', '°F'],
    [inStep('tighten b to 20 N·m then 90 degrees'), 'found `degrees`: write `°`', '°'],
    [inStep('measure leak max 3 Bar'), 'found `Bar`: write `bar`', 'bar'],
    ['part b "B" length 40 millimetres', 'found `millimetres`: write `mm`', 'mm'],
    ['part b "B" length 40 MM', 'found `MM`: write `mm`', 'mm'],
    [inStep('press b max 20 kilonewtons'), 'found `kilonewtons`: write `kN`', 'kN'],
    [inStep('tighten b to 25 ft lbs'), 'found `ft lbs`: write `lbf·ft`', 'lbf·ft'],
    [inStep('tighten b to 25 lb ft'), 'found `lb ft`: write `lbf·ft`', 'lbf·ft'],
    [inStep('tighten b to 25 N m'), 'found `N m`: write `N·m`', 'N·m'],
    [inStep('tighten b sequence 1 3 2'), 'found `sequence`: write `order`', 'order'],
    [inStep('hand tighten b'), 'found `hand`: write `tighten b by hand`', 'tighten b by hand'],
    [inStep('hand-tighten b'), 'found `hand-tighten`: write `tighten b by hand`', 'tighten b by hand'],
    [inStep('remove b, fit c'), 'the reserved word `fit`: each statement stands on a line of its own, without a comma'],
    [inStep('warning: Hot oil'), 'found `:`: write `"Hot oil"`', ' "Hot oil"'],
    [inStep('warning: "Hot oil"'), 'found `:`: take it out', ''],
    [inStep('wait 1 h 30 min'), 'found a second: write `90 min`', '90 min'],
    [inStep('wait 5 h 30 min'), 'found a second: write `5.5 h`', '5.5 h'],
    ['step s takes 1 h 20 min', 'found `20`: write `80 min`', '80 min'],
    [inStep('apply a thin bead of s to c'), 'found `thin`: write `apply s`', 's'],
    [inStep('measure play limit 0,1..0,2 mm'), 'the commas in `0,1..0,2`: write `0.1..0.2`', '0.1..0.2'],
    [inStep('check b for cracks'), 'found `b`: write `"b for cracks"`', '"b for cracks"'],
    ['part b qty. 4 "B"', 'found `qty`: a count is written `x4`', 'x4'],
    ['part b torque 25 N·m / 18 lbf·ft', 'found `/`: write `(18 lbf·ft)`', '(18 lbf·ft)'],
    ['part b torque 25 N·m [18 lbf·ft]', 'found `[`: write `(18 lbf·ft)`', '(18 lbf·ft)'],
    [inStep('tighten b to 25 N·m = 18 lbf·ft'), 'found `=`: write `(18 lbf·ft)`', '(18 lbf·ft)'],
    ['part b "B" lubricated', 'found `lubricated`: write `oiled`', 'oiled'],
    ['part b "B" thread M8 anti-seize', 'found `anti-seize`: write `paste`', 'paste'],
    ['part b "B" anti-seize paste', 'found `anti-seize`: write `paste`', 'paste'],
    [
      'part b "B" class 8.8 moly compound',
      'expected a property of a part, found `moly compound`: write `paste`',
      'paste',
    ],
    [
      'part b "B" class 8.8 copper-grease',
      'expected a property of a part, found `copper-grease`: write `paste`',
      'paste',
    ],
    ['part b "B" grade 5 lubed', 'expected a property of a part, found `lubed`: write `oiled`', 'oiled'],
    ['part b "B" class 8.8 torqe 25 N·m', 'expected a property of a part, found `torqe`: perhaps `torque`', 'torque'],
    ['part b "B" fixed by c', 'found `fixed`: write `held by`', 'held by'],
    ['part b "B" secured with c', 'found `secured`: write `held by`', 'held by'],
    ['part b "B" held on by c', 'found `on`: take it out', ''],
    ['part b "B" behind c & d', 'found `&`: names in a list are parted by commas', ','],
    ['part b bore Ø62 mm', 'found `Ø62`: write `62`', '62'],
    ['part b "B" dia 62 mm', 'found `dia`: write `diameter`', 'diameter'],
    ['pattern p circle 6 dia. 120 mm', 'found `dia`: perhaps `diameter` was meant', 'diameter'],
    ['pattern p circle 6 Ø120 mm', 'found `Ø120`: perhaps `diameter 120` was meant', 'diameter 120'],
    ['part b "B" weight 12 kg', 'name it in the title, write `hazard weight` where it can hurt', 'hazard weight'],
    ['part b "B" heavy', 'found `heavy`: write `hazard weight`', 'hazard weight'],
    ['part b steam "B"', 'found `steam`: a name is one word, such as `b-steam`', 'b-steam'],
    ['part b "B" no. 6206', 'found `no`: write `number "6206"`', 'number "6206"'],
    ['part b "B" p/n 6206-2RS', 'found `p`: write `number "6206-2RS"`', 'number "6206-2RS"'],
    ['tool t "T" 5-100 N·m', 'found `5-100`: a range is written `range 5..100`', 'range 5..100'],
    ['tool t "T" range 5 N·m to 100 N·m', 'a range is written with two points, `5..100 N·m`', '5..100'],
    ['tool t "T" range 5 N·m – 100 N·m', 'a range is written with two points, `5..100 N·m`', '5..100'],
    ['supply s "S" 2 L 75W-90', 'found `75W-90`: write `spec "75W-90"`', 'spec "75W-90"'],
    ['supply s "S" 10W40 2 L', 'found `10W40`: write `spec "10W40"`', 'spec "10W40"'],
    ['supply s "S" cure 24 hrs.', 'found `hrs`: write `h`', 'h'],
    ['procedure p "P" metric', 'found `metric`: write `measures metric`', 'measures metric'],
    ['procedure p "P" code plate: "Rib"', 'found `:`: take it out', ''],
    ['part b: "B"', 'found `:`: take it out', ''],
    [inStep('cool b to minus 20 °C'), 'found `minus`: write `-20`', '-20'],
    [inStep('do not heat it above 90 °C'), 'write `"Do not heat it above 90 °C"`', '"Do not heat it above 90 °C"'],
    [inStep('if lip worn:\n  clean b\n  end'), 'found `lip`: write `"lip worn"`', '"lip worn"'],
    [inStep('tighten b to 10 N·m, then 25 N·m'), 'write `in stages 10 N·m, 25 N·m`', 'in stages 10 N·m, 25 N·m'],
    [inStep('tighten b to 25 N·m; using t'), 'found `;`: take it out', ''],
    [inStep('measure play 0.05 mm max.'), 'found `0.05`: write `max 0.05 mm`', 'max 0.05 mm'],
    [inStep('check end float 0.05 mm'), 'found `end`: words for the reader stand in quotes', '"end float 0.05 mm"'],
    [inStep('measure play not more than 0.1 mm'), 'found `not`: write `max`', 'max'],
    [inStep('measure play less than 0.1 mm'), 'found `less`: write `max`', 'max'],
    [inStep('measure play under 0.1 mm'), 'found `under`: write `max`', 'max'],
    [inStep('measure play up to 0.1 mm'), 'found `up`: write `max`', 'max'],
    [inStep('measure play at most 0.1 mm'), 'found `at`: write `max`', 'max'],
    [inStep('measure play at least 0.1 mm'), 'found `at`: write `min`', 'min'],
    [inStep('measure play not less than 0.1 mm'), 'found `not`: write `min`', 'min'],
    [inStep('measure play more than 0.1 mm'), 'found `more`: write `min`', 'min'],
    ['part cover carried by 4 nuts', 'found `4`: one part carries a part, where these hold it write `held by nuts`'],
    ['part bolt x2 holes rim at holes 1, 3', 'found `holes`: take it out', ''],
    [
      'part b "B" torque 25 (18) N·m',
      'found `N·m`: a unit stands right behind each number, as in `25 N·m (18 lbf·ft)`',
    ],
    [
      'part b "B" torque 18 (25) N·m',
      'found `N·m`: a unit stands right behind each number, as in `25 N·m (18 lbf·ft)`',
    ],
    [
      'part b "B" thread M8x1.25-6g-LH',
      'found `-6g-LH`: a thread is written without its tolerance, write `M8x1.25-LH`',
      'M8x1.25-LH',
    ],
    [
      'part b "B" thread M10x1.25x60-10.9',
      'found `M10x1.25x60-10.9`: write `M10x1.25 length 60 mm class 10.9`',
      'M10x1.25 length 60 mm class 10.9',
    ],
    [
      'part b "B" M10x1.25x60-10.9',
      'found `M10x1.25x60-10.9`: write `thread M10x1.25 length 60 mm class 10.9`',
      'thread M10x1.25 length 60 mm class 10.9',
    ],
    ['part b "B" hazard high pressure', 'a hazard is one word, write `pressure`', 'pressure'],
    ['pattern p circle angles 0/90/180', 'found `/`: angles are parted by commas, each with its sign, as in `0°, 60°`'],
    [
      inStep('tighten b in stages 10/20/30 N·m'),
      'found `/`: stages are parted by commas, each with its unit, write `10 N·m, 20 N·m, 30 N·m`',
      '10 N·m, 20 N·m, 30 N·m',
    ],
    ['part b "B" hazard heat and pressure', 'found `and`: names in a list are parted by commas', ','],
    ['part b "B" hazard heat, high pressure', 'found `pressure`: a hazard is one word, write `pressure`', 'pressure'],
    [
      'part b "B" thread M8x1.25-5g6g',
      'found `-5g6g`: a thread is written without its tolerance, write `M8x1.25`',
      'M8x1.25',
    ],
    ['part b "B" hazard spring tension', 'a hazard is one word, write `spring`', 'spring'],
    [
      'part b "B" hazard heat pressure',
      'found `pressure`: hazards are parted by commas, write `heat, pressure`',
      'heat, pressure',
    ],
    [
      'part b "B" hazard spring under high pressure',
      'found `under`: hazards are parted by commas, write `spring, pressure`',
      'spring, pressure',
    ],
    ['part b "B" hazard sharp edges', 'a hazard is one word, write one of heat, pressure'],
    ['tool t "T" range up to 100 N·m', 'found `up`: a range has two ends, as in `range 5..100 N·m`'],
    [
      inStep('tighten b in stages 50 80 120 N·m'),
      'found `80`: stages are parted by commas, each with its unit, write `50 N·m, 80 N·m, 120 N·m`',
      '50 N·m, 80 N·m, 120 N·m',
    ],
    [
      inStep('tighten b in stages 50 N·m 120 N·m'),
      'found `120`: stages are parted by commas, each with its unit, write `50 N·m, 120 N·m`',
      '50 N·m, 120 N·m',
    ],
    [inStep('heat b 80–100 °C'), 'found `80`: write `to 80..100 °C`', 'to 80..100 °C'],
    [inStep('heat b 80 to 100 °C'), 'found `80`: write `to 80..100 °C`', 'to 80..100 °C'],
    [inStep('heat b 80-100 °C'), 'found `80-100`: a range is written `to 80..100`', 'to 80..100'],
    [inStep('tighten b 25 – 30 N·m'), 'found `25`: write `to 25..30 N·m`', 'to 25..30 N·m'],
    [inStep('press b 10–12 kN'), 'found `10`: the most is given, write `max 12 kN`'],
    [inStep('wait 1–2 hours'), 'found `1–2 hours`: a range is written with two points, `1..2 h`', '1..2 h'],
    [inStep('wait 1 to 2 hours'), 'found `1 to 2 hours`: a range is written with two points, `1..2 h`', '1..2 h'],
    ['part b "B" M8x40 8.8', 'write `thread M8 length 40 mm class 8.8`', 'thread M8 length 40 mm class 8.8'],
    ['part b "B" M8x40', 'write `thread M8 length 40 mm`', 'thread M8 length 40 mm'],
    [
      'part b "B" M8x1.25x40 8.8',
      'write `thread M8x1.25 length 40 mm class 8.8`',
      'thread M8x1.25 length 40 mm class 8.8',
    ],
    ['part b "B" M8x1 8.8', 'write `thread M8x1`', 'thread M8x1'],
    [inStep('loosen b ½ turn'), 'found `½`: write `"½ turn"`', '"½ turn"'],
    [inStep('loosen b 1½ turns'), ': write `"1½ turns"`', '"1½ turns"'],
    [inStep('tighten b to 25 Nm – 30 Nm'), 'found `–`: a range is written with two points, `25..30 Nm`', '25..30'],
    ['part b "B" bore 62 H7', 'found `H7`: the unit is missing, and a fit names hole and shaft, as in `62 mm H7/k6`'],
    [inStep('remove a1 a2 a3'), 'found `a2`: `remove` takes one part, give each a line of its own'],
    [inStep('remove top-lid side-lid'), 'found `side-lid`: `remove` takes one part, give each a line of its own'],
    [inStep('remove top-lid anti-clockwise'), 'found `anti-clockwise`: a text stands in double quotes'],
    [
      'part b "B" hazard stored energy',
      'a hazard is one word, for stored energy write `spring`, `pressure` or `charge`',
    ],
    ...['10, 20 and 30 N·m', '10 N·m, 20 N·m and 30 N·m'].map((list): [string, string, string] => [
      inStep(`tighten b in stages ${list}`),
      `${list.startsWith('10 N') ? '' : `found \`${list}\`: `}stages are parted by commas, each with its unit, write \`10 N·m, 20 N·m, 30 N·m\``,
      '10 N·m, 20 N·m, 30 N·m',
    ]),
    [
      'pattern p circle angles 0, 90 and 180° diameter 70 mm',
      'angles are parted by commas, each with its unit, write `0°, 90°, 180°`',
      '0°, 90°, 180°',
    ],
    [
      inStep('tighten b in 3 stages: 10, 20, 30 N·m'),
      'found `3`: write `in stages 10 N·m, 20 N·m, 30 N·m`',
      'in stages 10 N·m, 20 N·m, 30 N·m',
    ],
    [
      inStep('tighten b in two stages 10 N·m and 25 N·m'),
      'found `two`: write `in stages 10 N·m, 25 N·m`',
      'in stages 10 N·m, 25 N·m',
    ],
    ['part b "B" thread M8 x 40', 'a length stands apart, write `M8 length 40 mm`', 'M8 length 40 mm'],
    ['part b "B" thread M8x1.25 x 40', 'a length stands apart, write `length 40 mm`', 'length 40 mm'],
    [inStep('heat b to 110 degrees'), 'found `degrees`: write `°C`, or `°F`'],
    [inStep('re-install cover'), 'found `re-install`: perhaps `fit` was meant', 'fit'],
    ['part b "B" 25x52x15', 'found `25x52x15`: sizes stand apart, as in `bore 25 mm`, others in the title'],
    [
      inStep('apply s 15 g to b, c'),
      'expected `to`, found `15`: how much there is of it stands behind `supply s`, for a reader in a text',
      'to b, c "15 g"',
    ],
    [inStep('apply 15 g s to b'), 'found `15`: how much there is of it stands behind `supply s`', 's to b "15 g"'],
    [inStep('apply 15 g of s to b using t'), 'stands behind `supply s`', 's to b "15 g"'],
    [inStep('apply s to b 15 g'), 'found `15`: how much there is of it stands behind `supply s`', '"15 g"'],
    [inStep('apply s to b 15 g "Thin"'), 'stands behind `supply s`, take `15 g` out', ''],
    [inStep('apply s 15 g to b "Thin"'), 'stands behind `supply s`, take `15 g` out', ''],
    [inStep('apply s (15 g) to b'), 'found `(`: how much there is of it stands behind `supply s`', 'to b "15 g"'],
    [inStep('apply s 15 grams to b'), 'stands behind `supply s`', 'to b "15 grams"'],
    [inStep('apply s approx. 15 g to b'), 'stands behind `supply s`', 'to b "approx. 15 g"'],
    [inStep('apply a little s to b'), 'found `little`: write `apply s`', 's'],
    [inStep('apply some s to b'), 'expected `to`, found `s`: write `apply s`', 's'],
    [inStep('wait for 1 hour'), 'expected a time such as `60 min`, found `for`: write `1 h`', '1 h'],
    [inStep('heat b 80C'), 'found `80`: write `to 80°C`', 'to 80°C'],
    [inStep('heat b max 80 deg C'), 'found `max`: write `to 80 °C`', 'to 80 °C'],
    [inStep('heat b to max. 80 C'), 'found `max`: write `80 °C`', '80 °C'],
    [inStep('fill s to 2 litres'), 'found `to`: write `2 L`', '2 L'],
    [inStep('tighten b 25 ft-lb'), 'found `25`: write `to 25 lbf·ft`', 'to 25 lbf·ft'],
    [inStep('tighten b 25 ft lbs'), 'found `25`: write `to 25 lbf·ft`', 'to 25 lbf·ft'],
    [inStep('tighten b with 25 nm'), 'found `with`: write `to 25 N·m`', 'to 25 N·m'],
    [
      inStep('tighten b to 25 N·m + 90 degrees'),
      'found `+`: an angle stands behind `then`, write `then 90°`',
      'then 90°',
    ],
    ['part b "B" 25 ft-lb', 'found `25`: write `torque 25 lbf·ft`', 'torque 25 lbf·ft'],
    ['part b "B" torque approx. 25 ft-lb', 'found `approx`: write `25 lbf·ft`', '25 lbf·ft'],
    ['part b "B" lead time 2 weeks', 'found `time`: write `14 d`', '14 d'],
    [inStep('tighten b 250 Ncm'), 'found `250`: write `to 2.5 N·m`', 'to 2.5 N·m'],
    ['step s 15 minutes', 'found `15`: write `takes 15 min`', 'takes 15 min'],
    [
      inStep('tighten b to 25 ft-lb in a star pattern'),
      'expected `stages`, found `a`: write `lbf·ft order star`',
      'lbf·ft order star',
    ],
    [inStep('tighten b in order 1, 3, 2, 4'), 'expected `stages`, found `order`: write `order`', 'order'],
    [inStep('tighten b in the sequence 1-3-2-4'), 'found `the`: write `order 1 3 2 4`', 'order 1 3 2 4'],
    ...['in 2 steps 10/25 N·m', 'in two passes: 10 N·m, 25 N·m', 'in steps of 10 N·m then 25 N·m'].map(
      (steps): [string, string, string] => [
        inStep(`tighten b ${steps}`),
        'write `in stages 10 N·m, 25 N·m`',
        'in stages 10 N·m, 25 N·m',
      ],
    ),
    [inStep('tighten b in 3 equal steps'), 'found `3`: `in stages` names the torque of each, as in `in stages 12 N·m'],
    [
      inStep('tighten b in 3 steps to 25 N·m'),
      'found `3`: `in stages` names the torque of each, as in `in stages 12 N·m',
    ],
    [inStep('tighten b in three passes 10, 25 N·m'), 'found `three`: `in stages` names the torque of each'],
    ...['10/25 N·m', '10 – 25 N·m', '10-25 N·m', '10 N·m 25 Nm'].map((list): [string, string, string] => [
      inStep(`tighten b in stages ${list}`),
      'stages are parted by commas, each with its unit, write `10 N·m, 25 N·m`',
      '10 N·m, 25 N·m',
    ]),
    [
      inStep('tighten b in stages 2 4 6 8 10 12 14 16 18 20 22 24 N·m'),
      'found `4`: stages are parted by commas, each with its unit, write `2 N·m, 4 N·m,',
      Array.from({ length: 12 }, (_, i) => `${2 * i + 2} N·m`).join(', '),
    ],
    ['part b "B" hazard heavy, sharp', 'expected hazards, found `heavy, sharp`: write `weight`, and tell of', 'weight'],
    ['part b "B" hazard hot, heavy', 'expected hazards, found `hot, heavy`: write `heat, weight`', 'heat, weight'],
    [
      'part b "B" hazard sharp',
      'write one of heat, pressure, spring, charge, chemical, weight, or tell of it in a `caution`',
    ],
    ['part b "B" hazard sharp, pointed', 'found `sharp, pointed`: write one of heat,'],
    ['part b "B" hazard spring load', 'a hazard is one word, write `spring`', 'spring'],
    ['part b "B" hazard heavy load', 'a hazard is one word, write `weight`', 'weight'],
    ['part b "B" hazard spring-loaded', 'found `spring-loaded`: perhaps `spring` was meant', 'spring'],
    ['part b "B" hazard "Hot surface"', 'a hazard is one word without quotes, write `heat`', 'heat'],
    ['part b "B" hazard weight 25 kg', 'found `25`: say in the title what it weighs, take `25 kg` out', ''],
    ['part b "B" 25 kg', 'say in the title what it weighs, write `hazard weight` where it can hurt', 'hazard weight'],
    [
      inStep('hazard stored energy'),
      'found `hazard`: a hazard is declared with the part or supply that has it, for a reader write `warning "Stored energy"`',
      'warning "Stored energy"',
    ],
    [inStep('hazard'), 'found `hazard`: the line is left out'],
    [inStep('hazard "Hot surface"'), 'found `hazard`: write `warning`', 'warning'],
    [inStep('remove b\nuse torque wrench\nfit b'), 'found `torque`: a tool stands behind `using`, on the line of'],
    [inStep('replace if worn'), 'name the part, as in `replace PART "if worn"`'],
    [inStep('inspect b, replace if worn'), 'each statement stands on a line of its own'],
    [inStep('fit b with press'), 'it begins a statement, write `press b` above, and its tool behind `using`'],
    [
      inStep('heat b at 110 °C for 20 min'),
      'expected a clause of `heat` or a statement, found `at`: write `to 110 °C "for 20 min"`',
      'to 110 °C "for 20 min"',
    ],
    [inStep('heat b to 110 C for 20 min'), 'found `C`: write `°C "for 20 min"`', '°C "for 20 min"'],
    ...['25 x 52 x 15 mm', '25×52×15', '25 × 52 × 15 mm', '25 x 2 mm'].map((sizes): [string, string] => [
      `part b "B" ${sizes}`,
      'sizes stand apart, as in `bore 25 mm`, others in the title',
    ]),
    ['part b "B" bearing 25 x 52 x 15 mm', 'sizes stand apart, as in `bore 25 mm`, others in the title'],
    ...['M8×40 8.8', 'M8 x 40 8.8', 'M8 × 40 mm 8.8'].map((bolt): [string, string, string] => [
      `part b "B" ${bolt}`,
      'write `thread M8 length 40 mm class 8.8`',
      'thread M8 length 40 mm class 8.8',
    ]),
    ...[
      '0,0 60,0 60,60 mm',
      '0/0 60/0 60/60 mm',
      '0 0, 60 0, 60 60 mm',
      '[0,0] [60,0] [60,60] mm',
      '(0|0) (60|0) (60|60) mm',
    ].map((points): [string, string, string] => [
      `pattern p points ${points}`,
      'write `(0, 0) (60, 0) (60, 60) mm`',
      '(0, 0) (60, 0) (60, 60) mm',
    ]),
    [
      'pattern p rectangle 60 x 80 mm',
      'found `rectangle`: holes on no circle are named by their points, write `points (0, 0) (60, 0) (0, 80) (60, 80) mm`',
      'points (0, 0) (60, 0) (0, 80) (60, 80) mm',
    ],
    [
      'pattern p square 60 mm "Lid"',
      'holes on no circle are named by their points, write',
      'points (0, 0) (60, 0) (0, 60) (60, 60) mm',
    ],
    ['pattern p row 4 pitch 20 mm', 'found `row`: holes on no circle are named by their points, as in'],
    ['pattern p circle 6 angles 0° to 300°', '`circle 6` alone spaces them so, take `angles 0° to 300°` out', ''],
    ['pattern p circle 6 angles 0-300°', '`circle 6` alone spaces them so, take `angles 0-300°` out', ''],
    [
      'pattern p circle 3 angles 0° to 90°',
      'each hole has its angle, write `angles 0°, 45°, 90°`',
      'angles 0°, 45°, 90°',
    ],
    [
      'pattern p circle 4 every 90° diameter 70 mm',
      'are spaced alike, or `angles` names each, take `every 90°` out',
      '',
    ],
    ['pattern p circle 4x diameter 70 mm', 'expected a property of a pattern, found `x`: take it out', ''],
    [inStep('remove a x2, c x4 and d'), 'found `,`: `remove` takes one part', '\n  remove c x4\n  remove d'],
    [inStep('remove a / c'), 'found `/`: `remove` takes one part, give each a line of its own', '\n  remove c'],
    [inStep('fit a, hand tight'), 'found `,`: write `tighten a by hand` below'],
    [inStep('tighten b snug'), 'found `snug`: write `by hand`', 'by hand'],
    [inStep('tighten b to 25 N·m + 1/4 turn'), 'found `+ 1/4 turn`: write `then 90°`', 'then 90°'],
    [inStep('tighten b to 25 N·m plus 1/2 turn'), 'found `plus 1/2 turn`: write `then 180°`', 'then 180°'],
    [inStep('tighten b to 25 Nm. order star'), 'found `.`: take it out', ''],
    [inStep('tighten b to 18 lb/ft'), 'found `lb/ft`: write `lbf·ft`', 'lbf·ft'],
    [inStep('tighten b to 18 ft/lbs'), 'found `ft/lbs`: write `lbf·ft`', 'lbf·ft'],
    [inStep('tighten b to 25 N·m / 18 ft-lb'), 'found `/`: write `(18 lbf·ft)`', '(18 lbf·ft)'],
    [inStep('tighten b to specified torque'), 'take `to specified torque` out', ''],
    ...['1 - 3 - 2 - 4', '1→3→2→4', '1/3/2/4'].map((order): [string, string, string] => [
      inStep(`tighten b order ${order}`),
      'write `order 1 3 2 4`',
      'order 1 3 2 4',
    ]),
    [inStep('tighten b order cross'), 'found `cross`: write `star`', 'star'],
    [inStep('measure play ≤0.1 mm'), 'found `≤`: write `max`', 'max '],
    ...['0.05-0.1 mm', '0.05 to 0.1 mm', '0.05 mm – 0.1 mm', '0.05…0.1 mm'].map((range): [string, string, string] => [
      inStep(`measure play ${range}`),
      'write `limit 0.05..0.1 mm`',
      'limit 0.05..0.1 mm',
    ]),
    [inStep('measure play must not exceed 0.1 mm'), 'found `must`: write `max`', 'max'],
    [inStep('measure play upper limit 0.1 mm'), 'found `upper`: write `max`', 'max'],
    [inStep('heat race 80'), 'found `80`: write `to` before it and its unit behind, as in `to 80 °C`'],
    ['supply s "S" curing time 60 min', 'found `curing`: write `cure 60 min`', 'cure 60 min'],
    ['supply s "S" dries in 1 hour', 'found `dries`: write `cure 1 h', 'cure 1 h'],
    ['supply s "S" max 2 L', 'found `max`: take it out', ''],
    ['supply s "S" cure min. 60 min', 'found `min`: take `min.` out', ''],
    ['part b "B" torque 25 N·m max', 'found `max`: take it out', ''],
    ['part b "B" max 120 °C', 'found `max`: write `limit`', 'limit'],
    ['tool t "T" max 100 N·m', 'found `max`: a range has two ends, as in `range 5..100 N·m`'],
    ['part b "B" tightening torque 25 N·m', 'found `tightening`: take it out', ''],
    ['part b "B" bore ⌀25 mm', 'found `⌀`: take it out', ''],
    ['part b "B" thread M8x1,25', 'a decimal point stands there, write `M8x1.25`', 'M8x1.25'],
    ['part b "B" length 1-1/2" renew', 'inches are written `in`, write `1.5 in`', '1.5 in renew'],
    ['part b "B" length 1 1/4 in', 'a fraction is written `1.25`', '1.25'],
    [inStep('attention "Hot"'), 'found `attention`: perhaps `caution` was meant', 'caution'],
    [inStep('caution Hot surface, wear gloves!'), 'write `"Hot surface, wear gloves!"`', '"Hot surface, wear gloves!"'],
    [inStep("warning Don't touch; it is hot."), 'write `"Don\'t touch; it is hot."`', '"Don\'t touch; it is hot."'],
    ...['tighten b, 25 N·m', 'tighten b (25 N·m)', 'tighten b = 25 N·m', 'tighten b - 25 N·m', 'tighten b: 25 N·m'].map(
      (line): [string, string, string] => [
        inStep(line),
        'write `to 25 N·m`',
        /^tighten b[,:]/.test(line) ? ' to 25 N·m' : 'to 25 N·m',
      ],
    ),
    ...['-', '–'].map((dash): [string, string] => [
      inStep(`cool b ${dash} 20 °C`),
      `found \`${dash}\`: write \`to\` before the temperature, as in \`to -20 °C\``,
    ]),
    [inStep('cool b, -20 °C'), 'write `to -20 °C`', ' to -20 °C'],
    [inStep('tighten b (18 ft-lb)'), 'write `to 18 lbf·ft`', 'to 18 lbf·ft'],
    [inStep('fill s (2 L)'), 'found `(`: write `2 L`', '2 L'],
    [inStep('press b, 12 kN'), 'found `,`: write `max 12 kN`', ' max 12 kN'],
    [inStep('wait an hour'), 'found `an`: write `1 h`', '1 h'],
    [inStep('wait for half an hour'), 'found `for`: write `30 min`', '30 min'],
    ['step s takes half an hour', 'found `half`: write `30 min`', '30 min'],
    [inStep('tighten b to 25 N·m then a quarter turn'), 'write `90°`', '90°'],
    [inStep('tighten b to 25 N·m in sequence order star'), 'take `in sequence` out', ''],
    [inStep('tighten b to 25 N·m in sequence'), 'an order is told as in `order star`, `order spiral`'],
    [inStep('heat b to 80 °C +/- 5 K'), 'behind both numbers, write `80 ± 5 °C`', '80 ± 5 °C'],
    [inStep('tighten b to 25 N·m ± 2 lbf·ft'), 'found `±`: the unit stands once, behind both numbers'],
    [inStep('wait min 60 min'), 'found `min`: take it out', ''],
    ...['max', 'at most', '≤'].map((most): [string, string] => [
      inStep(`wait ${most} 10 min`),
      '`wait` tells the least time, tell of the most in a `caution`',
    ]),
    [
      'part b "B" min 20 °C',
      'found `min`: `limit` is the most that it may be heated to, tell of the least in a `caution`',
    ],
    ['pattern p circle 4 x 80° diameter 70 mm', 'found `x`: holes on a circle are spaced alike, name each by `angles`'],
    ['pattern p circle 4 x 90° diameter 70 mm', 'or `angles` names each, take `x 90°` out', ''],
    [inStep('fit new b, plug'), '`fit` takes one part, give each a line of its own'],
    [inStep('fill s max 2 litres'), 'found `max`: write `2 L`', '2 L'],
    [inStep('wait ≥ 60 min'), 'found `≥`: take it out', ''],
    [inStep('apply s cover\n  apply t to b'), 'expected `to`, found `cover`: write `to` before it', 'to cover'],
  ])('%s', (text, said, replacement) => {
    expect(issue(text)).toContain(said);
    const [{ replacement: given }] = read(text).chunks.flatMap(({ issues }) => issues) as [SyntaxIssue];
    expect(given).toBe(replacement);
  });

  test('a clause that one word stands for is read as that, and its value is not taken for another', () => {
    const tree = read('supply s "S" cures 24 h hazards chemical spec "X"');
    expect(tree.chunks[0]!.issues.map(({ message }) => message)).toEqual([
      expect.stringContaining('perhaps `cure` was meant; reading went on behind it'),
    ]);
    const supply = tree.chunks[0]!.item as Declaration;
    expect(supply.cure?.numbers[0]?.value).toBe(24);
    expect(supply.amount).toBeUndefined();
    const late = read('supply s "S" cure time 24 h spec ISO 1234 hazard heat').chunks[0]!;
    expect(late.issues).toHaveLength(1);
    expect((late.item as Declaration).amount).toBeUndefined();
    expect((late.item as Declaration).hazards.map(({ text }) => text)).toEqual(['heat']);
  });

  test('the length of a bolt is written anew with its unit', () => {
    for (const [bolt, length] of [
      ['M8 x 40 mm', 'M8 length 40 mm'],
      ['M8x1.25 x 40 mm', 'length 40 mm'],
    ] as const) {
      const { issues, text } = read(`part b "B" thread ${bolt} renew`).chunks[0]!;
      expect(issues.map(({ replacement }) => replacement)).toEqual([length]);
      expect(text.slice(issues[0]!.end)).toBe(' renew');
    }
  });

  test('stages with a dash are no range where a part of a turn stands behind them', () => {
    const messages = issuesOf(read(inStep('tighten b in stages 10-25 N·m then 1/2 turn')));
    expect(messages[0]).toContain('write `10 N·m, 25 N·m`');
    expect(messages[1]).toContain('write `180°`');
  });

  test('an amount behind words that were to be a text counts', () => {
    for (const spec of ['ISO', 'ISO 68', '75']) {
      const { issues, item } = read(`supply s "S" spec ${spec} 1.8 L`).chunks[0]!;
      expect(issues).toHaveLength(1);
      expect(show((item as Declaration).amount)).toBe('1.8 L');
    }
  });

  test('a number that begins the words of a message has one trouble', () => {
    for (const line of ['check 4 bolts', 'danger 400 V', 'do 3 turns', 'notice 2 mm gap'])
      expect(issuesOf(read(inStep(line)))).toHaveLength(1);
  });

  test('a condition without quotes opens alternatives, and its words act on nothing', () => {
    const kinds = (text: string) => statementsOf(read(inStep(text))).map(({ kind }) => kind);
    expect(kinds('if lip worn or cracked clean b end\n  fit b')).toEqual(['if', 'clean', 'fit']);
    expect(kinds('if the press fit is loose\n  clean b\n  end')).toEqual(['if', 'clean']);
    expect(issuesOf(read(inStep('either\n  clean b\n  or fit b\n  end')))).toEqual([]);
  });

  test('a word that cannot be read where it stands is not told to be itself', () => {
    expect(issuesOf(read('pattern p circle 6 diameter 9 mm\nhazard\nheat\n')).at(-1)).toContain('the line is left out');
  });

  test('a pattern behind the number of a hole is none of a declaration', () => {
    const { chunks } = read(`${inStep('tighten b order 1 3 2 in a star pattern')}\n  step t\n`);
    expect(chunks.at(-1)!.item?.kind).toBe('step');
    expect(chunks.some(({ item }) => item?.kind === 'pattern')).toBe(false);
  });

  test('a pattern on the next line is none of what is tightened', () => {
    for (const line of ['tighten b in star', 'tighten b in a cross', 'remove b keep in bag']) {
      const { chunks } = read(`${inStep(line)}\npattern rim circle 6 diameter 30 mm\n`);
      expect(chunks.at(-1)!.item?.kind).toBe('pattern');
    }
  });

  test.each([
    ['fit x2\n""new', 'write `fit new …`'],
    ['fit x2\n"" hand tight', 'write `tighten … by hand` below'],
    ['fit x2\n"" 25 N·m', 'write `tighten … to 25 N·m` below'],
    ['fit x2\n"" order star', 'write `tighten … order star` below'],
  ])('%s, where the part could not be read', (text, said) => {
    const messages = read(inStep(text)).chunks.flatMap(({ issues }) => issues.map(({ message }) => message));
    expect(messages.join('\n')).toContain(said);
    expect(messages.join('\n')).not.toContain('undefined');
  });

  test('the statement behind a word that was told of counts', () => {
    for (const line of ['and fit b', '3) fit b']) expect(statementsOf(read(inStep(line))).at(-1)!.name?.text).toBe('b');
    for (const line of ['do not fit b yet', '// fit b', 'warning support the b'])
      expect(statementsOf(read(inStep(line))).some(({ kind }) => kind === 'fit' || kind === 'support')).toBe(false);
  });

  test('the head is read although a word of it was told of', () => {
    const head = (text: string) => read(text).chunks[0]!.item as Head;
    expect(names(head('procedure p\n  apply to A1, A2\n').codes)).toEqual(['A1', 'A2']);
    expect(head('procedure p\n  measure metric\n').measures?.text).toBe('metric');
  });

  test('a diameter behind `holes` counts', () => {
    for (const text of ['pattern r circle 6 holes diameter 100 mm\n', 'pattern r 6 holes diameter 100 mm\n'])
      expect(show((read(text).chunks[0]!.item as Declaration).pattern?.diameter)).toBe('100 mm');
  });

  test('codes of the unit count where `for` stands for `applies to`', () => {
    const tree = read('procedure p "P"\n  for DW-40, 40B\n  code plate "Rib"\n  measures metric\npart a\n');
    const { codes, codePlate, measures } = tree.chunks[0]!.item as Head;
    expect([names(codes), codePlate?.value, measures?.text, tree.chunks[0]!.strayStep]).toEqual([
      ['DW-40', '40B'],
      'Rib',
      'metric',
      undefined,
    ]);
    expect(issuesOf(read('procedure p\n  for DW-40\n    remove a\n  end\n'))[0]).toContain(
      'expected a step, found `for`',
    );
  });

  test('a word of a sentence without quotes begins no statement', () => {
    const text = inStep('fill oil to the mark on b\n  fit c');
    expect(statementsOf(read(text)).map(({ kind, lost }) => [kind, names(lost)])).toEqual([
      ['fill', ['the', 'mark', 'on', 'b']],
      ['fit', []],
    ]);
  });

  test('names behind what could be read are left alone', () => {
    const [remove] = statementsOf(read(inStep('remove a x4 using t and u'))) as [Statement];
    expect([remove.name?.text, remove.words, remove.lost?.map(({ text }) => text)]).toEqual([
      'a',
      undefined,
      ['and', 'u'],
    ]);
    expect(read('part b "B" held by a and c\n').chunks[0]!.lostWords).toEqual(['and', 'c']);
  });

  test('names on a line of words without quotes, or with a number in place of a name, are left alone', () => {
    const unsure = (line: string) =>
      statementsOf(read(inStep(line))).flatMap(({ words, lost }) => (words ?? lost ?? []).map(({ text }) => text));
    expect(unsure('inspect b for wear and remove c')).toEqual(['wear', 'and', 'remove', 'c']);
    expect(unsure('fill with 1.8 L of oil')).toEqual(['with', 'L', 'of', 'oil']);
    expect(unsure('fill up with oil 1.8 L')).toEqual(['oil']);
    expect(unsure('remove rod 2')).toEqual(['rod', '2']);
    expect(
      statementsOf(read(inStep('fill 1.8 L oil using u\n  remove b'))).map(({ kind, using }) => [
        kind,
        using?.[0]?.text,
      ]),
    ).toEqual([
      ['fill', 'u'],
      ['remove', undefined],
    ]);
  });

  test('a count that was told of counts', () => {
    for (const text of ['part b 4 "B" renew', 'part b x 4 "B" renew', 'part b "B" 4 renew']) {
      const { count, renew } = read(`${text}\n`).chunks[0]!.item as Declaration;
      expect([text, count?.value, renew && 'renew']).toEqual([text, 4, 'renew']);
    }
  });

  test.each<[string, string]>([
    ['inspect b for scoring', 'for scoring'],
    ['clean b for the sealant or the gasket', 'for the sealant or the gasket'],
    ['check if it turns', 'if it turns'],
    ['clean b for inspection and 2 places', 'for inspection and 2 places'],
  ])('%s: a text without its quotes opens no alternatives', (line, words) => {
    const text = inStep(`${line}\n  fit b`);
    expect(issue(text)).toBe(
      `${words}: expected a text in double quotes, found \`${words.split(' ')[0]}\`: words for the reader stand in quotes; reading went on at the next line`,
    );
    expect(statementsOf(read(text)).map(({ kind, broken }) => [kind, broken])).toEqual([
      [line.split(' ')[0], true],
      ['fit', false],
    ]);
  });

  test('alternatives that are closed may begin anywhere on a line', () => {
    for (const line of ['inspect b for X-1 fit b end', 'inspect b for X-1\n  fit b end', 'fit b if "worn" fit c end'])
      expect(issuesOf(read(inStep(line)))).toEqual([]);
    expect(issue(inStep('inspect b\n  for X-1\n  fit b'))).toContain('expected the `end` of this `for`');
  });

  test('`wait for` waits', () => {
    const [wait, fit] = statementsOf(read(inStep('wait for 20 min "Glue"\n  fit b')));
    expect([show(wait!.amount!), wait!.text?.value, wait!.broken, fit!.kind]).toEqual(['20 min', 'Glue', true, 'fit']);
  });
});

describe('texts', () => {
  test('escapes', () => {
    const s = statement('do "Say \\"stop\\" \\\\ wait # here"');
    expect(s.text?.value).toBe('Say "stop" \\ wait # here');
    expect(spanText(s.text!)).toBe('"Say \\"stop\\" \\\\ wait # here"');
  });

  test.each([
    ['"a \\\\"', 'a \\'],
    ['"a \\"', 'a "'],
    ['"a \\\\\\"', 'a \\"'],
    ['"', ''],
    ['""', ''],
  ])('%s may end with an escaped quote, and lack its own', (text, value) => {
    expect(statement(`do ${text}`).text?.value).toBe(value);
  });

  test('an open text costs its line only', () => {
    const text = 'step s\n  remove a\n  remove b "open using w\n  remove c\n';
    expect(issue(text)).toBe(
      '"open using w: expected a closing `"`, found the end of the line: a text ends on its line; reading went on at the next line',
    );
    expect(statementsOf(read(text)).map((each) => [each.name?.text, each.text?.value])).toEqual([
      ['a', undefined],
      ['b', 'open using w'],
      ['c', undefined],
    ]);
  });

  test('a backslash before the end of the line', () => {
    expect(issue('step s\n  do "a\\\n  fit b')).toContain('expected a closing `"`');
    expect(statementsOf(read('step s\n  do "a\\\n  fit b'))).toHaveLength(2);
  });

  test('at most one, in any place; `keep in` and `see` take their own', () => {
    const s = statement('remove b "One" keep in "bag" see "Fig. 4" x2');
    expect([s.text?.value, s.keep?.value, s.see?.value, s.count?.value]).toEqual(['One', 'bag', 'Fig. 4', 2]);
    const t = statement('remove b see "Fig. 4" keep in "bag" "One"');
    expect([t.text?.value, t.keep?.value, t.see?.value]).toEqual(['One', 'bag', 'Fig. 4']);
    expect(issue('step s\n  remove b "One" "Two"')).toContain('expected one text, found a second: join the two');
  });
});

describe('statements', () => {
  test('tighten', () => {
    const s = statement(
      'tighten b x10 in stages 12 N·m (9 lbf·ft), 25 N·m order 1 5 3 at holes 1, 5 using w extension 60 mm at 45° on 400 mm',
    );
    expect(s.broken).toBe(false);
    expect(s.stages?.map(show)).toEqual(['12 N·m = 9 lbf·ft', '25 N·m']);
    expect([s.order?.form, s.order?.holes.map((hole) => hole.value), s.holes?.map((hole) => hole.value)]).toEqual([
      'list',
      [1, 5, 3],
      [1, 5],
    ]);
    expect([show(s.extension?.length), show(s.extension?.at), show(s.extension?.on)]).toEqual([
      '60 mm',
      '45 °',
      '400 mm',
    ]);
    expect(spans(s, s.stages?.[0], s.order, s.holes?.[1], s.extension)).toEqual([
      'tighten b x10 in stages 12 N·m (9 lbf·ft), 25 N·m order 1 5 3 at holes 1, 5 using w extension 60 mm at 45° on 400 mm',
      '12 N·m (9 lbf·ft)',
      'order 1 5 3',
      '5',
      'extension 60 mm at 45° on 400 mm',
    ]);
    expect(show(statement('tighten b extension 60 mm on 400 mm at 45°').extension?.at)).toBe('45 °');
    const t = statement('tighten b to 40 N·m then 90° order star');
    expect([show(t.to), show(t.angle), t.order?.form]).toEqual(['40 N·m', '90 °', 'star']);
    expect(spanText(statement('tighten b by hand').byHand!)).toBe('by');
  });

  test('`40 in stages` is a number without a unit and stages', () => {
    const s = statement('tighten b to 40 in stages 12 N·m, 40 N·m');
    expect([show(s.to), s.stages?.map(show)]).toEqual(['40 -', ['12 N·m', '40 N·m']]);
  });

  test('shim', () => {
    const s = statement('shim p gap g preload 0.05 ± 0.01 mm from 0.1 mm x2, 0.2 mm see "Fig. 1"');
    expect([s.name?.text, s.gap?.text, s.aim?.kind, show(s.aim?.quantity)]).toEqual([
      'p',
      'g',
      'preload',
      '0.05±0.01 mm',
    ]);
    expect(s.stock?.map((piece) => [show(piece.thickness), piece.count?.value])).toEqual([
      ['0.1 mm', 2],
      ['0.2 mm', undefined],
    ]);
  });

  test('the rest', () => {
    expect(show(statement('measure g limit 0.1..0.2 mm').limit)).toBe('0.1..0.2 mm');
    expect(show(statement('measure g max 0.2 mm').max)).toBe('0.2 mm');
    expect(show(statement('measure g min 0.1 mm').min)).toBe('0.1 mm');
    expect(show(statement('heat p to 120 °C (248 °F)').to)).toBe('120 °C = 248 °F');
    expect(show(statement('press p max 20 kN').max)).toBe('20 kN');
    expect(show(statement('drain oil 1.8 L').amount)).toBe('1.8 L');
    expect(show(statement('wait 60 min "Cure"').amount)).toBe('60 min');
    expect(statement('drain oil').broken).toBe(false);
    expect(spanText(statement('remove p spoiled').spoiled!)).toBe('spoiled');
    expect(statement('transfer p from a to b x2').count?.value).toBe(2);
  });

  test.each([
    ['omit p', 'a text'],
    ['sign', 'a text'],
    ['do', 'a text'],
    ['caution', 'a text'],
    ['wait', 'a time'],
    ['wait "60 min"', 'a time'],
    ['fill oil', 'a quantity'],
    ['heat p', '`to` and a temperature'],
    ['cool p', '`to` and a temperature'],
    ['tighten p then 90°', '`to 40 N·m` before `then`'],
  ])('`%s` lacks %s', (line, missing) => {
    expect(issue(`step s\n  ${line}\n  fit b`)).toContain(`expected ${missing}`);
    expect(statement(line).broken).toBe(true);
    expect(statementsOf(read(`step s\n  ${line}\n  fit b`))[1]?.broken).toBe(false);
  });

  test.each([
    ['remove', 'expected the name of a part behind `remove`'],
    ['swap a', 'expected `for` behind `a`'],
    ['swap a for', 'expected the name of a part behind `for`'],
    ['transfer a from b', 'expected `to` behind `b`'],
    ['tighten a to', 'expected a torque such as `25 N·m` behind `to`'],
    ['tighten a in', 'expected `stages` behind `in`'],
    ['tighten a order', 'expected `star`, `spiral` or hole numbers behind `order`'],
    ['remove a keep', 'expected `in` behind `keep`'],
    ['remove a keep in', 'expected a place in double quotes such as `"bag A"` behind `in`'],
    ['remove a using b,', 'expected the name of a tool behind `,`'],
    ['shim a gap b', 'expected `endplay` or `preload` behind `b`'],
    ['wait 20..', 'expected a number behind `..`'],
    ['fill oil 5 L (2 qt', 'expected `)` behind `qt`'],
  ])('an unfinished `%s`', (line, wanted) => {
    const text = `step s\n  ${line}\n  fit b\n`;
    expect(issue(text)).toContain(`${wanted}, found the end of the line; reading went on at the next line`);
    const [broken, after] = statementsOf(read(text));
    expect([broken!.broken, after!.broken, after!.name?.text]).toEqual([true, false, 'b']);
  });

  test('a count is written with x', () => {
    for (const [line, place, replacement] of [
      ['remove bolt 4', '4', 'x4'],
      ['remove bolt X4', 'X4', 'x4'],
      ['remove bolt x 4', 'x 4', 'x4'],
      ['remove bolt 4x', '4x', 'x4'],
    ] as const) {
      const tree = read(`step s\n  ${line} using w\n  fit b\n`);
      const found = tree.chunks[0]!.issues;
      expect([line, found.length, spanText(found[0]!), found[0]!.replacement]).toEqual([line, 1, place, replacement]);
      expect(found[0]!.message).toContain('a count is written `x4`');
      const [remove, fit] = statementsOf(tree);
      expect([names(remove!.using), names(remove!.words).includes('bolt'), fit!.broken]).toEqual([['w'], true, false]);
    }
    expect(issue('part bolt 4 "Bolt"')).toContain('a count is written `x4`');
    expect(issue('step s\n  remove bolt x0')).toContain('expected a count from 1 to 9999, found `x0`');
  });

  test('hole numbers with hyphens', () => {
    expect(issue('step s\n  tighten b order 1-5-3-7')).toContain('write `1 5 3 7`');
    expect(issue('step s\n  tighten b at holes 1-5')).toContain('write `1, 5`');
  });
});

describe('alternatives', () => {
  test('branches, texts and ends', () => {
    const either = statement('either "Heat" heat p to 90 °C or "Press" press p or fit p end fit q');
    expect(
      either.branches?.map((branch) => [spanText(branch.keyword), branch.text?.value, branch.statements.length]),
    ).toEqual([
      ['either', 'Heat', 1],
      ['or', 'Press', 1],
      ['or', undefined, 1],
    ]);
    expect(spans(either.closing)).toEqual(['end']);
    expect(spanText(either)).toBe('either "Heat" heat p to 90 °C or "Press" press p or fit p end');
    const choice = statement('if "worn" fit p else fit q end');
    expect(choice.branches?.map((branch) => spanText(branch.keyword))).toEqual(['if', 'else']);
    const codes = statement('for DW-40B, 40 fit p end');
    expect([names(codes.codes), codes.branches?.[0]?.statements.length]).toEqual([['DW-40B', '40'], 1]);
  });

  test.each([
    ['end', 'found `end`: it closes nothing'],
    ['or', 'expected an open `either` before it, found `or`'],
    ['else', 'expected an open `if` before it, found `else`'],
    [
      'either "On"\n fit b\n end',
      'expected the `or` of this `either`, found its `end`: write `or` and the other way above it',
    ],
    ['for A\n else\n end', 'expected an open `if` before it, found `else`'],
    ['if "a"\n fit b\n else\n fit b\n else\n fit b\n end', 'expected an open `if` before it, found `else`'],
    ['if\n fit b\n end', 'expected a condition in double quotes such as `"the teeth are worn"` behind `if`'],
    ['for\n fit b\n end', 'expected a code such as `DW-40` behind `for`'],
  ])('%j', (lines, wanted) => {
    const text = `step s\n fit a\n ${lines}\n fit c\n`;
    expect(issue(text)).toContain(wanted);
    const all = stepsOf(read(text))[0]!.statements;
    expect([all[0]!.broken, all.at(-1)!.name?.text, all.at(-1)!.broken]).toEqual([false, 'c', false]);
  });

  test('a word before a text that is not closed takes no quote', () => {
    expect(issuesOf(read('step s\n  remove a gently "Lift it\n')).map((each) => each.split(';')[0])).toEqual([
      'gently: expected a clause of `remove` or a statement, found `gently`: a text stands in double quotes',
      '"Lift it: expected a closing `"`, found the end of the line: a text ends on its line',
    ]);
  });

  test.each([
    ['part b Cover of the drain" behind a', 'Cover'],
    ['part b x2 Shim and support" hazard weight', 'Shim'],
    ['supply oil Gear oil" 1.8 L spec "ISO VG 220"', 'Gear'],
    ['procedure p Remove the part" applies to A-1', 'Remove'],
    ['use common/parts.fettle"', 'common'],
    ['step s Open and drain the lid" takes 5 min\n    remove a', 'Open'],
    ['step s\n    danger Live wires kill. Lock off the supply and prove it."\n    remove a', 'Live'],
    ['step s\n    fit new a Mark on the inner side" see "Sheet 2"\n    remove a', 'Mark'],
    ['step s\n    wait 12 h Keep above 15 °C"\n    remove a', 'Keep'],
  ])('a text whose opening quote is missing costs its line only: %j', (text, first) => {
    const tree = read(`part a\n${text}\npart z`);
    expect(issuesOf(tree)).toHaveLength(1);
    expect(issuesOf(tree)[0]).toMatch(`${first}: expected`);
    expect(issuesOf(tree)[0]).toMatch('the quote before the text is missing');
    expect(tree.chunks.map(({ item, strayStep }) => [item?.kind, strayStep])).toEqual([
      ['part', undefined],
      [/^[a-z]+/.exec(text)![0], undefined],
      ['part', undefined],
    ]);
    const last = stepsOf(tree)[0]?.statements.at(-1);
    if (last !== undefined) expect([last.kind, last.name?.text, last.broken]).toEqual(['remove', 'a', false]);
  });

  test('a missing quote does not have the line below it told of twice', () => {
    expect(
      issuesOf(read('step s\n  remove a Lift it"\n  // fit it later\n')).map((each) => each.split(';')[0]),
    ).toEqual([
      'Lift: expected a clause of `remove` or a statement, found `Lift`: the quote before the text is missing',
      '//: expected a statement, found `/`: a comment begins with `#`',
    ]);
  });

  test('a word near to `swap` takes no `for` from the next line', () => {
    expect(issuesOf(read('step s\n  swab a\n  for A-1\n    fit b\n  end\n'))).toHaveLength(1);
  });

  test('a missing `end` is told at the block; the next step is its own', () => {
    const text = 'step s\n  either "a"\n    fit b\n  or "b"\n    fit c\nstep t\n  fit d\n';
    expect(issue(text)).toBe(
      'either: expected the `end` of this `either`, found none before the step ends: write `end` behind its last statement; reading went on as if it stood there',
    );
    const [s, t] = stepsOf(read(text));
    expect([spanText(s!.statements[0]!), s!.statements[0]!.broken]).toEqual([
      'either "a"\n    fit b\n  or "b"\n    fit c',
      true,
    ]);
    expect(t!.statements[0]!.broken).toBe(false);
  });

  test('an inner `end` that is missing costs the inner block only', () => {
    const text = 'step s\n either "a"\n  if "b"\n   fit b\n or "c"\n  fit c\n end\n fit d\n';
    expect(issue(text)).toMatch(/^if: expected the `end` of this `if`, found none before `or`/);
    const [either, d] = stepsOf(read(text))[0]!.statements;
    expect([either!.branches?.length, either!.broken, d!.name?.text]).toEqual([2, false, 'd']);
  });

  test('a block around a step is told of once, with where it belongs', () => {
    const [first] = issuesOf(read('teardown\n  for A-1\n  step s\n    remove b\n'));
    expect(first).toContain('it holds statements of one step, write it below the line of that step');
    expect(issuesOf(read('teardown\n  for A-1\n  step s\n    remove b\n'))).toHaveLength(1);
  });

  test(`nesting ends at ${maxNesting}`, () => {
    const deep = maxNesting + 3;
    const tree = read(`step s\n${'if "a"\n'.repeat(deep)}fit b\n${'end\n'.repeat(deep)}fit c\n`);
    expect(issuesOf(tree)).toHaveLength(3);
    expect(stepsOf(tree)[0]!.statements.map((each) => each.kind)).toEqual(['if', 'fit']);
    expect(stepsOf(tree)[0]!.statements[0]!.closing).toBeDefined();
  });
});

describe('recovery', () => {
  test('a misspelt statement is one unknown statement', () => {
    const text = 'step s\n  remove a\n  remvoe bolt x4 using w\n  fit b\n';
    const tree = read(text);
    expect(issuesOf(tree)).toEqual([
      'remvoe: expected a statement, found `remvoe`: perhaps `remove` was meant; reading went on at the next line',
    ]);
    const [, unknown] = statementsOf(tree);
    expect([unknown!.kind, spanText(unknown!), names(unknown!.words), statementsOf(tree).length]).toEqual([
      'unknown',
      'remvoe bolt x4 using w',
      ['remvoe', 'bolt', 'x4', 'using', 'w'],
      3,
    ]);
  });

  test.each(['<<<<<<< a\n    remove b\n=======\n    remove c\n>>>>>>> b\n', '    remove b Lift it"\n'])(
    'many of %j take no longer each',
    (line) => {
      const cost = (times: number): number => operations(() => read(`step s\n${line.repeat(times)}`)) / times;
      expect(cost(800)).toBeLessThan(1.5 * cost(100));
    },
  );

  test('a value that is missing at the end of a line costs what stands below nothing', () => {
    const [head] = read('procedure u\n  applies to\n  code plate "On the rib"\n  measures metric\n').chunks;
    expect(issuesOf({ chunks: [head!] } as never)).toEqual([
      expect.stringContaining('expected a code such as `DW-40` behind `to`, found the end of the line'),
    ]);
    expect(head!.item).toMatchObject({ codes: [], codePlate: { value: 'On the rib' }, measures: { text: 'metric' } });
    const lid = read('part lid torque\n  class 8.8\n');
    expect(issuesOf(lid)).toEqual([expect.stringContaining('behind `torque`, found the end of the line')]);
    expect(lid.chunks[0]!.item).toMatchObject({ propertyClass: { value: 8.8 } });
  });

  test('a misspelt declaration keeps its words', () => {
    const tree = read('part a\nprat bolt x4 torque 25 N·m\npart c\n');
    expect(tree.chunks.map((chunk) => chunk.item?.kind)).toEqual(['part', 'part']);
    expect(tree.chunks[0]!.lostWords).toContain('bolt');
    expect(issuesOf(tree)[0]).toContain('perhaps `part` was meant');
  });

  const garbage = [
    'remvoe bolt',
    'bolt',
    '4711',
    '"a text of its own"',
    '!!',
    ')',
    ', a',
    '.. 5',
    'to 40 N·m',
    'stages 5 N·m',
    'renew',
    'takes 5 min',
    'foo after',
    'foo hazard',
    'foo with',
    'foo, bar, ',
    'foo "open',
    'foo 25',
    'foo 25 zorks',
    'foo 1,8',
    'foo (',
    '° C',
    'N·m',
    'foo step-1 x4 part-2',
  ];
  const lines = contract.replace(/ +#.*/g, '').trimEnd().split('\n');
  test.each(garbage)('the line %j costs itself only', (line) => {
    for (let at = 0; at <= lines.length; at++) {
      const tree = read([...lines.slice(0, at), line, ...lines.slice(at)].join('\n'));
      // A line such as `takes 5 min` goes on with the line above where it may.
      if (tree.chunks.every((chunk) => chunk.issues.length === 0)) continue;
      const wanted = read(lines.join('\n'));
      for (const chunk of tree.chunks) {
        expect(chunk.issues.every((each) => offsetsOf(tree, each).start >= lines.slice(0, at).join('\n').length)).toBe(
          true,
        );
      }
      const without = (node: unknown): unknown => plain(node, ['start', 'end', 'keyword']);
      const good = (from: typeof tree): unknown[] => [
        ...from.chunks
          .map((chunk) => (chunk.item?.kind === 'step' ? undefined : chunk.item))
          .filter((item) => item && 'keyword' in item)
          .map(without),
        ...stepsOf(from)
          .filter((step) => step.keyword)
          .map((step) => without({ ...step, statements: [] })),
        ...statementsOf(from)
          .filter((each) => each.kind !== 'unknown')
          .map(without),
      ];
      expect([at, line, good(tree)]).toEqual([at, line, good(wanted)]);
      expect(tree.chunks.reduce((sum, chunk) => sum + chunk.issues.length, 0)).toBe(1);
    }
  });

  test.each([
    ['step', 'step t\n  fit b'],
    ['phase', 'reassembly\n  step t\n  fit b'],
    ['declaration', 'part q x4\nstep t\n  fit b'],
  ])('a %s closes what is open', (_, next) => {
    for (const open of [
      'either "x"',
      'if "y"',
      'remove',
      'remove a using',
      'tighten a in stages 5 N·m,',
      'swap a for',
      'do "x',
    ]) {
      const alone = shape(read(`${next}\n`)) as object[];
      const after = shape(read(`step s\n  ${open}\n${next}\n`)) as object[];
      expect([open, after.slice(1)]).toEqual([open, alone]);
    }
  });

  test('a step without its name', () => {
    for (const next of ['remove bolt x4', 'wait 60 min', 'fit new b', 'part b', 'step t', 'step t "T"']) {
      const text = `step\n  ${next}\n`;
      expect(issue(text)).toContain('expected a name such as `drain-oil` behind `step`, found the end of the line');
    }
    const tree = read('teardown\nstep\nreassembly\nstep t\n');
    expect(tree.chunks.map((chunk) => chunk.item?.kind)).toEqual(['teardown', 'step', 'reassembly', 'step']);
    expect(stepsOf(read('step s after\n  remove bolt\n'))[0]!.statements).toHaveLength(1);
  });

  test('what stands outside a step is kept and told of once', () => {
    const text = 'part a\nremove a\nfit a\nteardown\n  remove a\n';
    const tree = read(text);
    expect(issuesOf(tree).map((each) => each.slice(0, 30))).toEqual([
      'remove: expected a step, found',
      'remove: expected a step, found',
    ]);
    expect(tree.chunks.map((chunk) => chunk.strayStep?.statements.length)).toEqual([2, 1]);
    expect(stepsOf(read('remove a\nfit a\n'))[0]!.statements).toHaveLength(2);
  });

  test('a clause that does not belong', () => {
    expect(issue('step s\n  remove a to 40 N·m using w\n')).toBe(
      'to: expected a clause of `remove` or a statement, found `to`: `to` does not belong to `remove`, take it out; reading went on behind it',
    );
    expect(issue('step s\n  remove a foo using w\n')).toBe(
      'foo: expected a clause of `remove` or a statement, found `foo`: a text stands in double quotes; reading went on at `using`',
    );
    expect(issue('step s\n  remove a usign w\n')).toContain('perhaps `using` was meant');
    expect(issue('step s\n  tighten a ordre star\n')).toContain('perhaps `order` was meant');
    expect(issue('part a tourque 25 N·m index')).toContain('perhaps `torque` was meant');
    expect(issue('procedure p measures furlongs')).toContain('expected `metric` or `imperial`, found `furlongs`');
    expect(issue('part a hazard heet')).toContain('expected a hazard, found `heet`: perhaps `heat` was meant');
    expect(issue('part a head hex')).toContain(
      'expected the head of a bolt or nut, found `hex`: perhaps `hexagon` was meant',
    );
    expect(issue('part a head pan')).toContain('write one of hexagon, socket, flange');
    expect(issue('teardown foo\n step a')).toContain('expected a step, found `foo`');
  });

  test('what is understood of a broken statement is kept, and its words where it is not', () => {
    const [first, second] = statementsOf(read('step s\n  remove a x2 ! using w\n  swap a ! b using w\n'));
    expect([first!.broken, first!.name?.text, first!.count?.value, names(first!.using), first!.words]).toEqual([
      true,
      'a',
      2,
      ['w'],
      undefined,
    ]);
    expect([second!.broken, names(second!.words), names(second!.using)]).toEqual([
      true,
      ['a', 'b', 'using', 'w'],
      ['w'],
    ]);
  });
});

describe('comments', () => {
  test('whose they are, and whether they stand alone', () => {
    const tree = read('# head\npart a # behind\n  # own\n# next\npart b\n# last');
    expect(tree.chunks.map((chunk) => chunk.comments.map((each) => [each.text, each.ownLine]))).toEqual([
      [
        ['# head', true],
        ['# behind', false],
      ],
      [
        ['# own', true],
        ['# next', true],
        ['# last', true],
      ],
    ]);
    expect(tree.chunks.map((chunk) => spanText(chunk.comments[0]!))).toEqual(['# head', '# own']);
  });
});

test('a word behind a text whose `either` was forgotten is a line of that branch', () => {
  const [fit, either] = stepsOf(read('step s\n  fit "\n  "one way" drain\n  or "other" end\n'))[0]!.statements;
  expect([fit?.kind, either?.kind]).toEqual(['fit', 'either']);
  const [first] = either!.branches!;
  expect(first!.statements.map(({ kind, words }) => [kind, words?.map(({ text }) => text)])).toEqual([
    ['unknown', ['drain']],
  ]);
});
