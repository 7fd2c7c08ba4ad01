import { judge } from '../../checks/run.ts';
import { bind } from '../../model/model.ts';
import { jsonWriter } from '../../outputs/json.ts';
import { type FileReport, Places, reported, type Writer } from '../../outputs/report.ts';
import { textWriter, visible } from '../../outputs/text.ts';
import { type Arguments, type Command, exit, UsageError } from '../command.ts';
import { readInput, readSource } from '../files.ts';
import { Loader, namer } from '../load.ts';
import { complain, terminal, write } from '../streams.ts';

const formats = ['text', 'json'];

export const check: Command = {
  name: 'check',
  summary: 'Replays each procedure part by part and reports what is wrong in it',
  operands: 'FILE…',
  options: {
    format: { value: formats.join('|'), choices: formats, help: 'How findings are written (text)' },
    quiet: { help: 'In text: errors alone, without the closing lines' },
    'stdin-name': { value: 'NAME', help: 'The name and folder of what comes in by `-`' },
    'exit-zero': { help: 'End with 0 although errors were found' },
  },
  details: [
    'A FILE of `-` is read from the standard input. Files behind `use` are looked for from the file that names them.',
    'Lines and columns count from 1 in text; from 0, in UTF-16 units, in json.',
    'Ends with 0 where no error was found, 1 where one was, 2 where a file could not be used (the others are checked).',
  ],
  example: 'fettle check samples/winch-reducer.fettle samples/gear-pump.fettle',
  async run(args) {
    if (args.operands.length === 0)
      throw new UsageError('no file to check: name one, as in `fettle check pump.fettle`');
    const inputs = args.operands.filter((name) => name === '-').length;
    if (inputs > 1) throw new UsageError('`-` stands twice, but there is one standard input');
    if (args.has('stdin-name') && inputs === 0) throw new UsageError('--stdin-name needs `-` among the files');
    const writer = writerOf(args);
    const loader = new Loader();
    const total = { error: 0, warning: 0, information: 0, hint: 0 };
    let unusable = false;
    const refuse = async (name: string, reason: string): Promise<void> => {
      unusable = true;
      complain(`${visible(name)}: ${reason}`);
      await write(writer.unusable(name, reason));
    };
    await write(writer.opening);
    for (const operand of args.operands) {
      const name = operand === '-' ? (args.one('stdin-name') ?? '-') : operand;
      const source = operand === '-' ? await readInput(process.stdin) : readSource(operand);
      if ('reason' in source) {
        await refuse(name, source.reason);
        continue;
      }
      try {
        const report = checkText(loader, name, source.text);
        for (const { severity } of report.findings) total[severity]++;
        await write(writer.file(report, source.text));
      } catch (error) {
        await refuse(name, `a fault of Fettle, not of the file: please report it\n${(error as Error).stack}`);
      }
    }
    await write(writer.closing(total));
    if (unusable) return exit.unusable;
    return total.error > 0 && !args.has('exit-zero') ? exit.found : exit.well;
  },
};

function checkText(loader: Loader, name: string, text: string): FileReport {
  const { tree, resolve } = loader.open(name, text);
  const model = bind(tree, resolve);
  const places = new Places(model, namer(name, name));
  return { file: name, findings: judge(model).findings.map((finding) => reported(finding, places)) };
}

function writerOf(args: Arguments): Writer {
  switch (args.one('format')) {
    case 'json':
      return jsonWriter();
    default:
      return textWriter({ ...terminal(), quiet: args.has('quiet') });
  }
}
