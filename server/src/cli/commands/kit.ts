import { hanging } from '../../outputs/columns.ts';
import { type Kit, kit as kitOf } from '../../outputs/kit.ts';
import { kitCsv, kitCsvFile } from '../../outputs/kit-csv.ts';
import { kitText } from '../../outputs/kit-text.ts';
import { caution } from '../../outputs/wording.ts';
import { type Command, exit } from '../command.ts';
import { writeTo } from '../output.ts';
import { complainOfFindings, coveredCode, dayOf, openProcedure } from '../procedure.ts';
import { lineWidth } from '../streams.ts';

const formats = ['text', 'csv', 'json'];

export const kit: Command = {
  name: 'kit',
  summary: 'Lists what to have before the work begins: new parts, tools, supplies, and what is easily forgotten',
  operands: 'FILE',
  options: {
    output: { value: 'FILE', short: 'o', help: 'Write it to this file; without, to the standard output' },
    start: { value: 'ISO-DATE', help: 'The day on which the work begins, as in 2027-03-01: order dates count from it' },
    code: { value: 'CODE', help: 'List what this code needs; without, every code, with what only some need' },
    format: { value: formats.join('|'), choices: formats, help: 'text (the default), csv for spreadsheets, or json' },
  },
  details: [
    'Of alternatives, what each of them needs is listed as needed, the rest as what may be needed.',
    'Steps are numbered as on the job card.',
    'A csv file begins with a byte order mark, so that spreadsheets read N·m and µm as they stand; the standard output has none.',
  ],
  example: 'fettle kit samples/winch-reducer.fettle --start 2027-03-01',
  async run(args) {
    const start = dayOf(args.one('start'));
    const opened = await openProcedure('kit', args.operands, { withSteps: true });
    const { path, model, judged } = opened;
    const code = coveredCode(args.one('code'), opened);
    const list = kitOf(model, judged.ledger, { start, code });
    const format = args.one('format');
    const output = args.one('output');
    const written =
      format === 'csv'
        ? (output === undefined ? kitCsv : kitCsvFile)(list)
        : format === 'json'
          ? `${JSON.stringify({ file: path, ...list, caution }, undefined, 2)}\n`
          : textOf(list, output === undefined ? lineWidth() : Number.POSITIVE_INFINITY);
    await writeTo(output, written);
    complainOfFindings(opened, ', so the list may lack something: run `fettle check`');
    return exit.well;
  },
};

const textOf = (list: Kit, width: number): string => `${kitText(list, width)}\n${hanging('', caution, width)}\n`;
