import type { Separator } from '../../outputs/csv.ts';
import { draftParts, type Field, fields } from '../../outputs/parts-list.ts';
import { visible } from '../../outputs/wording.ts';
import { type Arguments, type Command, exit, UsageError, unknown } from '../command.ts';
import { readInput, readSource } from '../files.ts';
import { complain, write } from '../streams.ts';

const signs: Readonly<Record<string, Separator>> = { comma: ',', semicolon: ';', tab: '\t' };

export const importParts: Command = {
  name: 'import',
  summary: 'Drafts the declarations of parts from a parts list, a table of comma-separated values',
  operands: 'TABLE',
  options: {
    map: {
      value: 'FIELD=COLUMN',
      multiple: true,
      help: 'Which column holds what, by heading or number; several as in `part=Item,quantity=Qty`',
    },
    unit: {
      value: 'FIELD=UNIT',
      multiple: true,
      help: 'The unit of cells that are numbers alone, as in `torque=N·m,length=mm`',
    },
    separator: {
      value: Object.keys(signs).join('|'),
      choices: Object.keys(signs),
      help: 'What parts the cells, where that cannot be told',
    },
  },
  details: [
    `FIELD is one of ${fields.join(', ')}; one without a column of its own is looked for under its own name.`,
    'The first line of TABLE names the columns (RFC 4180, UTF-8); `-` takes the standard input.',
    'Names are made from titles where no column gives them. A row that cannot be used is told with its line, and stands',
    'in the draft as a comment; the run then ends with 2.',
  ],
  example:
    'fettle import samples/common/parts-list.csv --map part=Item,title=Description,quantity=Qty --unit torque=N·m',
  async run(args) {
    const [table, ...more] = args.operands;
    if (table === undefined) throw new UsageError('no table named: write `fettle import parts.csv`');
    if (more.length > 0) throw new UsageError('one table at a time: run `fettle import` once for each');
    const options = {
      columns: pairs(args, 'map'),
      units: pairs(args, 'unit'),
      separator: signs[args.one('separator') ?? ''],
    };
    const source = table === '-' ? await readInput(process.stdin) : readSource(table);
    if ('reason' in source) throw new UsageError(`${visible(table)}: ${source.reason}`);
    const drafted = draftParts(source.text, options);
    const tell = ({ line, message }: { line: number; message: string }): string =>
      `${visible(table)}:${line}: ${visible(message)}`;
    if ('problem' in drafted) throw new UsageError(tell(drafted.problem));
    await write(drafted.text);
    for (const problem of drafted.problems) complain(tell(problem));
    return drafted.problems.length > 0 ? exit.unusable : exit.well;
  },
};

/** @throws {UsageError} */
function pairs(args: Arguments, option: 'map' | 'unit'): Partial<Record<Field, string>> {
  const found: Partial<Record<Field, string>> = {};
  for (const pair of args.all(option)) {
    const [field, ...rest] = pair.split('=');
    const value = rest.join('=').trim();
    if (value === '')
      throw new UsageError(
        `--${option} takes pairs, as in --${option} ${option === 'map' ? 'part=Item' : 'torque=N·m'}, not ${pair}`,
      );
    if (!(fields as readonly string[]).includes(field!))
      throw new UsageError(unknown('field', field!, fields, 'fettle help import'));
    found[field as Field] = value;
  }
  return found;
}
