import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { Repository } from './repository.ts';
import { fettle, folder } from './run.ts';

const close = `part cover "Cover" renew
part bolt x4 "Bolt" thread M8 class 8.8 length 30 mm torque 25 N·m
reassembly
  step close "Close it" takes 10 min
    fit new cover
    fit bolt
    tighten bolt order star
`;
const lid = `procedure lid "Lid"
teardown
  step open "Open it" takes 5 min
    remove bolt
    remove cover
    discard cover
reassembly
  use "common/close.fettle"
`;
const slack = close.replace(' order star', '');
const files = (shared = close) => ({ 'lid.fettle': lid, 'common/close.fettle': shared });

test('check tells of a finding in a shared step at the path, in text, JSON and SARIF', () => {
  const cwd = folder(files(slack));
  const text = fettle(['check', 'lid.fettle'], { cwd });
  expect(text.status).toBe(1);
  const [head, line, mark, related] = text.out.split('\n');
  expect(head).toMatch(/^lid\.fettle:8:7 error no-order in common\/close\.fettle line 7, step close: /);
  expect(line).toBe('      use "common/close.fettle"');
  expect(mark!.trim()).toBe('^'.repeat('"common/close.fettle"'.length));
  expect(related).toMatch(/^ {4}see common\/close\.fettle:7:\d+ it stands here$/);
  const [file] = JSON.parse(fettle(['check', '--format', 'json', 'lid.fettle'], { cwd }).out).files;
  expect(file.findings).toHaveLength(1);
  expect(file.findings[0]).toMatchObject({
    code: 'no-order',
    range: { start: { line: 7, character: 6 }, end: { line: 7, character: 27 } },
  });
  expect(file.findings[0].related[0]).toMatchObject({ file: 'common/close.fettle', range: { start: { line: 6 } } });
  const [result] = JSON.parse(fettle(['check', '--format', 'sarif', 'lid.fettle'], { cwd }).out).runs[0].results;
  expect(result.locations[0].physicalLocation).toMatchObject({
    artifactLocation: { uri: 'lid.fettle' },
    region: { startLine: 8, startColumn: 7 },
  });
  expect(result.relatedLocations[0].physicalLocation).toMatchObject({
    artifactLocation: { uri: 'common/close.fettle' },
    region: { startLine: 7 },
  });
  expect(result.fixes).toBeUndefined();
});

test('the shared file alone is clean, and --fix of what uses it leaves it as it is', () => {
  const cwd = folder(files(`# fettle-shared\n${close}`));
  expect(fettle(['check', 'common/close.fettle', 'lid.fettle'], { cwd }).status).toBe(0);
  writeFileSync(join(cwd, 'common/close.fettle'), slack);
  expect(fettle(['check', '--fix', 'lid.fettle'], { cwd }).status).toBe(1);
  expect(readFileSync(join(cwd, 'common/close.fettle'), 'utf8')).toBe(slack);
  expect(readFileSync(join(cwd, 'lid.fettle'), 'utf8')).toBe(lid);
});

test('card, plan, kit, draft and export know the shared step', () => {
  const cwd = folder(files());
  const made = (...args: string[]) => {
    const { status, out, err } = fettle(args, { cwd });
    expect([status, err.split('\n')[0]], args.join(' ')).toEqual([0, expect.not.stringMatching(/^fettle: /)]);
    return out;
  };
  expect(made('card', 'lid.fettle')).toContain('Close it');
  expect(made('plan', 'lid.fettle')).toContain('close');
  expect(made('kit', 'lid.fettle')).toContain('Cover');
  expect(made('draft', 'lid.fettle')).toBe(lid);
  const { steps } = JSON.parse(made('export', 'lid.fettle'));
  expect(steps.map(({ name }: { name: string }) => name)).toEqual(['open', 'close']);
});

test('a change in a shared step makes what takes it in one that changed', () => {
  const repo = new Repository(files());
  const checked = () =>
    JSON.parse(
      fettle(['check', '--format', 'json', '--changed-since', 'HEAD', 'lid.fettle'], { cwd: repo.path }).out,
    ).files.map(({ file }: { file: string }) => file);
  expect(checked()).toEqual([]);
  repo.write({ 'common/close.fettle': close.replace('10 min', '12 min') });
  expect(checked()).toEqual(['lid.fettle']);
});

test('a known finding in a shared step stays known when lines move', () => {
  const cwd = folder(files(slack));
  expect(fettle(['check', '--write-baseline', 'known.json', 'lid.fettle'], { cwd }).status).toBe(0);
  expect(fettle(['check', '--baseline', 'known.json', 'lid.fettle'], { cwd }).status).toBe(0);
  writeFileSync(join(cwd, 'common/close.fettle'), `# One line more\n${slack}`);
  expect(fettle(['check', '--baseline', 'known.json', 'lid.fettle'], { cwd }).status).toBe(0);
  // Another statement is another finding.
  writeFileSync(join(cwd, 'common/close.fettle'), slack.replace('tighten bolt', 'tighten bolt to 20 N·m'));
  expect(fettle(['check', '--baseline', 'known.json', 'lid.fettle'], { cwd }).status).toBe(1);
});

test.each(['card', 'kit', 'plan', 'draft'])('%s of steps that are for others is refused', (command) => {
  const cwd = folder(files(`# fettle-shared\n${close}`));
  expect(fettle([command, 'common/close.fettle'], { cwd })).toEqual({
    status: 2,
    out: '',
    err: 'fettle: common/close.fettle holds steps for other procedures (`fettle-shared`): name a procedure that uses them\n',
  });
});

test('compare names the file of what stands in shared steps', () => {
  const cwd = folder({
    'old.fettle': lid,
    'new.fettle': lid.replace('reassembly\n  use "common/close.fettle"\n', 'use "common/close.fettle"\n'),
    'common/close.fettle': close,
  });
  expect(fettle(['compare', 'old.fettle', 'new.fettle'], { cwd }).out).toContain('(old line 4 of common/close.fettle)');
});
