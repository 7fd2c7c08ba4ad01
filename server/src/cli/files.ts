import {
  accessSync,
  closeSync,
  constants,
  existsSync,
  fstatSync,
  globSync,
  openSync,
  readdirSync,
  readSync,
  type Stats,
  statSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { lineFinder } from '../../../grammar/syntax.ts';
import { largestFile } from '../limits.ts';

export interface Source {
  /** Without the byte order mark. */
  readonly text: string;
  readonly bytes: Uint8Array;
}

/** Why a file cannot be had, and what would mend it. */
export interface Unusable {
  readonly reason: string;
}

const passedOver: ReadonlySet<string> = new Set(['node_modules', '.git']);

/** In a folder that is named as a whole. */
const procedures = join('**', '*.fettle');
const isPattern = (operand: string): boolean => /[*?[{]/.test(operand);

/**
 * The files that a pattern (`*`, `**`, `?`, `[…]`, `{…}`) fits, by name, for callers whose shell does not expand it, or those in a
 * folder that end in `.fettle`, with the links and folders that cannot be followed: {@link readSource} says why. Gives back what is
 * no pattern, names a file as it stands, or fits none.
 */
export function filesOf(operand: string): string[] {
  if (isFolder(operand) && !isLocked(operand)) {
    const found = fitting(procedures, operand);
    return found.length === 0 ? [join(operand, procedures)] : found;
  }
  if (!isPattern(operand) || existsSync(operand)) return [operand];
  const found = fitting(operand);
  return found.length === 0 ? [operand] : found;
}

function fitting(pattern: string, cwd = ''): string[] {
  const locked = new Set<string>();
  const folders = new Map<string, ReadonlySet<string>>();
  const exclude = (inside: string): boolean => {
    const path = join(cwd, inside);
    const name = basename(path);
    if (passedOver.has(name)) return true;
    const parent = dirname(path);
    // One look at a folder tells which of its names are folders: nearly none of them is, and to ask each costs more than the walk.
    const among = folders.get(parent) ?? foldersIn(parent);
    folders.set(parent, among);
    if (among.has(name) && isLocked(path)) locked.add(path);
    return false;
  };
  const found = globSync(pattern, cwd === '' ? { exclude } : { exclude, cwd })
    .map((inside) => join(cwd, inside))
    .filter((path) => {
      try {
        return statSync(path).isFile();
      } catch {
        return true;
      }
    });
  return [...found, ...locked].sort();
}

/** Names of the folders in a folder, without links to any; none where it may not be read. */
function foldersIn(path: string): ReadonlySet<string> {
  try {
    const entries = readdirSync(path, { withFileTypes: true });
    return new Set(entries.flatMap((entry) => (entry.isDirectory() ? entry.name : [])));
  } catch {
    return new Set();
  }
}

/** False also for what cannot be reached. */
function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch {
    return false;
  }
}

/** True for a folder that may not be looked into. */
function isLocked(folder: string): boolean {
  try {
    accessSync(folder, constants.R_OK | constants.X_OK);
    return false;
  } catch {
    return true;
  }
}

/** In bytes; 0 where that cannot be told. */
export function sizeOf(path: string): number {
  try {
    return statSync(path).size;
  } catch {
    return 0;
  }
}

/**
 * Reads a text file whole. Never blocks: what is no regular file (a folder, FIFO, device, socket) is refused unopened.
 * The limit is 16 MiB, the encoding UTF-8.
 */
export function readSource(path: string): Source | Unusable {
  let descriptor: number | undefined;
  try {
    const found = statSync(path);
    const refusal =
      found.isDirectory() && isLocked(path)
        ? { reason: 'is a folder that may not be read: check its permissions' }
        : refusalOf(found);
    if (refusal !== undefined) return refusal;
    // O_NONBLOCK: a FIFO may have taken the file's place since.
    descriptor = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    const stats = fstatSync(descriptor);
    const refused = refusalOf(stats);
    if (refused !== undefined) return refused;
    const bytes = readAll(descriptor, stats.size);
    return bytes === undefined ? tooBig : decoded(bytes);
  } catch (error) {
    const isMissing = (error as NodeJS.ErrnoException).code === 'ENOENT';
    return { reason: isMissing && isPattern(path) ? nothingFits : reasonOf(error) };
  } finally {
    if (descriptor !== undefined) closeSync(descriptor);
  }
}

/** Standard input to its end, under the same limits. */
export async function readInput(input: AsyncIterable<Uint8Array>): Promise<Source | Unusable> {
  const pieces: Uint8Array[] = [];
  let size = 0;
  try {
    for await (const piece of input) {
      size += piece.length;
      if (size > largestFile) return tooBig;
      pieces.push(piece);
    }
  } catch (error) {
    return { reason: reasonOf(error) };
  }
  return decoded(Buffer.concat(pieces));
}

export const tooBig: Unusable = { reason: 'is over 16 MiB: split it, and share declarations with `use`' };

function refusalOf(stats: Stats): Unusable | undefined {
  if (stats.isDirectory()) return { reason: 'is a folder: name a file in it' };
  if (!stats.isFile())
    return { reason: 'is no regular file (a pipe, socket or device): name a file, or pipe it into `-`' };
  return stats.size > largestFile ? tooBig : undefined;
}

/** Until the end, since the size of a file that is being written, or of one in /proc, says little. */
function readAll(descriptor: number, size: number): Uint8Array | undefined {
  let bytes = Buffer.allocUnsafe(Math.min(size, largestFile) + 1);
  for (let filled = 0; ; ) {
    const count = readSync(descriptor, bytes, filled, bytes.length - filled, null);
    filled += count;
    if (count === 0) return bytes.subarray(0, filled);
    if (filled > largestFile) return undefined;
    if (filled === bytes.length) bytes = Buffer.concat([bytes], Math.min(2 * filled + 4096, largestFile + 1));
  }
}

/** UTF-8 bytes as text. */
export function decoded(bytes: Uint8Array): Source | Unusable {
  const other = otherThanUtf8(bytes);
  if (other !== undefined) return { reason: other };
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), bytes };
  } catch {
    return { reason: bytes.includes(0) ? noText : `is not UTF-8 (line ${badLine(bytes)}): save it as UTF-8` };
  }
}

const noText =
  'is no text (there are NUL bytes in it): name a procedure, or fetch the file anew where it should be one';

/**
 * What bytes are by their mark (RFC 2781), or by the NULs in their first 4 KiB: UTF-16 has one beside each letter, always on the same
 * side, and a file that was not written to its end has nothing else.
 */
function otherThanUtf8(bytes: Uint8Array): string | undefined {
  const utf16 = 'is UTF-16: save it as UTF-8';
  const [first, second] = bytes;
  if ((first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff)) return utf16;
  const head = bytes.subarray(0, 4096);
  if (!head.includes(0)) return undefined;
  const sides = [0, 0];
  for (const [i, byte] of head.entries()) if (byte === 0) sides[i % 2]!++;
  const [even = 0, odd = 0] = sides;
  if ((even + odd) * 4 < head.length) return undefined;
  return even * 8 < odd || odd * 8 < even ? utf16 : noText;
}

/** The line, from 1, with the first bytes that are no UTF-8. */
function badLine(bytes: Uint8Array): number {
  const before = new TextDecoder('utf-8', { ignoreBOM: true }).decode(bytes);
  let at = 0;
  let length = 0;
  // A replacement sign in the text may be a good one: its three bytes then stand in the file.
  for (const sign of before) {
    if (sign === '\ufffd' && !(bytes[at] === 0xef && bytes[at + 1] === 0xbf && bytes[at + 2] === 0xbd)) break;
    at += Buffer.byteLength(sign);
    length += sign.length;
  }
  return lineFinder(before)(length) + 1;
}

const nothingFits = 'no file fits this pattern: check it, and the folder that it counts from';
const reasons: Readonly<Record<string, string>> = {
  ENOENT: 'no such file: check the name, and the folder that it counts from',
  ENOTDIR: 'no such file: something in its path is no folder',
  EACCES: 'may not be read: check its permissions',
  EPERM: 'may not be read: check its permissions',
  ELOOP: 'is a link that leads round in a circle: name the file itself',
  ENAMETOOLONG: 'has too long a name: shorten it',
  EISDIR: 'is a folder: name a file in it',
};

export function reasonOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  return reasons[(error as NodeJS.ErrnoException).code ?? ''] ?? error.message;
}
