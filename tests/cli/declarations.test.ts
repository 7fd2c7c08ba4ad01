import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { checkOf } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { checkPage } from '../../server/src/outputs/pages.ts';
import { fettle, folder, root } from './run.ts';

test.each(['card', 'kit', 'plan', 'draft', 'figures', 'export', 'diagram'])(
  '%s takes the standard input',
  (command) => {
    const text = readFileSync(join(root, 'samples/wash-pump.fettle'));
    const cwd = folder({ 'a.fettle': text });
    const named = fettle([command, 'a.fettle'], { cwd });
    const { status, out, err } = fettle([command, '-'], { cwd, input: text });
    expect({ status, err }).toEqual({ status: 0, err: named.err });
    expect(out.replaceAll('"file": "-"', '"file": "a.fettle"').replace('<bdi>-</bdi>', '<bdi>a.fettle</bdi>')).toBe(
      named.out,
    );
  },
);

test('an empty file is called so', () => {
  expect(fettle(['plan', '-'], { input: '\n' }).err).toBe('fettle: - is empty: name a file with a `procedure`\n');
});

test.each(['card', 'kit', 'plan', 'draft'])('%s refuses a file that holds declarations only', (command) => {
  const cwd = folder({ 'shared.fettle': 'part bolt "Bolt"\n' });
  expect(fettle([command, 'shared.fettle'], { cwd })).toEqual({
    status: 2,
    out: '',
    err: 'fettle: shared.fettle holds declarations only: name a file with a `procedure`\n',
  });
});

test('explain tells of both ways to a repair', () =>
  expect(fettle(['explain', 'left-off']).out).toContain(
    'A repair is offered in the editor; where it is safe, `fettle check --fix` makes it.\n',
  ));

// Declared torques can be judged without a step.
test('figures tells what declarations alone come to', () => {
  const cwd = folder({ 'shared.fettle': 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m\n' });
  const { status, out } = fettle(['figures', 'shared.fettle'], { cwd });
  expect(out).toContain('line 1: clamp load of bolt');
  expect(status).toBe(0);
});

test('explain names what a check reckons with, as its page does', () => {
  const told = fettle(['explain', 'over-proof']).out;
  expect(told).toContain('It reckons with');
  const { low, mid, high } = defaultSettings.friction.stainless.dry;
  const assumed = `Of stainless steel: dry ${low}, ${mid}, ${high}; oiled`;
  expect(told).toContain(assumed);
  expect(checkPage(checkOf('over-proof')!)).toContain(`- ${assumed}`);
  expect(fettle(['explain', 'left-off']).out).not.toContain('reckons');
});
