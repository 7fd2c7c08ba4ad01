import { existsSync } from 'node:fs';
import { judge } from '../../checks/run.ts';
import { bind } from '../../model/model.ts';
import { draft as draftOf } from '../../outputs/draft.ts';
import { counted, visible } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { readInput } from '../files.ts';
import { Loader } from '../load.ts';
import { writeNew } from '../output.ts';
import { refuseDeclarations } from '../procedure.ts';
import { readProcedure } from '../procedure-file.ts';
import { replaceFile } from '../replace.ts';
import { write } from '../streams.ts';

export const draft: Command = {
  name: 'draft',
  summary: 'Writes the reassembly that answers the teardown, or completes one that is partly written',
  operands: 'FILE',
  options: {
    write: { help: 'Write it into the file itself' },
    output: { value: 'NEW.fettle', short: 'o', help: 'Write it to this new file; without, to the standard output' },
  },
  details: [
    'What stands in the file keeps its text and place: the draft only adds. Lay the file out first (`fettle fmt`).',
    'What the draft cannot know is said on the standard error: fits, torques and supplies that the file does not tell.',
    'A file is written whole or not at all, and left alone where it is changed meanwhile.',
  ],
  example: 'fettle draft samples/chain-hoist-brake.fettle',
  async run(args) {
    const [path, ...more] = args.operands;
    if (path === undefined) throw new UsageError('no file named: write `fettle draft pump.fettle`');
    if (more.length > 0) throw new UsageError('one file at a time: run `fettle draft` once for each');
    const output = args.one('output');
    if (output !== undefined && args.has('write'))
      throw new UsageError('--write and --output are given: the draft goes to one place');
    if (path === '-' && args.has('write')) throw new UsageError('--write needs a file: `-` is the standard input');
    if (output !== undefined && existsSync(output))
      throw new UsageError(`${output}: exists already: name a new file, or write into the procedure with --write`);
    const source = path === '-' ? await readInput(process.stdin) : readProcedure(path);
    if ('reason' in source) throw new UsageError(`${path}: ${source.reason}`);
    const { tree, resolve } = new Loader().open(path, source.text);
    const model = bind(tree, resolve);
    const { edits, text, notes } = draftOf(model, judge(model).ledger);
    refuseDeclarations(path, model);
    if (!args.has('write') && output === undefined) await write(text);
    else {
      const mark = Buffer.from(source.bytes.subarray(0, 3)).equals(byteOrderMark) ? byteOrderMark : Buffer.alloc(0);
      const wanted = Buffer.concat([mark, Buffer.from(text)]);
      const target = output ?? path;
      const unusable =
        output !== undefined
          ? writeNew(output, wanted)
          : edits.length > 0
            ? replaceFile(path, source.bytes, wanted)
            : undefined;
      if (unusable !== undefined) throw new UsageError(`${target}: ${unusable.reason}`);
      await write(
        edits.length === 0
          ? `${visible(target)}: nothing to draft, the reassembly answers everything\n`
          : `${visible(target)}: drafted at ${counted(edits.length, 'place')}\n`,
      );
    }
    for (const note of notes) process.stderr.write(`note: ${visible(note)}\n`);
    return exit.well;
  },
};

const byteOrderMark = Buffer.from([0xef, 0xbb, 0xbf]);
