import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { allChecks } from '../../server/src/checks/all.ts';
import { loadAllCommands } from '../../server/src/cli/commands/all.ts';
import { fettle, root } from './run.ts';

const allCommands = await loadAllCommands();

describe.each(allCommands)('$name', (command) => {
  test('explains itself, the same both ways, with every option', () => {
    const long = fettle([command.name, '--help']);
    expect(long.status).toBe(0);
    expect(long.out).toBe(fettle(['help', command.name]).out);
    expect(long.out).toBe(fettle([command.name, '-h']).out);
    for (const option of [...Object.keys(command.options), 'help']) expect(long.out).toContain(`  --${option} `);
    expect(long.out).toContain(`\n  ${command.example}\n`);
  });

  // Of a server, `serve.test.ts` tells.
  test.skipIf(command.name === 'serve')('its example runs', () => {
    const [program, ...args] = command.example.split(' ');
    expect(program).toBe('fettle');
    const { status, out, err } = fettle(args);
    expect({ status, err }).toEqual({ status: 0, err: '' });
    expect(out).not.toBe('');
  });
});

test('the overview names every command', () => {
  const { status, out } = fettle(['help']);
  expect(status).toBe(0);
  for (const { name, summary } of allCommands)
    expect(out).toMatch(new RegExp(`^  ${name} +${summary.slice(0, 20)}`, 'm'));
  expect(fettle(['--help']).out).toBe(out);
  const bare = fettle([]);
  expect(bare).toMatchObject({ status: 2, out: '', err: out });
});

test('the version is the manifest’s', () => {
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
  expect(fettle(['--version'])).toEqual({ status: 0, out: `fettle ${version}\n`, err: '' });
});

test.each([
  [['chekc', 'x'], 'there is no command chekc: did you mean check?'],
  [['toString'], 'there is no command toString: `fettle help` lists what there is'],
  [['--verson'], 'there is no option --verson: did you mean --version?'],
  [['help', 'exlain'], 'there is no command exlain: did you mean explain?'],
  [['check', '--formt', 'json', 'x'], 'there is no option --formt: did you mean --format?'],
  [['check', '-q', 'x'], 'there is no option -q: `fettle help check` lists what there is'],
  [['check', '--constructor', 'x'], 'there is no option --constructor: `fettle help check` lists what there is'],
  [['check', '--format', 'jsn', 'x'], 'there is no value of --format jsn: did you mean json?'],
  [
    ['check', '--format', 'xml', 'x'],
    'there is no value of --format xml: there are text, json, sarif, junit and github',
  ],
  [['check', 'x', '--format'], '--format needs a value: --format text|json|sarif|junit|github'],
  [['check', '--off', 'left-off,left-opn', 'x'], 'there is no check left-opn: did you mean left-open?'],
  [['check', '--only', '--quiet', 'x'], 'there is no check --quiet: `fettle explain` lists what there is'],
  [['check', '--max-warnings', '-1', 'x'], '--max-warnings takes a whole number, not -1'],
  [['check', '--format', 'json', '--format', 'text', 'x'], '--format is given twice: keep one'],
  [['check', '--quiet=yes', 'x'], '--quiet takes no value: leave `=yes` out'],
  [['check'], 'no file to check: name one, as in `fettle check pump.fettle`'],
  [['check', '-', '-'], '`-` stands twice, but there is one standard input'],
  [['check', '--stdin-name', 'n', 'x'], '--stdin-name needs `-` among the files'],
  [['explain', 'left-of'], 'there is no check left-of: did you mean left-off?'],
  [['explain', 'left-off', 'syntax'], 'one code at a time, as in `fettle explain left-off`'],
])('%j is refused with what was meant', (args, message) => {
  expect(fettle(args)).toEqual({ status: 2, out: '', err: `fettle: ${message}\n` });
});

test('a name behind -- is a file, whatever it begins with', () => {
  expect(fettle(['check', '--', '--quiet'])).toMatchObject({
    status: 2,
    err: expect.stringMatching(/^fettle: --quiet: no such/),
  });
});

test('explain tells every check, one by one and in a table', () => {
  const table = fettle(['explain']);
  expect(table.status).toBe(0);
  const rows = table.out.replace(/ +/g, ' ').split('\n');
  for (const { code, severity, fires } of allChecks) expect(rows).toContain(` ${code} ${severity} ${fires}`);
  const { status, out } = fettle(['explain', 'left-off']);
  expect(status).toBe(0);
  expect(out).toMatch(/^left-off \(error\)\nComing back\n\nFires when none of a part/);
  expect(out).toContain('\nFound in\n    part cover "Cover"\n    teardown\n');
});
