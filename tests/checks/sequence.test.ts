import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, spanText } from '../../grammar/syntax.ts';
import { repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind, type Resolve } from '../../server/src/model/model.ts';

const root = 'file:///bench/';

/** Judges the first of `files`; the others are there to be used. */
function judged(files: Readonly<Record<string, string>>) {
  const trees = new Map(Object.entries(files).map(([name, text]) => [root + name, parse(root + name, text)]));
  const resolve: Resolve = (path, from) => trees.get(new URL(path, from).href) ?? { missing: true };
  const model = bind([...trees.values()][0]!, resolve);
  const { findings, allowed, ledger } = judge(model);
  return { model, findings, allowed, ledger, said: findings.map(({ code, message }) => `${code}: ${message}`) };
}

const close = `part cover-bolt x6 "Cover bolt" thread M8 class 8.8 length 30 mm torque 25 N·m
part cover "Cover" held by cover-bolt
reassembly
  step close "Close the cover" takes 10 min
    fit cover
    fit cover-bolt
    tighten cover-bolt order star
`;
const main = `procedure gear "Gear"
part gear "Gear" behind cover
teardown
  step open
    remove cover-bolt
    remove cover
    remove gear
reassembly
  step lay
    fit gear
  use "common/close.fettle"
`;

test('steps count as if they were written there', () => {
  const { model, said, ledger } = judged({ 'gear.fettle': main, 'common/close.fettle': close });
  expect(said).toEqual([]);
  expect(model.steps.map(({ step, phase, index }) => `${index} ${phase} ${step.name?.text}`)).toEqual([
    '0 teardown open',
    '1 reassembly lay',
    '2 reassembly close',
  ]);
  expect(ledger.variants[0]!.final.get('cover-bolt')).toMatchObject({ tight: 6, off: 0 });
});

test('a step for another phase stays where it is, and so does every step at the head', () => {
  const elsewhere = main.replace('reassembly\n', 'inspection\n  use "common/close.fettle"\nreassembly\n');
  const { said } = judged({
    'gear.fettle': elsewhere.replace(/ {2}use "common\/close.fettle"\n$/, ''),
    'common/close.fettle': close,
  });
  expect(said.map((each) => each.split(':')[0])).toEqual(['left-off', 'left-off', 'steps-unused']);
});

test('a finding in a shared step is shown at the path, with its place, and is not mended from here', () => {
  const { model, findings, ledger } = judged({
    'gear.fettle': main,
    'common/close.fettle': close.replace(' order star', ''),
  });
  expect(findings).toHaveLength(1);
  const finding = findings[0]!;
  expect(spanText(finding.span)).toBe('"common/close.fettle"');
  expect(finding.span.chunk.uri).toBe(`${root}gear.fettle`);
  expect(finding.message).toMatch(/^in common\/close\.fettle line 7, step close: .*order/);
  const shared = model.files[1]!;
  expect(finding.related[0]!.message).toBe('it stands here');
  expect(finding.related[0]!.span.chunk.uri).toBe(`${root}common/close.fettle`);
  expect(shared.text.slice(offsetsOf(shared, finding.related[0]!.span).start)).toMatch(/^(tighten )?cover-bolt/);
  expect(repairsFor(finding, { model, ledger, settings: defaultSettings })).toEqual([]);
});

test('repairs write into this file only, and into its own steps', () => {
  const forgot = main.replace('    fit gear\n', '    do "Look."\n');
  const { model, findings, ledger } = judged({ 'gear.fettle': forgot, 'common/close.fettle': close });
  expect(findings.map(({ code }) => code)).toEqual(['left-off']);
  const repairs = repairsFor(findings[0]!, { model, ledger, settings: defaultSettings });
  for (const { edits } of repairs)
    for (const edit of edits) {
      expect(edit.uri).toBe(`${root}gear.fettle`);
      const text = forgot.slice(0, edit.start) + edit.text + forgot.slice(edit.end);
      expect(judged({ 'gear.fettle': text, 'common/close.fettle': close }).findings.map(({ code }) => code)).toEqual(
        [],
      );
    }
  expect(repairs).toHaveLength(1);
});

test('an allowance above the `use` silences what is shown there, and one in the shared file does so everywhere', () => {
  const slack = close.replace(' order star', '');
  const above = main.replace('  use', '  # fettle-allow no-order: six bolts by hand\n  use');
  const here = judged({ 'gear.fettle': above, 'common/close.fettle': slack });
  expect(here.said).toEqual([]);
  expect(here.allowed.map(({ code }) => code)).toEqual(['no-order']);
  const there = slack.replace('    tighten', '    # fettle-allow no-order: six bolts by hand\n    tighten');
  const everywhere = judged({ 'gear.fettle': main, 'common/close.fettle': there });
  expect(everywhere.said).toEqual([]);
  expect(everywhere.allowed.map(({ code }) => code)).toEqual(['no-order']);
  // Alone, it cannot be told whether there is something to silence.
  expect(judged({ 'common/close.fettle': there }).said).toEqual([]);
  const idle = judged({ 'gear.fettle': above, 'common/close.fettle': close });
  expect(idle.findings.map(({ code }) => code)).toEqual(['idle-allow']);
});

test('a shared file alone is read and its names are bound, but it is not replayed', () => {
  expect(judged({ 'common/close.fettle': close }).said).toEqual([]);
  const wrong = close.replace('fit cover\n', 'fit covr\n').replace('25 N·m', '25 Nmm');
  expect(judged({ 'common/close.fettle': wrong }).findings.map(({ code }) => code)).toEqual(['syntax', 'unknown-name']);
});

test('a teardown without a head is a procedure in the making, unless it is marked', () => {
  const open = 'part cover "Cover"\nteardown\n  step open "Open it"\n    remove cover\n';
  expect(judged({ 'open.fettle': open }).findings.map(({ code }) => code)).toEqual(['left-off']);
  expect(judged({ 'open.fettle': `# fettle-shared\n${open}` }).said).toEqual([]);
});

test('a line that cannot be read in a shared step is told of where it is used', () => {
  const { said } = judged({
    'gear.fettle': main,
    'common/close.fettle': close.replace('    fit cover\n', '    fti cover\n'),
  });
  expect(said).toEqual([
    'syntax: in common/close.fettle line 5, step close: expected a statement, found `fti`: the line is left out; reading went on at the next line.',
  ]);
});

test('names of steps clash as within one file, and steps taken in twice are told of', () => {
  const clash = judged({
    'gear.fettle': main.replace('step lay', 'step close'),
    'common/close.fettle': close,
  });
  expect(clash.said).toEqual([
    'declared-twice: the step `close` of close.fettle is declared already in gear.fettle: give one of them another name.',
  ]);
  expect(spanText(clash.findings[0]!.span)).toBe('"common/close.fettle"');
  const twice = judged({
    'gear.fettle': `${main}  use "common/close.fettle"\n`,
    'common/close.fettle': close,
  });
  expect(twice.said).toEqual([
    'declared-twice: the step `close` of close.fettle is taken in twice: take one `use` of it out.',
  ]);
  expect(offsetsOf(twice.model.tree, twice.findings[0]!.span).start).toBeGreaterThan(main.length);
});

test('sequences take in sequences, for the same phase only', () => {
  const outer = `use "close.fettle"
teardown
  step drain
    do "Nothing to drain."
reassembly
  use "close.fettle"
  step seal
    do "Seal it."
`;
  const { said, model } = judged({
    'gear.fettle': main.replace('close.fettle', 'outer.fettle'),
    'common/outer.fettle': outer,
    'common/close.fettle': close,
  });
  expect(said).toEqual([]);
  expect(model.steps.map(({ step }) => step.name?.text)).toEqual(['open', 'lay', 'close', 'seal']);
  const deep = judged({
    'gear.fettle': main.replace('close.fettle', 'outer.fettle'),
    'common/outer.fettle': outer,
    'common/close.fettle': close.replace(' order star', ''),
  });
  expect(deep.said[0]).toMatch(/^no-order: in common\/close\.fettle line 7, step close:/);
  expect(spanText(deep.findings[0]!.span)).toBe('"common/outer.fettle"');
});

test('a loop is refused as before', () => {
  const looped = judged({
    'gear.fettle': main,
    'common/close.fettle': close.replace('reassembly\n', 'reassembly\n  use "../gear.fettle"\n'),
  });
  expect(looped.findings.map(({ code }) => code)).toEqual(['use-loop']);
  const self = judged({ 'gear.fettle': main.replace('common/close.fettle', 'gear.fettle') });
  expect(self.findings.map(({ code }) => code)).toContain('use-loop');
});

test('a missing file is told of at the path', () => {
  const { findings } = judged({ 'gear.fettle': main });
  expect(findings.filter(({ code }) => code === 'no-file').map(({ span }) => spanText(span))).toEqual([
    '"common/close.fettle"',
  ]);
});

test('a shared step may single out codes of any procedure', () => {
  const coded = close.replace('    fit cover\n', '    for G-1\n      do "Turn it."\n    end\n    fit cover\n');
  expect(judged({ 'common/close.fettle': coded }).said).toEqual([]);
  expect(judged({ 'gear.fettle': main, 'common/close.fettle': coded }).said).toEqual([]);
});
