import { execFileSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  lstatSync,
  mkdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { keepSealed, openSealed, sealedEntry, secretFile } from '../../server/src/sealed.ts';
import { folder } from '../cli/run.ts';

const name = '0'.repeat(64);
const planted = Buffer.alloc(32, 1);
const opened = (path: string) => openSealed(path, 'program', 'wanted');
/** A folder in which one entry was kept. */
const made = () => {
  const path = join(folder(), 'kept');
  const place = opened(path);
  keepSealed(place, name, 'key', 'body');
  return { path, place, secret: join(path, secretFile) };
};

describe('the secret of a folder', () => {
  it('stays while it is for the owner alone', () => {
    const { path, place } = made();
    expect(opened(path).secret).toEqual(place.secret);
    expect(sealedEntry(opened(path), name, 'key')).toBe('body');
  });

  // Windows knows no such modes.
  describe.skipIf(process.getuid === undefined)('is made anew, and what was sealed before counts for nothing', () => {
    const put =
      (mode: number, bytes = planted) =>
      (secret: string) => {
        writeFileSync(secret, bytes);
        chmodSync(secret, mode);
      };
    it.each<[string, (secret: string) => void]>([
      ['where others may write to it', put(0o622)],
      ['where others may read it', put(0o604)],
      ['where the group may read it', put(0o640)],
      ['where it is too short', put(0o600, Buffer.alloc(31, 1))],
      ['where it is too long', put(0o600, Buffer.alloc(33, 1))],
      // Only root can give a file to others, so that elsewhere it is one of ours with a mode that is refused.
      [
        'where it is of somebody else',
        (secret) => {
          put(process.getuid?.() === 0 ? 0o600 : 0o644)(secret);
          if (process.getuid?.() === 0) chownSync(secret, 1, 1);
        },
      ],
      [
        'where a link leads to another file',
        (secret) => {
          put(0o600)(`${secret}.other`);
          symlinkSync(`${secret}.other`, secret);
        },
      ],
      ['where a link leads nowhere', (secret) => symlinkSync('nowhere', secret)],
      ['where it is a pipe', (secret) => void execFileSync('mkfifo', ['-m', '600', secret])],
    ])('%s', (_, plant) => {
      const { path, secret } = made();
      rmSync(secret);
      plant(secret);
      const { secret: taken } = opened(path);
      expect(taken).toHaveLength(32);
      expect(Buffer.from(taken)).not.toEqual(planted);
      expect(lstatSync(secret).isFile()).toBe(true);
      expect(statSync(secret).mode & 0o077).toBe(0);
      expect(readFileSync(secret)).toEqual(taken);
      expect(sealedEntry(opened(path), name, 'key')).toBeUndefined();
      expect(opened(path).secret).toEqual(taken);
    });

    it('also where it was put there while the folder was open to all', () => {
      const path = join(folder(), 'kept');
      mkdirSync(path);
      chmodSync(path, 0o777);
      put(0o666)(join(path, secretFile));
      expect(() => opened(path)).toThrow('others may write to it');
      chmodSync(path, 0o755);
      expect(Buffer.from(opened(path).secret)).not.toEqual(planted);
    });

    it('and what a link named is left as it was', () => {
      const { path, secret } = made();
      const other = join(folder(), 'other');
      put(0o600)(other);
      rmSync(secret);
      symlinkSync(other, secret);
      opened(path);
      expect(readFileSync(other)).toEqual(planted);
    });
  });

  it('is no folder: that is told, and nothing in it is taken away', () => {
    const { path, secret } = made();
    rmSync(secret);
    mkdirSync(secret);
    writeFileSync(join(secret, 'precious'), '');
    expect(() => opened(path)).toThrow('`fettle-secret` is a folder');
    expect(statSync(join(secret, 'precious')).isFile()).toBe(true);
  });
});
