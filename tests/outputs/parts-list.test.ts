import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { readCsv, separatorOf } from '../../server/src/outputs/csv.ts';
import { cell } from '../../server/src/outputs/kit-csv.ts';
import { type DraftedParts, draftParts, type ListOptions } from '../../server/src/outputs/parts-list.ts';

const cells = (text: string, separator?: ',' | ';' | '\t'): string[][] =>
  readCsv(text, separator).records.map((record) => [...record.cells]);

describe('comma-separated values', () => {
  // The examples of RFC 4180, section 2, rules 1 to 7.
  test.each([
    [
      'aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      'aaa,bbb,ccc\r\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
      [
        ['aaa', 'b\r\nbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    ['"aaa","b""bb","ccc"', [['aaa', 'b"bb', 'ccc']]],
  ])('%j', (text, expected) => expect(cells(text)).toEqual(expected));

  test('spaces belong to a field; empty fields count; empty lines do not', () => {
    expect(cells(' a , b\n\n,\n\r\nc,\n,"",x')).toEqual([
      [' a ', ' b'],
      ['', ''],
      ['c', ''],
      ['', '', 'x'],
    ]);
    expect(cells('a;b,c\n', ';')).toEqual([['a', 'b,c']]);
    expect(cells('a\tb\r"x\ty"\tz', '\t')).toEqual([
      ['a', 'b'],
      ['x\ty', 'z'],
    ]);
    expect(cells('\ufeffa,b')).toEqual([['a', 'b']]);
    expect(cells('')).toEqual([]);
  });

  test('records know their lines', () => {
    expect(readCsv('a\n"x\r\ny"\n\nb').records.map(({ line }) => line)).toEqual([1, 2, 5]);
  });

  test.each([
    ['a,b\nc,"d\ne', 2, 'a quote is opened and never closed'],
    ['a\n"b" c\nd', 2, 'something stands behind a closing quote'],
  ])('%j stops at its line', (text, line, message) => {
    const { problem, records } = readCsv(text);
    expect(problem?.line).toBe(line);
    expect(problem?.message).toContain(message);
    expect(records.length).toBe(1);
  });

  test('reads what the kit list writes', () => {
    const field = fc.string({ unit: fc.constantFrom('a', '"', ',', '\n', '\r', ' ', ';', 'ä') });
    const table = fc.array(fc.array(field, { minLength: 2, maxLength: 4 }), { minLength: 1 });
    fc.assert(
      fc.property(table, (rows) => {
        const text = rows.map((row) => row.map((each) => cell(each)).join(',')).join('\r\n');
        const plain = rows.map((row) => row.map((each) => (/^[\r\n]/.test(each) ? `'${each}` : each)));
        expect(cells(text)).toEqual(plain);
      }),
    );
  });

  test('the separator is told from the first line', () => {
    expect(separatorOf('a;b;"c,d,e,f"\n1,2,3,4')).toBe(';');
    expect(separatorOf('a\tb\n')).toBe('\t');
    expect(separatorOf('a')).toBe(',');
  });
});

const draft = (list: string, options: Partial<ListOptions> = {}): DraftedParts => {
  const drafted = draftParts(list, { columns: {}, units: {}, ...options });
  if ('problem' in drafted) throw new Error(drafted.problem.message);
  return drafted;
};

describe('declarations drafted from a parts list', () => {
  test('take their columns by heading, whatever its case, by number, or by the name of the field', () => {
    const list =
      'Pos;Item No;DESCRIPTION;Qty;thread;class;Nm\n1;Cover Screw;Cover screw;6;M6;8.8;9\n2;;Deckel "groß";1;;;\n';
    const { text, drafted, problems } = draft(list, {
      columns: { part: 'item no', title: 'Description', quantity: '4', torque: 'Nm' },
      units: { torque: 'N·m' },
    });
    expect(problems).toEqual([]);
    expect(drafted).toBe(2);
    expect(text).toBe(
      'part cover-screw x6 "Cover screw" thread M6 class 8.8 torque 9 N·m\npart deckel-groß "Deckel \\"groß\\""\n',
    );
  });

  test('are given names that the language takes, each once', () => {
    const titles = ['Bolt', 'Bolt', '8 mm pin', 'x4', 'part', 'N·m', '---', 'Ölring 2'];
    const { text } = draft(`title\n${titles.join('\n')}`);
    expect(text.split('\n').map((line) => line.split(' ')[1])).toEqual([
      'bolt',
      'bolt-2',
      'part-8-mm-pin',
      'part-x4',
      'part-part',
      'n-m',
      'unnamed',
      'ölring-2',
      undefined,
    ]);
  });

  test('leave a row that makes no sense out, with line and remedy, and keep it as a comment', () => {
    const list = `part,title,quantity,thread,length,torque
a,A,ten,,,
b,"B, the
second",2.5,,,
c,C,0,,,
,,1,,,
d,D,1,M6,20,
e,E,1,M6,20 mm,9 mm
f,F,1,,,,,
g,G,1,M6,20 mm,9 N·m
g,G,1,M6,20 mm,9 N·m
h,H,1,Q9,,
`;
    const { text, drafted, problems } = draft(list);
    expect(problems.map(({ line, message }) => `${line}: ${message}`)).toEqual([
      '2: "ten" is no quantity: write a whole number from 1 to 9999',
      '3: "2.5" is no quantity: write a whole number from 1 to 9999',
      '5: "0" is no quantity: write a whole number from 1 to 9999',
      '6: it has no name and no title: write one, or take the row out',
      expect.stringMatching(/^7: 20 has no unit/),
      expect.stringMatching(/^8: 9 mm is a length/),
      '9: it has 8 cells under 6 headings: put a cell with a separator in quotes',
      '11: g stands in line 10 already: add the quantities up, or give it another name',
      expect.stringMatching(/^12: /),
    ]);
    expect(drafted).toBe(1);
    expect(text).toContain('part g "G" thread M6 length 20 mm torque 9 N·m\n');
    expect(text).toContain(
      '# Line 3 is left out: "2.5" is no quantity: write a whole number from 1 to 9999: b | B, the second | 2.5',
    );
    expect(text.match(/^# Line/gm)?.length).toBe(9);
  });

  test('end where the table cannot be read on, and say so', () => {
    const { text, problems } = draft('title\nA\n"B\n');
    expect(problems).toEqual([{ line: 3, message: 'a quote is opened and never closed: close it, or double it' }]);
    expect(text).toContain('part a "A"\n# From line 3 on nothing is drafted');
  });

  test.each([
    ['Item,Qty\n', { part: 'Itm' }, 'there is no column Itm for part: did you mean Item?'],
    ['Item,Qty\n', { part: 'Zzzzzz' }, 'there is no column Zzzzzz for part: the columns are Item, Qty'],
    ['Item,Qty\n', {}, 'no column says what the parts are called: name it, as in --map title=Item'],
    ['', {}, 'the table is empty: its first line names the columns'],
  ])('%j by %j cannot be told', (list, columns, message) => {
    expect(draftParts(list, { columns, units: {} })).toMatchObject({ problem: { line: 1, message } });
  });

  test('are read without an error, whatever the table holds', () => {
    const field = fc.oneof(
      fc.string({ unit: 'grapheme', maxLength: 12 }),
      fc.constantFrom('6', 'M6', '8.8', '25 N·m', 'bolt', '"', '\\', '\n', '# x', 'step', 'x4', '=1+1', "'=x"),
    );
    const row = fc.tuple(field, field, field, field, field);
    fc.assert(
      fc.property(fc.array(row), (rows) => {
        const body = rows.map((each) => each.map((text) => `"${text.replaceAll('"', '""')}"`).join(',')).join('\r\n');
        const { text, drafted, problems } = draft(`part,title,quantity,thread,number\r\n${body}`);
        const model = bind(parse('file:///a.fettle', text));
        expect(judge(model).findings.filter(({ severity }) => severity === 'error')).toEqual([]);
        expect(model.parts.size).toBe(drafted);
        // Rows of empty cells alone count too: they name nothing, which is told.
        expect(drafted + problems.length).toBe(rows.length);
      }),
    );
  });
});

// Spreadsheets of countries with a decimal comma part cells by semicolons, and some write `sep=;` first: common practice, no source.
describe('tables of a spreadsheet with decimal commas', () => {
  const options: ListOptions = { columns: { part: 'name' }, units: { torque: 'N·m' } };
  const made = (text: string): DraftedParts => {
    const drafted = draftParts(text, options);
    if ('problem' in drafted) throw new Error(drafted.problem.message);
    return drafted;
  };

  test('are read where semicolons part their cells', () => {
    const drafted = made('name;torque;thread;quantity\r\nbolt;25,5;M8x1,25;2,0\r\n');
    expect(drafted).toMatchObject({
      text: 'part bolt x2 thread M8x1.25 torque 25.5 N·m\n',
      drafted: 1,
      problems: [],
    });
  });

  test('name their separator in a line of its own, which counts as one', () => {
    const drafted = made('\ufeffsep=;\r\nname;torque\r\nbolt, long;25\r\nnut;a\r\n');
    expect(drafted.text).toMatch(/^part bolt-long torque 25 N·m\n/);
    expect(drafted.problems.map(({ line }) => line)).toEqual([4]);
  });

  test('are not guessed at where a comma may part thousands, or parts cells', () => {
    expect(made('name;torque\na;1,250\n').problems).toEqual([
      { line: 2, message: '"1,250" has a comma between its digits: write 1.250 or 1250' },
    ]);
    expect(made('name,torque,thread\na,"25,5",M8\nb,25,"M8x1,25"\n').problems).toEqual([
      { line: 2, message: '"25,5" has a comma between its digits: write 25.5' },
      { line: 3, message: '"M8x1,25" has a comma between its digits: write 1.25' },
    ]);
  });

  test('give back what the kit list guards against spreadsheets, and no other apostrophe', () => {
    const drafted = made(`name,thread,number,title\nscrew,'10-32,'0012,'90s screw\n`);
    expect(drafted.text).toBe(`part screw "'90s screw" thread 10-32 number "0012"\n`);
  });
});
