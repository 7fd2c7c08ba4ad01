import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { plugsOf } from '../../server/src/checks/drain-open.ts';
import { gapTwice } from '../../server/src/checks/gap-twice.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { mentionsOf } from '../../server/src/model/mentions.ts';
import { bind } from '../../server/src/model/model.ts';
import { operations } from '../operations.ts';

function costOfJudging(text: string): number {
  const model = bind(parse('test.fettle', text));
  return operations(() => judge(model));
}

/** A procedure of `n` rounds in which everything that the ledger knows happens. */
function procedure(n: number): string {
  const declarations: string[] = [];
  const off: string[] = [];
  const back: string[] = [];
  for (let i = 0; i < n; i++) {
    declarations.push(
      `part bolt${i} x4 "Bolt" thread M8 class 8.8 torque 25 N·m`,
      `part cover${i} "Cover" held by bolt${i}`,
      `part drum${i} "Drum" behind cover${i}`,
      `part spare${i} "Spare drum"`,
      `part wheel${i} x2 "Wheel" carried by drum${i}`,
      `part seal${i} "Seal" renew behind cover${i}`,
    );
    off.push(
      `step open${i} takes 5 min`,
      `loosen bolt${i}`,
      `remove bolt${i}`,
      `remove cover${i}`,
      `remove seal${i}`,
      `remove drum${i}`,
      `drain oil 1 L`,
      `swap drum${i} for spare${i}`,
      `transfer wheel${i} from drum${i} to spare${i}`,
      'if "worn"',
      `discard seal${i}`,
      'else',
      `discard seal${i}`,
      'end',
    );
    back.push(
      `step close${i} takes 5 min`,
      `apply sealant to cover${i}`,
      `fit spare${i}`,
      `fit new seal${i}`,
      'either',
      `fit cover${i}`,
      `fit bolt${i}`,
      'or',
      `fit cover${i}`,
      `fit bolt${i}`,
      'end',
      `tighten bolt${i} in stages 12 N·m, 25 N·m order star`,
      'wait 60 min',
      'fill oil 1 L',
    );
  }
  return [
    'supply oil',
    'supply sealant cure 60 min',
    ...declarations,
    'teardown',
    ...off,
    'reassembly',
    ...back,
    '',
  ].join('\n');
}

describe('work grows with the text, not with its square', () => {
  const modelOf = (n: number): ReturnType<typeof bind> => bind(parse('test.fettle', procedure(n)));
  const counted = (work: (model: ReturnType<typeof bind>) => void, n: number): number => {
    const model = modelOf(n);
    return operations(() => work(model));
  };

  test('the procedure is clean', () => {
    const codes = judge(modelOf(3)).findings.map(({ code }) => code);
    expect(codes).toEqual([]);
  });

  test.each([
    ['the replay', replay],
    ['the replay and all checks', judge],
  ] as [string, (model: ReturnType<typeof bind>) => void][])('%s', (_, work) => {
    const small = counted(work, 50);
    const great = counted(work, 200);
    expect(small).toBeGreaterThan(50);
    expect(great / small).toBeLessThan(4.4);
  });

  test('cures that are never loaded, fills of one supply, swaps of one part after another', () => {
    const chain = (n: number): string =>
      [
        'part cover "Cover"',
        'supply oil',
        'supply sealant cure 60 min',
        ...Array.from({ length: n }, (_, i) => `part drum${i} "Drum"`),
        'teardown',
        'step one',
        'remove drum0',
        ...Array.from({ length: n - 1 }, (_, i) => `swap drum${i} for drum${i + 1}`),
        ...Array.from({ length: n }, () => 'fill oil 1 L'),
        ...Array.from({ length: n }, (_, i) => `step s${i} takes 1 min\napply sealant to cover`),
        '',
      ].join('\n');
    const cost = (n: number): number => {
      const model = bind(parse('test.fettle', chain(n)));
      return operations(() => replay(model));
    };
    expect(cost(800) / cost(200)).toBeLessThan(4.4);
  });

  test.each([
    ['misspelt names', (i: number) => `part gear-wheel-${i} "Wheel"`, (i: number) => `clean gear-wheel-${i}q`, 1000],
    ['one misspelt name', (i: number) => `part gear-wheel-${i} "Wheel"`, () => 'clean gear-wheel-q', 100],
    [
      'unknown names, each with a word behind it',
      (i: number) => `part p${i} "P"`,
      (i: number) => `clean c${i} using t${i}`,
      1000,
    ],
    ['loops through all parts above', (i: number) => `part p${i} "P" behind p${i + 1}, p0`, () => '', 100],
  ])('%s', (_, declaration, statement, n) => {
    const text = (size: number): string =>
      [
        ...Array.from({ length: size }, (_, i) => declaration(i)),
        'teardown',
        'step s',
        ...Array.from({ length: size }, (_, i) => statement(i)),
        '',
      ].join('\n');
    expect(costOfJudging(text(4 * n)) / costOfJudging(text(n))).toBeLessThan(4.4);
  });

  test.each<[what: string, heated: (n: number) => readonly string[], declared: (n: number) => readonly string[]]>([
    [
      'with riders that stand the heat',
      (n) => Array.from({ length: n }, () => 'heat hub to 90 °C'),
      (n) => Array.from({ length: n }, (_, i) => `part p${i} "Part" limit 100 °C carried by hub`),
    ],
    [
      'at the end of a chain of carriers',
      () => ['heat hub to 90 °C'],
      (n) => [
        ...Array.from({ length: n }, (_, i) => `part p${i} "Part" carried by ${i === 0 ? 'hub' : `p${i - 1}`}`),
        `part seal "Seal" limit 80 °C carried by p${n - 1}`,
      ],
    ],
  ])('one part heated again and again, %s', (_, heated, declared) => {
    const text = (n: number): string =>
      ['part hub "Hub"', ...declared(n), 'teardown', 'step s', ...heated(n), ''].join('\n');
    expect(costOfJudging(text(400)) / costOfJudging(text(100))).toBeLessThan(4.4);
  });

  test('bearings by the thousand on what is heated past their limit as often: each heating is told of, and findings stay as many', () => {
    const n = 1200;
    const text = [
      'part hub "Hub"',
      ...Array.from({ length: n }, (_, i) => `part p${i} "Bearing" limit 80 °C carried by hub`),
      'teardown',
      'step s',
      ...Array.from({ length: n }, () => 'heat hub to 90 °C'),
      '',
    ].join('\n');
    const model = bind(parse('test.fettle', text));
    const told = judge(model).findings.filter(({ code }) => code === 'too-hot');
    expect(new Set(told.map(({ span }) => span.start)).size).toBe(n);
    expect(told.length).toBeLessThan(3 * n);
  });

  test('statements by the thousand that cannot be read, with names that nothing else says', () => {
    const cost = (n: number): number => {
      const each = (line: (i: number) => string): string[] => Array.from({ length: n }, (_, i) => line(i));
      const lines = ['teardown', 'step s', ...each((i) => `remove p${i} near q${i}`), ''];
      const { chunks } = parse('test.fettle', lines.join('\n'));
      const step = chunks.find(({ item }) => item?.kind === 'step')!;
      return operations(() => expect(mentionsOf(step).unread.length).toBeGreaterThanOrEqual(n));
    };
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test('bolts that hold thousands of parts, tightened as often with no order', () => {
    const text = (n: number): string => {
      const each = (line: (i: number) => string): string[] => Array.from({ length: n }, (_, i) => line(i));
      return [
        'part bolt x6 "Bolt"',
        ...each((i) => `part p${i} x6 "Part" held by bolt`),
        'teardown',
        'step s',
        ...each(() => 'loosen bolt\ntighten bolt to 20 N·m'),
        '',
      ].join('\n');
    };
    expect(costOfJudging(text(400)) / costOfJudging(text(100))).toBeLessThan(4.4);
  });

  test('bolts of two lengths by the thousand, kept in one place, with paste on each', () => {
    const text = (n: number): string => {
      const each = (line: (i: number) => string): string[] => Array.from({ length: n }, (_, i) => line(i));
      return [
        'supply slick "Anti-seize paste"',
        ...each((i) => `part b${i} "Bolt" thread M8 class 8.8 length ${30 + 10 * (i % 2)} mm torque 20 N·m`),
        'teardown',
        'step s',
        ...each((i) => `remove b${i} keep in "tray"`),
        ...each((i) => (i % 3 === 0 ? `discard b${i}` : '')),
        'reassembly',
        'step t',
        ...each((i) => `apply slick to b${i}`),
        ...each((i) => `fit b${i}`),
        '',
      ].join('\n');
    };
    expect(costOfJudging(text(400)) / costOfJudging(text(100))).toBeLessThan(4.4);
  });

  test('what sits on thousands of carriers and gets too hot with the last is told in short', () => {
    const n = 20_000;
    const text = [
      'part hub "Hub"',
      ...Array.from({ length: n }, (_, i) => `part p${i} "Part" carried by ${i === 0 ? 'hub' : `p${i - 1}`}`),
      `part seal "Seal" limit 80 °C carried by p${n - 1}`,
      'teardown',
      '  step s',
      '    heat hub to 90 °C',
      '',
    ].join('\n');
    const told = judge(bind(parse('test.fettle', text))).findings.filter(({ code }) => code === 'too-hot');
    expect(told.map(({ message }) => message)).toEqual([
      expect.stringContaining(
        '`seal` sits on `p19999`, that on `p19998`, that on `p19997`, that in the end on `hub` and is heated with it',
      ),
    ]);
  });

  test('branches of one block, each about a part and a fluid of its own', () => {
    const block = (n: number): string =>
      [
        ...Array.from({ length: n }, (_, i) => `part p${i} "P"\nsupply s${i} "S"`),
        'teardown',
        'step s',
        'either',
        ...Array.from({ length: n }, (_, i) => `remove p${i}\ndrain s${i}\n${i < n - 1 ? 'or' : 'end'}`),
        '',
      ].join('\n');
    const cost = (n: number): number => {
      const model = bind(parse('test.fettle', block(n)));
      return operations(() => judge(model));
    };
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test.each([
    ['one stack again and again', () => 'shim pack gap play endplay 0.1..0.2 mm from 0.1 mm'],
    [
      'stacks by turns with the reading',
      (i: number) => `measure play limit 0.2..0.5 mm\nshim pack${i} gap play endplay 0.1..0.2 mm from 0.1 mm`,
    ],
  ])('%s, chosen from one reading', (_, line) => {
    const cost = (n: number): number => {
      const lines = Array.from({ length: n }, (_, i) => line(i));
      const declared = Array.from({ length: n }, (_, i) => `part pack${i} "Shims"`);
      const text = [
        'part pack "Shims"',
        ...declared,
        'reassembly',
        'step s',
        'measure play limit 0.2..0.5 mm',
        ...lines,
        '',
      ];
      const model = bind(parse('test.fettle', text.join('\n')));
      const ledger = replay(model);
      return operations(() => [...gapTwice.run({ model, ledger, settings: defaultSettings })]);
    };
    expect(cost(1600) / cost(400)).toBeLessThan(4.6);
  });

  test('what thousands of applications of one supply lack at each of thousands of loadings', () => {
    const n = 1000;
    const text = [
      'part cover "Cover"',
      'supply oil',
      'supply sealant cure 60 h',
      'reassembly',
      'step s',
      ...Array.from({ length: n }, () => 'wait 1 min\napply sealant to cover'),
      'either',
      ...Array.from({ length: n }, (_, i) => `fill oil\n${i < n - 1 ? 'or' : 'end'}`),
      '',
    ].join('\n');
    const { ledger, findings } = judge(bind(parse('test.fettle', text)));
    expect(ledger.variants[0]!.earlyLoads.length).toBeLessThan(12 * n);
    const early = findings.filter(({ code }) => code === 'not-cured');
    expect(early).toHaveLength(n);
    expect(new Set(early.map(({ message }) => message)).size).toBe(1);
  });

  test('a part fitted while thousands that never came off hold it, again and again', () => {
    const text = (n: number): string =>
      [
        ...Array.from({ length: n }, (_, i) => `part b${i} "Bolt"\npart c${i} "Cover" held by b${i}`),
        'teardown',
        'step s',
        ...Array.from({ length: n }, (_, i) => `remove c${i}`),
        'reassembly',
        'step t',
        ...Array.from({ length: n }, (_, i) => `fit c${i}`),
        '',
      ].join('\n');
    expect(costOfJudging(text(400)) / costOfJudging(text(100))).toBeLessThan(4.4);
  });

  test.each(['held by', 'behind'])('a cover %s all of a chain of parts, each swapped for the next', (how) => {
    const text = (n: number): string =>
      [
        `part cover "Cover" ${how} ${Array.from({ length: n }, (_, i) => `drum${i}`).join(', ')}`,
        ...Array.from({ length: n }, (_, i) => `part drum${i} "Drum"`),
        'teardown',
        'step s',
        'remove drum0',
        ...Array.from({ length: n - 1 }, (_, i) => `swap drum${i} for drum${i + 1}`),
        'remove cover',
        '',
      ].join('\n');
    const cost = (n: number): number => {
      const model = bind(parse('test.fettle', text(n)));
      return operations(() => replay(model));
    };
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test.each<[what: string, text: (n: number) => string]>([
    [
      '`held by` again and again in one declaration',
      (n) => ['part cover "Cover"', ...Array.from({ length: n }, (_, i) => `held by bolt${i}`), ''].join('\n'),
    ],
    [
      '`behind` again and again in one declaration',
      (n) => ['part cover "Cover"', ...Array.from({ length: n }, (_, i) => `behind p${i}`), ''].join('\n'),
    ],
    [
      '`using` again and again in one statement',
      (n) => ['teardown', 'step s', 'remove p', ...Array.from({ length: n }, (_, i) => `using t${i}`), ''].join('\n'),
    ],
    ['angles without commas', (n) => `pattern p circle angles ${Array.from({ length: n }, () => '9°').join(' ')}\n`],
  ])('reading: %s', (_, text) => {
    const cost = (n: number): number => operations(() => parse('test.fettle', text(n)));
    // The grammar is made ready with the first text that needs it.
    cost(2);
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test('files that are used', () => {
    const cost = (n: number): number => {
      const tree = parse('file:///test.fettle', Array.from({ length: n }, (_, i) => `use "f${i}.fettle"\n`).join(''));
      const used = new Map(tree.chunks.map((_, i) => [`f${i}.fettle`, parse(`file:///f${i}.fettle`, '')]));
      return operations(() => bind(tree, (path) => used.get(path) ?? { missing: true }));
    };
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test('fluids that only came in to flush, beside others', () => {
    const text = (n: number): string => {
      const each = (line: (i: number) => string): string[] => Array.from({ length: n }, (_, i) => line(i));
      return [
        ...each((i) => `supply flush${i} "Flushing oil"\nsupply oil${i} "Oil"`),
        'teardown',
        'step s',
        ...each((i) => `fill flush${i} 1 L`),
        ...each((i) => `fill oil${i} 1 L`),
        ...each((i) => `drain flush${i}`),
        '',
      ].join('\n');
    };
    const cost = (n: number): number => {
      const model = bind(parse('test.fettle', text(n)));
      return operations(() => judge(model));
    };
    expect(cost(200) / cost(50)).toBeLessThan(4.4);
  });

  test('fluids by the thousand, each drained by a plug that shares a word with all of them', () => {
    const text = (n: number): string => {
      const each = (line: (i: number) => string): string[] => Array.from({ length: n }, (_, i) => line(i));
      return [
        ...each((i) => `supply oil${i} "Oil ${i}"\npart plug${i} "Drain plug of the oil"`),
        'teardown',
        ...each((i) => `step off${i}\nremove plug${i}\ndrain oil${i}`),
        'reassembly',
        ...each((i) => `step on${i}\nfill oil${i} 1 L\nfit plug${i}`),
        '',
      ].join('\n');
    };
    const cost = (n: number): number => {
      const model = bind(parse('test.fettle', text(n)));
      return operations(() => plugsOf(model));
    };
    expect(cost(400) / cost(100)).toBeLessThan(4.4);
  });

  test('an assembly of which all was stripped and goes back as one', () => {
    const text = (n: number): string => {
      const parts = Array.from({ length: n }, (_, i) => `p${i}`);
      return [
        'part frame "Frame"',
        ...parts.map((part) => `part ${part} "P"`),
        'teardown',
        'step s',
        `remove frame with ${parts.join(', ')}`,
        ...parts.map((part) => `remove ${part}`),
        'reassembly',
        'step t',
        `fit frame with ${parts.join(', ')}`,
        '',
      ].join('\n');
    };
    expect(costOfJudging(text(400)) / costOfJudging(text(100))).toBeLessThan(4.4);
  });

  test('a part on a chain of as many carriers as a file may list', () => {
    const n = 20_000;
    const text = [
      'part cover "Cover"',
      ...Array.from({ length: n }, (_, i) => `part p${i} "Part" carried by p${i + 1}`),
      `part p${n} "Part" behind cover`,
      'teardown',
      '  step s',
      '    discard p0',
      '    remove p0',
      '',
    ].join('\n');
    const [discard, remove] = replay(bind(parse('test.fettle', text))).variants[0]!.entries.flatMap(
      ({ actions }) => actions,
    );
    expect(discard!.available).toBe(0);
    expect(remove!.covers.map(({ part }) => part)).toEqual(['cover']);
  });

  test('what sits behind a part on such a chain', () => {
    const n = 20_000;
    const text = [
      'part spring "Spring" behind p0',
      ...Array.from({ length: n }, (_, i) => `part p${i} "Part" carried by p${i + 1}`),
      `part p${n} "Part"`,
      'teardown',
      '  step s',
      '    remove spring',
      `    remove p${n}`,
      '    remove spring',
      '',
    ].join('\n');
    const removals = replay(bind(parse('test.fettle', text))).variants[0]!.entries.flatMap(({ actions }) => actions);
    expect(removals[0]!.covers.map(({ part }) => part)).toEqual(['p0']);
    const again = text.replace('    remove spring\n', '');
    const [, spring] = replay(bind(parse('test.fettle', again))).variants[0]!.entries.flatMap(({ actions }) => actions);
    expect(spring!.covers).toEqual([]);
  });
});
