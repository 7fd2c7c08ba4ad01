import { exported } from '../../outputs/export.ts';
import { type Command, exit } from '../command.ts';
import { complainOfFindings, openProcedure } from '../procedure.ts';
import { write } from '../streams.ts';

export const exportModel: Command = {
  name: 'export',
  summary: 'Writes the model of a procedure as JSON for other programs, with UCUM codes for units',
  operands: 'FILE',
  options: {
    format: { value: 'json', choices: ['json'], help: 'json, of the form of server/schemas/procedure.schema.json' },
  },
  details: [
    'Declarations of used files stand in it where the procedure refers to them. Comments and layout do not.',
    'Lines that cannot be read stand in it as they are, as statements of the kind `unknown`.',
  ],
  example: 'fettle export samples/gear-pump.fettle',
  async run(args) {
    const opened = await openProcedure('export', args.operands);
    await write(`${JSON.stringify(exported(opened.model, opened.judged.ledger), undefined, 2)}\n`);
    complainOfFindings(opened, ': run `fettle check`');
    return exit.well;
  },
};
