import { randomUUID } from 'node:crypto';
import {
  accessSync,
  closeSync,
  constants,
  fchmodSync,
  fchownSync,
  fsyncSync,
  openSync,
  realpathSync,
  renameSync,
  statSync,
  unlinkSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { readSource, type Unusable } from './files.ts';

/**
 * Gives the file at `path` the bytes `wanted`, whole or not at all: they go to a new file beside it, with the same owner
 * and mode, which then takes its name. Refused where the file no longer holds `expected`. A link stays a link.
 */
export function replaceFile(path: string, expected: Uint8Array, wanted: Uint8Array): Unusable | undefined {
  let temporary: string | undefined;
  try {
    const target = realpathSync(path);
    accessSync(target, constants.W_OK);
    const { mode, uid, gid } = statSync(target);
    temporary = join(dirname(target), `.${basename(target).slice(0, 100)}.${randomUUID()}.tmp`);
    const descriptor = openSync(temporary, 'wx', 0o600);
    try {
      writeFileSync(descriptor, wanted);
      const own = statSync(temporary);
      if (own.uid !== uid || own.gid !== gid) fchownSync(descriptor, uid, gid);
      fchmodSync(descriptor, mode & 0o7777);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    const now = readSource(target);
    if ('reason' in now || Buffer.compare(now.bytes, expected) !== 0)
      return { reason: 'was changed by somebody else meanwhile, and is left as it is: run the command again' };
    renameSync(temporary, target);
    temporary = undefined;
    return undefined;
  } catch (error) {
    return { reason: writeReasonOf(error) };
  } finally {
    if (temporary !== undefined) remove(temporary);
  }
}

function remove(path: string): void {
  try {
    unlinkSync(path);
  } catch {
    // It was never made.
  }
}

const reasons: Readonly<Record<string, string>> = {
  EACCES: 'may not be written: check the permissions of the file and of its folder',
  EPERM: 'belongs to somebody else: run this as its owner',
  EROFS: 'is on a read-only disk: copy it elsewhere',
  ENOSPC: 'does not fit, the disk is full: free some space',
  EDQUOT: 'does not fit, the quota is used up: free some space',
  EFBIG: 'is larger than this disk takes: split it',
  ENOENT: 'is gone: check the name',
};

function writeReasonOf(error: unknown): string {
  const { code, message } = error as NodeJS.ErrnoException;
  return `${reasons[code ?? ''] ?? message}; it is as it was`;
}
