import { type Command, exit, UsageError } from '../command.ts';
import { complain } from '../streams.ts';

export const serve: Command = {
  name: 'serve',
  summary: 'Starts the language server for any editor that speaks the Language Server Protocol',
  operands: '--stdio',
  options: {
    stdio: { help: 'Listen on the standard input, answer on the standard output' },
    clientProcessId: { value: 'ID', help: 'End when the process of this number has ended, as some editors ask for' },
  },
  details: [
    'The editor starts it for files that end in `.fettle`, and ends it. Every setting has a default.',
    'README.md shows how editors are told of it.',
  ],
  example: 'fettle serve --stdio',
  async run(args) {
    if (args.operands.length > 0)
      throw new UsageError(`the editor names the files, not the command line: leave ${args.operands[0]} out`);
    if (!args.has('stdio')) throw new UsageError('no way to talk to the editor: add --stdio');
    if (process.stdin.isTTY) complain('waits for an editor on the standard input; Ctrl+C ends it');
    // It reads the options for itself, and ends the process when the editor says so or goes away.
    const [{ start }, { serve: server }] = await Promise.all([import('../../node.ts'), import('../../connection.ts')]);
    start(server);
    return exit.well;
  },
};
