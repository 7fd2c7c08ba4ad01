import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  closeSync,
  existsSync,
  ftruncateSync,
  openSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, test } from 'vitest';
import { TextDocument } from 'vscode-languageserver-textdocument';
import { readSource } from '../../server/src/cli/files.ts';
import { bad, fettle, folder, good, mixed, ordinary, root } from './run.ts';

const jsonOf = (args: readonly string[], options?: Parameters<typeof fettle>[1]) => {
  const ended = fettle(['check', '--format', 'json', ...args], options);
  return { ...ended, report: JSON.parse(ended.out) };
};
const codesOf = (file: { findings: { code: string }[] }): string[] => file.findings.map(({ code }) => code);

test('npm runs the command where the caller stands', () => {
  const cwd = folder({ 'bad.fettle': bad });
  const { status, stdout } = spawnSync(
    'npm',
    ['run', '--silent', '--prefix', root, 'fettle', '--', 'check', '--format', 'json', 'bad.fettle'],
    { cwd, encoding: 'utf8' },
  );
  expect(status).toBe(1);
  expect(codesOf(JSON.parse(stdout).files[0])).toEqual(['left-off']);
});

describe('findings', () => {
  test('stand in text with place, severity, code, message, line and mark', () => {
    const { status, out, err } = fettle(['check', 'bad.fettle'], { cwd: folder({ 'bad.fettle': bad }) });
    expect(status).toBe(1);
    expect(err).toBe('');
    const [head, line, mark, related, ...rest] = out.split('\n');
    expect(head).toMatch(/^bad\.fettle:4:12 error left-off `cover` comes off here and none of it is back on/);
    expect(line).toBe('        remove cover');
    expect(mark).toBe('               ^^^^^');
    expect(related).toMatch(/^ {4}see bad\.fettle:1:6 `cover` is declared here$/);
    expect(rest.slice(0, 2)).toEqual(['', '1 file checked: 1 error']);
  });

  test('stand in JSON with lines and characters from 0, and nothing else', () => {
    const { status, report } = jsonOf(['bad.fettle'], { cwd: folder({ 'bad.fettle': bad }) });
    expect(status).toBe(1);
    expect(report).toEqual({
      files: [
        {
          file: 'bad.fettle',
          findings: [
            {
              code: 'left-off',
              severity: 'error',
              range: { start: { line: 3, character: 11 }, end: { line: 3, character: 16 } },
              message: expect.stringContaining('`cover`'),
              related: [
                {
                  file: 'bad.fettle',
                  range: { start: { line: 0, character: 5 }, end: { line: 0, character: 10 } },
                  message: '`cover` is declared here',
                },
              ],
            },
          ],
        },
      ],
      summary: { error: 1, warning: 0, information: 0, hint: 0 },
    });
  });

  test('of the faulty sample cover their text, by the positions of vscode-languageserver-textdocument', () => {
    const file = 'samples/faulty/winch-reducer.fettle';
    const { status, report } = jsonOf([file]);
    const text = readFileSync(join(root, file), 'utf8');
    const document = TextDocument.create(pathToFileURL(file).href, 'fettle', 1, text);
    const worded = report.files[0].findings.map((each: { code: string; range: never }) => [
      each.code,
      document.getText(each.range),
    ]);
    expect(status).toBe(1);
    expect(worded).toContainEqual(['left-off', 'idler-spacer']);
    expect(worded).toContainEqual(['renew-refitted', 'lid-gasket']);
  });

  test('in files of every line ending stand where the text document library puts them', () => {
    for (const [i, newline] of ['\n', '\r\n', '\r'].entries()) {
      const text = `# “𝔄” first\n${bad}`.replaceAll('\n', newline);
      const { report } = jsonOf([`${i}.fettle`], { cwd: folder({ [`${i}.fettle`]: text }) });
      const document = TextDocument.create('file:///x', 'fettle', 1, text);
      expect(document.getText(report.files[0].findings[0].range)).toBe('cover');
      expect(report.files[0].findings[0].range.start.line).toBe(4);
    }
  });

  test('none: exit 0, and a caution', () => {
    const { status, out } = fettle(['check', 'good.fettle'], { cwd: folder({ 'good.fettle': good }) });
    expect(status).toBe(0);
    expect(out).toMatch(/^1 file checked: nothing found\nThe maker's data, local codes and licensed practice prevail/);
  });

  test('warnings alone: exit 0', () => {
    const text = `procedure job "Job"\n  applies to DW-40\n${good}`;
    const { status, report } = jsonOf(['w.fettle'], { cwd: folder({ 'w.fettle': text }) });
    expect(codesOf(report.files[0])).toEqual(['unit-unread']);
    expect(report.summary).toEqual({ error: 0, warning: 1, information: 0, hint: 0 });
    expect(status).toBe(0);
  });

  test('--exit-zero ends well in spite of errors, but not of unusable files', () => {
    const cwd = folder({ 'bad.fettle': bad });
    expect(fettle(['check', '--exit-zero', 'bad.fettle'], { cwd }).status).toBe(0);
    expect(fettle(['check', '--exit-zero', 'bad.fettle', 'gone.fettle'], { cwd }).status).toBe(2);
  });

  test('--quiet leaves errors alone', () => {
    const cwd = folder({ 'mixed.fettle': mixed });
    expect(fettle(['check', 'mixed.fettle'], { cwd }).out).toMatch(/hint never-used[\s\S]*checked: 1 error, 1 hint/);
    const { out } = fettle(['check', '--quiet', 'mixed.fettle'], { cwd });
    expect(out).toContain('error left-off');
    expect(out).not.toMatch(/hint|checked|prevail/);
  });
});

describe('choosing', () => {
  const cwd = () => folder({ 'mixed.fettle': mixed });
  const codes = (...args: string[]) => {
    const { status, report } = jsonOf([...args, 'mixed.fettle'], { cwd: cwd() });
    return [status, codesOf(report.files[0]), report.summary.error + report.summary.hint];
  };
  test('--only and --off', () => {
    expect(codes()).toEqual([1, ['never-used', 'left-off'], 2]);
    expect(codes('--only', 'never-used')).toEqual([0, ['never-used'], 1]);
    expect(codes('--only', 'never-used,left-off')).toEqual([1, ['never-used', 'left-off'], 2]);
    expect(codes('--off', 'left-off')).toEqual([0, ['never-used'], 1]);
    expect(codes('--off', 'left-off', '--off', 'never-used')).toEqual([0, [], 0]);
  });

  test('--max-warnings', () => {
    const text = `procedure job "Job"\n  applies to DW-40\n${good}`;
    const run = (allowed: string, ...more: string[]) =>
      fettle(['check', '--max-warnings', allowed, ...more, 'w.fettle'], { cwd: folder({ 'w.fettle': text }) });
    expect(run('1')).toMatchObject({ status: 0, err: '' });
    expect(run('0')).toMatchObject({ status: 1, err: 'fettle: 1 warning, and --max-warnings allows 0\n' });
    expect(run('0', '--off', 'unit-unread')).toMatchObject({ status: 0, err: '' });
  });
});

describe('files', () => {
  test('keep their order and their names as given, twice given included', () => {
    const cwd = folder({ 'a.fettle': good, 'sub/b.fettle': bad });
    const names = ['./sub/../sub/b.fettle', 'a.fettle', join(cwd, 'a.fettle'), 'a.fettle'];
    const { report } = jsonOf(names, { cwd });
    expect(report.files.map(({ file }: { file: string }) => file)).toEqual(names);
  });

  // Not 1, which would say that all was checked, and no trace of the program's inside.
  test.skipIf(!existsSync('/dev/full')).each([['check'], ['export']])(
    'that find no room end %s with a clear word',
    (command) => {
      const cwd = folder({ 'a.fettle': good });
      const full = openSync('/dev/full', 'w');
      const { status, stderr } = spawnSync(
        process.execPath,
        [join(root, 'server/src/cli/main.ts'), command, 'a.fettle'],
        {
          cwd,
          encoding: 'utf8',
          stdio: ['ignore', full, 'pipe'],
        },
      );
      closeSync(full);
      expect(stderr).toBe('fettle: the output does not fit, the disk is full: free some space\n');
      expect(status).toBe(2);
    },
  );

  test.skipIf(!existsSync('/dev/full'))('end as they would where nothing can be complained of', () => {
    const cwd = folder({ 'a.fettle': good });
    const full = openSync('/dev/full', 'w');
    const { status, stdout } = spawnSync(
      process.execPath,
      [join(root, 'server/src/cli/main.ts'), 'check', 'gone.fettle', 'a.fettle'],
      { cwd, encoding: 'utf8', stdio: ['ignore', 'pipe', full] },
    );
    closeSync(full);
    expect(stdout).toContain('1 file checked: nothing found; 1 file could not be used');
    expect(status).toBe(2);
  });

  // As from a variable of a CI job that is not set: it would pass everything.
  test('are refused where the options leave no check to run', () => {
    const cwd = folder({ 'bad.fettle': bad });
    for (const options of [
      ['--only', ''],
      ['--only', ','],
      ['--only', 'left-off', '--off', 'left-off'],
    ])
      expect(fettle(['check', ...options, 'bad.fettle'], { cwd })).toMatchObject({
        status: 2,
        out: '',
        err: expect.stringMatching(/^fettle: .*no check .*name/),
      });
    expect(fettle(['check', '--off', '', 'bad.fettle'], { cwd }).status).toBe(1);
  });

  // The logs of CI servers show colours, and are no terminals.
  test('are coloured where FORCE_COLOR says so, and NO_COLOR does not', () => {
    const cwd = folder({ 'bad.fettle': bad });
    const coloured = (env: Record<string, string | undefined>) =>
      fettle(['check', 'bad.fettle'], { cwd, env: { NO_COLOR: undefined, FORCE_COLOR: undefined, ...env } as never });
    expect(coloured({}).out).not.toContain('\u001b');
    expect(coloured({ FORCE_COLOR: '1' }).out).toContain('\u001b[31m');
    expect(coloured({ FORCE_COLOR: '0' }).out).not.toContain('\u001b');
    expect(coloured({ NO_COLOR: '1', FORCE_COLOR: '1' }).out).not.toContain('\u001b');
  });

  // Nobody would hear of a procedure that a pattern passes over.
  test('that a pattern finds but nobody can read are told of, and the others are checked', () => {
    const cwd = folder({ 'a.fettle': good });
    symlinkSync('loop.fettle', join(cwd, 'loop.fettle'));
    symlinkSync('gone.fettle', join(cwd, 'dangling.fettle'));
    for (const command of ['check', 'stats']) {
      const { status, out, err } = fettle([command, '*.fettle'], { cwd });
      expect(status).toBe(2);
      expect(err.trim().split('\n')).toEqual([
        'fettle: dangling.fettle: no such file: check the name, and the folder that it counts from',
        'fettle: loop.fettle: is a link that leads round in a circle: name the file itself',
      ]);
      expect(out).toContain(command === 'check' ? '1 file checked: nothing found' : 'a.fettle\n');
    }
  });

  test.skipIf(ordinary === undefined)('in a folder that nobody may read are told of by a pattern', () => {
    const cwd = folder({ 'a.fettle': good, 'open/locked/b.fettle': good });
    chmodSync(join(cwd, 'open/locked'), 0o000);
    try {
      const { status, err, out } = fettle(['check', '**/*.fettle'], { cwd, as: ordinary });
      expect(err).toBe('fettle: open/locked: is a folder that may not be read: check its permissions\n');
      expect(status).toBe(2);
      expect(out).toContain('1 file checked');
      expect(fettle(['check', 'open/locked/b.fettle'], { cwd, as: ordinary }).err).toBe(
        'fettle: open/locked/b.fettle: may not be read: check its permissions\n',
      );
    } finally {
      chmodSync(join(cwd, 'open/locked'), 0o755);
    }
  });

  test('may be named by a pattern, which a file of that very name outranks', () => {
    const cwd = folder({
      'b.fettle': good,
      'a.fettle': good,
      'x/c.fettle': good,
      'node_modules/n.fettle': bad,
      'd.fettle/e.txt': '',
      '[odd].fettle': bad,
    });
    const named = (...names: string[]) => jsonOf(names, { cwd }).report.files.map(({ file }: { file: string }) => file);
    expect(named('*.fettle')).toEqual(['[odd].fettle', 'a.fettle', 'b.fettle']);
    expect(named('x/*.fettle', '**/[ab].fettle')).toEqual(['x/c.fettle', 'a.fettle', 'b.fettle']);
    expect(named('**/{c,n}.fettle')).toEqual(['x/c.fettle']);
    expect(named('[odd].fettle')).toEqual(['[odd].fettle']);
    expect(fettle(['check', 'y/*.fettle'], { cwd })).toMatchObject({
      status: 2,
      err: expect.stringContaining('y/*.fettle: no file fits this pattern: check it, and the folder'),
    });
  });

  test('of a folder are all procedures in it', () => {
    const cwd = folder({
      'jobs [old]/b.fettle': good,
      'jobs [old]/x/a.fettle': good,
      'jobs [old]/x/list.csv': 'a,b\n',
      'jobs [old]/node_modules/n.fettle': bad,
      'none/list.csv': 'a,b\n',
    });
    const named = (...names: string[]) => jsonOf(names, { cwd }).report.files.map(({ file }: { file: string }) => file);
    expect(named('jobs [old]')).toEqual(['jobs [old]/b.fettle', 'jobs [old]/x/a.fettle']);
    expect(named('.')).toEqual(['jobs [old]/b.fettle', 'jobs [old]/x/a.fettle']);
    expect(fettle(['check', 'none'], { cwd })).toEqual({
      status: 2,
      out: expect.stringMatching(/^no file checked; 1 file could not be used\n/),
      err: 'fettle: none/**/*.fettle: no file fits this pattern: check it, and the folder that it counts from\n',
    });
    expect(fettle(['plan', 'none'], { cwd }).err).toBe('fettle: none: is a folder: name a file in it\n');
  });

  test('with a byte order mark count their columns without it', () => {
    const cwd = folder({ 'bom.fettle': `\ufeffremvoe cover\n` });
    const { report } = jsonOf(['bom.fettle'], { cwd });
    expect(report.files[0].findings[0].range.start).toEqual({ line: 0, character: 0 });
  });

  test('are counted once by stats, though patterns meet', () => {
    const cwd = folder({ 'a.fettle': good, 'x/b.fettle': good });
    symlinkSync('a.fettle', join(cwd, 'c.fettle'));
    const { out } = fettle(['stats', '--format', 'json', '**/*.fettle', 'x/*.fettle', './a.fettle'], { cwd });
    const { files, total } = JSON.parse(out);
    expect(files.map(({ file }: { file: string }) => file)).toEqual(['a.fettle', 'x/b.fettle']);
    expect(total.parts.pieces).toBe(2);
  });

  test('of nothing are well', () => {
    const { status, report } = jsonOf(['empty.fettle'], { cwd: folder({ 'empty.fettle': '' }) });
    expect([status, report.files]).toEqual([0, [{ file: 'empty.fettle', findings: [] }]]);
  });

  test('has no findings where it is empty, which is said, be it a file or the standard input', () => {
    const cwd = folder({ 'empty.fettle': '', 'blank.fettle': ' \n\n', 'comment.fettle': '# To be written\n' });
    const said = ': is empty, so there was nothing to check: look at what was to write it\n';
    for (const more of [[], ['--quiet'], ['--format', 'sarif']]) {
      for (const name of ['empty.fettle', 'blank.fettle', '-']) {
        const { status, err } = fettle(['check', name, ...more], { cwd, input: '' });
        expect([status, err], name).toEqual([0, `fettle: ${name}${said}`]);
      }
      expect(fettle(['check', 'comment.fettle', ...more], { cwd }).err).toBe('');
    }
    const cached = ['check', 'empty.fettle', '--cache', 'kept'];
    for (const { err } of [fettle(cached, { cwd }), fettle(cached, { cwd })])
      expect(err).toBe(`fettle: empty.fettle${said}`);
  });

  test('come in by the standard input under a name, which `use` counts from', () => {
    const cwd = folder({ 'sub/parts.fettle': 'part cover "Cover"\n' });
    const input = `use "parts.fettle"\n${bad.slice(bad.indexOf('\n') + 1)}`;
    const { status, report } = jsonOf(['-', '--stdin-name', 'sub/draft.fettle'], { cwd, input });
    expect(status).toBe(1);
    expect(report.files[0].file).toBe('sub/draft.fettle');
    expect(codesOf(report.files[0])).toEqual(['left-off']);
    expect(report.files[0].findings[0].related[0].file).toBe('sub/parts.fettle');
    expect(jsonOf(['-'], { cwd, input: bad }).report.files[0].file).toBe('-');
  });

  test('behind `use` are named from where the caller stands, and reached by several links are one', () => {
    const cwd = folder({ 'x/job.fettle': `use "parts.fettle"\nuse "again/parts.fettle"\n${bad.replace(/.*\n/, '')}` });
    writeFileSync(join(cwd, 'x/parts.fettle'), 'part cover "Cover"\n');
    symlinkSync('.', join(cwd, 'x/again'));
    const { report } = jsonOf(['x/job.fettle'], { cwd });
    expect(codesOf(report.files[0])).toEqual(['left-off']);
    expect(report.files[0].findings[0].related[0].file).toBe('x/parts.fettle');
    const absolute = jsonOf([join(cwd, 'x/job.fettle')], { cwd });
    expect(absolute.report.files[0].findings[0].related[0].file).toBe(join(cwd, 'x/parts.fettle'));
  });

  test('that use each other through a loop of links come to an end', () => {
    const cwd = folder({ 'a.fettle': 'use "l/a.fettle"\nuse "m/a.fettle"\n' });
    symlinkSync('.', join(cwd, 'l'));
    symlinkSync('.', join(cwd, 'm'));
    const { status, report } = jsonOf(['a.fettle'], { cwd });
    expect(status).toBe(1);
    expect(codesOf(report.files[0])).toEqual(['use-loop', 'use-loop']);
  });
});

describe('unusable input', () => {
  const reasonFor = (name: string, cwd: string): string => {
    const { status, out, err } = fettle(['check', name, 'good.fettle'], { cwd });
    expect(status).toBe(2);
    expect(out).toContain('1 file checked: nothing found; 1 file could not be used');
    expect(err).toMatch(new RegExp(`^fettle: ${name}: .*\n$`));
    return err;
  };

  test('is told of with its remedy where another file uses it', () => {
    const cwd = folder({
      'unit.fettle': 'use "latin.fettle"\nuse "gone.fettle"\nuse "/dev/null"\n',
      'latin.fettle': Buffer.from('# caf\xe9\n', 'latin1'),
    });
    const { out } = fettle(['check', 'unit.fettle'], { cwd });
    expect(out).toContain('`latin.fettle` cannot be read (is not UTF-8 (line 1)): save it as UTF-8; names that');
    expect(out).toContain(
      '`gone.fettle` cannot be read (no such file): correct the path, which counts from the folder',
    );
    expect(out).toContain('(is no regular file (a pipe, socket or device)): correct the path');
  });

  test('is named with its remedy, and the other files are checked', () => {
    const cwd = folder({
      'good.fettle': good,
      'sub/x': '',
      'latin.fettle': Buffer.from('# ok\n# caf\xe9\n', 'latin1'),
      'old.fettle': Buffer.from('# ok\r# ok\r\n# caf\xe9\r', 'latin1'),
      'utf16.fettle': Buffer.from('\ufeffpart', 'utf16le'),
      'unmarked.fettle': Buffer.from(good, 'utf16le').swap16(),
      'zeros.fettle': Buffer.alloc(500),
      'program.fettle': Buffer.from([0x7f, 0x45, 0x4c, 0x46, 0xff, 0xc0, 0, 0x80, 0x81, 0x82, 0x83, 0x84]),
      'list.json': '{\n  "name": "list"\n}\n',
      'round.fettle': Buffer.concat([Buffer.from('# \ufffd is a good sign\n\n# '), Buffer.from([0xc0, 0x80])]),
    });
    expect(reasonFor('gone.fettle', cwd)).toContain('no such file: check the name');
    expect(reasonFor('good.fettle/x', cwd)).toContain('no such file');
    expect(reasonFor('latin.fettle', cwd)).toContain('is not UTF-8 (line 2): save it as UTF-8');
    expect(reasonFor('old.fettle', cwd)).toContain('is not UTF-8 (line 3): save it as UTF-8');
    expect(reasonFor('utf16.fettle', cwd)).toContain('is UTF-16: save it as UTF-8');
    expect(reasonFor('unmarked.fettle', cwd)).toContain('is UTF-16: save it as UTF-8');
    expect(reasonFor('zeros.fettle', cwd)).toContain('is no text (there are NUL bytes in it)');
    expect(reasonFor('program.fettle', cwd)).toContain('is no text (there are NUL bytes in it)');
    expect(reasonFor('list.json', cwd)).toContain(
      'is no procedure: 3 of its 3 lines cannot be read, from line 1 on (expected a declaration, phase or step, found `{`); name files that end in .fettle',
    );
    expect(reasonFor('round.fettle', cwd)).toContain('is not UTF-8 (line 3)');
    symlinkSync('circle.fettle', join(cwd, 'circle.fettle'));
    expect(reasonFor('circle.fettle', cwd)).toContain('leads round in a circle');
    const big = openSync(join(cwd, 'big.fettle'), 'w');
    ftruncateSync(big, 16 * 1024 * 1024 + 1);
    closeSync(big);
    expect(reasonFor('big.fettle', cwd)).toContain('is over 16 MiB: split it');
  });

  test.skipIf(process.platform === 'win32')('is a pipe or a device, which is not waited for', () => {
    const cwd = folder({ 'good.fettle': good, 'job.fettle': 'use "pipe"\nuse "/dev/zero"\n' });
    execFileSync('mkfifo', [join(cwd, 'pipe')]);
    expect(reasonFor('pipe', cwd)).toContain('is no regular file');
    expect(reasonFor('/dev/zero', cwd)).toContain('is no regular file');
    const { status, report } = jsonOf(['job.fettle'], { cwd });
    expect(status).toBe(1);
    expect(codesOf(report.files[0])).toEqual(['no-file', 'no-file']);
    expect(report.files[0].findings[0].message).toContain('is no regular file');
  });

  test.skipIf(ordinary === undefined)('may not be read', () => {
    const cwd = folder({ 'good.fettle': good, 'secret.fettle': good });
    chmodSync(join(cwd, 'secret.fettle'), 0);
    const { status, err } = fettle(['check', 'secret.fettle', 'good.fettle'], { cwd, as: ordinary });
    expect(status).toBe(2);
    expect(err).toBe('fettle: secret.fettle: may not be read: check its permissions\n');
  });

  test('outranks errors found', () => {
    const cwd = folder({ 'bad.fettle': bad });
    expect(jsonOf(['gone.fettle', 'bad.fettle'], { cwd })).toMatchObject({
      status: 2,
      report: { summary: { error: 1 } },
    });
  });

  test('too much of it on the standard input', () => {
    const { status, err } = fettle(['check', '-'], { input: Buffer.alloc(16 * 1024 * 1024 + 1, '#') });
    expect(status).toBe(2);
    expect(err).toContain('-: is over 16 MiB');
  });

  test('behind `use` is a finding at its path, with the reason', () => {
    const cwd = folder({ 'job.fettle': 'use "gone.fettle"\nuse "sub"\n', 'sub/x': '' });
    const { status, report } = jsonOf(['job.fettle'], { cwd });
    expect(status).toBe(1);
    const [gone, sub] = report.files[0].findings;
    expect(gone).toMatchObject({
      code: 'no-file',
      range: { start: { line: 0, character: 4 }, end: { character: 17 } },
    });
    expect(gone.message).toContain('no such file');
    expect(sub.message).toContain('is a folder');
  });
});

test('a file of exactly 16 MiB is read', () => {
  const cwd = folder({ 'full.fettle': Buffer.alloc(16 * 1024 * 1024, '#') });
  expect(readSource(join(cwd, 'full.fettle'))).toMatchObject({ text: expect.stringMatching(/^#+$/) });
});

test('a fault of our own is no finding: it ends with 2', () => {
  const cwd = folder({ 'bad.fettle': bad });
  const { status, err } = fettle(['check', 'bad.fettle'], {
    cwd,
    env: { npm_lifecycle_event: 'fettle', INIT_CWD: '/gone' },
  });
  expect(status).toBe(2);
  expect(err).toMatch(/^fettle: a fault of Fettle, not of the file: please report it\nError: ENOENT/);
});

const terminal = spawnSync('script', ['--version']).status === 0;
test.skipIf(!terminal)('colours stand on a terminal, but not against NO_COLOR', () => {
  const cwd = folder({ 'bad.fettle': bad });
  const onTerminal = (env: Record<string, string>): string =>
    spawnSync(
      'script',
      ['-qec', `'${process.execPath}' '${root}/server/src/cli/main.ts' check bad.fettle`, '/dev/null'],
      {
        cwd,
        encoding: 'utf8',
        env: { PATH: process.env.PATH, TERM: 'xterm-256color', ...env },
      },
    ).stdout;
  expect(onTerminal({})).toContain('\u001b[31m');
  expect(onTerminal({ NO_COLOR: '1' })).toMatch(/^bad\.fettle:4:12 error left-off/);
  expect(onTerminal({ NO_COLOR: '1' })).not.toContain('\u001b');
});

test('many files do not add up in memory', () => {
  const step = `part cover "Cover"\nteardown\n  step open "${'open it '.repeat(10)}"\n    remove cover\n`;
  const filler = '# the same comment line again and again, to fill the file\n'.repeat(15_000);
  const cwd = folder({ 'big.fettle': step + filler, 'parts.fettle': filler });
  const names = Array.from({ length: 300 }, () => 'big.fettle');
  // Some 300 × 2 MB of text, and as much again in its tree, do not fit into 128 MB.
  const { status, out } = fettle(['check', '--format', 'json', ...names], {
    cwd,
    env: { NODE_OPTIONS: '--max-old-space-size=128' },
  });
  expect(status).toBe(1);
  expect(JSON.parse(out).summary.error).toBe(300);
});

test('a reader that stops reading ends the run without a word, and not as a success', () => {
  const cwd = folder({ 'bad.fettle': bad });
  const names = Array.from({ length: 2000 }, () => 'bad.fettle');
  const { status, stdout, stderr } = spawnSync(
    'bash',
    [
      '-c',
      'set -o pipefail; "$@" | head -n 1',
      'bash',
      process.execPath,
      `${root}/server/src/cli/main.ts`,
      'check',
      ...names,
    ],
    { cwd, encoding: 'utf8' },
  );
  expect(stderr).toBe('');
  expect(stdout).toMatch(/^bad\.fettle:4:12 error left-off .*\n$/);
  expect(status).toBe(128 + 13);
});
