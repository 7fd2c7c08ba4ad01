import { hanging } from '../../outputs/columns.ts';
import { diagramOf, diagramText } from '../../outputs/diagram.ts';
import { diagramSvg, mostDrawn, tooMuch } from '../../outputs/diagram-drawing.ts';
import { visible } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { writeTo } from '../output.ts';
import { openProcedure } from '../procedure.ts';
import { lineWidth } from '../streams.ts';

const formats = ['svg', 'text'];

export const diagram: Command = {
  name: 'diagram',
  summary: 'Draws what holds, covers and carries what, with the order in which the teardown takes it off',
  operands: 'FILE',
  options: {
    output: { value: 'DRAWING.svg', short: 'o', help: 'Write it to this file; without, to the standard output' },
    format: { value: formats.join('|'), choices: formats, help: 'svg (the default), or text, a line a part' },
  },
  details: [`Black on white, for print. Up to ${mostDrawn} parts are drawn; as text there is no limit.`],
  example: 'fettle diagram samples/gear-pump.fettle --format text',
  async run(args) {
    const { path, model } = await openProcedure('diagram', args.operands);
    const found = diagramOf(model);
    if (found.parts.length === 0) throw new UsageError(`${path} declares no part: name a file that does`);
    const title = model.head?.title?.value ?? model.head?.name?.text ?? path;
    const output = args.one('output');
    const width = output === undefined ? lineWidth() : Number.POSITIVE_INFINITY;
    const drawn =
      args.one('format') === 'text'
        ? diagramText(found)
            .map((line) => `${hanging('', visible(line), width)}\n`)
            .join('')
        : diagramSvg(found, { title });
    if (drawn === undefined) throw new UsageError(`${path} states ${tooMuch(found)}: use --format text`);
    await writeTo(output, drawn);
    return exit.well;
  },
};
