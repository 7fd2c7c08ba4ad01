import { type SpawnSyncOptions, spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { onTestFinished } from 'vitest';

type Account = Pick<SpawnSyncOptions, 'uid' | 'gid'>;

export const root = join(import.meta.dirname, '../..');
const program = join(root, 'server/src/cli/main.ts');

export interface Ended {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs the real command, with no terminal, in `cwd`. */
export function fettle(
  args: readonly string[],
  { cwd = root, input = '' as string | Uint8Array, env = {}, as = {} as Account } = {},
): Ended {
  const { status, stdout, stderr } = spawnSync(process.execPath, [program, ...args], {
    cwd,
    input,
    encoding: 'utf8',
    env: { ...process.env, npm_lifecycle_event: undefined, ...env },
    maxBuffer: 2 ** 28,
    ...as,
  });
  return { status, out: stdout, err: stderr };
}

/** An account that permissions bind; none where root may not hand the command to one, as in a clone below /root. */
export const ordinary: Account | undefined =
  process.getuid?.() !== 0 ? {} : [{ uid: 65534, gid: 65534 }].find((as) => fettle(['--version'], { as }).status === 0);

/** A new folder with `files`, removed when the test ends. */
export function folder(files: Readonly<Record<string, string | Uint8Array>> = {}): string {
  const path = mkdtempSync(join(tmpdir(), 'fettle-cli-'));
  onTestFinished(() => rmSync(path, { recursive: true, force: true }));
  chmodSync(path, 0o755);
  for (const [name, content] of Object.entries(files)) {
    mkdirSync(dirname(join(path, name)), { recursive: true });
    writeFileSync(join(path, name), content);
  }
  return path;
}

export const good = `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
`;
/** One error: `left-off` at line 4, characters 11 to 16. */
export const bad = `part cover "Cover"
teardown
  step open
    remove cover
`;
/** The error of `bad`, two lines further down, and before it a hint, `never-used`, at line 3. */
export const mixed = `procedure job "Job"\n${bad.replace('teardown', 'part spare "Spare"\nteardown')}`;
