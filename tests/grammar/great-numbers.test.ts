import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';

const digits = '9'.repeat(310);

// More than a double holds: it would be Infinity in every message and sum.
test.each([
  `part bolt x2 "Bolt" thread M8 class 8.8 torque ${digits} N·m (15 ± 1 lbf·ft)`,
  `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order 1 3 2 ${digits}`,
])('a number of hundreds of digits is told of, and never as infinite', (text) => {
  const { findings } = judge(bind(parse('file:///great.fettle', text)));
  expect(findings.length).toBeGreaterThan(0);
  expect(findings.map(({ message }) => message).join('\n')).not.toMatch(/Infinity|NaN/);
});
