import { judge } from '../../checks/run.ts';
import { bind } from '../../model/model.ts';
import { columns } from '../../outputs/columns.ts';
import { type Stats, statsOf, statsRows, total } from '../../outputs/stats.ts';
import { visible } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { filesOf } from '../files.ts';
import { Loader } from '../load.ts';
import { realPath } from '../paths.ts';
import { readProcedure } from '../procedure-file.ts';
import { Projects } from '../project.ts';
import { complain, lineWidth, write } from '../streams.ts';

const formats = ['text', 'json'];

export const stats: Command = {
  name: 'stats',
  summary: 'Counts what is in procedures: parts, fasteners, steps, statements, safety messages, findings, time',
  operands: 'FILE…',
  options: { format: { value: formats.join('|'), choices: formats, help: 'text (the default) or json' } },
  details: [
    'A FILE may be a pattern, as in "jobs/**/*.fettle", or a folder, for all *.fettle in it. Of several files, the sums stand at the end.',
    'Time is with one pair of hands and everything in stock.',
  ],
  example: 'fettle stats samples/winch-reducer.fettle samples/gear-pump.fettle',
  async run(args) {
    if (args.operands.length === 0)
      throw new UsageError('no file to count: name one, as in `fettle stats pump.fettle`');
    const projects = new Projects();
    const loader = new Loader();
    const files: { file: string; stats: Stats }[] = [];
    let unusable = false;
    const counted = new Set<string>();
    for (const file of args.operands.flatMap(filesOf)) {
      // Patterns may meet: in the sums each file counts once.
      const real = realPath(file);
      if (counted.has(real)) continue;
      counted.add(real);
      const source = readProcedure(file);
      if ('reason' in source) {
        unusable = true;
        complain(`${visible(file)}: ${source.reason}`);
        continue;
      }
      const { tree, resolve } = loader.open(file, source.text);
      const model = bind(tree, resolve);
      files.push({ file, stats: statsOf(model, judge(model, await projects.settingsFor(file))) });
    }
    const whole = total(files.map((each) => each.stats));
    if (args.one('format') === 'json') await write(`${JSON.stringify({ files, total: whole }, undefined, 2)}\n`);
    else {
      for (const { file, stats } of files)
        await write(`${visible(file)}\n${columns(statsRows(stats), lineWidth()).join('\n')}\n\n`);
      if (files.length > 1)
        await write(`${files.length} files\n${columns(statsRows(whole), lineWidth()).join('\n')}\n`);
    }
    return unusable ? exit.unusable : exit.well;
  },
};
