import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { read as readTokens } from '../../grammar/heads.ts';
import { format, formatEdits, type TextEdit } from '../../grammar/printer.ts';
import { type SyntaxTree, spanText } from '../../grammar/syntax.ts';
import { isNumber, Times } from '../../grammar/tokens.ts';
import { unitOf } from '../../grammar/units.ts';
import { anyLayout, layOut, mutated, procedure } from '../fuzz/generate.ts';
import { contract, everything } from './contract.ts';
import { issuesOf, plain, read } from './tree.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);

/** What was read, whatever the spelling of units, the layout, and where a message says that reading went on. */
const meaning = (tree: SyntaxTree): unknown =>
  tree.chunks.map(({ item, strayStep, lostWords, issues }) => {
    const nodes = JSON.stringify(plain({ item, strayStep, lostWords }, ['start', 'end', 'image']));
    return [
      nodes.replace(/"text":"[^"]*","unit":\{[^}]*\}/g, (each) => each.replace(/"text":"[^"]*",/, '')),
      // A finding over several lines has blank lines in it, of which one stays.
      issues.map((issue) => spanText(issue).replace(/\s+/g, ' ')),
    ];
  });

/** All tokens and comments in order, in the formatter's spelling. */
const substance = (text: string): string[] => {
  const { tokens, comments } = readTokens(text);
  return [...tokens, ...comments]
    .sort((a, b) => a.startOffset - b.startOffset)
    .map((token) => {
      const { image, tokenType } = token;
      if (image === '+/-') return '±';
      if (tokenType === Times) return image.replace('×', 'x');
      if (isNumber(token)) return image.replace('−', '-');
      return unitOf(image)?.symbol ?? image.trimEnd();
    });
};

const apply = (text: string, edits: readonly TextEdit[]): string => {
  let out = text;
  for (const { start, end, text: by } of [...edits].reverse()) out = out.slice(0, start) + by + out.slice(end);
  return out;
};

describe('layout', () => {
  // The step would come to stand on a line of its own, and the word above it to be read as the phase it is near to.
  test.each([
    'oil\nreassemblyJ step ',
    'part b\nteardwon step a "A" remove b\n',
    'part b "B"\nteardown step s\nsetp x part c\nues "a.fettle" part d\n',
  ])('of %j does not change with a second time', (text) => {
    expect(format(format(text))).toBe(format(text));
  });

  test('from one line', () => {
    const text =
      'procedure p "P" applies to DW-40,40B code plate "Rib" measures metric use "a.fettle" part b x4 torque 25Nm(18 lbf·ft) ' +
      'teardown step s "S" remove b step t either "x" fit b or fit new b if "y" remove b else clean b end end for DW-40 , 40B fit b end reassembly step u';
    expect(format(text)).toBe(`procedure p "P"
  applies to DW-40, 40B
  code plate "Rib"
  measures metric
use "a.fettle"
part b x4 torque 25 N·m (18 lbf·ft)

teardown
  step s "S"
    remove b

  step t
    either "x"
      fit b
    or
      fit new b
      if "y"
        remove b
      else
        clean b
      end
    end
    for DW-40, 40B
      fit b
    end

reassembly
  step u
`);
  });

  test.each([
    ['part b torque 25Nm', 'part b torque 25 N·m'],
    ['part b torque 25 N.m ( 18lbf.ft )then 90 deg', 'part b torque 25 N·m (18 lbf·ft) then 90°'],
    ['part b length 25+/-2mm', 'part b length 25 ± 2 mm'],
    ['part b length 25±2 mm', 'part b length 25 ± 2 mm'],
    ['part b bore 20 .. 100μm', 'part b bore 20..100 µm'],
    ['part b limit −20 degC', 'part b limit -20 °C'],
    ['part b limit 120ºC', 'part b limit 120 °C'],
    ['part b limit 248 ℉', 'part b limit 248 °F'],
    ['part b ×10', 'part b x10'],
    ['pattern p circle angles 0 °,60deg , 120° diameter 70mm', 'pattern p circle angles 0°, 60°, 120° diameter 70 mm'],
    ['pattern p points ( 0 , 0 )(60 , 80)mm', 'pattern p points (0, 0) (60, 80) mm'],
    ['part b held by c ,d', 'part b held by c, d'],
    ['part b "a  b" thread M10×1.5', 'part b "a  b" thread M10×1.5'],
  ])('%s', (line, wanted) => expect(format(line)).toBe(`${wanted}\n`));

  test('blank lines: one at most, one before a phase and between steps, none behind a phase line', () => {
    expect(
      format(
        '\n\npart a\n\n\n\npart b\nteardown\n\n  step s\n\n    remove a\n\n\n    remove b\n  step t\n\n\n  step u\n\n\n',
      ),
    ).toBe('part a\n\npart b\n\nteardown\n  step s\n\n    remove a\n\n    remove b\n\n  step t\n\n  step u\n');
  });

  test('a `use` in a phase stands as a step does', () => {
    const laid = `use "a.fettle"

teardown
  # first
  use "b.fettle"
  use "c.fettle"

  step s
    remove a

  use "d.fettle"

reassembly
  use "b.fettle"

  step t
    fit a
`;
    expect(format(laid)).toBe(laid);
    expect(format(laid.replace(/^ +/gm, '').replace(/\n+/g, '\n'))).toBe(laid);
  });

  test('comments', () => {
    expect(
      format(
        '   # file\npart a#a\n  # about b\n\npart b   # b  \n  # phase\nteardown  # t\n# s\nstep s\n# r\nremove a # ra\n# e\nif "worn"\n# in\nfit a\n# out\nend\n# t1\n\n# t2\nstep t\n   # last\n',
      ),
    ).toBe(`# file
part a  #a
# about b

part b  # b

# phase
teardown  # t
  # s
  step s
    # r
    remove a  # ra
    # e
    if "worn"
      # in
      fit a
    # out
    end
  # t1

  # t2
  step t
  # last
`);
    expect(format('step s\n  fit a\n# at the margin')).toBe('  step s\n    fit a\n# at the margin\n');
  });

  test('a comment within a statement ends its line there', () => {
    const wanted = `procedure p  # name
  # codes
  applies to A  # one
  measures metric

teardown
  step s
    remove b x2  # two
        # of them
        using w  # with care
    fit b
`;
    expect(
      format(
        'procedure p # name\n# codes\napplies to A # one\nmeasures metric\nteardown step s\nremove b x2 # two\n# of them\nusing w # with care\nfit b',
      ),
    ).toBe(wanted);
    expect(format(wanted)).toBe(wanted);
  });

  test('what could not be read stays, but for blanks at the end', () => {
    const text = `part a   torque 1,8   N·m
part  b
teardown
 step s
     remove   a  foo   # why
   # above
       remvoe   b
  fit    b
    do "open   \n`;
    expect(format(text)).toBe(`part a   torque 1,8   N·m
part b

teardown
  step s
     remove   a  foo   # why
       # above
       remvoe   b
    fit b
    do "open   \n`);
  });

  test('line endings and the byte order mark', () => {
    for (const eol of ['\n', '\r\n', '\r']) {
      expect(format(`part  a${eol}part b # c ${eol}`)).toBe(`part a${eol}part b  # c${eol}`);
    }
    expect(format('\uFEFF part a')).toBe('\uFEFFpart a\n');
    expect(format('\uFEFF  foo\r\n bar')).toBe('\uFEFF  foo\r\n bar\r\n');
    expect([format(''), format(' \n\n'), format('\uFEFF')]).toEqual(['', '', '\uFEFF']);
    // Byte order marks are blanks, however many stand in front of a line that is kept.
    for (const text of ['procedure\n\uFEFF\uFEFFprocedure', '\0\n\uFEFF\uFEFFx'])
      expect(format(format(text))).toBe(format(text));
  });

  test('the examples of the contract keep their words', () => {
    for (const text of [contract, everything]) {
      expect(issuesOf(read(format(text)))).toEqual([]);
      expect(substance(format(text))).toEqual(substance(text));
    }
  });

  const samples = readdirSync('samples', { recursive: true, encoding: 'utf8' }).filter((file) =>
    file.endsWith('.fettle'),
  );
  test.each(samples)('samples/%s is formatted', (file) => {
    const text = readFileSync(join('samples', file), 'utf8');
    expect(format(text)).toBe(text);
  });
});

describe('edits', () => {
  const text = 'part a\npart  b\n\n\nteardown\n  step s\n  remove a\n    fit a\n';
  test('touch only what changes', () => {
    const edits = formatEdits(read(text));
    expect(edits.map(({ start, end, text: by }) => [text.slice(start, end), by])).toEqual([
      ['part  b', 'part b'],
      ['\n', ''],
      ['  remove a', '    remove a'],
    ]);
    expect(apply(text, edits)).toBe(format(text));
    expect(formatEdits(read(format(text)))).toEqual([]);
  });

  test('of a range and of one line', () => {
    const line = text.indexOf('  remove a');
    expect(formatEdits(read(text), { start: line, end: line + 10 })).toEqual([
      { start: line, end: line + 10, text: '    remove a' },
    ]);
    expect(formatEdits(read(text), { start: 0, end: 12 })).toHaveLength(1);
  });

  test('of a step there may be more than a call takes arguments', () => {
    const text = `step look\n${' do "Look."\n'.repeat(150_000)}`;
    expect(formatEdits(read(text))).toHaveLength(150_001);
  });

  test.each([
    'teardown\n  step s\n    remove a\n    using b\n    fit a\n',
    'teardown\n  step s remove a fit a\n  step t\n',
    'part a\r\n  "A"\r\npart b\r\n',
  ])('of one line never leave a word of %j out or write it twice', (split) => {
    for (let at = 0; at <= split.length; at++) {
      const now = apply(split, formatEdits(read(split), { start: at, end: at }));
      expect(now.replace(/\s/g, '')).toBe(split.replace(/\s/g, ''));
    }
  });
});

describe('for any procedure', () => {
  const size = { parts: 5, steps: 4, statements: 4 };
  const runs = { numRuns: effort * 150 };

  test('formatting keeps the meaning and every word, and is done after once', () => {
    fc.assert(
      fc.property(anyLayout(size), (text) => {
        const once = format(text);
        expect(issuesOf(read(text))).toEqual([]);
        expect(meaning(read(once))).toEqual(meaning(read(text)));
        expect(substance(once)).toEqual(substance(text));
        expect(format(once)).toBe(once);
      }),
      runs,
    );
  });

  test('any layout without comments comes out the same', () => {
    fc.assert(
      fc.property(procedure(size), (lines) => {
        const words = lines.flatMap((line) => line.words);
        expect(format(words.join('\n'))).toBe(format(layOut(lines)).replace(/\n\n(?! *step |[a-z]+\n)/g, '\n'));
      }),
      runs,
    );
  });

  test('the edits lead to the formatted text', () => {
    fc.assert(
      fc.property(fc.oneof(anyLayout(size), mutated(size)), (text) => {
        const tree = read(text);
        const edits = formatEdits(tree);
        expect(apply(text, edits)).toBe(format(text));
        for (let e = 1; e < edits.length; e++) expect(edits[e]!.start).toBeGreaterThanOrEqual(edits[e - 1]!.end);
        if (issuesOf(tree).length === 0)
          for (const edit of edits) expect(substance(apply(text, [edit]))).toEqual(substance(text));
        const middle = { start: text.length >> 2, end: text.length >> 1 };
        expect(formatEdits(tree, middle)).toEqual(
          edits.filter((edit) => edit.start <= middle.end && edit.end >= middle.start),
        );
      }),
      runs,
    );
  });
});

test('what stands beside others on a line means the same on a line of its own', () => {
  for (const text of [
    'pattern rim bolts measures part a pattern ring circle 6 diameter 80 mm\n',
    '25 procedure overhaul\n',
    'teardown\n  1.1 step open\n    2 remove bolt\n',
    'part a\n3\npart b\n',
  ]) {
    const once = format(text);
    expect(substance(once)).toEqual(substance(text));
    expect(meaning(read(once))).toEqual(meaning(read(text)));
    expect(format(once)).toBe(once);
  }
});

test.each([
  ' identify end rder star procedure overhaul measures metric part bolt\n',
  'step s\nswap a for b\n order star rocedure for measures metric part bolt\n',
])('%s: what a finding is about does not hang on where its line goes on', (text) => {
  const once = format(text);
  expect(meaning(read(once))).toEqual(meaning(read(text)));
  expect(format(once)).toBe(once);
});

test('broken text keeps its meaning and every word, and is formatted after once', () => {
  fc.assert(
    fc.property(mutated({ parts: 4, steps: 3, statements: 4 }), (text) => {
      const once = format(text);
      expect(substance(once)).toEqual(substance(text));
      expect(meaning(read(once))).toEqual(meaning(read(text)));
      expect(format(once)).toBe(once);
    }),
    { numRuns: effort * 800 },
  );
});
