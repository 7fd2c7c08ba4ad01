import { Ajv } from 'ajv';
import { expect, test } from 'vitest';
import { jsonWriter } from '../../server/src/outputs/json.ts';
import { summaryOf } from '../../server/src/outputs/report.ts';

const strict = (properties: Record<string, object>) => ({
  type: 'object',
  properties,
  required: Object.keys(properties),
  additionalProperties: false,
});
const count = { type: 'integer', minimum: 0 };
const position = strict({ line: count, character: count });
const range = strict({ start: position, end: position });
const text = { type: 'string' };
/** The form that the project's contract fixes. */
const schema = strict({
  files: {
    type: 'array',
    items: strict({
      file: text,
      findings: {
        type: 'array',
        items: strict({
          code: text,
          severity: { enum: ['error', 'warning', 'information', 'hint'] },
          range,
          message: text,
          related: { type: 'array', items: strict({ file: text, range, message: text }) },
        }),
      },
    }),
  },
  summary: strict({ error: count, warning: count, information: count, hint: count }),
});
const valid = new Ajv().compile(schema);

const place = { start: { line: 0, character: 1 }, end: { line: 0, character: 2 } };
const finding = {
  code: 'left-off',
  severity: 'error',
  range: place,
  message: '“a” \u2028 \\ "b"',
  related: [{ file: 'g', range: place, message: 'here' }],
  repairs: [{ title: 'never shown', edits: [] }],
} as const;

test('one object in the contract’s form, for none, one and several files', () => {
  for (const files of [[], ['a'], ['a', 'b "quoted"']]) {
    const writer = jsonWriter();
    const out =
      writer.opening +
      files.map((file) => writer.file({ file, findings: [finding] }, '')).join('') +
      writer.unusable('gone', 'no such file') +
      writer.closing(summaryOf(files.map(() => finding)));
    const report = JSON.parse(out);
    expect(valid(report), JSON.stringify(valid.errors)).toBe(true);
    expect(report.files.map((each: { file: string }) => each.file)).toEqual(files);
    expect(report.summary).toEqual({ error: files.length, warning: 0, information: 0, hint: 0 });
    if (files.length > 0) expect(report.files[0].findings[0].message).toBe(finding.message);
  }
});
