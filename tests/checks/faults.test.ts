import { afterEach, expect, test, vi } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { actionsWhere } from '../../server/src/checks/actions.ts';
import type { Action } from '../../server/src/checks/check.ts';
import { replaceSpan } from '../../server/src/checks/edits.ts';
import { leftOff } from '../../server/src/checks/left-off.ts';
import { longText } from '../../server/src/checks/long-text.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { after, behind } from '../bench/core.ts';

afterEach(() => vi.restoreAllMocks());

const text = `part cover "Cover"
part lid "Lid"
teardown
  step open
    remove cover
    remove lid
`;
const judged = (of = text) => judge(bind(parse('file:///bench/pump.fettle', of))).findings;
const brief = (of = text) => judged(of).map(({ code, severity }) => `${code} ${severity}`);

test('a check that throws is told of, and the others find what they find', () => {
  vi.spyOn(longText, 'run').mockImplementation(() => {
    throw new TypeError('no such thing');
  });
  expect(brief()).toEqual(['fault error', 'left-off error', 'left-off error']);
  expect(judged()[0]!.message).toBe(
    'the check `long-text` broke off (TypeError: no such thing) and may have missed something: this is a fault of Fettle, not of the procedure; please report it with this file.',
  );
});

test('what a check found before it threw stays', () => {
  const run = leftOff.run.bind(leftOff);
  vi.spyOn(leftOff, 'run').mockImplementation(function* (context) {
    for (const raw of run(context)) {
      yield raw;
      throw new Error('after the first');
    }
  });
  expect(brief()).toEqual(['fault error', 'left-off error']);
});

test('a check that throws over what an edit brought is told of', () => {
  const pick = ({ verb }: Action): boolean => {
    if (verb === 'discard') throw new Error('no such verb');
    return verb === 'remove';
  };
  vi.spyOn(leftOff, 'run').mockImplementation(({ ledger }) =>
    actionsWhere(ledger.variants[0]!, pick).map(({ name }) => ({ span: name, message: 'off', related: [] })),
  );
  const replace = (before: Judged, old: string, by: string): Judged => {
    const end = behind(before.ledger.model.tree.text, old);
    return after(before, { start: end - old.length, end, text: by });
  };
  const once = replace(judge(bind(parse('file:///bench/pump.fettle', text))), 'remove lid', 'inspect lid');
  expect(once.findings.map(({ code }) => code)).toEqual(['left-off']);
  const twice = replace(once, 'inspect lid', 'discard lid');
  expect(twice.findings.map(({ code }) => code)).toEqual(['fault', 'not-off']);
  const mended = replace(twice, 'discard lid', 'remove lid');
  expect(mended.findings.map(({ code }) => code)).toEqual(['left-off', 'left-off']);
});

test.each(['', '\n', '# nothing\n'])('a fault has a place in %j', (empty) => {
  vi.spyOn(longText, 'run').mockImplementation(() => {
    throw 'not even an error';
  });
  const found = judged(empty).find(({ code }) => code === 'fault')!;
  const tree = parse('file:///bench/pump.fettle', empty);
  expect(replaceSpan(tree, found.span, '').end).toBeLessThanOrEqual(empty.length);
});

test('nothing silences a fault', () => {
  vi.spyOn(longText, 'run').mockImplementation(() => {
    throw new Error('broken');
  });
  expect(brief(`# fettle-allow fault: none of your business\n${text}`)).toContain('fault error');
});

test('one step may have more findings than a call takes arguments', () => {
  vi.spyOn(longText, 'run').mockImplementation(function* ({ model }) {
    for (const { step } of model.steps)
      for (let i = 0; i < 200_000; i++) yield { span: step, message: `${i}`, related: [] };
  });
  expect(judged().filter(({ code }) => code === 'long-text')).toHaveLength(200_000);
});
