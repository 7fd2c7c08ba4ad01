import { expect, test } from 'vitest';
import { reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, spanText } from '../../grammar/syntax.ts';
import { repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings, type Edit, type Repair } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, noFiles, type Resolve } from '../../server/src/model/model.ts';
import { figuresOf } from '../../server/src/outputs/figures.ts';

const root = 'file:///bench/';

/** Judges the first of `files`; the others are there to be used. */
function judged(files: Readonly<Record<string, string>>) {
  const trees = new Map(Object.entries(files).map(([name, text]) => [root + name, parse(root + name, text)]));
  const resolve: Resolve = (path, from) => trees.get(new URL(path, from).href) ?? { missing: true };
  const model = bind([...trees.values()][0]!, resolve);
  const { findings, allowed, ledger } = judge(model);
  return { model, findings, allowed, ledger, said: findings.map(({ code, message }) => `${code}: ${message}`) };
}

/** The mark of files whose steps are for others. */
const shared = (text: string): string => `# fettle-shared\n${text}`;

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
  expect(model.steps.map(({ step, phase }, place) => `${place} ${phase} ${step.name?.text}`)).toEqual([
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
  expect(judged({ 'common/close.fettle': shared(there) }).said).toEqual([]);
  const idle = judged({ 'gear.fettle': above, 'common/close.fettle': close });
  expect(idle.findings.map(({ code }) => code)).toEqual(['idle-allow']);
});

test.each(['\n', '\r\n', '\r'])('lines of a shared file and of a figure end with %j', (end) => {
  const files = { 'gear.fettle': main, 'common/close.fettle': close.replace(' order star', '') };
  const { findings } = judged(
    Object.fromEntries(Object.entries(files).map(([name, text]) => [name, text.replaceAll('\n', end)])),
  );
  expect(findings.map(({ message }) => message)).toEqual([
    expect.stringMatching(/^in common\/close\.fettle line 7, step close: /),
  ]);
  const { model, ledger } = judged({ 'cover.fettle': `# Cover\n\n${close}`.replaceAll('\n', end) });
  expect(figuresOf(model, ledger, defaultSettings).map(({ figure, line }) => `${figure} ${line}`)).toEqual([
    'clamp load 3',
  ]);
});

test('an allowance above a `use` in a shared file silences what that brings, and nothing else', () => {
  const slack = close.replace(' order star', '');
  const outer = (above: string): string => `use "close.fettle"
teardown
  use "close.fettle"
reassembly
  step wipe
    do "Wipe it."
${above}  use "middle.fettle"
`;
  const files = {
    'gear.fettle': main.replace('close.fettle', 'outer.fettle'),
    'common/middle.fettle': `use "close.fettle"\nreassembly\n  use "close.fettle"\n`,
    'common/close.fettle': slack,
  };
  const codes = (more: Record<string, string>) => {
    const { findings, allowed } = judged({ ...files, ...more });
    return [findings.map(({ code }) => code), allowed.map(({ code }) => code)];
  };
  const allow = '  # fettle-allow no-order: six bolts by hand\n';
  expect(codes({ 'common/outer.fettle': outer('') })).toEqual([['no-order'], []]);
  expect(codes({ 'common/outer.fettle': outer(allow) })).toEqual([[], ['no-order']]);
  expect(codes({ 'common/outer.fettle': outer(allow.replace('no-order', 'no-torque')) })).toEqual([['no-order'], []]);
  // The same file's steps of another phase came in by another line.
  const elsewhere = outer('').replace('teardown\n', `teardown\n${allow}`);
  expect(codes({ 'common/outer.fettle': elsewhere })).toEqual([['no-order'], []]);
  // It counts at the end of a line above the phase, too.
  const atLine = `part rag "Rag" # fettle-allow no-order: six bolts by hand\nreassembly\n  use "middle.fettle"\n`;
  expect(codes({ 'common/outer.fettle': atLine })).toEqual([[], ['no-order']]);
  // Nor what has come in by a line of the procedure itself, above.
  const twice = main.replace(/ {2}use .*/, '  use "common/close.fettle"\n  use "common/outer.fettle"');
  expect(codes({ 'gear.fettle': twice, 'common/outer.fettle': outer(allow) })).toEqual([
    ['no-order', 'declared-twice'],
    [],
  ]);
  // Nor what the shared file itself has brought by a line above.
  const second = `${outer('').replace('middle', 'close')}${allow}  use "middle.fettle"\n`;
  expect(codes({ 'common/outer.fettle': second })).toEqual([['declared-twice', 'no-order'], []]);
  // Nor by a line of a phase that nothing takes in.
  expect(
    codes({
      'gear.fettle': main.replace('reassembly\n', 'inspection\n  use "common/outer.fettle"\nreassembly\n'),
      'common/outer.fettle': outer(allow),
    })[1],
  ).toEqual([]);
});

test('what is to move is the line, or the `use` that brings it', () => {
  const told = (text: string, more: Record<string, string> = {}): string[] =>
    judged({
      'gear.fettle': `procedure gear "Gear"\npart cover "Cover"\npart gear "Gear" behind cover\n${text}`,
      'fit-cover.fettle': 'reassembly\n  step close\n    fit cover\n',
      'fit-gear.fettle': 'reassembly\n  step lay\n    fit gear\n',
      ...more,
    }).said.flatMap((each) => /^closed-in: .* went back on: (.*)$/.exec(each)?.[1] ?? []);
  const off = 'teardown\n  step open\n    remove cover\n    remove gear\nreassembly\n';
  const cover = '  step close\n    fit cover\n';
  const gear = '  step lay\n    fit gear\n';
  expect(told(`${off}${cover}${gear}`)).toEqual(['move this line above that one.']);
  expect(told(`${off}  use "fit-cover.fettle"\n${gear}`)).toEqual([
    'move this line above the `use` that brings that one.',
  ]);
  expect(told(`${off}${cover}  use "fit-gear.fettle"\n`)).toEqual(['move the `use` above that one.']);
  expect(told(`${off}  use "fit-cover.fettle"\n  use "fit-gear.fettle"\n`)).toEqual([
    'move the `use` above the `use` that brings that one.',
  ]);
  const both = { 'both.fettle': `reassembly\n${cover}${gear}` };
  expect(told(`${off}  use "both.fettle"\n`, both)).toEqual(['move this line above that one.']);
  // Steps of two files that one line brings: what can be moved stands in a file between.
  const nested = (reassembly: string, more: Record<string, string> = {}): string[] =>
    told(`${off}  use "in/outer.fettle"\n`, { 'in/outer.fettle': `reassembly\n${reassembly}`, ...more });
  const useCover = '  use "../fit-cover.fettle"\n';
  const useGear = '  use "../fit-gear.fettle"\n';
  expect(nested(`${useCover}${useGear}`)).toEqual([
    'in in/outer.fettle, move `use "../fit-gear.fettle"` above the `use` that brings that one.',
  ]);
  expect(nested(`${cover}${useGear}`)).toEqual(['in in/outer.fettle, move `use "../fit-gear.fettle"` above that one.']);
  expect(nested(`${useCover}${gear}`)).toEqual(['move this line above the `use` that brings that one.']);
  expect(nested(`${cover}${gear}`)).toEqual(['move this line above that one.']);
  const deep = { 'in/deep.fettle': `reassembly\n${useCover}${useGear}` };
  expect(nested('  use "deep.fettle"\n', deep)).toEqual([
    'in in/deep.fettle, move `use "../fit-gear.fettle"` above the `use` that brings that one.',
  ]);
  expect(nested(`  use "deep.fettle"\n${useCover}`, deep)).toContain(
    'in in/deep.fettle, move `use "../fit-gear.fettle"` above the `use` that brings that one.',
  );
  // What a head uses takes in no steps.
  expect(nested(`${useCover}  use "head.fettle"\n`, { 'in/head.fettle': `${useGear}reassembly\n${useGear}` })).toEqual([
    'in in/outer.fettle, move `use "head.fettle"` above the `use` that brings that one.',
  ]);
  // Of several, the one that goes back on first.
  const under = (text: string): string[] =>
    told(
      `part lid "Lid"\npart spur "Spur" behind cover, lid\n${off.replace('gear\n', 'gear\n    remove lid\n    remove spur\n')}${text}`,
    );
  const lid = '  step shut\n    fit lid\n';
  const spur = `${gear.replace('fit gear', 'fit spur')}`;
  const shared = '  use "fit-cover.fettle"\n';
  expect(under(`${lid}${shared}${spur}`)).toEqual(['move this line above theirs.']);
  expect(under(`${shared}${lid}${spur}`)).toEqual(['move this line above the `use` that brings theirs.']);
});

test('a shared file alone is read and its names are bound, but it is not replayed', () => {
  expect(judged({ 'common/close.fettle': shared(close) }).said).toEqual([]);
  const wrong = shared(close).replace('fit cover\n', 'fit covr\n').replace('25 N·m', '25 Nmm');
  expect(judged({ 'common/close.fettle': wrong }).findings.map(({ code }) => code)).toEqual(['syntax', 'unknown-name']);
});

test('without the mark, on a line of its own, nothing is passed over in silence', () => {
  const codes = (text: string) => judged({ 'common/close.fettle': text }).findings.map(({ code }) => code);
  expect(codes(close)).toEqual(['not-off', 'not-off']);
  expect(codes(close.replace(' order star', ' order star # fettle-shared'))).toEqual(['not-off', 'not-off']);
  expect(codes(`procedure close "Close"\n${shared(close)}`)).toEqual(['not-off', 'not-off']);
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
    'syntax: in common/close.fettle line 5, step close: expected a statement, found `fti`: perhaps `fit` was meant; reading went on at the next line.',
  ]);
});

test('what a shared step reckons with stands above the line that takes it in', () => {
  const job = (reading: string, first: string, last: string): string => `procedure gear "Gear"
part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
${first}  step read
    ${reading}
${last}`;
  const set = `reassembly
  step set after read
    shim pack gap play endplay 0.1..0.4 mm from 0.1 mm
    fit pack
`;
  const taken = '  use "set.fettle"\n';
  const of = (...steps: [string, string]): string[] =>
    judged({ 'gear.fettle': job('measure play limit 0.2..0.5 mm', ...steps), 'set.fettle': set }).said;
  expect(of('', taken)).toEqual([]);
  expect(of(taken, '')).toEqual([
    expect.stringMatching(/^gap-unread: in set\.fettle line 3, step set: `play` is measured only below/),
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
  const lines = ({ findings }: typeof twice): string[] =>
    findings[0]!.related.map(
      ({ span, message }) => `${span.chunk.uri.slice(root.length)} ${spanText(span)} ${message}`,
    );
  expect(lines(twice)).toEqual(Array(2).fill('gear.fettle "common/close.fettle" brought in by this line'));
  // Of two lines of a shared file, neither is the one that it is shown at.
  const within = judged({
    'gear.fettle': main.replace('close.fettle', 'outer.fettle'),
    'common/outer.fettle': 'use "close.fettle"\nreassembly\n  use "close.fettle"\n  use "./close.fettle"\n',
    'common/close.fettle': close,
  });
  expect(within.said).toEqual(twice.said);
  expect(lines(within)).toEqual([
    'common/outer.fettle "close.fettle" brought in by this line',
    'common/outer.fettle "./close.fettle" brought in by this line',
  ]);
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
  expect(said.map((each) => each.slice(0, 71))).toEqual([
    'steps-unused: `common/outer.fettle` also holds steps for `teardown`, wh',
  ]);
  expect(model.steps.map(({ step }) => step.name?.text)).toEqual(['open', 'lay', 'close', 'seal']);
  const deep = judged({
    'gear.fettle': main.replace('close.fettle', 'outer.fettle'),
    'common/outer.fettle': outer,
    'common/close.fettle': close.replace(' order star', ''),
  });
  expect(deep.said.find((each) => each.startsWith('no-order'))).toMatch(
    /^no-order: in common\/close\.fettle line 7, step close:/,
  );
  expect(spanText(deep.findings.find(({ code }) => code === 'no-order')!.span)).toBe('"common/outer.fettle"');
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
  expect(judged({ 'common/close.fettle': shared(coded) }).said).toEqual([]);
  expect(judged({ 'gear.fettle': main, 'common/close.fettle': coded }).said).toEqual([]);
});

test('statements behind a `use` that leads nowhere stand all the same, before and after an edit', () => {
  const stray = `procedure lid "Lid"
part gear "Gear"
teardown
  step gear-out "Gear out"
    use "gone.fettle"
    remove gear
reassembly
  step gear-in "Gear in"
    fit gear
`;
  const { model, ledger, findings } = judged({ 'lid.fettle': stray });
  expect(findings.map(({ code }) => code)).toEqual(['no-file', 'syntax']);
  const at = stray.indexOf('Gear out');
  const now = bind(reparse(model.tree, { start: at, end: at, text: 'The ' }), noFiles, model);
  const after = judge(now, defaultSettings, replay(now, ledger), ledger);
  expect(after.findings.map(({ code, message }) => [code, message])).toEqual(
    findings.map(({ code, message }) => [code, message]),
  );
});

test('files that use each other over and over are gone through once', () => {
  const depth = 40;
  const files: Record<string, string> = { 'lid.fettle': 'procedure lid "Lid"\nreassembly\n  use "f1.fettle"\n' };
  for (let n = 1; n < depth; n++)
    files[`f${n}.fettle`] = `reassembly\n  use "f${n + 1}.fettle"\n  use "f${n + 1}.fettle"\n`;
  files[`f${depth}.fettle`] = 'reassembly\n  step look\n    do "Look."\n';
  const { model, findings } = judged(files);
  expect(model.steps.map(({ step }) => step.name?.text)).toEqual(['look']);
  expect(findings.map(({ code }) => code)).toEqual(['declared-twice']);
});

test('what goes back before or after shared steps is put in before or after them', () => {
  const inner = `part gear "Gear" behind cover
part cover "Cover"
part cap "Cap" behind gear
teardown
  step out
    remove gear
reassembly
  step in
    fit gear
`;
  const text = (first: string, last: string) => `procedure lid "Lid"
teardown
  step first
    ${first}
  use "inner.fettle"
  step last
    ${last}
reassembly
  use "inner.fettle"
`;
  const mended = (own: string): string[] => {
    const { model, findings, ledger } = judged({ 'lid.fettle': own, 'inner.fettle': inner });
    const [finding, ...more] = findings.filter(({ code }) => code === 'left-off');
    expect(more).toEqual([]);
    const [{ edits }] = repairsFor(finding!, { model, ledger, settings: defaultSettings }) as [Repair];
    expect(edits).toHaveLength(1);
    const [{ start, end, text: put }] = edits as [Edit];
    const now = own.slice(0, start) + put + own.slice(end);
    expect(judged({ 'lid.fettle': now, 'inner.fettle': inner }).said).toEqual([]);
    return now.split('reassembly\n')[1]!.trimEnd().split('\n');
  };
  expect(mended(text('remove cover', 'do "Look."'))).toEqual([
    '  use "inner.fettle"',
    '  step put-back "Put it back"',
    '    fit cover',
  ]);
  expect(mended(text('remove cover', 'remove cap').replace(/\n$/, '\n  step close\n    fit cover\n'))).toEqual([
    '  step put-back "Put it back"',
    '    fit cap',
    '  use "inner.fettle"',
    '  step close',
    '    fit cover',
  ]);
});

test('steps for a phase that does not take them in are told of once', () => {
  const inner = `part gear "Gear"
teardown
  step out
    remove gear
reassembly
  step in
    fit gear
proving
  step turn
    check "It turns."
`;
  const { findings } = judged({
    'lid.fettle': 'procedure lid "Lid"\nteardown\n  use "inner.fettle"\nreassembly\n  use "inner.fettle"\n',
    'inner.fettle': inner,
  });
  expect(findings.map(({ code, severity, message }) => [code, severity, message])).toEqual([
    [
      'steps-unused',
      'information',
      '`inner.fettle` also holds steps for `proving`, which nothing takes in: write the line into that phase, too, if they belong to this job.',
    ],
  ]);
});
