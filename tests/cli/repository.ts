import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { folder } from './run.ts';

type Files = Readonly<Record<string, string | undefined>>;

/** A git repository in a new folder, removed when the test ends; none of the user's own settings count in it. */
export class Repository {
  readonly path: string;

  constructor(files: Files) {
    this.path = folder();
    this.git('init', '--quiet', '--initial-branch=main');
    this.commit(files);
  }

  git(...args: string[]): string {
    return execFileSync('git', args, {
      cwd: this.path,
      encoding: 'utf8',
      env: {
        PATH: process.env['PATH'],
        HOME: this.path,
        GIT_CONFIG_NOSYSTEM: '1',
        ...Object.fromEntries(
          ['AUTHOR', 'COMMITTER'].flatMap((who) => [
            [`GIT_${who}_NAME`, 'Test'],
            [`GIT_${who}_EMAIL`, 'test@example.org'],
          ]),
        ),
      },
    }).trim();
  }

  /** Writes files, or deletes those that are `undefined`. */
  write(files: Files): void {
    for (const [name, text] of Object.entries(files)) {
      const path = join(this.path, name);
      if (text === undefined) rmSync(path);
      else {
        mkdirSync(dirname(path), { recursive: true });
        writeFileSync(path, text);
      }
    }
  }

  commit(files: Files): void {
    this.write(files);
    this.git('add', '--all');
    this.git('commit', '--quiet', '--allow-empty', '--message', 'A version');
  }
}
