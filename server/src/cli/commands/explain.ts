import { allChecks, checkOf } from '../../checks/all.ts';
import type { Check } from '../../checks/check.ts';
import { columns, hanging } from '../../outputs/columns.ts';
import { type Command, exit, UsageError, unknown } from '../command.ts';
import { lineWidth, write } from '../streams.ts';

export const explain: Command = {
  name: 'explain',
  summary: 'Says what a check looks for, why, and how its finding is mended; without a code, lists all checks',
  operands: '[CODE]',
  options: {},
  details: [],
  example: 'fettle explain left-off',
  async run({ operands }) {
    const [code, ...more] = operands;
    if (more.length > 0) throw new UsageError('one code at a time, as in `fettle explain left-off`');
    if (code === undefined) await write(tableOf(allChecks));
    else {
      const check = checkOf(code);
      if (check === undefined)
        throw new UsageError(
          unknown(
            'check',
            code,
            allChecks.map((each) => each.code),
            'fettle explain',
          ),
        );
      await write(pageOf(check));
    }
    return exit.well;
  },
};

const prose = (text: string): string =>
  text
    .split('\n')
    .map((line) => hanging('', line, lineWidth()))
    .join('\n');
const indented = (text: string): string => text.replace(/^(?=.)/gm, '    ');

const pageOf = ({
  code,
  severity,
  section,
  fires,
  why,
  assumes,
  bad,
  good,
  repairs,
}: Check): string => `${code} (${severity})
${section}

${prose(`Fires when ${fires}`)}
${prose(why)}
${repairs === undefined ? '' : `${prose('A repair is offered in the editor; where it is safe, `fettle check --fix` makes it.')}\n`}${assumes === undefined ? '' : `\nIt reckons with\n${indented(assumes().join('\n'))}\n`}
Found in
${indented(bad)}

Not found in
${indented(good)}
`;

function tableOf(checks: readonly Check[]): string {
  const width = Math.max(...checks.map(({ code, severity }) => code.length + severity.length)) + 2;
  const headOf = ({ code, severity }: Check): string => `${code}${severity.padStart(width - code.length)}`;
  return [...new Set(checks.map(({ section }) => section))]
    .map((section) => {
      const own = checks.filter((check) => check.section === section);
      return [
        section,
        ...columns(
          own.map((check) => [headOf(check), check.fires]),
          lineWidth(),
        ),
        '',
      ].join('\n');
    })
    .join('\n');
}
