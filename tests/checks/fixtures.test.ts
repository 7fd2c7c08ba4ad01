import { dirname } from 'node:path';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf } from '../../grammar/syntax.ts';
import { allChecks, repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings, type Finding } from '../../server/src/checks/check.ts';
import {
  expectedOf,
  fixturesIn,
  type JudgedFile,
  judgeFiles,
  marked,
  placeOf,
  readFixture,
  severities,
  severityOf,
} from './fixtures.ts';

const fixtures = fixturesIn(import.meta.dirname);
/** The file after each repair of each of its findings, one repair at a time. */
function* repaired(file: JudgedFile): Generator<{ finding: Finding; title: string; after: JudgedFile }> {
  const { model, judged } = file;
  const context = { model, ledger: judged.ledger, settings: defaultSettings };
  for (const finding of judged.findings) {
    for (const { title, edits } of repairsFor(finding, context)) {
      let text = file.text;
      for (const edit of [...edits].sort((a, b) => b.start - a.start))
        text = text.slice(0, edit.start) + edit.text + text.slice(edit.end);
      yield { finding, title, after: judgeFiles([{ name: file.name, text }])[0]! };
    }
  }
}

/** Repairs of these put a line where it belongs: they leave nothing new to mend. */
const completing = new Set(['left-off', 'count-short', 'renew-refitted', 'not-replaced', 'left-open', 'left-loose']);
const about = (finding: Finding): string => `${finding.code} ${finding.data?.['subject']}`;

/** The text without its comments and line ends. */
function onOneLine(text: string): string {
  const tree = parse('line.fettle', text);
  const comments = tree.chunks.flatMap((chunk) => chunk.comments.map((comment) => offsetsOf(tree, comment)));
  const bare = comments.reduceRight((left, { start, end }) => left.slice(0, start) + left.slice(end), text);
  return `${bare.replace(/\s*\n\s*/g, ' ').trim()}\n`;
}

describe.each(fixtures)('$name', ({ name, text }) => {
  const files = readFixture(text);
  const judged = judgeFiles(files);

  test.each(judged.map((file, i) => ({ name: file.name, file, fixture: files[i]! })))(
    'gives the findings marked in $name and no other',
    ({ file, fixture }) => {
      expect(marked(file, fixture.markers)).toBe(expectedOf(fixture));
    },
  );

  test('gives the same with other line ends', () => {
    const crlf = files.map((file) => ({ ...file, text: file.text.replaceAll('\n', '\r\n') }));
    const said = (all: readonly JudgedFile[]): unknown =>
      all.map(({ model, judged: { findings } }) =>
        findings.map((finding) => [placeOf(finding, model), finding.code, finding.message]),
      );
    expect(said(judgeFiles(crlf))).toEqual(said(judged));
  });

  const readable = files.every(
    ({ text, markers }) => !/fettle-allow/.test(text) && !markers.some(({ code }) => code === 'syntax'),
  );
  if (readable)
    test('gives the same on one line: in correct text newlines mean nothing', () => {
      const joined = files.map(({ name, text }) => ({ name, text: onOneLine(text) }));
      const said = (all: readonly JudgedFile[]): unknown =>
        all.map((file) => file.judged.findings.map(({ code, message }) => `${code}: ${message}`));
      expect(said(judgeFiles(joined))).toEqual(said(judged));
    });

  if (name.endsWith('good.fettle')) test('is clean', () => expect(files.flatMap((file) => file.markers)).toEqual([]));

  if (files.length === 1)
    test('each repair takes its finding away and breaks no line', () => {
      for (const { finding, title, after } of repaired(judged[0]!)) {
        const { code } = finding;
        // What holds for one code only may leave the like for another.
        const alike = (each: Finding): boolean =>
          each.code === code &&
          each.data?.['subject'] === finding.data?.['subject'] &&
          (!finding.message.startsWith('for ') || each.message === finding.message);
        const before = judged[0]!.judged.findings.filter(alike).length;
        const shown = `${code}: ${title}\n${marked(after)}`;
        expect(after.judged.findings.filter(alike).length, shown).toBeLessThan(before);
        const syntax = (file: JudgedFile): number =>
          file.judged.findings.filter((each) => each.code === 'syntax').length;
        expect(syntax(after), shown).toBeLessThanOrEqual(syntax(judged[0]!));
        if (completing.has(code)) {
          const known = new Set(judged[0]!.judged.findings.map(about));
          expect(
            after.judged.findings.map(about).filter((each) => !known.has(each)),
            shown,
          ).toEqual([]);
        }
      }
    });
});

test('every check has a bad and a good fixture in its folder', () => {
  const there = new Set(fixtures.map((fixture) => fixture.name));
  const missing = allChecks
    .flatMap(({ code }) => [`${code}/bad.fettle`, `${code}/good.fettle`])
    .filter((name) => !there.has(name));
  expect(missing).toEqual([]);
});

test('every check, and no other, has its severity in the table', () => {
  const codes = allChecks.map(({ code }) => code);
  expect(Object.keys(severities).sort()).toEqual(codes.sort());
});

test('a bad fixture shows the check of its folder', () => {
  const silent = fixtures
    .filter(({ name }) => name.endsWith('/bad.fettle'))
    .filter(
      ({ name, text }) => !readFixture(text).some((file) => file.markers.some(({ code }) => code === dirname(name))),
    );
  expect(silent.map(({ name }) => name)).toEqual([]);
});

describe.each(allChecks)('the example of $code', ({ code, severity, bad, good, beside }) => {
  const codesOf = (text: string): string[] =>
    judgeFiles([
      { name: 'example.fettle', text: `${text}\n` },
      ...(beside === undefined ? [] : [beside]),
    ])[0]!.judged.findings.map((finding) => finding.code);
  test('the bad one gives exactly its finding', () => expect(codesOf(bad)).toEqual([code]));
  test('the good one gives none', () => expect(codesOf(good)).toEqual([]));
  test('has the severity of the table', () => expect(severity).toBe(severityOf(code)));
});
