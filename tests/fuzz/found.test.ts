import { expect, test } from 'vitest';
import { randomOf } from './inputs.ts';
import { answersSafely, judgedSafely, writesSafely } from './path.ts';

/** What the fuzzer found, reduced. */
test.each([
  'procedure lid measures metric\npart torque 25 (18 lbf·ft)\n',
  'procedure lid measures metric\npart torque 25 (18 lbf·ft)N·m\n',
  'measure slack limit 0.10..0.20 mm\nshim spring-ring gap slack preload 1.0..1.1 mm from ',
  'part bolt torque 25 N·m\nteardown\nstep s\ntighten bolt in stages ',
  'part bolt torque 25 tighten bolt in stages ',
  'step s\n  fit "\n  "" drain\n  or "" end\n',
  `part stud x4${'9'.repeat(400)} "Stud"\n`,
  `part stud "Stud" torque ${'9'.repeat(400)} N·m\n`,
])('%j', async (text) => {
  const { model, judged } = judgedSafely(text);
  writesSafely(text, model, judged, randomOf(1));
  await answersSafely(text, 'x', randomOf(1));
  expect(judged.ledger.variants).not.toEqual([]);
});
