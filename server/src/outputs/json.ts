import { summaryOf, type Writer } from './report.ts';

/** One object, one line a file: `{"files":[{"file","findings":[…]}],"summary":{…}}`; see {@link FileReport}. */
export function jsonWriter(): Writer {
  let separator = '';
  return {
    opening: '{"files":[',
    file({ file, findings }) {
      const plain = findings.map(({ code, severity, range, message, related }) => ({
        code,
        severity,
        range,
        message,
        related,
      }));
      const line = `${separator}\n${JSON.stringify({ file, findings: plain })}`;
      separator = ',';
      return line;
    },
    unusable: () => '',
    closing: (summary) => `\n],"summary":${JSON.stringify({ ...summaryOf([]), ...summary })}}\n`,
  };
}
