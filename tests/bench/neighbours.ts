/** Texts of other languages, as many lines as wanted, clean under their services. */
import { getCSSLanguageService } from 'vscode-css-languageservice';
import { getLanguageService, type JSONSchema } from 'vscode-json-languageservice';
import { TextDocument } from 'vscode-languageserver-textdocument';

/** A parts list of about `lines` lines, ten lines a part. */
export function jsonOf(lines: number): string {
  const parts = Array.from({ length: Math.max(1, Math.round((lines - 4) / 10)) }, (_, i) => ({
    name: `cover-bolt-${i}`,
    title: `Cover bolt ${i}`,
    count: 6 + (i % 4),
    thread: 'M8x1.25',
    class: '8.8',
    length: 40,
    torque: 25,
    renew: i % 3 === 0,
  }));
  return JSON.stringify({ procedure: 'big-unit', parts }, undefined, 2);
}

const schema: JSONSchema = {
  type: 'object',
  required: ['procedure', 'parts'],
  additionalProperties: false,
  properties: {
    procedure: { type: 'string', pattern: '^[a-z][a-z0-9-]*$' },
    parts: {
      type: 'array',
      items: {
        type: 'object',
        required: ['name', 'title', 'count'],
        additionalProperties: false,
        properties: {
          name: { type: 'string', pattern: '^[a-z][a-z0-9-]*$' },
          title: { type: 'string', maxLength: 60 },
          count: { type: 'integer', minimum: 1, maximum: 9999 },
          thread: { type: 'string', pattern: '^M[0-9]+(x[0-9.]+)?$' },
          class: { enum: ['4.6', '5.8', '8.8', '10.9', '12.9'] },
          length: { type: 'number', exclusiveMinimum: 0 },
          torque: { type: 'number', exclusiveMinimum: 0, maximum: 1000 },
          renew: { type: 'boolean' },
        },
      },
    },
  },
};

/** A style sheet of about `lines` lines, six lines a rule. */
export function cssOf(lines: number): string {
  return Array.from(
    { length: Math.max(1, Math.round(lines / 6)) },
    (_, i) => `.card .part-${i} > td:first-child {
  color: #2a${(i % 90) + 10}4c;
  margin: 0 ${i % 7}px 4px auto;
  border-bottom: 1px solid rgb(${i % 255}, 40, 60);
  font: 600 14px/1.5 sans-serif;
}`,
  ).join('\n');
}

const uri = { json: 'file:///list.json', css: 'file:///sheet.css' };
export const json = getLanguageService({});
json.configure({ schemas: [{ uri: 'file:///schema.json', fileMatch: ['*.json'], schema }] });
export const css = getCSSLanguageService();
export const documentOf = (language: 'json' | 'css', text: string): TextDocument =>
  TextDocument.create(uri[language], language, 1, text);

/** Number of findings of a fresh reading. */
export async function judgeJson(text: string): Promise<number> {
  const document = documentOf('json', text);
  return (await json.doValidation(document, json.parseJSONDocument(document))).length;
}
export function judgeCss(text: string): number {
  const document = documentOf('css', text);
  return css.doValidation(document, css.parseStylesheet(document)).length;
}
