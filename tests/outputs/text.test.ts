import { describe, expect, test } from 'vitest';
import type { Range } from '../../server/src/outputs/report.ts';
import { marked, textWriter } from '../../server/src/outputs/text.ts';
import { visible } from '../../server/src/outputs/wording.ts';

const on = (start: number, end: number, endLine = 0): Range => ({
  start: { line: 0, character: start },
  end: { line: endLine, character: end },
});
/** Marks the first `words` in `line`. */
const markWords = (line: string, words: string, width = 80): [string, string] => {
  const at = line.indexOf(words);
  return marked(line, on(at, at + words.length), width);
};

describe('the mark', () => {
  test('stands under the range', () => {
    expect(markWords('    remove bolt x2', 'bolt')).toEqual(['    remove bolt x2', '           ^^^^']);
  });
  test('is one sign for an empty range, also behind the end', () => {
    expect(marked('fit', on(1, 1), 80)).toEqual(['fit', ' ^']);
    expect(marked('fit', on(3, 3), 80)).toEqual(['fit', '   ^']);
    expect(marked('', on(0, 0), 80)).toEqual(['', '^']);
    expect(marked('fit', on(9, 12), 80)).toEqual(['fit', '   ^']);
  });
  test('of several lines runs to the end of the first', () => {
    expect(marked('either "Heat"', on(7, 3, 4), 80)).toEqual(['either "Heat"', '       ^^^^^^']);
  });
  test('keeps tabs, so that any tab stop aligns it', () => {
    expect(markWords('\tfit\tbolt', 'bolt')).toEqual(['\tfit\tbolt', '\t   \t^^^^']);
    expect(markWords('\tfit\tbolt', 'fit\tbolt')).toEqual(['\tfit\tbolt', '\t^^^\t^^^^']);
  });
  // Widths: Unicode UAX #11 and UTS #51. 軸 is W, ａ is F, é as e and U+0301 one sign, a family of four joined one emoji.
  test('is two columns under wide signs and none under combining ones', () => {
    expect(markWords('"軸受" x', '軸受')[1]).toBe(' ^^^^');
    expect(markWords('"軸受" x', 'x')[1]).toBe('       ^');
    expect(markWords('ａ x', 'x')[1]).toBe('   ^');
    expect(markWords('e\u0301 x', 'x')[1]).toBe('  ^');
    expect(markWords('👨‍👩‍👧‍👦 x', 'x')[1]).toBe('   ^');
    expect(markWords('⚠️ x', 'x')[1]).toBe('   ^');
    expect(markWords('25 N·m ± 2 µm', 'µm')[1]).toBe('           ^^');
  });
  test('covers the whole sign where the range cuts one', () => {
    expect(marked('a👍b', on(2, 3), 80)).toEqual(['a👍b', ' ^^']);
  });
});

describe('a long line', () => {
  const long = `${'a '.repeat(100)}HERE ${'b '.repeat(100)}`.trimEnd();
  test('is cut around the range', () => {
    const [line, mark] = markWords(long, 'HERE', 40);
    expect(line).toHaveLength(40);
    expect(line).toMatch(/^…[a ]+HERE[b ]+…$/);
    expect(mark).toBe(`${' '.repeat(line.indexOf('HERE'))}^^^^`);
  });
  test('is cut at one end only where the range is at the other', () => {
    expect(markWords(`HERE ${long}`, 'HERE', 40)).toEqual([expect.stringMatching(/^HERE a.*…$/), '^^^^']);
    const [line, mark] = markWords(`${'c'.repeat(99)}HERE`, 'HERE', 40);
    expect(line).toBe(`…${'c'.repeat(34)}HERE`);
    expect(mark).toBe(`${' '.repeat(35)}^^^^`);
  });
  test('with a range longer than the room shows its beginning', () => {
    const [line, mark] = marked('x'.repeat(200), on(50, 150), 40);
    expect(line).toBe(`…${'x'.repeat(38)}…`);
    expect(mark).toBe(` ${'^'.repeat(38)}`);
  });
  test('of a megabyte is no burden', () => {
    const [line, mark] = markWords(`${'軸'.repeat(500_000)}HERE${'軸'.repeat(500_000)}`, 'HERE', 40);
    expect(line).toMatch(/^…軸+HERE軸+…$/);
    expect(mark.trimStart()).toBe('^^^^');
  });
  // A sign two columns wide out of sight makes the writer tell signs apart one by one; what is seen must not change.
  test('of Latin letters, told apart at once, is shown as one told apart sign by sign', () => {
    const width = 40;
    const line = Array.from({ length: 30 * width }, (_, i) => 'tighten 25 N·m ± 2 é'[(i * 7) % 20]).join('');
    for (let from = 0; from < line.length; from += 13) {
      for (const length of [0, 1, 9, width, 3 * width]) {
        const out = from + length + 3 * width;
        const range = on(from, from + length);
        if (out < line.length)
          expect(marked(`${line.slice(0, out)}軸${line.slice(out + 1)}`, range, width)).toEqual(
            marked(line, range, width),
          );
      }
    }
  });
  test('is never wider than the room, and its mark covers the range', () => {
    for (let from = 0; from < long.length; from += 7) {
      const [line, mark] = marked(long, on(from, from + 5), 50);
      expect(line.length).toBeLessThanOrEqual(50);
      const at = mark.indexOf('^');
      expect(line.slice(at, mark.length)).toBe(
        long
          .slice(from, from + 5)
          .trimEnd()
          .padEnd(Math.min(5, long.length - from))
          .slice(0, line.length - at),
      );
    }
  });
});

test('nothing in a file name, message or line is obeyed by the terminal', () => {
  const hostile = 'a\u001b[2Jb\u0007\u202ec\u2066\u0085\u2028\n';
  expect(visible(hostile)).toBe('a␛[2Jb␇�c���␊');
  const writer = textWriter({ colour: false, width: 80, quiet: false });
  const finding = {
    code: 'syntax',
    severity: 'error',
    range: on(0, 4),
    message: hostile,
    related: [],
    repairs: [],
  } as const;
  const out = writer.file({ file: hostile, findings: [finding] }, hostile.trimEnd());
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for.
  expect(out).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/);
});

test('colours stand only where they are wanted', () => {
  const finding = {
    code: 'syntax',
    severity: 'error',
    range: on(0, 1),
    message: 'm',
    related: [],
    repairs: [],
  } as const;
  const report = { file: 'f', findings: [finding] };
  const plain = textWriter({ colour: false, width: 80, quiet: false }).file(report, 'x');
  const coloured = textWriter({ colour: true, width: 80, quiet: false }).file(report, 'x');
  expect(plain).toBe('f:1:1 error syntax m\n    x\n    ^\n\n');
  expect(coloured).toContain('\u001b[');
  // biome-ignore lint/suspicious/noControlCharactersInRegex: colour sequences (ECMA-48, SGR).
  expect(coloured.replace(/\u001b\[[\d;]*m/g, '')).toBe(plain);
});

test('the closing line counts', () => {
  const writer = textWriter({ colour: false, width: 80, quiet: false });
  writer.file({ file: 'a', findings: [] }, '');
  writer.file({ file: 'b', findings: [] }, '');
  expect(writer.closing({ error: 1, warning: 2, information: 3, hint: 0 })).toMatch(
    /^2 files checked: 1 error, 2 warnings, 3 information\n/,
  );
});
