import { readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Ajv } from 'ajv';
import { describe, expect, test } from 'vitest';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { allChecks } from '../../server/src/checks/all.ts';
import { sarifWriter } from '../../server/src/outputs/sarif.ts';
import { bad, fettle, folder, root } from '../cli/run.ts';
import { oddFiles, saidOf, samples } from './samples.ts';
import schema from './schemas/sarif-2.1.0.json' with { type: 'json' };

// Formats of JSON Schema: `uri` as the WHATWG URL standard reads it, a reference against a base, an instant as ECMAScript reads it.
const valid = new Ajv({
  strict: false,
  // One pattern of the schema is no regular expression in Unicode mode.
  unicodeRegExp: false,
  formats: {
    uri: (text: string) => URL.canParse(text),
    'uri-reference': (text: string) => URL.canParse(text, 'file:///base/'),
    'date-time': (text: string) => !Number.isNaN(Date.parse(text)),
  },
}).compile(schema);

interface Region {
  readonly startLine: number;
  readonly startColumn: number;
  readonly endLine: number;
  readonly endColumn: number;
}
interface Place {
  readonly physicalLocation: { readonly artifactLocation: { readonly uri: string }; readonly region: Region };
}
interface Replacement {
  readonly deletedRegion: Region;
  readonly insertedContent?: { readonly text: string };
}
interface Result {
  readonly ruleId: string;
  readonly ruleIndex: number;
  readonly message: { readonly text: string };
  readonly locations: readonly [Place];
  readonly relatedLocations?: readonly Place[];
}

const read = (out: string) => {
  const log = JSON.parse(out);
  expect(valid(log), JSON.stringify(valid.errors, undefined, 1)).toBe(true);
  return log.runs[0];
};

describe('the log of the faulty samples', () => {
  const { out, report } = saidOf('sarif');
  const run = read(out);

  test('has every finding, in order, at its rule', () => {
    const found = report.files.flatMap(({ file, findings }) =>
      findings.map(({ code, message, range: { start } }) => [file, code, message, start.line + 1, start.character + 1]),
    );
    const { rules } = run.tool.driver;
    const results = run.results.map((result: Result) => {
      const { artifactLocation, region } = result.locations[0].physicalLocation;
      expect(rules[result.ruleIndex].id).toBe(result.ruleId);
      return [artifactLocation.uri, result.ruleId, result.message.text, region.startLine, region.startColumn];
    });
    expect(results).toEqual(found);
    expect(results.length).toBeGreaterThan(50);
  });

  test('knows every check, with help from its metadata', () => {
    const { rules } = run.tool.driver;
    expect(rules.map(({ id }: { id: string }) => id)).toEqual(allChecks.map(({ code }) => code));
    for (const [i, { why, bad: example }] of allChecks.entries()) {
      expect(rules[i].help.text.replace(/\{\{|\}\}/g, (pair: string) => pair[0])).toContain(example);
      expect(rules[i].fullDescription.text).toBe(why);
    }
  });

  test('tells of a file that could not be used', () => {
    expect(run.invocations).toEqual([
      {
        executionSuccessful: false,
        toolExecutionNotifications: [
          expect.objectContaining({
            level: 'error',
            message: { text: expect.stringContaining('samples/gone.fettle: no such file') },
          }),
        ],
      },
    ]);
  });

  test('names places within the sources relative to their root', () => {
    const places = run.results.flatMap((result: Result) => [...result.locations, ...(result.relatedLocations ?? [])]);
    for (const { physicalLocation } of places)
      expect(physicalLocation.artifactLocation).toEqual({
        uri: expect.stringMatching(/^samples\/[a-z/-]+\.fettle$/),
        uriBaseId: '%SRCROOT%',
      });
  });
});

describe.each([
  ['every sample', () => ({ cwd: root, files: samples })],
  ['files with odd names and texts', () => ({ cwd: folder(oddFiles), files: Object.keys(oddFiles) })],
] as const)('the log of %s', (_, make) => {
  test('fits the schema, and leads to places that are there', () => {
    const { cwd, files } = make();
    const run = read(fettle(['check', '--format', 'sarif', ...files], { cwd }).out);
    const base = `${pathToFileURL(cwd).href}/`;
    const told = new Set<string>();
    const look = ({ artifactLocation: { uri }, region }: Place['physicalLocation']): void => {
      const path = relative(cwd, fileURLToPath(new URL(uri, base)));
      expect(files).toContain(path);
      told.add(path);
      const lines = readFileSync(join(cwd, path), 'utf8')
        .replace(/^\ufeff/, '')
        .split(/\r\n|\r|\n/);
      for (const [line, column] of [
        [region.startLine, region.startColumn],
        [region.endLine, region.endColumn],
      ] as const) {
        expect(lines.length).toBeGreaterThanOrEqual(line);
        expect(column).toBeGreaterThan(0);
        expect(column).toBeLessThanOrEqual(lines[line - 1]!.length + 1);
      }
    };
    for (const { locations, relatedLocations = [] } of run.results as Result[])
      for (const { physicalLocation } of [...locations, ...relatedLocations]) look(physicalLocation);
    for (const { fixes = [] } of run.results)
      for (const { artifactChanges } of fixes)
        for (const { artifactLocation, replacements } of artifactChanges)
          for (const { deletedRegion } of replacements) look({ artifactLocation, region: deletedRegion });
    for (const [path, text] of Object.entries(oddFiles))
      if (files.includes(path) && text.includes('remove cover')) expect(told).toContain(path);
    expect(told.size).toBeGreaterThan(8);
  });
});

test('a fix, applied as the standard has it, mends the finding', () => {
  const cwd = folder({ 'a b.fettle': `${bad}# 𝔄\n` });
  const run = read(fettle(['check', '--format', 'sarif', 'a b.fettle'], { cwd }).out);
  const [{ artifactLocation, replacements }] = run.results[0].fixes[0].artifactChanges;
  expect(artifactLocation.uri).toBe('a%20b.fettle');
  const document = TextDocument.create('file:///a', 'fettle', 1, readFileSync(join(cwd, 'a b.fettle'), 'utf8'));
  const mended = TextDocument.applyEdits(
    document,
    replacements.map(({ deletedRegion: r, insertedContent }: Replacement) => ({
      range: {
        start: { line: r.startLine - 1, character: r.startColumn - 1 },
        end: { line: r.endLine - 1, character: r.endColumn - 1 },
      },
      newText: insertedContent?.text ?? '',
    })),
  );
  expect(mended).toContain('fit cover');
  expect(fettle(['check', '-'], { input: mended })).toMatchObject({ status: 0 });
});

test('without files, findings or related places it is a log as well', () => {
  const writer = sarifWriter({ version: '1.2.3', checks: allChecks, uriOf: (file) => file });
  const summary = { error: 0, warning: 0, information: 0, hint: 0 };
  expect(read(writer.opening + writer.closing(summary)).results).toEqual([]);
});

test('files outside the working folder have absolute URIs', () => {
  const cwd = folder({ 'a.fettle': bad });
  const run = read(fettle(['check', '--format', 'sarif', join(cwd, 'a.fettle')], { cwd: root }).out);
  expect(run.results[0].locations[0].physicalLocation.artifactLocation).toEqual({ uri: `file://${cwd}/a.fettle` });
});

test('braces in a message are doubled, since single ones are placeholders (3.11.5)', () => {
  const range = { start: { line: 0, character: 0 }, end: { line: 0, character: 1 } };
  const finding = { code: 'syntax', severity: 'error', range, message: '`{0}`', related: [], repairs: [] } as const;
  const writer = sarifWriter({ version: '1', checks: allChecks, uriOf: (file) => file });
  const out = writer.opening + writer.file({ file: 'f', findings: [finding] }, '') + writer.closing({} as never);
  expect(read(out).results[0].message.text).toBe('`{{0}}`');
});
