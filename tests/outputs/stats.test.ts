import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { statsOf, statsRows, total } from '../../server/src/outputs/stats.ts';

const of = (text: string) => {
  const model = bind(parse('file:///a.fettle', text));
  return statsOf(model, judge(model));
};
const job = `procedure job "Job"
  applies to A-1, A-2
part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
part cap "Cap" held by bolt
part seal x2 "Seal" renew behind cap
part spare
tool wrench range 5..50 N·m
supply oil 1 L
teardown
  step open takes 20 min
    warning "Hot."
    caution "Sharp."
    loosen bolt
    if "it sticks"
      wait 10 min
    end
    # fettle-allow left-off: a trial
    remove seal
`;

test('counts kinds and pieces, statements by verb, messages by level, findings and time', () => {
  expect(of(job)).toEqual({
    lines: 18,
    codes: 2,
    parts: { kinds: 4, pieces: 8, renewed: 1 },
    fasteners: { kinds: 1, pieces: 4, torqued: 1 },
    tools: 1,
    supplies: 1,
    patterns: 0,
    steps: 1,
    statements: { warning: 1, caution: 1, loosen: 1, if: 1, wait: 1, remove: 1 },
    safety: { danger: 0, warning: 1, caution: 1, notice: 0 },
    // left-loose and out-of-reach; unit-unread; the cap, the spare, wrench and oil that nothing uses.
    findings: expect.objectContaining({ warning: 1 }),
    allowed: 1,
    time: { handsOn: 1200, waiting: 600, waitsInCase: true, whole: 1800 },
  });
});

test('sums several, and says them in words', () => {
  const sum = total([of(job), of(job), of('part cap\n')]);
  expect(sum).toMatchObject({
    parts: { kinds: 9, pieces: 17 },
    statements: { loosen: 2 },
    safety: { warning: 2 },
    time: { whole: 3600 },
  });
  expect(statsRows(sum).map(([name, words]) => `${name}: ${words}`)).toEqual(
    expect.arrayContaining([
      'parts: 9 kinds, 17 pieces; 2 kinds single-use',
      'fasteners: 2 kinds, 8 pieces; 2 kinds with a torque',
      'others: 2 tools, 2 supplies, 0 patterns, 4 codes',
      // Messages are told of by themselves.
      'steps: 2, with 8 statements',
      'statements: 2 loosen, 2 if, 2 wait, 2 remove',
      'safety messages: 2 warnings, 2 cautions',
      expect.stringMatching(/^findings: .*\b2 warnings\b.*; 2 silenced$/),
      'time: 40 min hands-on, up to 20 min waiting, up to 1 h in all',
    ]),
  );
  const certain = job.replace('if "it sticks"', '').replace('    end\n', '');
  expect(statsRows(of(certain)).at(-1)).toEqual(['time', '20 min hands-on, 10 min waiting, 30 min in all']);
  expect(total([]).time).toBeUndefined();
});

test('a plan that cannot be made gives no time', () => {
  const loop = 'teardown\n  step a after b\n    do "A."\n  step b\n    do "B."\n';
  expect(of(loop).time).toBeUndefined();
  expect(statsRows(of(loop)).at(-1)).toEqual(['time', 'cannot be planned']);
});
