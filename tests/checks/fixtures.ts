import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf } from '../../grammar/syntax.ts';
import type { Finding, Severity } from '../../server/src/checks/check.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { bind, type Model, type Resolve } from '../../server/src/model/model.ts';

/**
 * A fixture is Fettle text with the expected findings under the lines that they stand on:
 *
 *     remove bore-plug
 *            ~~~~~~~~~ left-off: start or part of the message
 *
 * Several marker lines may stand under one line. A severity other than the check's own stands in brackets behind
 * the code. A fixture of several files begins each with `=== name.fettle`; each file is judged on its own.
 */
export interface Marker {
  /** Line of the text without its markers, from 0. */
  readonly line: number;
  readonly start: number;
  readonly end: number;
  readonly code: string;
  readonly severity: Severity;
  readonly says: string;
}

export interface FixtureFile {
  readonly name: string;
  readonly text: string;
  readonly markers: readonly Marker[];
}

/** Code to severity of every check. What counts as an error ends a run of CI: a change here is one for whoever uses it. */
export const severities: Readonly<Record<string, Severity>> = {
  'left-off': 'error',
  'count-short': 'error',
  'not-off': 'error',
  'already-off': 'error',
  'renew-refitted': 'error',
  'not-replaced': 'error',
  'left-behind': 'error',
  'left-loose': 'error',
  'run-loose': 'warning',
  'still-held': 'error',
  'out-of-reach': 'error',
  'closed-in': 'error',
  'left-open': 'error',
  'fill-differs': 'warning',
  'drain-open': 'warning',
  'lost-mark': 'warning',
  'kept-together': 'warning',
  'branches-differ': 'error',
  'never-used': 'hint',
  'no-torque': 'error',
  'no-order': 'error',
  'bad-order': 'error',
  'which-holes': 'information',
  'next-door': 'warning',
  'stage-falls': 'error',
  'torque-differs': 'warning',
  'angle-twice': 'warning',
  'over-proof': 'error',
  'under-clamp': 'information',
  'no-class': 'information',
  'tool-range': 'error',
  'adapter-setting': 'information',
  'wrong-kind': 'error',
  'no-unit': 'error',
  'mixed-units': 'warning',
  'restated-wrong': 'error',
  'odd-size': 'warning',
  'too-hot': 'error',
  'too-cool': 'warning',
  'late-heat': 'warning',
  'not-cured': 'error',
  'no-limit': 'warning',
  'no-shim': 'error',
  'late-shim': 'warning',
  'gap-twice': 'warning',
  'unit-unread': 'warning',
  'unknown-name': 'error',
  'declared-twice': 'error',
  'late-warning': 'error',
  unwarned: 'warning',
  unsupported: 'information',
  'not-isolated': 'information',
  'order-of-phases': 'error',
  'long-text': 'hint',
  syntax: 'error',
  'few-holes': 'warning',
  'hidden-text': 'warning',
  'look-alike': 'warning',
  'wrong-carrier': 'error',
  'no-file': 'error',
  'use-loop': 'error',
  'steps-unused': 'warning',
  'gap-unread': 'warning',
  'no-locker': 'information',
  'condition-differs': 'warning',
  'stray-count': 'information',
  'press-short': 'warning',
  'idle-allow': 'warning',
  'odd-thread': 'warning',
  'other-hand': 'warning',
};

/** Of what is no check, as a `fault`, an error. */
export const severityOf = (code: string): Severity => severities[code] ?? 'error';

const markerShape = /^( *)(~+) ([a-z-]+)(?: \((error|warning|information|hint)\))?: (.*)$/;
const fileShape = /^=== (\S+)$/;

export function readFixture(text: string): FixtureFile[] {
  const files: { name: string; lines: string[]; markers: Marker[] }[] = [];
  let file: (typeof files)[number] | undefined;
  for (const line of text.replace(/\n$/, '').split('\n')) {
    const opening = fileShape.exec(line);
    if (opening !== null || file === undefined) {
      file = { name: opening?.[1] ?? 'example.fettle', lines: [], markers: [] };
      files.push(file);
      if (opening !== null) continue;
    }
    const marker = markerShape.exec(line);
    if (marker === null) {
      file.lines.push(line);
      continue;
    }
    const [, blanks, tildes, code, severity, says] = marker;
    file.markers.push({
      line: file.lines.length - 1,
      start: blanks!.length,
      end: blanks!.length + tildes!.length,
      code: code!,
      severity: (severity as Severity | undefined) ?? severityOf(code!),
      says: says!,
    });
  }
  return files.map(({ name, lines, markers }) => ({ name, text: `${lines.join('\n')}\n`, markers }));
}

export interface JudgedFile {
  readonly name: string;
  readonly text: string;
  readonly model: Model;
  readonly judged: Judged;
}

/** Judges each file of a fixture; the files find each other by name. */
export function judgeFiles(files: readonly { name: string; text: string }[]): JudgedFile[] {
  const root = 'file:///fixture/';
  const trees = new Map(
    files.map(({ name, text }) => [new URL(name, root).href, parse(new URL(name, root).href, text)]),
  );
  const resolve: Resolve = (path, from) => trees.get(new URL(path, from).href) ?? { missing: true };
  return files.map(({ name, text }) => {
    const model = bind(trees.get(new URL(name, root).href)!, resolve);
    return { name, text, model, judged: judge(model) };
  });
}

/** Where a finding stands: line and columns from 0. A range over several lines ends with its first line. */
export function placeOf({ span }: Finding, { tree }: Model): { line: number; start: number; end: number } {
  const { start, end } = offsetsOf(tree, span);
  const lineStart = tree.text.lastIndexOf('\n', start - 1) + 1;
  const newline = tree.text.indexOf('\n', start);
  const line = tree.text.slice(0, lineStart).split('\n').length - 1;
  return { line, start: start - lineStart, end: Math.min(end, newline < 0 ? end : newline) - lineStart };
}

/** The file with its findings marked; a finding that a marker of the fixture foresees is marked in the fixture's words. */
export function marked({ text, model, judged }: JudgedFile, expected: readonly Marker[] = []): string {
  const left = [...expected];
  const under = new Map<number, string[]>();
  for (const finding of judged.findings) {
    const { line, start, end } = placeOf(finding, model);
    const width = Math.max(1, end - start);
    const found = left.findIndex(
      (marker) =>
        marker.line === line &&
        marker.start === start &&
        marker.end === start + width &&
        marker.code === finding.code &&
        marker.severity === finding.severity &&
        finding.message.includes(marker.says),
    );
    const says = found < 0 ? finding.message : left.splice(found, 1)[0]!.says;
    const severity = finding.severity === severityOf(finding.code) ? '' : ` (${finding.severity})`;
    const marks = `${' '.repeat(start)}${'~'.repeat(width)} ${finding.code}${severity}: ${says}`;
    under.set(line, [...(under.get(line) ?? []), marks]);
  }
  return text
    .split('\n')
    .flatMap((line, i) => [line, ...(under.get(i) ?? []).sort()])
    .join('\n');
}

/** The fixture itself in the same form, for comparison. */
export function expectedOf({ text, markers }: FixtureFile): string {
  const write = ({ start, end, code, severity, says }: Marker): string =>
    `${' '.repeat(start)}${'~'.repeat(end - start)} ${code}${severity === severityOf(code) ? '' : ` (${severity})`}: ${says}`;
  return text
    .split('\n')
    .flatMap((line, i) => [
      line,
      ...markers
        .filter((marker) => marker.line === i)
        .map(write)
        .sort(),
    ])
    .join('\n');
}

/** Every fixture of a folder, by its path below it. */
export const fixturesIn = (folder: string): { name: string; text: string }[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.fettle'))
    .sort()
    .map((name) => ({ name, text: readFileSync(join(folder, name), 'utf8') }));
