import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { describe } from '../../server/src/ledger/state.ts';
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

test('what comes only for another code is on from the start: a code sees no more than the text without the blocks of others', () => {
  const of = (block: string): string => `procedure p "P"
  applies to A, B
part guard "Guard"
part gear "Gear" behind guard
teardown
  step open
    remove gear
reassembly
  step close
    fit gear
${block}`;
  const variantsOf = (source: string) => replay(bind(parse('file:///p.fettle', source))).variants;
  const [a, b] = variantsOf(of('    for B\n      fit new guard\n    end\n'));
  const [without] = variantsOf(of(''));
  expect([describe(a!.initial.get('guard')!), describe(b!.initial.get('guard')!)]).toEqual(['1 on', 'in stock']);
  expect(describe(without!.initial.get('guard')!)).toBe('1 on');
  expect(a!.entries[0]!.actions[0]!.covers.map(({ part }) => part)).toEqual(['guard']);
  expect(b!.entries[0]!.actions[0]!.covers).toEqual([]);
});
