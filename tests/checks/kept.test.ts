import { describe, expect, test, vi } from 'vitest';
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import { owedAtEnd } from '../../server/src/checks/at-end.ts';
import type { Check, Finding } from '../../server/src/checks/check.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, type Model } from '../../server/src/model/model.ts';

/** What an edit leaves alone is kept as it is, not reckoned again: that alone makes a keystroke cheap. */
interface Result {
  readonly model: Model;
  readonly judged: Judged;
}
const fresh = (text: string): Result => {
  const model = bind(parse('file:///unit.fettle', text));
  return { model, judged: judge(model) };
};
function after({ model: before, judged }: Result, old: string, by: string): Result {
  const start = before.tree.text.indexOf(old);
  expect(start).toBeGreaterThanOrEqual(0);
  const change: Change = { start, end: start + old.length, text: by };
  const model = bind(reparse(before.tree, change), undefined, before);
  return { model, judged: judge(model, defaultSettings, replay(model, judged.ledger), judged.ledger) };
}

// Each step turns two units of its own; unit 3 is used by two steps. The torques without unit are findings of a local check.
const units = [0, 1, 2, 3, 4, 5];
const text = [
  'procedure unit "Unit"',
  ...units.flatMap((i) => [
    `part cover-${i} "Cover" held by bolt-${i}`,
    `part bolt-${i} x2 "Bolt" thread M8 class 8.8 torque 25`,
  ]),
  'supply oil "Oil" 1 L',
  'teardown',
  ...units.flatMap((i) => [`  step open-${i}`, `    remove bolt-${i}`, `    remove cover-${i}`]),
  '  step empty "Nothing that moves"',
  '    do "Look."',
  'reassembly',
  ...units.flatMap((i) => [`  step close-${i}`, `    fit cover-${i}`, `    fit bolt-${i}`, `    tighten bolt-${i}`]),
  '',
].join('\n');
/** Names of the steps that were replayed anew. */
const replayed = (before: Result, now: Result): string[] =>
  now.judged.ledger.variants[0]!.records.flatMap((record, i) =>
    before.judged.ledger.variants[0]!.records[i] === record ? [] : [record.step.step.name!.text],
  );
const unitless = ({ judged }: Result): readonly Finding[] => judged.findings.filter(({ code }) => code === 'no-unit');

test('a byte order mark belongs to the beginning of a file, and nowhere else', () => {
  const marks = (source: string): unknown =>
    fresh(source)
      .judged.findings.filter(({ code }) => code === 'hidden-text')
      .map(({ span }) => [span.chunk.text, span.start]);
  expect(marks('\ufeffpart lid "Lid"\npart cap "Cap"\n')).toEqual([]);
  expect(marks('part lid "Lid"\n\ufeffpart cap "Cap"\n')).toHaveLength(1);
  expect(marks('part lid "Lid"\npart c\ufeffap "Cap"\n')).toHaveLength(1);
});

describe('after an edit', () => {
  test.each([
    ['a text in a step', '"Look."', '"Look twice."', ['empty']],
    ['a mark in a step', '    remove cover-2\n', '    mark bolt-2\n    remove cover-2\n', ['open-2', 'close-2']],
    ['a statement that changes no part', '    fit cover-4\n', '    clean cover-4\n    fit cover-4\n', ['close-4']],
    ['the title of a part', '"Cover" held by bolt-1', '"Lid" held by bolt-1', ['open-1', 'close-1']],
    ['the count of a part', 'part bolt-5 x2', 'part bolt-5 x4', ['open-5', 'close-5']],
    ['what holds a part', 'held by bolt-0', 'held by bolt-1', ['open-0', 'close-0']],
    ['a supply that no step touches', '"Oil" 1 L', '"Oil" 2 L', []],
    ['a line that cannot be read', '    remove bolt-3\n', '    remvoe bolt-3\n', ['open-3', 'close-3']],
    // It may silence something there.
    ['a comment above a step', '  step open-2\n', '  # first\n  step open-2\n', ['open-2', 'close-2']],
  ])('%s: only the steps that it concerns are replayed', (_, old, by, steps) => {
    const before = fresh(text);
    expect(replayed(before, after(before, old, by))).toEqual(steps);
  });

  /** Codes of the checks that were run on the whole text again. */
  const rerun = (before: Result, old: string, by: string): string[] => {
    const spies = allChecks.map((check) => [check, vi.spyOn(check, 'run')] as const);
    const now = after(before, old, by);
    const whole = spies.filter(([, spy]) => spy.mock.calls.some(([{ model }]) => model === now.model));
    vi.restoreAllMocks();
    return whole.map(([{ code }]) => code);
  };
  test('checks of the whole are spared where only words of a text differ', () => {
    const before = fresh(text);
    expect(rerun(before, '"Look."', '"Look twice."')).toEqual([]);
    expect(rerun(before, '    do "Look."', '    do\n\n      "Look."  # again')).toEqual([]);
  });
  test.each([
    ['a text that comes', 'fit cover-4\n', 'fit cover-4 "Flush"\n'],
    ['a name', 'fit cover-4\n', 'fit cover-3\n'],
    ['a count', 'remove bolt-3\n', 'remove bolt-3 x1\n'],
    ['another verb', 'do "Look."', 'check "Look."'],
    ['the title of a step', '"Nothing that moves"', '"Nothing"'],
    ['the title of a part', '"Oil"', '"Grease"'],
    ['a text that loses its end', '"Look."', '"Look.'],
  ])('%s: they are run again', (_, old, by) => {
    expect(rerun(fresh(text), old, by)).toContain('left-off');
  });
  test.each([
    ['itself', '    remove lid "Off"\n'],
    ['what it points to', '    remove lid "Off"\n  step again\n    remove lid\n'],
  ])('where a finding of theirs stands in the line or points to it, they are run again: %s', (_, lines) => {
    const before = fresh(`part lid "Lid"\nteardown\n  step open\n${lines}`);
    expect(before.judged.findings.map(({ code }) => code)).toContain('left-off');
    expect(rerun(before, '"Off"', '"Gone"')).toContain('left-off');
  });

  const cured = [
    'part lid "Lid"',
    'supply glue "Glue" cure 60 min',
    'supply oil "Oil" 1 L',
    'reassembly',
    '  step close takes 10 min',
    '    apply glue to lid',
    '  step look takes 20 min',
    '    do "Look."',
    '  step fill',
    '    fill oil 1 L',
    '',
  ].join('\n');
  const early = ({ judged }: Result) => judged.ledger.variants[0]!.earlyLoads;
  test('cures are gone through again only where time, or what is applied and filled, may differ', () => {
    const before = fresh(cured);
    expect(early(before)).toHaveLength(1);
    expect(early(after(before, '"Look."', '"Look twice."'))).toBe(early(before));
  });
  test.each([
    ['    apply glue to lid\n', '    clean lid\n    apply glue to lid "Thinly"\n'],
    ['    fill oil 1 L\n', '    wait 0 min\n    fill oil 1.2 L\n'],
  ])('of a step that cures and loads as before they point to what stands there now: %s', (old, by) => {
    const before = fresh(cured);
    const now = after(before, old, by);
    expect(early(now)).toEqual(early(fresh(now.model.tree.text)));
    for (const which of ['applied', 'loading'] as const)
      expect(now.model.steps.flatMap(({ step }) => step.statements)).toContain(early(now)[0]![which]);
  });
  test('they are not gone through again where a step cures and loads as before', () => {
    const before = fresh(cured.replace('cure 60 min', 'cure 10 min'));
    expect(early(after(before, 'apply glue to lid', 'apply glue to lid "Thinly"'))).toBe(early(before));
  });
  test.each([
    ['the time that a step takes', 'look takes 20 min', 'look takes 2 h', 0],
    ['a wait', '"Look."\n', '"Look."\n    wait 1 h\n', 0],
    ['the cure of a supply', 'cure 60 min', 'cure 10 min', 0],
    ['a filling that comes sooner', '"Look."\n', '"Look."\n    fill oil 1 L\n', 1],
    ['an application taken out', '    apply glue to lid\n', '    do "Wait."\n', 0],
    ['the phase', 'reassembly\n', 'proving\n', 1],
  ])('%s bears on cures', (_, old, by, loads) => {
    const before = fresh(cured);
    const now = after(before, old, by);
    expect(early(now)).not.toBe(early(before));
    expect(early(now)).toHaveLength(loads);
    const anew = fresh(now.model.tree.text);
    expect(early(now).map(({ supply, elapsed, cure }) => [supply, elapsed, cure])).toEqual(
      early(anew).map(({ supply, elapsed, cure }) => [supply, elapsed, cure]),
    );
  });

  test('what is owed at the end is told after edits that bear on it, and after those that do not', () => {
    const before = fresh(text.replace('    fit cover-5\n', ''));
    const owed = ({ judged }: Result) => owedAtEnd(judged.ledger.variants[0]!);
    expect(owed(before).map(({ part }) => part)).toEqual(['cover-5']);
    expect(owed(after(before, '    fit cover-4\n', '    clean cover-4\n    fit cover-4 "Flush"\n'))).toEqual(
      owed(before),
    );
    const more = after(before, '    fit cover-4\n', '');
    expect(owed(more).map(({ part }) => part)).toEqual(['cover-4', 'cover-5']);
    expect(owed(after(more, '  step close-5\n', '  step close-5\n    fit cover-5\n')).map(({ part }) => part)).toEqual([
      'cover-4',
    ]);
    expect(owed(after(before, '    remove cover-5\n', '    omit cover-5 "It stays."\n'))).toEqual([]);
  });

  test('an allowance that comes, changes or goes is seen', () => {
    const allowed = ({ judged }: Result) => judged.allowed.map(({ code }) => code);
    const before = fresh(text.replace('    fit cover-5\n', ''));
    expect(allowed(before)).toEqual([]);
    const comment = '    # fettle-allow left-off: It goes to the shop.\n';
    const now = after(before, '    remove cover-5\n', `${comment}    remove cover-5\n`);
    expect(allowed(now)).toEqual(['left-off']);
    expect(allowed(after(now, '    fit cover-4\n', ''))).toEqual(['left-off']);
    expect(allowed(after(now, 'allow left-off', 'allow count-short'))).toEqual([]);
    expect(allowed(after(now, comment, ''))).toEqual([]);
  });

  test('the state at the start is kept where nothing comes off or goes on otherwise', () => {
    const before = fresh(text);
    const start = (result: Result) => result.judged.ledger.variants[0]!.initial;
    expect(start(after(before, '"Look."', '"Look twice."'))).toBe(start(before));
    expect(start(after(before, '    fit cover-4\n', '    clean cover-4\n    fit cover-4\n'))).toBe(start(before));
    const fitted = after(before, '    remove cover-4\n', '');
    expect(start(fitted)).toBe(start(before));
    // Of the parts themselves the state is the old one, but for those that changed.
    const stock = after(fitted, '    fit cover-4\n', '    fit new cover-4\n');
    for (const [name, state] of start(stock)) expect(state === start(before).get(name)).toBe(name !== 'cover-4');
    expect(start(stock).get('cover-4')!.stock).toBe(true);
    const more = after(before, 'part bolt-5 x2', 'part bolt-5 x4');
    for (const [name, state] of start(more)) expect(state === start(before).get(name)).toBe(name !== 'bolt-5');
  });

  test('findings of checks that go by chunks are kept for the others', () => {
    const before = fresh(text);
    expect(unitless(before)).toHaveLength(units.length);
    for (const [old, by, anew] of [
      ['"Look."', '"Look twice."', 0],
      ['part cover-2 "Cover"', 'part cover-2 "Lid"', 0],
      ['part bolt-5 x2', 'part bolt-5 x4', 1],
      ['  step open-2\n', '  # first\n  step open-2\n', 0],
    ] as const) {
      const now = after(before, old, by);
      const kept = new Set(unitless(before));
      expect(unitless(now)).toHaveLength(units.length);
      expect(
        unitless(now).filter((finding) => !kept.has(finding)),
        old,
      ).toHaveLength(anew);
    }
  });

  test('a check that breaks on what was touched is given the whole once more, and is told of', () => {
    const check = allChecks.find(({ code }) => code === 'no-unit')! as { -readonly [key in keyof Check]: Check[key] };
    const { run } = check;
    const before = fresh(text);
    check.run = function* (context) {
      // Breaks where it sees a part of its chunk alone.
      if (context.model.ownDeclarations.length < 5) throw new Error('too little');
      yield* run.call(check, context);
    };
    try {
      const now = after(before, 'part bolt-5 x2', 'part bolt-5 x4');
      expect(now.judged.findings.filter(({ code }) => code === 'fault')).toEqual([]);
      expect(unitless(now)).toHaveLength(units.length);
    } finally {
      check.run = run;
    }
  });

  test('such a check is given the touched chunks alone', () => {
    const check = allChecks.find(({ code }) => code === 'no-unit')! as { -readonly [key in keyof Check]: Check[key] };
    const { run } = check;
    const seen: string[][] = [];
    check.run = function* (context) {
      seen.push(context.model.ownDeclarations.map(({ name }) => name!.text));
      yield* run.call(check, context);
    };
    try {
      const before = fresh(text);
      expect(seen.pop()).toHaveLength(2 * units.length + 1);
      after(before, 'part bolt-5 x2', 'part bolt-5 x4');
      // The cover that it holds asks about it.
      expect(seen.pop()!.toSorted()).toEqual(['bolt-5', 'cover-5']);
    } finally {
      check.run = run;
    }
  });
});
