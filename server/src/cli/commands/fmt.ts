import { format } from '../../../../grammar/printer.ts';
import { counted, visible } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { filesOf, readInput, type Source, type Unusable } from '../files.ts';
import { readProcedure } from '../procedure-file.ts';
import { replaceFile } from '../replace.ts';
import { complain, write } from '../streams.ts';

export const fmt: Command = {
  name: 'fmt',
  summary: 'Lays files out anew: indentation, blanks, line breaks and the first spelling of each unit',
  operands: 'FILE…',
  options: {
    check: { help: 'Write nothing; list the files that are laid out otherwise, and end with 1 if there are any' },
    quiet: { help: 'Leave the closing line out' },
  },
  details: [
    'A FILE may be a pattern, as in "jobs/**/*.fettle", or a folder, for all *.fettle in it. `-` takes the standard input and writes it to the standard output.',
    'Lines that cannot be read stay as they are.',
    'A file is replaced whole or not at all, keeps its mode, and is left alone where it is changed meanwhile.',
  ],
  example: 'fettle fmt --check samples/irrigation-pump.fettle samples/gear-pump.fettle',
  async run(args) {
    if (args.operands.length === 0)
      throw new UsageError('no file to lay out: name one, as in `fettle fmt pump.fettle`');
    const only = args.has('check');
    if (args.operands.includes('-')) {
      if (args.operands.length > 1) throw new UsageError('`-` stands alone: lay files out in a run of their own');
      if (!only) return passOn();
    }
    const names = args.operands.flatMap(filesOf);
    let changed = 0;
    let refused = 0;
    for (const name of names) {
      const outcome = name === '-' ? compared(await readInput(process.stdin)) : layOut(name, only);
      if ('reason' in outcome) {
        refused++;
        complain(`${visible(name)}: ${outcome.reason}`);
      } else if (outcome.differs) {
        changed++;
        await write(`${visible(name)}\n`);
      }
    }
    const told = summaryOf(changed, names.length - refused, only);
    if (!args.has('quiet') && told !== '') await write(`${told}\n`);
    if (refused > 0) return exit.unusable;
    return only && changed > 0 ? exit.found : exit.well;
  },
};

/** Nothing where no file could be used. */
function summaryOf(changed: number, count: number, only: boolean): string {
  if (count === 0) return '';
  if (changed === 0)
    return `${counted(count, 'file is', 'files are')} laid out as ${count === 1 ? 'it' : 'they'} should be`;
  const some = `${changed} of ${counted(count, 'file')}`;
  return only ? `${some} would be laid out anew: run \`fettle fmt\` without --check` : `${some} laid out anew`;
}

type Outcome = { readonly differs: boolean; readonly wanted: Uint8Array } | Unusable;

function compared(source: Source | Unusable): Outcome {
  if ('reason' in source) return source;
  const { text, bytes } = source;
  const marked = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf;
  const wanted = Buffer.from(format(marked ? `\ufeff${text}` : text));
  return { differs: Buffer.compare(wanted, bytes) !== 0, wanted };
}

function layOut(name: string, only: boolean): Outcome {
  const source = readProcedure(name);
  const outcome = compared(source);
  if ('reason' in source || 'reason' in outcome || !outcome.differs || only) return outcome;
  return replaceFile(name, source.bytes, outcome.wanted) ?? outcome;
}

/** From the standard input to the standard output. */
async function passOn(): Promise<number> {
  const outcome = compared(await readInput(process.stdin));
  if ('reason' in outcome) {
    complain(`-: ${outcome.reason}`);
    return exit.unusable;
  }
  await write(outcome.wanted);
  return exit.well;
}
