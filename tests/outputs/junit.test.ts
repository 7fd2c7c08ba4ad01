import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { validateXML } from 'xmllint-wasm';
import { junitWriter } from '../../server/src/outputs/junit.ts';
import { fettle, folder, root } from '../cli/run.ts';
import { oddFiles, saidOf, samples } from './samples.ts';

const schema = readFileSync(join(import.meta.dirname, 'schemas/junit.xsd'), 'utf8');
/** Errors of libxml2, which checks the form and the schema. */
const errorsOf = async (out: string): Promise<readonly unknown[]> =>
  (await validateXML({ xml: { fileName: 'out.xml', contents: out }, schema })).errors;
const count = (out: string, pattern: RegExp): number => out.match(pattern)?.length ?? 0;

test('the faulty samples fail by their errors alone', async () => {
  const { out, report } = saidOf('junit');
  expect(await errorsOf(out)).toEqual([]);
  const findings = report.files.flatMap((file) => file.findings);
  const errors = findings.filter(({ severity }) => severity === 'error').length;
  expect(count(out, /<testsuite /g)).toBe(report.files.length + 1);
  expect(count(out, /<failure /g)).toBe(errors);
  expect(count(out, /<system-out>/g)).toBe(findings.length - errors);
  expect(out).toMatch(
    /<testsuite name="samples\/gone\.fettle" tests="1" failures="0" errors="1">\n<testcase .*<error type="unusable" message="no such file/,
  );
  for (const { file, findings: own } of report.files) {
    const failures = own.filter(({ severity }) => severity === 'error').length;
    expect(out).toContain(`<testsuite name="${file}" tests="${own.length}" failures="${failures}" errors="0">`);
  }
});

test.each([
  ['every sample', () => ({ cwd: root, files: samples })],
  ['files with odd names and texts', () => ({ cwd: folder(oddFiles), files: Object.keys(oddFiles) })],
] as const)('the report of %s fits the schema, with a suite for each', async (_, make) => {
  const { cwd, files } = make();
  const { out } = fettle(['check', '--format', 'junit', ...files], { cwd });
  expect(await errorsOf(out)).toEqual([]);
  const told = [...out.matchAll(/<testsuite name="([^"]*)"/g)].map(([, name]) => name!);
  expect(told).toHaveLength(files.length);
  for (const file of files) if (!/[<&"\p{Cc}]/u.test(file)) expect(told).toContain(file);
});

test('a file without findings is a case that passes', async () => {
  const writer = junitWriter();
  const out = writer.opening + writer.file({ file: 'a', findings: [] }, '') + writer.closing({} as never);
  expect(await errorsOf(out)).toEqual([]);
  expect(out).toContain('<testcase classname="a" name="no findings"></testcase>');
});

test('what XML cannot hold does not break it', async () => {
  const hostile = '<&>"\' \u0000\u0008\u001b\ufffe\uffff\ud800 ]]> \n\t\u2028 é 𝔄';
  const range = { start: { line: 0, character: 0 }, end: { line: 0, character: 1 } };
  const place = { file: hostile, range, message: hostile };
  const finding = {
    code: 'syntax',
    severity: 'error',
    range,
    message: hostile,
    related: [place],
    repairs: [],
  } as const;
  const writer = junitWriter();
  const out =
    writer.opening +
    writer.file({ file: hostile, findings: [finding, { ...finding, severity: 'hint' }] }, '') +
    writer.unusable(hostile, hostile) +
    writer.closing({} as never);
  expect(await errorsOf(out)).toEqual([]);
  expect(out).toContain('é 𝔄');
});

test('the check can fail', async () => {
  expect(await errorsOf('<testsuites><testsuite name="a"/></testsuites>')).not.toEqual([]);
  expect(await errorsOf('<testsuites>\u0000</testsuites>')).not.toEqual([]);
});
