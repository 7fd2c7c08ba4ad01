import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind } from '../../server/src/model/model.ts';

const text = (codes: readonly string[]): string => `procedure p "P"
  applies to ${codes.join(', ')}
part lid "Lid"
part cap "Cap"
teardown
  step open
    identify "Read the code."
    remove lid
    for B
      remove cap
    end
`;

test('codes that no `for` names share one replay, and each keeps its name', () => {
  const { variants } = replay(bind(parse('file:///p.fettle', text(['A', 'B', 'C', 'D']))));
  expect(variants.map(({ code }) => code)).toEqual(['A', 'B', 'C', 'D']);
  const [a, b, c, d] = variants;
  expect(c!.entries).toBe(a!.entries);
  expect(d!.entries).toBe(a!.entries);
  expect(b!.entries).not.toBe(a!.entries);
});

test('what all codes share is told once, and what one has says so', () => {
  const messages = judge(bind(parse('file:///p.fettle', text(['A', 'B', 'C'])))).findings.map(({ message }) => message);
  expect(messages).toHaveLength(2);
  expect(messages[0]).toMatch(/^`lid` /);
  expect(messages[1]).toMatch(/^for B: `cap` /);
});
