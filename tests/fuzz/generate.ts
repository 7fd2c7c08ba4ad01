import fc from 'fast-check';
import { conditionWords, phaseWords, reservedWords, textStatements } from '../../grammar/tokens.ts';
import { type QuantityKind, units } from '../../grammar/units.ts';

/**
 * Random procedures: syntactically valid, with names that are declared somewhere in them, but no sense. A procedure is
 * built as lines of words (a text, a name, a keyword, a quantity's number are words), so that a test can lay it out as it likes.
 */
export type Line = { readonly indent: number; readonly words: readonly string[] };

export interface Size {
  readonly parts: number;
  readonly steps: number;
  /** Statements of one step. */
  readonly statements: number;
}
const small: Size = { parts: 6, steps: 4, statements: 5 };

/** Names known in the procedure being built; a number picks one. */
interface Pool {
  readonly parts: readonly string[];
  readonly tools: readonly string[];
  readonly supplies: readonly string[];
  readonly patterns: readonly string[];
  readonly readings: readonly string[];
  readonly steps: readonly string[];
}
type Make = (pool: Pool) => string[];
/** A word of the result: literal text, or something that depends on the pool. */
type Piece = string | string[] | Make;

const flat = (pieces: readonly Piece[], pool: Pool): string[] =>
  pieces.flatMap((piece) => (typeof piece === 'function' ? piece(pool) : piece));
const sequence = (...parts: (string | fc.Arbitrary<Piece>)[]): fc.Arbitrary<Make> =>
  fc
    .tuple(...parts.map((part) => (typeof part === 'string' ? fc.constant<Piece>(part) : part)))
    .map((pieces) => (pool) => flat(pieces, pool));
const maybe = (part: fc.Arbitrary<Piece>): fc.Arbitrary<Piece> =>
  fc.option(part, { nil: undefined }).map((piece) => piece ?? []);
const some = (part: fc.Arbitrary<Piece>, separator: string[], max = 3): fc.Arbitrary<Piece> =>
  fc
    .array(part, { minLength: 1, maxLength: max })
    .map(
      (pieces) => (pool: Pool) => pieces.flatMap((piece, i) => [...(i === 0 ? [] : separator), ...flat([piece], pool)]),
    );
const oneOf = (from: keyof Pool): fc.Arbitrary<Piece> =>
  fc.nat().map((n) => (pool: Pool) => [pool[from][n % pool[from].length]!]);

const special = ['plate', 'm', 'in', 'to', 'index', 'using', 'on', 'min', 'with', 'by', 'h', 'torque', 'after', 'x1y'];
const stem = fc.constantFrom('bolt', 'housing', 'gear', 'seal-ring', 'DW-40B', 'Ölring', 'p1', 'shaft', ...special);
const names = (count: number): fc.Arbitrary<string[]> =>
  fc.uniqueArray(
    fc.tuple(stem, fc.nat(99)).map(([word, n]) => (n > 60 ? word : `${word}-${n}`)),
    { minLength: 1, maxLength: Math.max(1, count) },
  );
const sentences = ['Drain the oil', 'Say \\"stop\\"', 'a \\\\ b', '', '# no comment', 'µ° ± 日本', 'fit bolt x4'];
export const text: fc.Arbitrary<string> = fc.constantFrom(...sentences).map((sentence) => `"${sentence}"`);
const count = fc.integer({ min: 1, max: 24 }).map((n) => `x${n}`);
const code = fc.constantFrom('DW-40', 'DW-40B', '40B', '6206-C3', '3/8A', 'A.B', '40-for', '12m', 'x10');

const digits = fc.oneof(
  fc.integer({ min: 0, max: 999 }).map(String),
  fc.tuple(fc.integer({ min: 0, max: 99 }), fc.integer({ min: 0, max: 99 })).map(([a, b]) => `${a}.${b}`),
);
const signed = fc.oneof({ weight: 6, arbitrary: digits }, { weight: 1, arbitrary: digits.map((n) => `-${n}`) });
const unit = (kind: QuantityKind): fc.Arbitrary<string> =>
  fc.constantFrom(...units.filter((each) => each.kind === kind).flatMap((each) => [each.symbol, ...each.also]));
const measure = (kind: QuantityKind): fc.Arbitrary<string[]> =>
  fc
    .tuple(
      fc.oneof(
        { weight: 6, arbitrary: signed.map((n) => [n]) },
        { weight: 1, arbitrary: fc.tuple(digits, digits).map(([a, b]) => [a, '..', b]) },
        {
          weight: 1,
          arbitrary: fc.tuple(digits, fc.constantFrom('±', '+/-'), digits).map(([a, sign, b]) => [a, sign, b]),
        },
      ),
      unit(kind),
    )
    .map(([numbers, name]) => [...numbers, name]);
/** As words: `['25', 'N·m', '(', '18', 'lbf·ft', ')']`. */
export const quantity = (kind: QuantityKind): fc.Arbitrary<string[]> =>
  fc.oneof(
    { weight: 5, arbitrary: measure(kind) },
    { weight: 1, arbitrary: fc.tuple(measure(kind), measure(kind)).map(([a, b]) => [...a, '(', ...b, ')']) },
  );

const part = oneOf('parts');
const parts = some(part, [',']);
const shuffled = (...clauses: fc.Arbitrary<Piece>[]): fc.Arbitrary<Piece> =>
  fc.shuffledSubarray(clauses).chain((chosen) => (chosen.length === 0 ? fc.constant<Piece>([]) : sequence(...chosen)));

const hazard = some(fc.constantFrom('heat', 'pressure', 'spring', 'charge', 'chemical', 'weight'), [',']);
const threads = fc.constantFrom(
  'M8x1.25',
  'M8',
  'M1.6',
  '1/4-20',
  '10-32',
  'M10×1.5',
  'M20x1.5-LH',
  'M8-LH',
  '10-32-LH',
  '3/4-16-LH',
  'G1/2',
  'G 1 1/4 A',
  'R3/8-LH',
  'Rp2',
  '1/2-14 NPT',
  '1-11.5 NPT-LH',
);
const partProperties = shuffled(
  count,
  text,
  sequence('thread', threads),
  sequence('class', fc.constantFrom('8.8', '10.9', 'A2-70', 'A4L-80')),
  fc.constantFrom(...conditionWords),
  sequence('length', quantity('length')),
  sequence('prevailing', quantity('torque')),
  sequence('head', fc.constantFrom('hexagon', 'socket', 'flange')),
  sequence('torque', quantity('torque'), maybe(sequence('then', quantity('angle')))),
  sequence('holes', oneOf('patterns'), maybe(fc.constant('at 1, 3'))),
  fc.constant('renew'),
  sequence('lead', quantity('time')),
  sequence('held', 'by', parts),
  sequence('behind', parts),
  sequence('carried', 'by', part),
  fc.constant('index'),
  sequence('hazard', hazard),
  sequence('bore', quantity('length'), maybe(fc.constantFrom('H7/k6', 'k6', 'js5'))),
  sequence('interference', quantity('length')),
  sequence('diameter', quantity('length')),
  sequence('limit', quantity('temperature')),
  fc.constantFrom('sealed', 'greased'),
  sequence('number', text),
);
const toolProperties = shuffled(text, sequence('range', quantity('torque')), sequence('lead', quantity('time')));
const supplyProperties = shuffled(
  text,
  quantity('volume'),
  sequence('spec', text),
  sequence('cure', quantity('time')),
  sequence('hazard', hazard),
);
const point = fc.tuple(signed, signed).map(([x, y]) => ['(', x, ',', y, ')']);
const pattern = fc.oneof(
  sequence('circle', fc.integer({ min: 2, max: 24 }).map(String), 'diameter', quantity('length')),
  sequence('circle', 'angles', some(quantity('angle'), [','], 6), 'diameter', quantity('length')),
  sequence('points', some(point, [], 6), unit('length')),
);

const modifiers = shuffled(
  text,
  sequence('using', some(oneOf('tools'), [','])),
  sequence('extension', quantity('length'), maybe(sequence('on', quantity('length')))),
  sequence('keep', 'in', text),
  sequence('see', text),
);
const withCount = sequence(maybe(count), modifiers);
const holes = fc.array(fc.integer({ min: 1, max: 24 }).map(String), { minLength: 1, maxLength: 8 });
const tightening = shuffled(
  sequence('to', quantity('torque'), maybe(sequence('then', quantity('angle')))),
  sequence('in', 'stages', some(quantity('torque'), [','])),
  sequence('order', fc.oneof(fc.constantFrom<Piece[]>('star', 'spiral'), holes)),
  sequence('at', 'holes', some(fc.integer({ min: 1, max: 24 }).map(String), [','])),
);

/** Any statement but a block. */
const statement: fc.Arbitrary<Make> = fc.oneof(
  sequence(
    fc.constantFrom(
      'remove',
      'disconnect',
      'discard',
      'replace',
      'fit',
      'connect',
      'loosen',
      'clean',
      'inspect',
      'mark',
      'support',
    ),
    part,
    withCount,
  ),
  sequence('fit', 'new', part, withCount),
  sequence(
    'remove',
    part,
    maybe(fc.constant('spoiled')),
    maybe(sequence('with', some(sequence(part, maybe(count)), [',']))),
  ),
  sequence('swap', part, 'for', part, modifiers),
  sequence('transfer', part, maybe(count), 'from', part, 'to', part),
  sequence('omit', part, maybe(count), text),
  sequence('try', part, 'on', part),
  sequence('tighten', part, maybe(count), tightening, modifiers),
  sequence('tighten', part, 'by', 'hand'),
  sequence('drain', oneOf('supplies'), maybe(quantity('volume')), modifiers),
  sequence('fill', oneOf('supplies'), quantity('volume'), modifiers),
  sequence('apply', oneOf('supplies'), 'to', parts),
  sequence('wait', quantity('time'), maybe(text)),
  sequence(fc.constantFrom('heat', 'cool'), part, 'to', quantity('temperature'), modifiers),
  sequence('press', part, maybe(sequence('max', quantity('force')))),
  sequence('measure', oneOf('readings'), fc.constantFrom('limit', 'max', 'min'), quantity('length')),
  sequence(
    'shim',
    part,
    'gap',
    oneOf('readings'),
    fc.constantFrom('endplay', 'preload'),
    quantity('length'),
    'from',
    some(sequence(quantity('length'), maybe(count)), [',']),
  ),
  sequence(fc.constantFrom(...textStatements), text),
);

type Lines = (pool: Pool, indent: number) => Line[];
const line = (make: fc.Arbitrary<Make>): fc.Arbitrary<Lines> =>
  make.map((each) => (pool, indent) => [{ indent, words: each(pool) }]);

const statements = (max: number, depth = 2): fc.Arbitrary<Lines> => {
  const inner = (): fc.Arbitrary<Lines> => statements(2, depth - 1);
  const within = (lines: Lines, pool: Pool, indent: number): Line[] => lines(pool, indent + 2);
  const one: fc.Arbitrary<Lines> =
    depth === 0
      ? line(statement)
      : fc.oneof(
          { weight: 8, arbitrary: line(statement) },
          {
            weight: 1,
            arbitrary: fc
              .tuple(text, inner(), fc.array(fc.tuple(fc.option(text), inner()), { minLength: 1, maxLength: 2 }))
              .map(([title, first, others]) => (pool: Pool, indent: number) => [
                { indent, words: ['either', title] },
                ...within(first, pool, indent),
                ...others.flatMap(([other, body]) => [
                  { indent, words: other === null ? ['or'] : ['or', other] },
                  ...within(body, pool, indent),
                ]),
                { indent, words: ['end'] },
              ]),
          },
          {
            weight: 1,
            arbitrary: fc
              .tuple(text, inner(), fc.option(inner()))
              .map(([title, first, other]) => (pool: Pool, indent: number) => [
                { indent, words: ['if', title] },
                ...within(first, pool, indent),
                ...(other === null ? [] : [{ indent, words: ['else'] }, ...within(other, pool, indent)]),
                { indent, words: ['end'] },
              ]),
          },
          {
            weight: 1,
            arbitrary: fc.tuple(some(code, [',']), inner()).map(([codes, body]) => (pool: Pool, indent: number) => [
              { indent, words: ['for', ...flat([codes], pool)] },
              ...within(body, pool, indent),
              { indent, words: ['end'] },
            ]),
          },
        );
  return fc
    .array(one, { maxLength: max, size: 'max' })
    .map((all) => (pool, indent) => all.flatMap((lines) => lines(pool, indent)));
};

const head = fc
  .tuple(
    shuffled(text, sequence('applies', 'to', some(code, [','])), sequence('code', 'plate', text)),
    fc.constantFrom('metric', 'imperial'),
  )
  .map(([clauses, system]) => (pool: Pool): Line[] => [
    { indent: 0, words: ['procedure', 'overhaul', ...flat([clauses], pool), 'measures', system] },
  ]);

const phases: string[] = [...phaseWords];

/** A whole procedure. Its head stands on one line; a formatter may break it. */
export const procedure = (size: Size = small): fc.Arbitrary<Line[]> =>
  fc
    .record({
      pool: fc.record({
        parts: names(size.parts),
        tools: names(3),
        supplies: names(3),
        patterns: names(3),
        readings: names(3),
        steps: fc.uniqueArray(
          fc.oneof(
            stem,
            fc.constantFrom(...reservedWords),
            fc.nat(999).map((n) => `s-${n}`),
          ),
          {
            minLength: 1,
            maxLength: size.steps,
            size: 'max',
          },
        ),
      }),
      head,
      use: fc.option(text),
      partProperties: fc.array(partProperties, { minLength: 1, maxLength: 8 }),
      toolProperties: fc.array(toolProperties, { minLength: 1, maxLength: 3 }),
      supplyProperties: fc.array(supplyProperties, { minLength: 1, maxLength: 3 }),
      patterns: fc.array(pattern, { minLength: 1, maxLength: 3 }),
      clauses: fc.array(
        shuffled(text, sequence('takes', quantity('time')), sequence('after', some(oneOf('steps'), [',']))),
        { minLength: 1, maxLength: 4 },
      ),
      bodies: fc.array(statements(size.statements), { minLength: 1, maxLength: 12 }),
      phases: fc.subarray(phases, { minLength: 1 }),
    })
    .map((made) => {
      const { pool } = made;
      const at = <T>(list: readonly T[], i: number): T => list[i % list.length]!;
      const lines: Line[] = [...made.head(pool)];
      if (made.use !== null) lines.push({ indent: 0, words: ['use', made.use] });
      const declare = (kind: string, all: readonly string[], properties: readonly Piece[]): void =>
        all.forEach((name, i) => {
          lines.push({ indent: 0, words: [kind, name, ...flat([at(properties, i)], pool)] });
        });
      declare('part', pool.parts, made.partProperties);
      declare('tool', pool.tools, made.toolProperties);
      declare('supply', pool.supplies, made.supplyProperties);
      declare('pattern', pool.patterns, made.patterns);
      const perPhase = Math.ceil(pool.steps.length / made.phases.length);
      pool.steps.forEach((step, i) => {
        if (i % perPhase === 0) lines.push({ indent: 0, words: [at(made.phases, i / perPhase)] });
        lines.push({ indent: 2, words: ['step', step, ...flat([at(made.clauses, i)], pool)] });
        lines.push(...at(made.bodies, i)(pool, 4));
      });
      return lines;
    });

const isCode = (words: readonly string[], i: number): boolean => words[i]!.startsWith('"');
/** One line a statement, a blank between words but before `,` and `)` and behind `(`. */
export const layOut = (lines: readonly Line[], eol = '\n'): string =>
  lines
    .map(
      ({ indent, words }) =>
        ' '.repeat(indent) +
        words
          .map((word, i) =>
            i === 0 || /^[,)]$|^\.\.$/.test(word) || (/^\(|^\.\.$/.test(words[i - 1]!) && !isCode(words, i - 1))
              ? word
              : ` ${word}`,
          )
          .join(''),
    )
    .join(eol) + eol;

export const procedureText = (size: Size = small): fc.Arbitrary<string> =>
  procedure(size).map((lines) => layOut(lines));

/** Any blanks, line breaks and comments between words. */
export const anyLayout = (size: Size = small): fc.Arbitrary<string> =>
  fc
    .tuple(
      procedure(size),
      fc.array(
        fc.constantFrom(
          ' ',
          ' ',
          ' ',
          ' ',
          '  ',
          '\t',
          '\n',
          '\n',
          '\n\n\n',
          '\n    ',
          ' # why\n',
          '\n# alone\n',
          '\n  # a\n\n  # b\n',
          '\u00A0',
        ),
        { minLength: 1, maxLength: 60 },
      ),
      fc.constantFrom('\n', '\n', '\r\n', '\r'),
      fc.constantFrom('', '', '\uFEFF'),
    )
    .map(([lines, blanks, eol, bom]) => {
      let n = 0;
      return (
        bom +
        lines
          .flatMap(({ words }) =>
            // `step`, the end of the line, `proving` and a step below are read as a phase.
            words.map((word, i) => word + (phases.includes(words[i + 1] ?? '') ? ' ' : blanks[n++ % blanks.length]!)),
          )
          .join('')
          .replaceAll('\n', eol)
      );
    });

/** What breaks things: signs, halves of constructs, keywords, line breaks, odd characters. */
export const snippet: fc.Arbitrary<string> = fc.oneof(
  fc.constantFrom(
    ...[
      '"',
      '\\',
      '#',
      '\n',
      '\r',
      '\r\n',
      ' ',
      '\t',
      ',',
      '(',
      ')',
      '..',
      '...',
      '±',
      '+/-',
      '-',
      '/',
      '.',
      '°',
      '°C',
      '·',
      '×',
    ],
    ...[
      ' x4 ',
      ' 25 ',
      ' 25 N·m',
      ' 1,8 ',
      ' H7/k6 ',
      ' M8x1.25',
      ' G1/2',
      ' 1/2 NPT',
      ' A2-70 ',
      ' 10-32 ',
      '\uFEFF',
      '\u2028',
      '\u0000',
      '日本',
      '\uD83D',
      '😀',
    ],
    ...[
      ' using ',
      ' held by ',
      ' in stages ',
      ' keep in ',
      ' after ',
      ' hazard ',
      ' order star ',
      ' foo ',
      'remvoe bolt\n',
    ],
    // Near to a word that begins something: such a word may be read as it.
    ...['setp a "A"', 'Step', 'stp', 'teardwon', 'assembly', 'ues "a"', 'wraning "x"', 'wiat 5 min'].map(
      (line) => `\n${line}\n`,
    ),
    ...['iff "x"', 'ethier', 'ofr A-1', 'orr "y"', 'esle', 'edn', 'ends', '<<<<<<< a', '=======', '>>>>>>> b'].map(
      (line) => `\n${line}\n`,
    ),
  ),
  fc.constantFrom(...reservedWords.flatMap((word) => [` ${word} `, `\n${word} `, word])),
  fc.string({ unit: 'binary', maxLength: 8 }),
);

/** `start` and `end` as shares of the length of the text that the edit meets. */
export interface Edit {
  readonly start: number;
  readonly length: number;
  readonly text: string;
}
export const edit: fc.Arbitrary<Edit> = fc.record({
  start: fc.double({ min: 0, max: 1, noNaN: true }),
  length: fc.oneof(fc.constant(0), fc.integer({ min: 0, max: 12 }), fc.integer({ min: 0, max: 200 })),
  text: fc.oneof(
    { weight: 1, arbitrary: fc.constant('') },
    { weight: 3, arbitrary: snippet },
    { weight: 1, arbitrary: statement.map((make) => `\n    ${make(fixedPool).join(' ')}\n`) },
  ),
});
const fixedPool: Pool = {
  parts: ['bolt', 'm', 'plate'],
  tools: ['w'],
  supplies: ['oil'],
  patterns: ['rim'],
  readings: ['gap'],
  steps: ['s', 'drain'],
};

/** The edit as offsets in `source`. */
export function placed(
  source: string,
  { start, length, text: inserted }: Edit,
): { start: number; end: number; text: string } {
  const from = Math.min(source.length, Math.floor(start * (source.length + 1)));
  return { start: from, end: Math.min(source.length, from + length), text: inserted };
}
export const applied = (
  source: string,
  { start, end, text: inserted }: { start: number; end: number; text: string },
): string => source.slice(0, start) + inserted + source.slice(end);

/** A valid procedure, then broken in a few places. */
export const mutated = (size: Size = small, most = 6): fc.Arbitrary<string> =>
  fc
    .tuple(fc.oneof(procedureText(size), anyLayout(size)), fc.array(edit, { minLength: 1, maxLength: most }))
    .map(([source, edits]) => edits.reduce((now, each) => applied(now, placed(now, each)), source));
