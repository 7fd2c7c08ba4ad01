import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, type Span, type Statement, spanText, walk } from '../../grammar/syntax.ts';
import { filesIn, judgeSample, textOf, uriOf } from './samples.ts';

/** Left undrafted on purpose: everything that came off is owed, and nothing else is wrong. */
const undrafted = 'irrigation-pump.fettle';
const owed = ['left-off', 'not-replaced', 'left-open'];

describe('clean samples', () => {
  test.each([...filesIn(''), ...filesIn('common')].filter((name) => name !== undrafted))('%s', (name) => {
    expect(judgeSample(name).judged.findings.map(({ code, message }) => `${code}: ${message}`)).toEqual([]);
  });

  test(undrafted, () => {
    const { model, judged } = judgeSample(undrafted);
    const [first] = judged.ledger.variants;
    expect([...new Set(judged.findings.map(({ code }) => code))].sort()).toEqual([...owed].sort());
    const told = judged.findings.map(({ data }) => data?.['subject']);
    const takenOff = [...first!.final].filter(([, state]) => state.taken > 0).map(([part]) => part);
    const drained = [...first!.fluids.keys()];
    expect(told.sort()).toEqual([...takenOff, ...drained].sort());
    expect(model.steps.length).toBeGreaterThan(10);
  });

  test('the winch overhaul has the size that was asked for', () => {
    const { model } = judgeSample('winch-reducer.fettle');
    expect(model.parts.size).toBeGreaterThanOrEqual(60);
    expect(model.steps.length).toBeGreaterThanOrEqual(40);
  });
});

describe('faulty samples give what their heads list, in the order of the text', () => {
  /** `#   left-off       words` behind `# Expected`. */
  const listed = (text: string): string[] => {
    const lines = text.split('\n');
    const from = lines.findIndex((line) => line.startsWith('# Expected')) + 1;
    const rest = lines.slice(from);
    const end = rest.findIndex((line) => !line.startsWith('#'));
    return rest.slice(0, end).flatMap((line) => /^# {3}([a-z]+(?:-[a-z]+)*)\s/.exec(line)?.[1] ?? []);
  };
  test.each(filesIn('faulty'))('%s', (name) => {
    const expected = listed(textOf(name));
    const found = judgeSample(name).judged.findings.map(({ code }) => code);
    expect(expected.length).toBeGreaterThan(0);
    expect(found).toEqual(expected);
  });
});

describe('the winch overhaul, one slip at a time', () => {
  const name = 'winch-reducer.fettle';
  const shared = 'common/fasteners.fettle';
  const text = textOf(name);
  const { model, judged } = judgeSample(name);
  const { tree } = model;
  const statements = model.steps.flatMap(({ step }) => [...walk(step.statements)]);
  const swaps = judged.ledger.variants[0]!.swaps;

  const cut = (from: string, spans: readonly { start: number; end: number }[]): string =>
    [...spans]
      .sort((a, b) => b.start - a.start)
      .reduce((left, { start, end }) => left.slice(0, start) + left.slice(end), from);
  /** What is told of `part` once `spans` are cut out of the sample. */
  const toldOf = (part: string, spans: readonly Span[]): string[] =>
    judgeSample(name, {
      [name]: cut(
        text,
        spans.map((span) => offsetsOf(tree, span)),
      ),
    })
      .judged.findings.filter(({ message }) => message.includes(`\`${part}\``))
      .map(({ code }) => code);
  const lineOf = (statement: Statement): string =>
    `line ${text.slice(0, offsetsOf(tree, statement).start).split('\n').length}, ${spanText(statement)}`;
  const rows = (kinds: readonly string[]): { title: string; statement: Statement; part: string }[] =>
    statements
      .filter(({ kind, name: part }) => kinds.includes(kind) && part !== undefined)
      .map((statement) => ({ title: lineOf(statement), statement, part: statement.name!.text }));

  test('every part that comes off is put back by a line of its own', () => {
    const back = new Set(rows(['fit', 'connect']).map(({ part }) => part));
    const off = rows(['remove', 'disconnect']).map(({ part }) => swaps.get(part) ?? part);
    expect(off.length).toBeGreaterThan(50);
    expect(off.filter((part) => !back.has(part))).toEqual([]);
  });

  test.each(rows(['fit', 'connect']))('without the $title', ({ statement, part }) => {
    expect(toldOf(part, [statement])).not.toEqual([]);
  });

  test.each(rows(['remove', 'disconnect']))('without what answers $title', ({ part }) => {
    const answer = swaps.get(part) ?? part;
    const answers = rows(['fit', 'connect']).filter((row) => row.part === answer);
    const told = toldOf(
      answer,
      answers.map((row) => row.statement),
    );
    expect(
      told.some((code) => owed.includes(code)),
      told.join(),
    ).toBe(true);
  });

  // What hangs on a carrier that is off needs no `remove` before its `discard`.
  const discarded = new Set(rows(['discard']).map(({ part }) => part));
  const mustComeOff = rows(['remove', 'disconnect']).filter(
    ({ part }) => model.parts.get(part)!.carriedBy === undefined || !discarded.has(part),
  );
  test.each(mustComeOff)('without the $title itself', ({ statement, part }) => {
    expect(toldOf(part, [statement])).not.toEqual([]);
  });

  test.each(rows(['tighten']))('without the $title', ({ statement, part }) => {
    expect(toldOf(part, [statement])).toContain('left-loose');
  });

  test.each(rows(['transfer']))('without the $title', ({ statement, part }) => {
    expect(toldOf(part, [statement])).toContain('left-behind');
  });

  test.each(rows(['drain']))('without the fill that answers $title', ({ part }) => {
    const fills = rows(['fill']).filter((row) => row.part === part);
    expect(
      toldOf(
        part,
        fills.map((row) => row.statement),
      ),
    ).toEqual(['left-open']);
  });

  test.each(
    statements.filter(({ kind }) => kind === 'identify').map((statement) => ({ title: lineOf(statement), statement })),
  )('without the $title', ({ statement }) => {
    const { findings } = judgeSample(name, { [name]: cut(text, [offsetsOf(tree, statement)]) }).judged;
    expect(findings.map(({ code }) => code)).toEqual(['unit-unread']);
  });

  const torqued = [...new Set(rows(['tighten']).map(({ part }) => part))];
  test.each(torqued)('without any torque for %s', (part) => {
    const declared = model.parts.get(part)!;
    const inStatements = rows(['tighten'])
      .filter((row) => row.part === part)
      .flatMap(({ statement: { stages, to } }) => {
        const first = stages?.[0] ?? to;
        const last = stages?.at(-1) ?? to;
        if (first === undefined || last === undefined) return [];
        const word = stages === undefined ? 'to ' : 'in stages ';
        return [{ ...first, start: first.start - word.length, end: last.end }];
      });
    const torque = { ...declared.torque!, start: declared.torque!.start - 'torque '.length };
    const own = declared.chunk.uri === tree.uri;
    const spans = [...inStatements, ...(own ? [torque] : [])].map((span) => offsetsOf(tree, span));
    const texts: Record<string, string> = { [name]: cut(text, spans) };
    if (!own) {
      const other = parse(uriOf(shared), textOf(shared));
      const before = other.text.indexOf(`part ${part} `);
      const start = other.text.indexOf('torque ', before);
      texts[shared] = cut(other.text, [{ start, end: start + spanText(torque).length }]);
    }
    const told = judgeSample(name, texts).judged.findings.filter(({ message }) => message.includes(`\`${part}\``));
    expect(told.map(({ code }) => code)).toContain('no-torque');
    expect(told.some(({ code }) => code === 'syntax')).toBe(false);
  });
});
