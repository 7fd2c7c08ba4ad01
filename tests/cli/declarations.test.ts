import { expect, test } from 'vitest';
import { fettle, folder } from './run.ts';

test.each(['card', 'kit', 'plan', 'figures', 'draft'])('%s refuses a file that holds declarations only', (command) => {
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
