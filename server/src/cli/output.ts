import { randomUUID } from 'node:crypto';
import { existsSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { UsageError } from './command.ts';
import { readSource, reasonOf, type Unusable } from './files.ts';
import { replaceFile } from './replace.ts';
import { write } from './streams.ts';

/** Writes what a command makes to the file that `--output` names, without one to the standard output. Throws {@link UsageError} where that is no place for it. */
export async function writeTo(output: string | undefined, text: string): Promise<void> {
  if (output === undefined) return write(text);
  const unusable = writeOutput(output, text);
  if (unusable !== undefined) throw new UsageError(`${output}: ${unusable.reason}`);
}

/**
 * Writes what a command makes to `path`, whole or not at all, in place of what stood there. A procedure is no place for it,
 * and neither is what is no regular file.
 */
export function writeOutput(path: string, text: string): Unusable | undefined {
  if (path.endsWith('.fettle')) return { reason: 'is a procedure, which stays as it is: name another file' };
  const wanted = Buffer.from(text);
  if (existsSync(path)) {
    const before = readSource(path);
    return 'reason' in before ? before : replaceFile(path, before.bytes, wanted);
  }
  return writeNew(path, wanted);
}

/** Writes a file that is not there yet, whole or not at all. */
export function writeNew(path: string, wanted: Uint8Array): Unusable | undefined {
  const temporary = join(dirname(path), `.${basename(path).slice(0, 100)}.${randomUUID()}.tmp`);
  try {
    writeFileSync(temporary, wanted, { flag: 'wx', flush: true });
    renameSync(temporary, path);
    return undefined;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    return {
      reason: reasons[code ?? ''] ?? reasonOf(error),
    };
  } finally {
    rmSync(temporary, { force: true });
  }
}

const reasons: Readonly<Record<string, string>> = {
  ENOENT: 'cannot be made: its folder does not exist',
  ENOTDIR: 'cannot be made: something in its path is no folder',
  EACCES: 'cannot be made: its folder may not be written to',
  EPERM: 'cannot be made: its folder may not be written to',
  EROFS: 'cannot be made: the disk is read-only',
  ENOSPC: 'does not fit, the disk is full: free some space',
};
