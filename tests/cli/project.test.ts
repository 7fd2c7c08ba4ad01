import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { bad, fettle, folder, good, mixed } from './run.ts';

const codes = (out: string): string[][] =>
  JSON.parse(out).files.map((file: { findings: { code: string }[] }) => file.findings.map(({ code }) => code));

test('each file is judged by the nearest fettle.json above it', () => {
  const cwd = folder({
    'a.fettle': mixed,
    'sub/b.fettle': mixed,
    'sub/deep/c.fettle': mixed,
    'fettle.json': '{ "off": ["never-used"] }',
    'sub/fettle.json': '{ "severities": { "left-off": "warning" } }',
  });
  const files = ['a.fettle', 'sub/b.fettle', 'sub/deep/c.fettle'];
  const { status, out } = fettle(['check', '--format', 'json', ...files], { cwd });
  expect(codes(out)).toEqual([['left-off'], ['never-used', 'left-off'], ['never-used', 'left-off']]);
  expect(status).toBe(1);
  expect(fettle(['check', 'sub/b.fettle'], { cwd }).status).toBe(0);
  expect(fettle(['check', '--max-warnings', '0', 'sub/b.fettle'], { cwd }).status).toBe(1);
});

test('the standard input counts from the folder of its name', () => {
  const cwd = folder({ 'sub/fettle.json': '{ "off": ["left-off"] }' });
  expect(fettle(['check', '-'], { cwd, input: bad }).status).toBe(1);
  expect(fettle(['check', '-', '--stdin-name', 'sub/x.fettle'], { cwd, input: bad }).status).toBe(0);
});

test('one that cannot be used is told with file, line and remedy before anything is written', () => {
  const cwd = folder({
    'sub/a.fettle': good,
    'fettle.json': '\ufeff{\n  "frction": {},\n  "off": ["left-of"]\n}\n',
  });
  expect(fettle(['check', '--format', 'json', 'sub/a.fettle'], { cwd })).toEqual({
    status: 2,
    out: '',
    err: 'fettle: fettle.json:2: "frction" is not a key: did you mean "friction"?\nfettle: fettle.json:3: "left-of" is no check of Fettle: did you mean "left-off"?\n',
  });
  expect(fettle(['figures', 'a.fettle'], { cwd: join(cwd, 'sub') }).err).toContain('fettle: ../fettle.json:2: ');
});

test('one that cannot be read is told', () => {
  const cwd = folder({ 'a.fettle': good });
  mkdirSync(join(cwd, 'fettle.json'));
  const { status, err } = fettle(['check', 'a.fettle'], { cwd });
  expect({ status, err }).toEqual({ status: 2, err: 'fettle: fettle.json: is a folder: name a file in it\n' });
});

test('figures are reckoned with its friction', () => {
  const text = `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt
`;
  const cwd = folder({
    'a.fettle': text,
    'sub/a.fettle': text,
    'sub/fettle.json': '{ "friction": { "unstated": [0.06, 0.07, 0.08] } }',
  });
  const [plain, slippery] = ['a.fettle', 'sub/a.fettle'].map((file) =>
    JSON.parse(fettle(['figures', '--format', 'json', file], { cwd }).out),
  );
  expect(JSON.stringify(plain)).toContain('0.14');
  expect(JSON.stringify(slippery)).not.toContain('0.14');
  expect(JSON.stringify(slippery)).toContain('0.07');
});
