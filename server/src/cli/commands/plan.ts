import { hanging } from '../../outputs/columns.ts';
import { isDay } from '../../outputs/days.ts';
import { planOf } from '../../outputs/plan.ts';
import { planSvg } from '../../outputs/plan-chart.ts';
import { planText } from '../../outputs/plan-text.ts';
import { caution } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { complainOfFindings, coveredCode, openProcedure } from '../procedure.ts';
import { lineWidth, write } from '../streams.ts';

const formats = ['text', 'json', 'svg'];

export const plan: Command = {
  name: 'plan',
  summary: 'Puts work, waits and lead times into a schedule with its critical path and earliest finish',
  operands: 'FILE',
  options: {
    start: { value: 'ISO-TIME', help: 'When the work begins, as in 2027-03-01T07:00; times are given from +0 without' },
    crew: { value: 'N', help: 'Pairs of hands (1)' },
    code: { value: 'CODE', help: 'Plan for this code only' },
    'in-stock': { help: 'Everything that states a lead time is at hand already' },
    format: { value: formats.join('|'), choices: formats, help: 'text (the default), json, or svg, a bar chart' },
  },
  details: [
    'A step follows the one above it, or those that it states behind `after`, and whatever works on the same parts, reading or fluid.',
    'Reassembly begins when all of the teardown is done, proving when all of the reassembly is.',
    'What loads the unit, a `fill` or a `check` in proving, follows all that has to cure.',
    'Waits need no hands, and stand where the step has them: `takes` is shared out over what is done before and after.',
    'Of alternatives, and of what only some codes need, the longest wait counts.',
    'What only an alternative calls for is ordered in case, and nothing waits for it; the end where all of it is needed is told.',
  ],
  example: 'fettle plan samples/winch-reducer.fettle --start 2027-03-01T07:00 --crew 2',
  async run(args) {
    const start = startOf(args.one('start'));
    const crew = Number(args.one('crew') ?? 1);
    if (!Number.isInteger(crew) || crew < 1 || crew > 99)
      throw new UsageError('--crew takes a whole number from 1 to 99');
    const opened = await openProcedure('plan', args.operands, { withSteps: true });
    const { path, model } = opened;
    const code = coveredCode(args.one('code'), opened);
    const planned = planOf(model, { crew, inStock: args.has('in-stock'), ...(code === undefined ? {} : { code }) });
    if ('message' in planned) throw new UsageError(`${path}: ${planned.message}`);
    const title = model.head?.title?.value ?? model.head?.name?.text ?? path;
    switch (args.one('format')) {
      case 'json':
        await write(
          `${JSON.stringify({ file: path, start: start?.moment.toISOString() ?? null, ...planned, caution }, undefined, 2)}\n`,
        );
        break;
      case 'svg':
        await write(planSvg(planned, { start: start?.clock, title }));
        break;
      default: {
        const width = lineWidth();
        await write(
          `${hanging('', title, width)}\n\n${planText(planned, start?.clock, width)}\n${hanging('', caution, width)}\n`,
        );
      }
    }
    complainOfFindings(opened, ', so the plan may lack something: run `fettle check`');
    return exit.well;
  },
};

/**
 * The moment, and what the clock shows then, as if it were UTC. A time without an offset is taken as it stands, so that the plan reads
 * the same on every machine.
 */
function startOf(text: string | undefined): { moment: Date; clock: Date } | undefined {
  if (text === undefined) return undefined;
  const shape = /^(\d{4}-\d{2}-\d{2})(?:(T\d{2}:\d{2}(?::\d{2})?)(Z|[+-]\d{2}:\d{2})?)?$/;
  const [, day = '', time = 'T00:00', offset = 'Z'] = shape.exec(text) ?? [];
  const moment = new Date(`${day}${time}${offset}`);
  if (Number.isNaN(moment.getTime()))
    throw new UsageError(`--start ${text} is no ISO time: write it as in 2027-03-01T07:00`);
  if (!isDay(day)) throw new UsageError(`--start ${text} is no day of the calendar: write it as in 2027-03-01T07:00`);
  return { moment, clock: new Date(`${day}${time}Z`) };
}
