import { columns, hanging } from '../outputs/columns.ts';
import { caution } from '../outputs/wording.ts';
import { Arguments, type Command, exit, helpOf, UsageError, unknown } from './command.ts';
import { commandNames, loadAllCommands, loadCommand } from './commands/all.ts';
import { complain, endWithReader, faultOf, lineWidth, write } from './streams.ts';
import { version } from './version.ts';

async function commandOf(name: string): Promise<Command> {
  const command = await loadCommand(name);
  if (command === undefined) throw new UsageError(unknown('command', name, [...commandNames, 'help'], 'fettle help'));
  return command;
}

const overview = async (): Promise<string> =>
  [
    'fettle COMMAND …',
    '  Checks teardown and reassembly procedures part by part',
    '',
    'Commands',
    ...columns(
      [
        ...(await loadAllCommands()).map(({ name, summary }): [string, string] => [name, summary]),
        ['help', 'Says more about one command, as in `fettle help check`'],
      ],
      lineWidth(),
    ),
    '',
    'fettle --version says which version this is.',
    hanging('', caution, lineWidth()),
    '',
  ].join('\n');

async function run([name, ...words]: readonly string[]): Promise<number> {
  switch (name) {
    case undefined:
      process.stderr.write(await overview());
      return exit.unusable;
    case '--version':
      await write(`fettle ${version()}\n`);
      return exit.well;
    case 'help':
    case '--help':
    case '-h':
      await write(words[0] === undefined ? await overview() : helpOf(await commandOf(words[0]), lineWidth()));
      return exit.well;
  }
  if (name.startsWith('-')) throw new UsageError(unknown('option', name, ['--version', '--help'], 'fettle help'));
  const command = await commandOf(name);
  const args = new Arguments(command, words);
  if (args.has('help')) {
    await write(helpOf(command, lineWidth()));
    return exit.well;
  }
  return command.run(args);
}

endWithReader();
try {
  // npm runs scripts in the package's folder; file names count from where the caller stands.
  if (process.env.npm_lifecycle_event === 'fettle' && process.env.INIT_CWD !== undefined)
    process.chdir(process.env.INIT_CWD);
  process.exitCode = await run(process.argv.slice(2));
} catch (error) {
  complain(error instanceof UsageError ? error.message : faultOf(error));
  process.exitCode = exit.unusable;
}
