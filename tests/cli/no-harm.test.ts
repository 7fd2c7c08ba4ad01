import { spawnSync } from 'node:child_process';
import { chmodSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { fettle, folder, ordinary, root } from './run.ts';

/** Needs a layout, a draft and a safe repair (`restated`), and is too long for two blocks of a disk. */
const faulty = `procedure   job "Job"
  measures metric
part cover "Cover" held by bolt
part bolt x4 "Bolt" thread M8 class 8.8 torque 18 lbf·ft
teardown
  step open
    remove bolt
    remove cover
${'# a long comment\n'.repeat(600)}`;
const commands: [string, ...string[]][] = [
  ['fmt', 'a.fettle'],
  ['draft', '--write', 'a.fettle'],
  ['check', '--fix', 'a.fettle'],
];
const held = (cwd: string): string => readFileSync(join(cwd, 'a.fettle'), 'utf8');

describe.each(commands)('%s', (...args) => {
  test('changes the file where nothing is in its way', () => {
    const cwd = folder({ 'a.fettle': faulty });
    fettle(args, { cwd });
    expect(held(cwd)).not.toBe(faulty);
  });

  // A limit on the size of files fails in the middle of the write, as a full disk does.
  test.skipIf(process.platform === 'win32')('loses nothing when the disk takes no more', () => {
    const cwd = folder({ 'a.fettle': faulty });
    const { status, stderr } = spawnSync(
      'bash',
      ['-c', `ulimit -f 2; exec "${process.execPath}" "${root}/server/src/cli/main.ts" ${args.join(' ')}`],
      { cwd, encoding: 'utf8' },
    );
    expect(status).toBe(2);
    expect(stderr).toContain('a.fettle: is larger than this disk takes');
    expect(held(cwd)).toBe(faulty);
    expect(readdirSync(cwd)).toEqual(['a.fettle']);
  });

  test.skipIf(ordinary === undefined)('loses nothing in a folder that is read-only', () => {
    const cwd = folder({ 'a.fettle': faulty });
    chmodSync(join(cwd, 'a.fettle'), 0o666);
    chmodSync(cwd, 0o555);
    const { status, err } = fettle(args, { cwd, as: ordinary });
    expect(status).toBe(2);
    expect(err).toContain('may not be written: check the permissions of the file and of its folder; it is as it was');
    expect(held(cwd)).toBe(faulty);
    expect(readdirSync(cwd)).toEqual(['a.fettle']);
  });

  test.skipIf(process.platform === 'win32')('reads no pipe and no device', () => {
    const cwd = folder();
    spawnSync('mkfifo', [join(cwd, 'a.fettle')]);
    const { status, err } = fettle(args, { cwd });
    expect(status).toBe(2);
    expect(err).toContain('is no regular file (a pipe, socket or device)');
    const device = fettle([...args.slice(0, -1), '/dev/zero'], { cwd });
    expect(device.status).toBe(2);
    expect(device.err).toContain('is no regular file');
  });
});
