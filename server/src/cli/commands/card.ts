import { card as cardOf } from '../../outputs/card.ts';
import { type Command, exit } from '../command.ts';
import { writeTo } from '../output.ts';
import { complainOfFindings, coveredCode, dayOf, openProcedure } from '../procedure.ts';

const papers = ['a4', 'letter'];

export const card: Command = {
  name: 'card',
  summary: 'Writes the job card: one printable page for the bench, with boxes, torques, drawn orders and readings',
  operands: 'FILE',
  options: {
    output: { value: 'CARD.html', short: 'o', help: 'Write it to this file; without, to the standard output' },
    paper: { value: papers.join('|'), choices: papers, help: 'The sheet that it is printed on (a4)' },
    code: { value: 'CODE', help: 'Only what this code needs; without, every code, with what only some need marked' },
    start: { value: 'ISO-DATE', help: 'The day on which the work begins, as in 2027-03-01, for order dates' },
  },
  details: [
    'Where steps state `after`, each wait names those below to go on with meanwhile: what need not wait, and has time in it.',
    'The page needs nothing but itself: no script, no network. Print it from any browser.',
    'The file is replaced whole or not at all. A card of a procedure with errors says that it is not to be used,',
    'and the command then ends with 1.',
  ],
  example: 'fettle card samples/gear-pump.fettle --paper letter',
  async run(args) {
    const start = dayOf(args.one('start'));
    const opened = await openProcedure('card', args.operands, { withSteps: true });
    const { path, model, judged } = opened;
    const code = coveredCode(args.one('code'), opened);
    const page = cardOf(model, judged.ledger, {
      findings: judged.findings,
      paper: args.one('paper') === 'letter' ? 'letter' : 'a4',
      code,
      start,
      file: path,
    });
    await writeTo(args.one('output'), page);
    complainOfFindings(opened, ': the card says not to use it; run `fettle check`');
    return judged.findings.some(({ severity }) => severity === 'error') ? exit.found : exit.well;
  },
};
