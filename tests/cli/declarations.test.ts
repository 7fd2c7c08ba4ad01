import { expect, test } from 'vitest';
import { fettle, folder } from './run.ts';

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
