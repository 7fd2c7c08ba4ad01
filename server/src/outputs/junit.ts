import type { ReportedFinding, Writer } from './report.ts';
import { visible } from './wording.ts';

/**
 * JUnit XML as CI servers read it: a suite a file, a case a finding. Only errors fail; a file without findings is one case
 * that passes, one that could not be used is a case in error.
 */
export function junitWriter(): Writer {
  const suite = (file: string, cases: readonly string[], failures: number, errors: number): string =>
    `<testsuite name="${escaped(file)}" tests="${cases.length}" failures="${failures}" errors="${errors}">\n${cases.join('')}</testsuite>\n`;
  const caseOf = (file: string, name: string, content = ''): string =>
    `<testcase classname="${escaped(file)}" name="${escaped(name)}">${content}</testcase>\n`;
  return {
    opening: '<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="fettle">\n',
    file({ file, findings }) {
      const cases = findings.map((finding) => caseOf(file, nameOf(finding), contentOf(file, finding)));
      const failures = findings.filter(({ severity }) => severity === 'error').length;
      return suite(file, cases.length === 0 ? [caseOf(file, 'no findings')] : cases, failures, 0);
    },
    unusable(file, reason) {
      const content = `<error type="unusable" message="${escaped(reason)}"/>`;
      return suite(file, [caseOf(file, 'usable', content)], 0, 1);
    },
    closing: () => '</testsuites>\n',
  };
}

const at = (file: string, { start }: ReportedFinding['range']): string =>
  `${file}:${start.line + 1}:${start.character + 1}`;

const nameOf = ({ code, range: { start } }: ReportedFinding): string =>
  `${code} at ${start.line + 1}:${start.character + 1}`;

function contentOf(file: string, { code, severity, range, message, related }: ReportedFinding): string {
  const lines = [
    `${at(file, range)} ${severity} ${code} ${message}`,
    ...related.map((place) => `see ${at(place.file, place.range)} ${place.message}`),
  ];
  const text = lines.map(escaped).join('\n');
  return severity === 'error'
    ? `<failure type="${escaped(code)}" message="${escaped(message)}">${text}</failure>`
    : `<system-out>${text}</system-out>`;
}

const entities: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };

/** Of one line, fit for text and attributes; what XML 1.0 cannot hold at all is shown by a picture of it. */
const escaped = (text: string): string =>
  visible(text)
    .replace(/[\ufffe\uffff]|\p{Surrogate}/gu, '\ufffd')
    .replace(/[&<>"]/g, (sign) => entities[sign]!);
