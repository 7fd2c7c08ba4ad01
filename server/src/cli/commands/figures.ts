import { type Figure, figuresOf } from '../../outputs/figures.ts';
import { caution } from '../../outputs/wording.ts';
import { type Command, exit } from '../command.ts';
import { openProcedure } from '../procedure.ts';
import { write } from '../streams.ts';

const formats = ['text', 'json'];

export const figures: Command = {
  name: 'figures',
  summary: 'Prints every figure computed for a procedure, with its inputs and formula, to be recomputed by hand',
  operands: 'FILE',
  options: { format: { value: formats.join('|'), choices: formats, help: 'text (the default) or json' } },
  details: [
    'Clamp loads, angles behind a torque, wrench settings, tightening orders, mounting temperatures, shim stacks and cures.',
  ],
  example: 'fettle figures samples/winch-reducer.fettle',
  async run(args) {
    const { path, model, settings, judged } = await openProcedure('figures', args.operands);
    const found = figuresOf(model, judged.ledger, settings);
    await write(
      args.one('format') === 'json'
        ? `${JSON.stringify({ file: path, figures: found, caution }, undefined, 2)}\n`
        : `${found.map(asText).join('\n')}\n${caution}\n`,
    );
    return exit.well;
  },
};

const short = (value: unknown): string =>
  typeof value === 'number'
    ? String(Number(value.toPrecision(5)))
    : Array.isArray(value)
      ? value.map((each) => (Array.isArray(each) ? `(${short(each)})` : short(each))).join(', ')
      : value === null
        ? '–'
        : String(value);

function asText({ figure, subject, line, text, inputs, results, formula }: Figure): string {
  const rows = (values: Figure['inputs'], sign: string): string[] =>
    Object.entries(values)
      .filter(([, value]) => value !== null && !(Array.isArray(value) && value.length === 0))
      .map(([name, value]) => `  ${sign} ${name.replace(/_/g, ' ')}: ${short(value)}`);
  return [
    `line ${line}: ${figure === 'order' ? 'tightening order' : figure} of ${subject}: ${text}`,
    ...rows(inputs, '-'),
    ...rows(results, '='),
    `  by ${formula}`,
    '',
  ].join('\n');
}
