import fc from 'fast-check';
import { describe, expect, test, vi } from 'vitest';
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { type Chunk, offsetsOf, type Span, type SyntaxTree } from '../../grammar/syntax.ts';
import { actionsThat } from '../../server/src/checks/actions.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { stepsAsking } from '../../server/src/ledger/asking.ts';
import { type Ledger, replay, toldApart } from '../../server/src/ledger/ledger.ts';
import { bind, type Model, type Resolve } from '../../server/src/model/model.ts';
import { chunksNaming } from '../../server/src/model/occurrences.ts';
import { Table } from '../../server/src/model/table.ts';
import { trail } from '../../server/src/outputs/trail.ts';
import { procedureOf } from '../bench/procedures.ts';
import { edit, mutated, placed, procedureText } from '../fuzz/generate.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);
const uri = 'file:///unit.fettle';

/** All that follows from a text. */
interface Result {
  readonly tree: SyntaxTree;
  readonly model: Model;
  readonly judged: Judged;
}

function fresh(text: string, resolve?: Resolve): Result {
  const tree = parse(uri, text);
  const model = bind(tree, resolve);
  return { tree, model, judged: judge(model) };
}

function after(before: Result, change: Change | undefined, resolve?: Resolve): Result {
  const tree = change === undefined ? before.tree : reparse(before.tree, change);
  return from(before.model, before.judged.ledger, tree, resolve);
}

function from(earlier: Model, ledger: Ledger, tree: SyntaxTree, resolve?: Resolve): Result {
  const model = bind(tree, resolve, earlier);
  return { tree, model, judged: judge(model, defaultSettings, replay(model, ledger), ledger) };
}

/** `value` as plain data: each node of the tree by its place in the text, maps and sets sorted. */
function plain(value: unknown, trees: readonly SyntaxTree[]): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (value instanceof Map || value instanceof Table)
    return [...value]
      .map((pair) => plain(pair, trees))
      .sort((a, b) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1));
  if (value instanceof Set) return [...value].sort();
  if (Array.isArray(value)) return value.map((each) => plain(each, trees));
  if ('lostWords' in value && 'uri' in value) {
    const { uri, text } = value as Chunk;
    return `${uri} ${text}`;
  }
  if ('chunk' in value) {
    const tree = trees.find(({ uri }) => uri === (value as Span).chunk.uri)!;
    const { start, end } = offsetsOf(tree, value as Span);
    const { kind = '' } = value as { kind?: string };
    return `${tree === trees[0] ? '' : `${tree.uri} `}${kind} ${start}-${end}`;
  }
  return Object.fromEntries(
    Object.entries(value)
      .filter(([key, each]) => each !== undefined && !['model', 'records', 'tree', 'files', 'targets'].includes(key))
      .map(([key, each]) => [key, plain(each, trees)]),
  );
}

/** What is picked of the actions. */
const pickedIn = ({ variants }: Ledger): unknown =>
  variants.map((variant) => (['remove', 'fit', 'tighten'] as const).map((verb) => actionsThat(variant, verb)));

/** Where each word that stands in the text is named, and which steps asked about it. */
function whereabouts(tree: SyntaxTree, { variants }: Ledger): unknown {
  const words = new Set(tree.text.match(/[\p{L}\p{N}_-]+/gu) ?? []);
  const sorted = (places: readonly number[]): number[] => places.toSorted((a, b) => a - b);
  return [...words].map((word) => [
    word,
    sorted(chunksNaming(tree, word)),
    ...variants.map((variant) => sorted(stepsAsking(variant, word))),
  ]);
}

/** Names in the order in which each table lists them: what is offered for an unknown name goes by it. */
const listed = (
  { parts, tools, supplies, patterns, stepNames, readings }: Model,
  { variants }: Ledger,
): readonly string[][] =>
  [
    ...[parts, tools, supplies, patterns, stepNames, readings],
    ...variants.flatMap(({ initial, final }) => [initial, final]),
  ].map((table) => [...table.keys()]);

function expectSame(now: Result, resolve?: Resolve): void {
  const again = fresh(now.tree.text, resolve);
  const whole = ({ tree, model, judged }: Result) => {
    const trees = model.files;
    const [, ...rest] = [tree.starts, ...tree.chunks.map(({ text, issues }) => plain({ text, issues }, trees))];
    return {
      starts: tree.starts,
      chunks: rest,
      model: plain(model, trees),
      ledger: plain(judged.ledger, trees),
      findings: plain(judged.findings, trees),
      allowed: plain(judged.allowed, trees),
      toldApart: toldApart(judged.ledger.variants).length,
      listed: listed(model, judged.ledger),
      whereabouts: whereabouts(tree, judged.ledger),
      picked: plain(pickedIn(judged.ledger), trees),
      trails: judged.ledger.variants.map((variant) =>
        [variant.entries.length >> 1, variant.entries.length].map((at) => plain(trail(model, variant, at), trees)),
      ),
    };
  };
  const mine = whole(now);
  const should = whole(again);
  if (JSON.stringify(mine) !== JSON.stringify(should)) expect(mine).toEqual(should);
}

/** The one change that makes `now` of `before`. */
function between(before: string, now: string): Change {
  expect(now).not.toBe(before);
  let start = 0;
  while (before[start] === now[start]) start++;
  let behind = 0;
  while (before.at(-1 - behind) === now.at(-1 - behind) && Math.min(before.length, now.length) - behind > start)
    behind++;
  return { start, end: before.length - behind, text: now.slice(start, now.length - behind) };
}

const edits = fc.array(edit, { minLength: 1, maxLength: 5 });
/** Edits as they are typed: a letter, a word, a digit, or a few taken away. */
const typed = fc.array(
  fc.record({
    start: fc.double({ min: 0, max: 1, noNaN: true }),
    length: fc.constantFrom(0, 0, 0, 1, 2, 8),
    text: fc.constantFrom(
      '',
      'a',
      '1',
      '0',
      ' ',
      '\n',
      '"',
      '-1',
      ' x2',
      ' new',
      '# ',
      '# fettle-shared\n',
      ' N·m',
      'cover-1',
      'bolt',
    ),
  }),
  { minLength: 1, maxLength: 5 },
);

function runScript(text: string, script: readonly { start: number; length: number; text: string }[]): void {
  let now = fresh(text);
  for (const each of script) {
    now = after(now, placed(now.tree.text, each));
    expectSame(now);
  }
}

/** Procedures of few names, which stand for much. */
const someName = fc.constantFrom('lid', 'seal', 'ring', 'bolt', 'oil', 'Iid');
const clause = fc.oneof(
  fc.tuple(fc.constantFrom('behind', 'held by', 'carried by'), someName).map((words) => words.join(' ')),
  fc.constantFrom('x4', 'torque 9 N·m', 'renew', 'index', 'holes ring'),
);
const part = fc.tuple(someName, clause, clause).map((words) => `part ${words.join(' ')}`);
const other = fc.oneof(
  someName.map((each) => `supply ${each} 1 L`),
  someName.map((each) => `tool ${each}`),
  someName.map((each) => `pattern ${each} circle 4 diameter 90 mm`),
  fc.constantFrom('part', 'p', 'prat lid', 'part lid behind', '# A comment', ''),
);
const statement = fc
  .tuple(
    fc.constantFrom(
      'remove',
      'fit',
      'fit new',
      'tighten',
      'loosen',
      'omit',
      'drain',
      'swap lid for',
      'measure',
      'do "Look." using',
    ),
    someName,
  )
  .map((words) => `    ${words.join(' ')}`);
const step = fc
  .tuple(someName, fc.constantFrom('', ' after seal', ' after bolt'), fc.array(statement, { maxLength: 4 }))
  .map(([called, behind, lines]) => [`  step ${called}${behind}`, ...lines].join('\n'));
const declarations = fc.array(fc.oneof({ weight: 3, arbitrary: part }, other), { maxLength: 7 });
const procedureLines = fc
  .tuple(declarations, fc.array(step, { maxLength: 3 }), fc.array(step, { maxLength: 3 }))
  .map(([declared, off, on]) => ['procedure p "P"', ...declared, 'teardown', ...off, 'reassembly', ...on].join('\n'));
const lineChange = fc.record({
  place: fc.nat(),
  length: fc.constantFrom(0, 1, 1, 1, 2),
  lines: fc.array(
    fc.oneof({ weight: 4, arbitrary: part }, { weight: 2, arbitrary: other }, statement, {
      weight: 3,
      arbitrary: step,
    }),
    {
      maxLength: 2,
    },
  ),
  back: fc.constantFrom(0, 0, 0, 1, 2),
});

interface LineChange {
  readonly place: number;
  readonly length: number;
  readonly lines: readonly string[];
  /** Versions before the last. */
  readonly back: number;
}

/** Changes whole lines, not the first. */
function runLines(text: string, changes: readonly LineChange[], resolve?: Resolve): void {
  const versions = [fresh(text, resolve)];
  for (const { place, length, lines, back } of changes) {
    const before = versions.at(Math.max(-versions.length, -1 - back))!;
    const were = before.tree.text.split('\n');
    const at = 1 + (place % were.length);
    const start = were.slice(0, at).join('\n').length;
    const end = were.slice(0, at + length).join('\n').length;
    versions.push(after(before, { start, end, text: lines.map((line) => `\n${line}`).join('') }, resolve));
    expectSame(versions.at(-1)!, resolve);
  }
}

const bench = procedureOf({ lines: 130, seed: 3 });

const misspelt = bench
  .replace('to BU-1', 'to BU-1, BU-2')
  .replaceAll(/^ {4}(?:clean|fit new|wait) .*$/gm, '    for BU-22\n$&\n    end');

describe('after any edits, tree, model, ledger and findings are those of a fresh reading', () => {
  test.each([
    ['of a procedure', procedureText(), edits, 150],
    ['of a broken procedure', mutated(), edits, 100],
    ['typed into a procedure', procedureText(), typed, 150],
    ['typed into a clean procedure of two units', fc.constant(bench), typed, 40],
    ['typed into one for several codes', fc.constant(bench.replace('to BU-1', 'to BU-1, BU-2, BU-3')), typed, 20],
    ['typed into one with a misspelt code', fc.constant(misspelt), typed, 20],
  ] as const)('%s', { timeout: 180_000 * Math.max(1, effort) }, (_, text, script, runs) => {
    fc.assert(
      fc.property(text, script, (source, steps) => runScript(source, steps)),
      { numRuns: Math.ceil(runs * effort) },
    );
  });

  test.each([
    ['above its first step', 'teardown\n  remvoe cover pin\n'],
    ['beside the phase', 'teardown cover pin\n'],
  ])('a line that could not be read comes and goes %s', (_, broken) => {
    const text = `part cover "Cover"
part pin x2 "Pin" held by cover
teardown
  step open
    remove cover
  step strip
    remove pin
`;
    const names = ({ judged }: Result): readonly string[] =>
      judged.ledger.variants[0]!.entries.flatMap(({ actions }) =>
        actions.filter(({ unsure }) => unsure).map(({ name }) => name.text),
      );
    const before = fresh(text);
    expect(names(before)).toEqual([]);
    const now = after(before, between(text, text.replace('teardown\n', broken)));
    expectSame(now);
    expect(names(now)).toEqual(['cover', 'pin']);
    const again = after(now, between(now.tree.text, text));
    expectSame(again);
    expect(names(again)).toEqual([]);
  });

  test('a part that comes to sit on a carrier is stranded with it, one that no longer does is not', () => {
    const sitting = `part drum "Drum"
part long-drum "Long drum"
part wheel "Wheel" carried by drum
teardown
  step lift
    remove drum
  step exchange
    swap drum for long-drum
reassembly
  step back
    fit long-drum
`;
    const apart = sitting.replace(' carried by drum', '');
    const stranded = ({ judged }: Result) => judged.ledger.variants[0]!.final.get('wheel')!.stranded;
    const before = fresh(apart);
    expect(stranded(before)).toBe(0);
    const now = after(before, between(apart, sitting));
    expectSame(now);
    expect(stranded(now)).toBe(1);
    const again = after(now, between(sitting, apart));
    expectSame(again);
    expect(stranded(again)).toBe(0);
  });

  // What is carried over an edit is taken from the version before: each of the two may be gone on from again.
  test('whichever versions before it is read, bound and judged from', {
    timeout: 180_000 * Math.max(1, effort),
  }, () => {
    const version = fc.integer({ min: 0, max: 3 });
    const source = fc.oneof(
      fc.constantFrom(bench, bench.replace('to BU-1', 'to BU-1, BU-2')),
      procedureText(),
      mutated(),
    );
    const few = typed.map((changes) => changes.slice(0, 2));
    const isAnew = fc.constantFrom(false, false, false, false, true);
    const script = fc.array(fc.tuple(version, version, version, isAnew, few), { minLength: 2, maxLength: 10 });
    fc.assert(
      fc.property(source, script, (text, steps) => {
        const versions = [fresh(text)];
        for (const [read, bound, judged, anew, changes] of steps) {
          const back = (by: number): Result => versions[Math.max(0, versions.length - 1 - by)]!;
          const edited = changes.reduce((tree, each) => reparse(tree, placed(tree.text, each)), back(read).tree);
          const tree = anew ? parse(uri, edited.text) : edited;
          versions.push(from(back(bound).model, back(judged).judged.ledger, tree));
          expectSame(versions.at(-1)!);
        }
      }),
      { numRuns: Math.ceil(60 * effort) },
    );
  });

  test.each([
    ['the title of a part', 'Cover 1"', 'Cover one"'],
    ['the count of a part', 'part cover-bolt-1 x', 'part cover-bolt-1 x1'],
    ['what holds a part', 'held by cover-bolt-1', 'held by cover-bolt-2'],
    ['what closes a loop', 'part cover-1 "Cover 1"', 'part cover-1 "Cover 1" behind gasket-1'],
    ['what carries a part', 'carried by shaft-1 behind', 'carried by shaft-2 behind'],
    ['a step to one that swaps', '    clean shaft-1', '    swap shaft-1 for shaft-2\n    clean shaft-1'],
    ['a part taken off', '    remove cover-1', ''],
    ['a part fitted', '    fit cover-1\n', ''],
    ['time that passes', '    wait 60 min "The sealant cures."\n    fill oil-1', '    wait 6 min\n    fill oil-1'],
    ['a line that cannot be read', '    remove gasket-1', '    remvoe gasket-1'],
    ['a new declaration', 'supply oil-1', 'part strap-1 "Strap"\nsupply oil-1'],
    ['a new statement in an early step', '    drain oil-1 1.8 L', '    do "Look."\n    drain oil-1 1.8 L'],
    ['the name of a step', 'step close-1', 'step shut-1'],
    ['the codes', 'to BU-1', 'to BU-1, BU-2'],
    ['the system of units', 'measures metric', 'measures imperial'],
    ['the range of a tool', 'range 5..100', 'range 50..100'],
  ])('%s', (_, old, by) => {
    const start = bench.indexOf(old);
    expect(start).toBeGreaterThan(0);
    const before = fresh(bench);
    const there = after(before, { start, end: start + old.length, text: by });
    expectSame(there);
    const back = after(there, { start, end: start + by.length, text: old });
    expectSame(back);
    // An older state can be gone on from again.
    expectSame(after(before, { start, end: start + old.length, text: `${by} ` }));
  });

  test('edits at different places of one version', () => {
    const replace = (before: Result, old: string, by: string): Result => {
      const start = before.tree.text.indexOf(old);
      expect(start).toBeGreaterThan(0);
      return after(before, { start, end: start + old.length, text: by });
    };
    const before = replace(fresh(bench), '"Overhaul', '"Repair');
    const edited = replace(before, 'Bare metal', 'Clean metal');
    for (const line of ['remove gear-1', 'fit gear-1', 'remove bearing-2', 'tighten cover-bolt-1'])
      for (const version of [before, edited]) expectSame(replace(version, line, 'inspect gear-2 #'));
  });

  test('the first of two heads', () => {
    const title = `"${'word '.repeat(21)}"`;
    const text = `procedure ${title}\nprocedure ${title}\nteardown\n  step look\n    do "Look."\n`;
    const two = fresh(text);
    const one = after(two, { start: 0, end: 'procedure'.length, text: 'drain' });
    expectSame(one);
    expectSame(after(one, { start: 0, end: 'drain'.length, text: 'procedure' }));
  });

  test('the first of two parts of one name', () => {
    const first = 'part bolt "Bolt" thread M8 torque 9 N·m';
    const text = `${first}\n${bench}part bolt "Screw" thread M8 torque 8 N·m\n`;
    const other = 'part nut "Nut"';
    const without = after(fresh(text), { start: 0, end: first.length, text: other });
    expectSame(without);
    expectSame(after(without, { start: 0, end: other.length, text: first }));
  });

  test.each(['part drain "Drain plug"', 'supply drain "Old oil"', 'pattern drain circle 4', 'tool drain "Tap"'])(
    'what `%s` stands for under a reserved word, once and twice',
    (declared) => {
      const uses =
        'part lid "Lid" held by drain holes drain\nteardown\n  step open\n    drain drain using drain\n    remove drain\nreassembly\n  step close\n    fit drain\n';
      for (const text of [`part pin "Pin"\n${declared}\n${uses}`, `${declared}\n${uses}${declared}\n`]) {
        const start = text.indexOf(declared);
        const without = after(fresh(text), { start, end: start + declared.length + 1, text: '' });
        expectSame(without);
        expectSame(after(without, { start, end: start, text: `${declared}\n` }));
        const other = declared.replace('drain', 'plug');
        expectSame(after(fresh(text), { start, end: start + declared.length, text: other }));
      }
    },
  );

  test('which steps ask about a name does not hang on what is misspelt in others', () => {
    const text =
      'part lid "Lid"\nteardown\n  step first\n    transfer lid from nothing to nobody\n  step second\n    remove lid\n';
    const start = text.lastIndexOf('lid');
    const misspelt = after(fresh(text), { start, end: start + 3, text: 'ldi' });
    expectSame(misspelt);
    expectSame(after(misspelt, { start, end: start + 3, text: 'lid' }));
  });

  test.each([
    ['', 'a line that cannot be read\n'],
    ['', '# a comment\n'],
    ['', 'part cap\n'],
    ['part cap\n', ''],
  ])('%j before a byte order mark becomes %j', (old, by) => {
    const text = `${old}\ufeffpart lid "Lid"\npart seal "Seal"\npart ring "Ring"\npart shim "Shim"\n`;
    expectSame(after(fresh(text), { start: 0, end: old.length, text: by }));
  });

  test.each([
    ['fit', 'remove'],
    ['fit', 'fit new'],
    ['remove', 'inspect'],
    ['tighten', 'inspect'],
  ])('every `%s` of a procedure, for one code or for all, to `%s`', (verb, by) => {
    const all = procedureOf({ lines: 600 }).replace('to BU-1', 'to BU-1, BU-2');
    const line = new RegExp(`^ {4}${verb} (?!new ).*$`, 'gm');
    for (const text of [all, all.replace(line, '    for BU-2\n$&\n    end')]) {
      const edited = text.replace(line, (whole) => whole.replace(verb, by));
      const before = fresh(text);
      const there = after(before, { start: 0, end: text.length, text: edited });
      expectSame(there);
      expectSame(after(there, { start: 0, end: edited.length, text }));
      // Fewer at a time.
      const middle = text.indexOf('\n', text.search(line) + 2_000);
      expectSame(
        after(before, {
          start: 0,
          end: middle,
          text: text.slice(0, middle).replace(line, (whole) => whole.replace(verb, by)),
        }),
      );
    }
  });

  test('declarations and steps put in, taken out, renamed and moved', {
    timeout: 180_000 * Math.max(1, effort),
  }, () => {
    fc.assert(
      fc.property(procedureLines, fc.array(lineChange, { minLength: 1, maxLength: 8 }), (text, changes) =>
        runLines(text, changes),
      ),
      { numRuns: Math.ceil(400 * effort) },
    );
  });

  test('heads and tools edited line by line', { timeout: 180_000 * Math.max(1, effort) }, () => {
    const line = fc.constantFrom(
      'procedure p "P"',
      'procedure other',
      '  applies to A-1',
      '  applies to A-2, A-3',
      '  applies to A-1, A-2',
      '  code plate "On the foot"',
      '  measures metric',
      '  measures imperial',
      'tool wrench "Wrench" range 40..200 N·m',
      'tool wrench "Torque wrench" range 5..100 N·m',
      'tool wrench "Wrench" range 5..100 N·m hazard charge',
      'tool small range 5..50 N·m',
      'tool small hazard heat',
      'part bolt x4 "Bolt" thread M8 class 8.8 torque 25 lbf·ft',
      'supply oil 1 L',
      'oil',
      '',
    );
    const job = [
      'part bolt x4 "Bolt" thread M8 class 8.8 torque 18 lbf·ft',
      'part lid "Lid" held by bolt',
      'teardown',
      '  step off',
      '    remove bolt',
      '    remove lid',
      'reassembly',
      '  step on',
      '    fit lid',
      '    fit bolt',
      '    tighten bolt using wrench order star',
      '    do "Blow dry" using small',
      '    warning "Wear goggles."',
      '    do "Turn the lid by hand."',
    ];
    const singled = job.toSpliced(job.indexOf('    remove bolt'), 0, '    for A-2', '    remove lid', '    end');
    const source = fc
      .tuple(fc.array(line, { maxLength: 6 }), fc.constantFrom(job, singled))
      .map(([lines, rest]) => ['procedure p "P"', ...lines, ...rest].join('\n'));
    const change = fc.record({
      place: fc.nat(7),
      length: fc.constantFrom(0, 1, 1, 1, 2),
      lines: fc.array(line, { maxLength: 2 }),
      back: fc.constantFrom(0, 0, 0, 1, 2),
    });
    fc.assert(
      fc.property(source, fc.array(change, { minLength: 1, maxLength: 8 }), (text, changes) => runLines(text, changes)),
      { numRuns: Math.ceil(300 * effort) },
    );
  });

  test('places, heat, lubricants, drain plugs, angles, shims, proving and ranges of tools', {
    timeout: 180_000 * Math.max(1, effort),
  }, () => {
    const bolt = fc.constantFrom('bolt', 'stud', 'drain-plug', 'drain-nut');
    const thing = fc.constantFrom('hub', 'ring', 'bolt', 'drain-plug');
    const words = (...all: (string | fc.Arbitrary<string>)[]): fc.Arbitrary<string> =>
      fc
        .tuple(...all.map((each) => (typeof each === 'string' ? fc.constant(each) : each)))
        .map((each) => each.join(' '));
    const says = (...all: string[]): fc.Arbitrary<string> => fc.constantFrom(...all);
    const declared = fc.oneof(
      words(
        'part',
        bolt,
        says('x2', 'x4', '"Nut"', 'renew'),
        says('thread M8', 'thread M8', 'thread M8-LH'),
        says('', 'dry', 'paste', 'length 9 mm', 'class 8.8'),
        says('', '', 'torque 9 N·m then 90°'),
      ),
      words('part', thing, says('', 'sealed', 'limit 90 °C'), says('', 'carried by hub', 'carried by ring')),
      words(
        'tool',
        says('oven', 'gauge'),
        says('', '"Thermometer"', '"Oven"'),
        says('range 20..90 °C', 'range 0..300 °C', ''),
      ),
      words('supply', says('oil', 'slick'), says('"Paste"', '"Copper paste"', '"Oil"', '"Oil sealant"')),
    );
    const done = fc.oneof(
      words(
        '    remove',
        bolt,
        says('', 'keep in "bag A"', 'keep in "bag B"', 'keep in "its hole"', '"Left-hand thread"'),
      ),
      words('   ', says('fit', 'fit new', 'discard', 'replace', 'remove', 'tighten'), fc.oneof(bolt, thing)),
      words('    heat', thing, says('to 85 °C', 'to 120 °C'), says('', 'using oven', 'using gauge, oven')),
      words('    apply', says('oil', 'slick'), 'to', bolt, says('', '"Well."')),
      words('   ', says('drain', 'fill'), says('oil', 'slick')),
      words('    tighten', bolt, 'to 9 N·m', says('', 'then 90°', 'then 60°')),
      words('   ', says('loosen', 'tighten'), bolt, says('', 'x1')),
      words('    shim', thing, 'gap play endplay 1 mm from 1 mm'),
      says('    check "Dry."', '    tighten bolt by hand'),
      words('    measure heat max 100 °C using', says('oven', 'gauge')),
      says(
        '    swap drain-plug for drain-nut',
        '    transfer ring from hub to bolt',
        '    if "worn"',
        '    else',
        '    end',
      ),
    );
    const someStep = fc
      .tuple(someName, fc.array(done, { maxLength: 6 }))
      .map(([called, lines]) => [`  step ${called}`, ...lines].join('\n'));
    const steps = fc.array(someStep, { minLength: 1, maxLength: 3 });
    const source = fc
      .tuple(fc.array(declared, { minLength: 4, maxLength: 10 }), steps, steps)
      .map(([head, off, on]) => ['procedure p "P"', ...head, 'teardown', ...off, 'reassembly', ...on].join('\n'));
    const change = fc.record({
      place: fc.nat(40),
      length: fc.constantFrom(0, 1, 1, 1, 2),
      lines: fc.array(fc.oneof(declared, { weight: 3, arbitrary: done }, someStep, says('proving')), { maxLength: 2 }),
      back: fc.constantFrom(0, 0, 0, 1, 2),
    });
    fc.assert(
      fc.property(source, fc.array(change, { minLength: 1, maxLength: 8 }), (text, changes) => runLines(text, changes)),
      { numRuns: Math.ceil(150 * effort) },
    );
  });

  test('the tool that is named for a wrench out of range', () => {
    const text = bench.replace('range 5..100', 'range 40..200').replace('\npart', '\ntool small range 5..50 N·m\npart');
    const narrow = text.replace('5..50', '5..20');
    const named = ({ judged }: Result): boolean =>
      judged.findings.some(({ message }) => message.endsWith('use `small`.'));
    const before = fresh(text);
    expect(named(before)).toBe(true);
    const now = after(before, between(text, narrow));
    expect(named(now)).toBe(false);
    expectSame(now);
    expectSame(after(now, between(narrow, text)));
  });

  // What it asks of other checks would take as long as a fresh reading of all steps that use it.
  test.each([
    { from: 'range 5..100', to: 'range 5..150', asked: 'tool-range', left: ['unwarned', 'late-warning', 'bad-order'] },
    {
      from: '"Torque wrench"',
      to: '"Torque wrench" hazard heat',
      asked: 'unwarned',
      left: ['tool-range', 'bad-order'],
    },
  ])('a tool declared with $to has only checks asked again that look at that', ({ from, to, asked, left }) => {
    const before = fresh(bench);
    const spies = allChecks.map((check) => vi.spyOn(check, 'run'));
    after(before, between(bench, bench.replace(from, to)));
    const steps = (code: string): number =>
      Math.max(
        ...spies[allChecks.findIndex((check) => check.code === code)]!.mock.calls.map(
          ([{ model }]) => model.steps.length,
        ),
      );
    expect(steps(asked)).toBe(before.model.steps.filter(({ step }) => /^close-/.test(step.name!.text)).length);
    for (const code of left) expect(steps(code), code).toBe(0);
    for (const spy of spies) spy.mockRestore();
  });

  test.each([
    ['the title of the procedure', '"Overhaul', '"Repair'],
    ['where the code stands', '  measures', '  code plate "On the foot"\n  measures'],
    ['a code', 'to BU-1', 'to BU-10'],
    ['a code more', 'to BU-1', 'to BU-1, BU-2'],
    ['the title of a tool', '"Torque wrench"', '"Wrench"'],
  ])('%s leaves all steps as they were', (_, old, by) => {
    const before = fresh(bench);
    const now = after(before, between(bench, bench.replace(old, by)));
    expectSame(now);
    const recordsOf = ({ judged }: Result) => judged.ledger.variants[0]!.records;
    expect(recordsOf(now).length).toBeGreaterThan(3);
    for (const [place, record] of recordsOf(now).entries()) expect(record).toBe(recordsOf(before)[place]);
  });

  test.each([
    ['put in', 'supply oil-1', 'part strap-1 "Strap" behind cover-1\nsupply oil-1'],
    ['put in that is named further down', 'supply oil-1', 'part cover-3 "Strap"\nsupply oil-1'],
    ['taken out', /^part gasket-1 .*\n/m, ''],
    ['renamed', 'part gasket-1 ', 'part seal-1 '],
    ['made one of another kind', 'supply sealant-1', 'tool sealant-1'],
    ['half written', 'supply oil-1', 'par\nsupply oil-1'],
    ['moved', /^(part cover-1 .*\n)(part gasket-1 .*\n)/m, '$2$1'],
  ] as const)('a declaration %s binds no step anew', (_, old, by) => {
    const text = bench.replace('fit gear-1\n', 'fit gear-1\n    inspect cover-3\n');
    const before = fresh(text);
    const edited = text.replace(old, by);
    const now = after(before, between(text, edited));
    expectSame(now);
    expect(now.model.steps).toBe(before.model.steps);
  });

  describe.each([
    ['one code', bench],
    [
      'codes that see other steps',
      bench.replace('to BU-1', 'to BU-1, BU-2').replace(/^ {4}clean .*$/m, '    for BU-2\n$&\n    end'),
    ],
  ])('for %s', (_, text) => {
    const strip = /^ {2}step strip-1 .*\n(?: {4}.*\n)+/m;
    test.each([
      ['put in', /^(?= {2}step strip-1)/m, '  step look-1 "Look"\n    inspect shaft-2\n'],
      ['put in without a name', /^(?= {2}step strip-1)/m, '  step "Look"\n    inspect shaft-2\n'],
      ['taken out', /^ {2}step know .*\n {4}.*\n/m, ''],
      ['renamed', 'step strip-1', 'step bare-1'],
      ['cut in two', '    remove gear-1\n', '  step rest-1\n    remove gear-1\n'],
      ['made one with the step above', /^ {2}step strip-1 .*\n/m, ''],
    ] as const)('a step %s leaves those that have nothing to do with it as they were', (_, old, by) => {
      const before = fresh(text);
      const edited = text.replace(old, by);
      const now = after(before, between(text, edited));
      expectSame(now);
      const again = after(now, between(edited, text));
      expectSame(again);
      for (const [one, other] of [
        [before, now],
        [now, again],
      ] as const) {
        const kept = new Set(one.judged.ledger.variants.flatMap(({ records }) => records));
        const { records } = other.judged.ledger.variants[0]!;
        const others = records.filter(
          ({ step: { step } }) => !/^(look|strip|bare|rest|open|build|close|know)-?1?$/.test(step.name?.text ?? 'look'),
        );
        expect(others.length).toBeGreaterThan(3);
        for (const record of others) expect(kept).toContain(record);
      }
    });

    test('a step moved past another', () => {
      const [step] = strip.exec(text)!;
      const edited = text.replace(step, '').replace(/^(?= {2}step open-1)/m, step);
      const before = fresh(text);
      expectSame(after(before, between(text, edited)));
      expectSame(after(fresh(edited), between(edited, text)));
    });
  });

  test('a phase line in the place of one of the same words, which stands where another stood', () => {
    const text = 'part lid "Lid"\nteardown # one\n  step open\n    remove lid\nteardown # two\n';
    const before = fresh(text);
    const [first, last] = ['teardown # one\n', 'teardown # three\n'];
    const start = text.indexOf(first);
    const shorter = reparse(before.tree, { start, end: text.indexOf('teardown # two'), text: '' });
    const end = shorter.text.length;
    const tree = reparse(shorter, { start: end, end, text: last });
    expectSame(from(before.model, before.judged.ledger, tree));
  });

  test('parts that change places on the carrier that is discarded', () => {
    const [one, other] = ['part wheel carried by drum\n', 'part gear carried by drum\n'];
    const rest = 'teardown\n  step open\n    remove drum\n    discard drum\n';
    const before = fresh(`part drum\n${one}${other}${rest}`);
    expectSame(after(before, { start: 10, end: 10 + one.length + other.length, text: `${other}${one}` }));
  });

  test.each(['x3', 'x1 "Filler lid"'])('a part changed (%s) in a step whose branches fill unlike', (by) => {
    const text = `supply oil 2 L
part lid x2
teardown
  step open
    drain oil
    remove lid
reassembly
  step close
    fit lid
    either "From the can"
      fill oil 2 L
    or "From the drum"
      fill oil 5 L
    end
  step rest
    omit oil "It is full."
`;
    const start = text.indexOf('x2');
    const before = fresh(text);
    expect(before.judged.findings.map(({ code }) => code)).toContain('fill-differs');
    expectSame(after(before, { start, end: start + 2, text: by }));
  });

  test('drains that change places below a third', () => {
    const turns = ['1 L', '2 L', '3 L'].map(
      (out, i) => `  step s-${i}\n    drain oil ${out}\n  step t-${i}\n    fill oil 9 L\n`,
    );
    const text = `supply oil\nproving\n${turns.join('')}`;
    const before = fresh(text);
    const [first, second] = [text.indexOf('1 L'), text.indexOf('2 L')];
    const once = reparse(before.tree, { start: first, end: first + 1, text: '2' });
    const tree = reparse(once, { start: second, end: second + 1, text: '1' });
    expectSame(from(before.model, before.judged.ledger, tree));
  });

  test.each([
    {
      check: 'drain-open',
      from: '"Into the sump"',
      to: '"Into the drum"',
      text: `supply oil 2 L
part drain-plug "Drain plug"
part drum "Drum"
teardown
  step open
    remove drain-plug
    drain oil
    remove drum
reassembly
  step close
    fill oil 2 L "Into the sump"
    fit drum
    fit drain-plug
`,
    },
    {
      check: 'kept-together',
      from: '"It is tied."',
      to: '"It is thin."',
      text: `part left-shim "Left shim"
part right-shim "Right shim"
teardown
  step open
    remove left-shim keep in "bag 1"
    remove right-shim "It is tied." keep in "bag 1"
reassembly
  step close
    fit left-shim
    fit right-shim
`,
    },
  ])('a word of a text that $check goes by', ({ check, from, to, text }) => {
    const before = fresh(text);
    const edited = text.replace(from, to);
    const now = after(before, between(text, edited));
    const told = [before, now].map(({ judged }) => judged.findings.filter(({ code }) => code === check).length);
    expect(told.toSorted()).toEqual([0, 1]);
    expectSame(now);
    expectSame(after(now, between(edited, text)));
  });

  test('the first of many fills', () => {
    const fills = Array.from({ length: 20_000 }, (_, i) => `  step s-${i}\n    fill oil 1 L\n`).join('');
    const text = `supply oil 1 L\nproving\n${fills}`;
    const start = text.indexOf('L\n', text.indexOf('fill')) + 1;
    const [was, is] = [fresh(text), fresh(`${text.slice(0, start)} "Slowly."${text.slice(start)}`)];
    const now = after(was, { start, end: start, text: ' "Slowly."' });
    const told = ({ judged }: Result): readonly string[] => judged.findings.map(({ message }) => message);
    expect(told(now)).toEqual(told(is));
  });

  test.each([
    ['misspelt in the head', 'to BU-1, BU-2', 'to BU-1, BU-3'],
    ['gone from the head', 'to BU-1, BU-2', 'to BU-1'],
    ['misspelt in each `for`', /for BU-2/g, 'for BU-22'],
    ['misspelt behind another', /for BU-2/g, 'for BU-1, BU-22'],
  ] as const)('a code that a `for` names, %s', (_, old, by) => {
    for (const verb of ['clean', 'remove gear', 'fit new', 'apply sealant', 'wait', 'fill', 'drain']) {
      const text = bench
        .replace('to BU-1', 'to BU-1, BU-2')
        .replaceAll(new RegExp(`^ {4}${verb}.*$`, 'gm'), '    for BU-2\n$&\n    end');
      expect(text).toContain('for BU-2');
      const edited = text.replace(old, by);
      const there = after(fresh(text), between(text, edited));
      expect(there.judged.findings.map(({ code }) => code)).toContain('unknown-name');
      expectSame(there);
      expectSame(after(there, between(edited, text)));
    }
  });

  test('a step for one code, which does nothing', () => {
    const text = 'procedure p "P"\n  applies to A-1, B-1\nteardown\n  step look\n';
    const now = after(fresh(text), { start: text.length, end: text.length, text: '    for A-1\n    end\n' });
    expectSame(now);
    expect(toldApart(now.judged.ledger.variants)).toHaveLength(2);
  });
});

describe('with steps that are taken in from another file', () => {
  const sharedUri = 'file:///shared.fettle';
  const base = 'file:///base.fettle';
  /** Cuts the second reassembly step and more out of the clean procedure into a file of its own. */
  const split = (): { main: string; shared: string } => {
    const [head, rest] = bench.split(/^teardown$/m) as [string, string];
    const [down, up] = rest.split(/^reassembly$/m) as [string, string];
    const steps = up.split(/^(?= {2}step )/m);
    const some = steps.splice(2, 2).join('');
    const opening = down.split(/^(?= {2}step )/m);
    const first = opening.splice(1, 1).join('');
    const [name] = head.split(/^part/m) as [string];
    return {
      main: `${name}teardown\n  use "shared.fettle"\n${opening.join('')}reassembly${steps[0]}${steps[1]}  use "shared.fettle"\n${steps.slice(2).join('')}`,
      shared: `use "base.fettle"\nteardown\n${first}reassembly\n${some}`,
    };
  };
  const { main, shared } = split();
  const declarations = parse(base, bench.slice(bench.indexOf('part'), bench.indexOf('\nteardown') + 1));
  const resolving =
    (tree: SyntaxTree): Resolve =>
    (path) =>
      path === 'base.fettle' ? declarations : path === 'shared.fettle' ? tree : { missing: true };

  test('the split procedure is as clean as the whole', () => {
    const { model, judged } = fresh(main, resolving(parse(sharedUri, shared)));
    expect(judged.findings.map(({ code, message }) => `${code}: ${message}`)).toEqual(
      fresh(bench).judged.findings.map(({ code, message }) => `${code}: ${message}`),
    );
    expect(model.takenIn.size).toBeGreaterThan(3);
  });

  test('edits to either file give what a fresh reading gives', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.boolean(),
            fc.oneof(
              edit,
              typed.map((each) => each[0]!),
            ),
          ),
          { minLength: 1, maxLength: 6 },
        ),
        (script) => {
          let sharedTree = parse(sharedUri, shared);
          let now = fresh(main, resolving(sharedTree));
          for (const [inShared, each] of script) {
            if (inShared) sharedTree = reparse(sharedTree, placed(sharedTree.text, each));
            const resolve = resolving(sharedTree);
            now = after(now, inShared ? undefined : placed(now.tree.text, each), resolve);
            expectSame(now, resolve);
          }
        },
      ),
      { numRuns: Math.ceil(120 * effort) },
    );
  });

  test('declarations and steps put in, taken out, renamed and moved', {
    timeout: 180_000 * Math.max(1, effort),
  }, () => {
    const shared = `part washer behind lid
tool bar
teardown
  step inner after seal
    remove ring
    loosen bolt
    measure oil
  step
    drain oil
    omit seal
reassembly
  step outer after lid
    fit lid
    tighten bolt to 9 N·m
    choose shims for oil from 1 mm
    do "Look." using ring, bar
`;
    const resolve = resolving(parse(sharedUri, shared));
    const source = fc
      .tuple(procedureLines, fc.array(fc.nat(), { minLength: 1, maxLength: 3 }))
      .map(([text, places]) => {
        const lines = text.split('\n');
        for (const place of places) lines.splice(1 + (place % lines.length), 0, 'use "shared.fettle"');
        return lines.join('\n');
      });
    fc.assert(
      fc.property(source, fc.array(lineChange, { minLength: 1, maxLength: 8 }), (text, changes) =>
        runLines(text, changes, resolve),
      ),
      { numRuns: Math.ceil(300 * effort) },
    );
  });

  test('a step moved past the line that takes in others', () => {
    const resolve = resolving(parse(sharedUri, 'teardown\n  step inner\n    remove seal\n'));
    const step = '  step open\n    remove lid\n';
    const use = '  use "shared.fettle"\n';
    const text = `part lid\npart seal behind lid\nteardown\n${step}${use}  step look\n`;
    const before = fresh(text, resolve);
    const start = text.indexOf(step);
    const without = reparse(before.tree, { start, end: start + step.length, text: '' });
    const end = start + use.length;
    const tree = reparse(without, { start: end, end, text: step });
    const now = from(before.model, before.judged.ledger, tree, resolve);
    expectSame(now, resolve);
    expect(now.judged.findings.map(({ code }) => code)).toContain('out-of-reach');
  });

  test.each([
    ['tighten bolt', 'loosen bolt'],
    ['omit bolt "It stays."', 'remove bolt'],
    ['do "It sits." using bar', 'do "Off it comes." using bar'],
  ])('a shared declaration into which %j has strayed says nothing of it', (stray, line) => {
    const resolve = resolving(parse(sharedUri, `part bolt "Bolt"\n${stray}\ntool bar "Bar"\n`));
    const text = `procedure unit "Unit"\nuse "shared.fettle"\nteardown\n  step open\n    ${line}\n`;
    const now = after(
      fresh(text, resolve),
      { start: text.indexOf(line), end: text.length, text: 'do "Off."\n' },
      resolve,
    );
    expectSame(now, resolve);
    const { unused, fasteners } = now.model;
    expect([...unused.part, ...unused.tool, ...fasteners]).toEqual(['bolt', 'bar']);
  });
});
