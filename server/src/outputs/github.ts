import type { Severity } from '../checks/check.ts';
import type { Writer } from './report.ts';
import { visible } from './wording.ts';

const commands: Record<Severity, 'error' | 'warning' | 'notice'> = {
  error: 'error',
  warning: 'warning',
  information: 'notice',
  hint: 'notice',
};

/** Workflow commands of GitHub Actions: each becomes a note at its line in the pull request. */
export function githubWriter(): Writer {
  return {
    opening: '',
    file({ file, findings }) {
      return findings
        .map(({ code, severity, range: { start, end }, message }) => {
          const place = { file, line: start.line + 1, endLine: end.line + 1, title: code };
          // Columns count only where the first line is the last.
          const columns = { col: start.character + 1, endColumn: end.character + 1 };
          return commandOf(commands[severity], start.line === end.line ? { ...place, ...columns } : place, message);
        })
        .join('');
    },
    unusable: (file, reason) => commandOf('error', { file, title: 'unusable' }, reason),
    closing: () => '',
  };
}

const commandOf = (command: string, properties: Readonly<Record<string, string | number>>, message: string): string => {
  const said = Object.entries(properties).map(([name, value]) => `${name}=${property(String(value))}`);
  return `::${command} ${said.join(',')}::${data(visible(message))}\n`;
};

const data = (text: string): string => text.replaceAll('%', '%25').replaceAll('\r', '%0D').replaceAll('\n', '%0A');
const property = (text: string): string => data(text).replaceAll(':', '%3A').replaceAll(',', '%2C');
