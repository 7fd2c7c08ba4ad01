import { parseArgs } from 'node:util';
import { nearest } from '../../../grammar/nearest.ts';
import { columns, hanging } from '../outputs/columns.ts';

/** What the caller did wrong, with the remedy; ends the run with exit code 2. */
export class UsageError extends Error {}

export interface Option {
  /** Stands for the value in the help; absent where the option takes none. */
  readonly value?: string;
  readonly choices?: readonly string[];
  readonly multiple?: boolean;
  /** One letter that stands for it: `-o`. */
  readonly short?: string;
  readonly help: string;
}

export interface Command {
  readonly name: string;
  readonly summary: string;
  /** What stands behind the name, as in `FILE…`. */
  readonly operands: string;
  readonly options: Readonly<Record<string, Option>>;
  /** Further lines of the help. */
  readonly details: readonly string[];
  /** A command line that works from the project's own folder; a test runs it. */
  readonly example: string;
  /** Gives the exit code. @throws {UsageError} */
  run(args: Arguments): number | Promise<number>;
}

/** 0 all well, 1 findings that count, 2 something could not be used. */
export const exit = { well: 0, found: 1, unusable: 2 } as const;

/** The words behind the command's name. */
export class Arguments {
  readonly operands: readonly string[];
  private readonly values: ReadonlyMap<string, readonly string[]>;

  /** @throws {UsageError} for an option that the command does not have, or a value that it cannot take. */
  constructor(command: Pick<Command, 'name' | 'options'>, words: readonly string[]) {
    const options = Object.fromEntries(
      Object.entries({ ...command.options, help }).map(([name, { value, short }]) => [
        name,
        {
          type: value === undefined ? ('boolean' as const) : ('string' as const),
          multiple: true,
          ...(short === undefined ? {} : { short }),
        },
      ]),
    );
    const { tokens, positionals } = parseArgs({
      args: [...words],
      options,
      allowPositionals: true,
      strict: false,
      tokens: true,
    });
    const values = new Map<string, string[]>();
    for (const token of tokens) {
      if (token.kind !== 'option') continue;
      const option = token.name === 'help' ? help : command.options[token.name];
      if (option === undefined || !Object.hasOwn({ ...command.options, help }, token.name))
        throw new UsageError(unknown('option', token.rawName, optionsOf(command), `fettle help ${command.name}`));
      if (option.value === undefined && token.value !== undefined)
        throw new UsageError(`${token.rawName} takes no value: leave \`=${token.value}\` out`);
      if (option.value !== undefined && token.value === undefined)
        throw new UsageError(`${token.rawName} needs a value: ${token.rawName} ${option.value}`);
      if (option.choices !== undefined && !option.choices.includes(token.value!))
        throw new UsageError(
          `there is no value of ${token.rawName} ${token.value}: ${meant(token.value!, option.choices) ?? `there are ${option.choices.slice(0, -1).join(', ')} and ${option.choices.at(-1)}`}`,
        );
      const known = values.get(token.name) ?? [];
      if (known.length > 0 && option.value !== undefined && option.multiple !== true)
        throw new UsageError(`${token.rawName} is given twice: keep one`);
      values.set(token.name, [...known, token.value ?? '']);
    }
    this.operands = positionals;
    this.values = values;
  }

  has(option: string): boolean {
    return this.values.has(option);
  }

  one(option: string): string | undefined {
    return this.values.get(option)?.[0];
  }

  /** Every value given, commas parting several in one. */
  all(option: string): string[] {
    return (this.values.get(option) ?? []).flatMap((value) => value.split(',')).filter((value) => value !== '');
  }
}

const help: Option = { short: 'h', help: 'Say what the command does' };
const optionsOf = ({ options }: Pick<Command, 'options'>): string[] =>
  [...Object.keys(options), 'help'].map((name) => `--${name}`);

/** `there is no option --formt: did you mean --format? (fettle help check lists them)` */
export function unknown(kind: string, word: string, candidates: readonly string[], lister: string): string {
  return `there is no ${kind} ${word}: ${meant(word, candidates) ?? `\`${lister}\` lists what there is`}`;
}

function meant(word: string, candidates: readonly string[]): string | undefined {
  const near = nearest(word, candidates);
  return near === undefined ? undefined : `did you mean ${near}?`;
}

export function helpOf(command: Command, width: number): string {
  const rows = Object.entries({ ...command.options, help }).map(([name, option]): [string, string] => [
    `--${name}${option.value === undefined ? '' : ` ${option.value}`}`,
    option.short === undefined ? option.help : `${option.help} (short: -${option.short})`,
  ]);
  const details = [
    ...command.details,
    ...(command.operands === 'FILE' ? ['For FILE, `-` is the standard input.'] : []),
  ];
  return [
    `fettle ${command.name} ${command.operands}`,
    hanging('  ', command.summary, width),
    ...(details.length === 0 ? [] : ['', ...details.map((line) => hanging('  ', line, width))]),
    '',
    'Options',
    ...columns(rows, width),
    '',
    'Example',
    `  ${command.example}`,
    '',
  ].join('\n');
}
