import { chmodSync, readFileSync, statSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { Progress } from '../../server/src/cli/progress.ts';
import { bad, fettle, folder, good, ordinary } from './run.ts';

/** Two findings with a safe repair (the second shows once the first is mended), one whose repair needs a look. */
const faulty = `procedure job "Job"
  measures metric
part seal "Seal" renew
part cover "Cover"
part bolt x2 "Bolt" thread M8 class 8.8 torque 18 lbf·ft
teardown
  step open
    remove bolt
    remove cover
    remove seal
    discard seal
reassembly
  step close
    fit seal
    fit bolt
    tighten bolt
`;
const fixed = faulty.replace('18 lbf·ft', '18 lbf·ft (24.4 N·m)').replace('fit seal', 'fit new seal');
const read = (cwd: string, name: string) => readFileSync(join(cwd, name), 'utf8');

describe('--fix', () => {
  test('makes safe repairs alone, keeps mode and links, and reports what is left', () => {
    const cwd = folder({ 'a.fettle': faulty });
    chmodSync(join(cwd, 'a.fettle'), 0o640);
    symlinkSync('a.fettle', join(cwd, 'link.fettle'));
    const { status, out, err } = fettle(['check', '--format', 'json', '--fix', 'link.fettle'], { cwd });
    expect(read(cwd, 'a.fettle')).toBe(fixed);
    expect(statSync(join(cwd, 'a.fettle')).mode & 0o777).toBe(0o640);
    expect(JSON.parse(out).files[0].findings.map(({ code }: { code: string }) => code)).toEqual(['left-off']);
    expect({ status, err }).toEqual({ status: 1, err: 'fettle: 2 findings mended in 1 file\n' });
    expect(fettle(['check', '--fix', 'a.fettle'], { cwd }).err).toBe('');
    expect(read(cwd, 'a.fettle')).toBe(fixed);
  });

  test('makes nothing of a value that another finding doubts', () => {
    const doubted = faulty.replace('18 lbf·ft', '250 lbf·ft').replace('fit seal', 'fit new seal');
    const cwd = folder({ 'a.fettle': doubted });
    expect(fettle(['check', '--fix', 'a.fettle'], { cwd }).out).toContain('odd-size');
    expect(read(cwd, 'a.fettle')).toBe(doubted);
  });

  test('heeds --only, --off and fettle-allow', () => {
    const cwd = folder({
      'a.fettle': faulty,
      'b.fettle': faulty,
      'c.fettle': faulty.replace('    fit seal', '    # fettle-allow renew-refitted: a trial\n    fit seal'),
    });
    fettle(['check', '--fix', '--only', 'mixed-units', 'a.fettle'], { cwd });
    expect(read(cwd, 'a.fettle')).toBe(faulty.replace('18 lbf·ft', '18 lbf·ft (24.4 N·m)'));
    fettle(['check', '--fix', '--off', 'mixed-units', 'b.fettle'], { cwd });
    expect(read(cwd, 'b.fettle')).toBe(faulty.replace('fit seal', 'fit new seal'));
    fettle(['check', '--fix', 'c.fettle'], { cwd });
    expect(read(cwd, 'c.fettle')).toContain('    fit seal\n');
  });

  test('keeps line endings and the byte order mark', () => {
    const cwd = folder({ 'a.fettle': `\ufeff${faulty.replaceAll('\n', '\r\n')}` });
    fettle(['check', '--fix', 'a.fettle'], { cwd });
    expect(read(cwd, 'a.fettle')).toBe(`\ufeff${fixed.replaceAll('\n', '\r\n')}`);
  });

  test('leaves files without a safe repair untouched', () => {
    const cwd = folder({ 'a.fettle': good, 'b.fettle': bad });
    const before = statSync(join(cwd, 'b.fettle')).ino;
    expect(fettle(['check', '--fix', 'a.fettle', 'b.fettle'], { cwd })).toMatchObject({ status: 1, err: '' });
    expect(statSync(join(cwd, 'b.fettle')).ino).toBe(before);
  });

  test('mends a file that others use before they are judged', () => {
    const shared =
      'procedure shared "Shared"\n  measures metric\npart bolt "Bolt" thread M8 class 8.8 torque 18 lbf·ft\n';
    const cwd = folder({
      'a.fettle':
        'use "shared.fettle"\nteardown\n  step open\n    loosen bolt\nreassembly\n  step close\n    tighten bolt\n',
      'shared.fettle': shared,
    });
    fettle(['check', '--fix', 'a.fettle', 'shared.fettle'], { cwd });
    expect(read(cwd, 'shared.fettle')).toContain('18 lbf·ft (24.4 N·m)');
  });

  test.skipIf(ordinary === undefined)('tells a file that may not be written, and leaves it', () => {
    const cwd = folder({ 'a.fettle': faulty });
    chmodSync(join(cwd, 'a.fettle'), 0o444);
    const { status, err } = fettle(['check', '--fix', 'a.fettle'], { cwd, as: ordinary });
    expect(status).toBe(2);
    expect(err).toContain('fettle: a.fettle: may not be written: check the permissions');
    expect(read(cwd, 'a.fettle')).toBe(faulty);
  });

  test('refuses the standard input', () => {
    expect(fettle(['check', '--fix', '-'], { input: faulty })).toEqual({
      status: 2,
      out: '',
      err: 'fettle: --fix changes files, and `-` is none: name files\n',
    });
  });
});

describe('progress', () => {
  const terminal = (isTTY: boolean) => {
    const said: string[] = [];
    return { isTTY, said, write: (text: string) => said.push(text) };
  };
  const over = (screen: ReturnType<typeof terminal>, times: readonly number[]): void => {
    let now = 0;
    const progress = new Progress(1000, screen, () => now);
    for (const [i, time] of times.entries()) {
      now = time;
      progress.at(i);
    }
    progress.clear();
    progress.clear();
  };
  test('shows on a terminal once work is long, now and then, and goes away', () => {
    const screen = terminal(true);
    over(screen, [0, 400, 600, 650, 720]);
    expect(screen.said).toEqual(['\r\u001b[2K2 of 1000 files', '\r\u001b[2K4 of 1000 files', '\r\u001b[2K']);
  });
  test('does not show for short work, or where there is no terminal', () => {
    const [short, none] = [terminal(true), terminal(false)];
    over(short, [0, 100, 400]);
    over(none, [0, 600, 900]);
    expect([short.said, none.said]).toEqual([[], []]);
  });
});
