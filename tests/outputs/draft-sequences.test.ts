import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind, type Model, type Resolve } from '../../server/src/model/model.ts';
import { draft } from '../../server/src/outputs/draft.ts';

const files: Readonly<Record<string, string>> = {
  'lockout.fettle': `# fettle-shared
part cable "Cable" hazard charge
teardown
  step lock-off
    danger "Live parts kill."
    disconnect cable
reassembly
  step power-up
    danger "Live parts kill."
    connect cable
`,
  'mains.fettle': `# fettle-shared
part plug "Mains plug" hazard charge
part hose "Hose"
teardown
  step mains-off
    danger "Live parts kill."
    disconnect plug
    disconnect hose
reassembly
  step water-on
    connect hose
proving
  step mains-on
    danger "Live parts kill."
    connect plug
`,
  'gate.fettle': `# fettle-shared
part gate "Gate switch"
teardown
  step gate-off
    disconnect gate
proving
  step gate-on
    connect gate
`,
  'guard.fettle': `# fettle-shared
part guard "Guard"
teardown
  step guard-off
    remove guard
reassembly
  step guard-on
    fit guard
`,
  'wash.fettle': `# fettle-shared
part rack "Rack"
part tray "Tray"
teardown
  step rack-off
    remove rack
reassembly
  step rack-on
    fit rack
    fit tray
`,
};
const resolve: Resolve = (path) =>
  files[path] === undefined ? { missing: true } : parse(`file:///${path}`, files[path]);

const read = (text: string): Model => bind(parse('file:///job.fettle', text), resolve);
const draftOf = (text: string) => {
  const model = read(text);
  return draft(model, judge(model).ledger);
};
const linesOf = (text: string): string[] =>
  draftOf(text)
    .text.split(/^reassembly\n/m)[1]!
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('step '));

const job = (...uses: string[]): string => `procedure job "Job"
part cover "Cover" behind guard
part seal "Seal" behind cover
teardown
${uses.map((path) => `  use "${path}"\n`).join('')}  step open "Open"
    remove cover
    remove seal
`;

describe('steps that a shared file takes off', () => {
  test('are answered by those of the same file, in the mirrored order', () => {
    const text = job('lockout.fettle', 'guard.fettle');
    expect(linesOf(text)).toEqual(['fit seal', 'fit cover', 'use "guard.fettle"', 'use "lockout.fettle"']);
    const after = draftOf(text).text;
    expect(judge(read(after)).findings).toEqual([]);
    expect(draftOf(after).edits).toEqual([]);
  });

  test('are answered in proving where those of the same file stand there, ahead of its tests and in the mirrored order', () => {
    const tests = ['proving', 'step run "Run it"', 'check "It turns."'];
    for (const rest of [[], tests]) {
      const text = `${job('mains.fettle', 'gate.fettle', 'guard.fettle')}${rest.join('\n')}\n`;
      expect(linesOf(text)).toEqual([
        'fit seal',
        'fit cover',
        'use "guard.fettle"',
        'use "mains.fettle"',
        'proving',
        'use "gate.fettle"',
        'use "mains.fettle"',
        ...rest.slice(2),
      ]);
      const after = draftOf(text).text;
      expect(judge(read(after)).findings).toEqual([]);
      expect(draftOf(after).edits).toEqual([]);
    }
  });

  test('go before the step that puts back what came off before them', () => {
    const text = `${job('lockout.fettle')}  use "guard.fettle"
reassembly
  step close
    fit cover
  step last
    do "Look."
`.replace(' behind guard', '');
    expect(linesOf(text)).toEqual([
      'use "guard.fettle"',
      'fit seal',
      'fit cover',
      'do "Look."',
      'use "lockout.fettle"',
    ]);
    expect(judge(read(draftOf(text).text)).findings).toEqual([]);
  });

  test('are put back in steps of their own where the file does it not, or does something else besides', () => {
    const text = job('wash.fettle').replace(' behind guard', '');
    expect(linesOf(text)).toEqual(['fit seal', 'fit cover', 'fit rack']);
  });

  test('are left as they are where the reassembly takes them in', () => {
    const text = `${job('lockout.fettle').replace(' behind guard', '')}reassembly\n  use "lockout.fettle"\n`;
    expect(linesOf(text)).toEqual(['fit seal', 'fit cover', 'use "lockout.fettle"']);
  });
});
