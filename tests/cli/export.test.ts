import { expect, test } from 'vitest';
import { bad, fettle, folder, good } from './run.ts';

test('export writes one procedure, what it uses with it, and tells of errors', () => {
  const cwd = folder({
    'a.fettle': `use "b.fettle"\n${good.replace('part cover "Cover"\n', '')}`,
    'b.fettle': 'part cover "Cover"\n',
    'c.fettle': bad,
  });
  const { status, out, err } = fettle(['export', 'a.fettle'], { cwd });
  expect({ status, err }).toEqual({ status: 0, err: '' });
  expect(JSON.parse(out)).toMatchObject({ format: 'fettle-procedure', parts: [{ name: 'cover' }], steps: [{}, {}] });
  const faulty = fettle(['export', '--format', 'json', 'c.fettle'], { cwd });
  expect(faulty).toMatchObject({
    status: 0,
    err:
      'fettle: c.fettle:4:12: `cover` comes off here and none of it is back on by the end: `fit` it, or `omit` it with the reason.\n' +
      'fettle: c.fettle: 1 error in the procedure: run `fettle check`\n',
  });
  expect(JSON.parse(faulty.out).steps[0].statements).toEqual([{ kind: 'remove', name: 'cover', pieces: 1 }]);
  expect(fettle(['export', 'gone.fettle'], { cwd })).toMatchObject({ status: 2, out: '' });
  expect(fettle(['export', '--format', 'xml', 'a.fettle'], { cwd }).err).toContain('there is no value of --format xml');
});

// Other programs end a text at a NUL, and nobody sees it in the file.
test.each([
  ['export', ''],
  ['kit', ', so the list may lack something'],
  ['plan', ', so the plan may lack something'],
  ['card', ': the card says not to use it'],
])('%s names file, line and remedy of a NUL, and of the first error', (command, consequence) => {
  const procedure = good.replace('part cover', 'procedure job "Job"\npart cover');
  const cwd = folder({
    'seen.fettle': procedure,
    'text.fettle': procedure.replace('"Cover"', '"Co\0ver"'),
    'line.fettle': procedure.replace('remove cover', 'remove co\0ver'),
  });
  expect(fettle([command, 'seen.fettle'], { cwd }).err).toBe('');
  expect(fettle([command, 'text.fettle'], { cwd }).err).toBe(
    'fettle: text.fettle:2:15: U+0000 (a NUL) in this text is not seen: take it out.\n',
  );
  const { err } = fettle([command, 'line.fettle'], { cwd });
  expect(err.split('\n').slice(0, 2)).toEqual([
    'fettle: line.fettle:5:14: U+0000 (a NUL) in this line is not seen: take it out.',
    'fettle: line.fettle:5:12: no part is called `co`: declare it with `part`.',
  ]);
  expect(err).toMatch(new RegExp(`^fettle: line\\.fettle: \\d+ errors? in the procedure${consequence}`, 'm'));
});

test('stats counts files by pattern, sums them, and tells what it cannot use', () => {
  const cwd = folder({ 'a.fettle': good, 'sub/b.fettle': bad });
  const { status, out } = fettle(['stats', '--format', 'json', '**/*.fettle'], { cwd });
  const report = JSON.parse(out);
  expect(status).toBe(0);
  expect(report.files.map(({ file }: { file: string }) => file)).toEqual(['a.fettle', 'sub/b.fettle']);
  expect(report.total).toMatchObject({ steps: 3, statements: { remove: 2, fit: 1 }, findings: { error: 1 } });
  const text = fettle(['stats', 'a.fettle', 'gone.fettle'], { cwd });
  expect(text.status).toBe(2);
  expect(text.out).toMatch(/^a\.fettle\n {2}lines +7\n/);
  expect(text.err).toContain('fettle: gone.fettle: no such file');
  expect(fettle(['stats'], { cwd }).err).toBe('fettle: no file to count: name one, as in `fettle stats pump.fettle`\n');
});
