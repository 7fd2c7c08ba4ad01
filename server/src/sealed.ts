/** Entries in a folder of one's own, sealed so that nobody else's pass for them. For Node. */
import { createHash, createHmac, randomBytes, randomUUID, timingSafeEqual } from 'node:crypto';
import {
  closeSync,
  constants,
  existsSync,
  fstatSync,
  globSync,
  lstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  type Stats,
  statSync,
  writeFileSync,
} from 'node:fs';
import { dirname, join, resolve as resolvePath } from 'node:path';

/** Where the entries of one run lie, and what they must go by. Plain data. */
export interface SealedFolder {
  readonly folder: string;
  /** Known to the owner of the folder alone; an entry that was not sealed with it is none. */
  readonly secret: Uint8Array;
  /** Of the program itself and what the run wants: what another Fettle kept is not looked at. */
  readonly run: string;
  /** Of what the run wants alone. */
  readonly wanted: string;
}

const secretLength = 32;
/** No name that a file of the user's own would have: one that is not ours to trust is removed. */
export const secretFile = 'fettle-secret';
const largest = 16 * 1024 * 1024;
const ending = '.entry';

export const digestOf = (...pieces: readonly string[]): string =>
  createHash('sha256').update(JSON.stringify(pieces)).digest('hex');

/**
 * Makes the folder ready. `program` is a digest of the program, `wanted` what entries depend on beside their keys.
 * @throws {Error} where it cannot be made, or others may write to it: they could put entries into it, or take them out.
 */
export function openSealed(folder: string, program: string, wanted: unknown): SealedFolder {
  const path = resolvePath(folder);
  makeFolder(path);
  const status = statSync(path);
  if (!status.isDirectory()) throw new Error('is a file: name a folder');
  const { mode, uid } = status;
  if (process.getuid !== undefined && (uid !== process.getuid() || (mode & 0o022) !== 0))
    throw new Error('others may write to it: name a folder of your own (`chmod go-w` makes it so)');
  return {
    folder: path,
    secret: secretIn(path),
    run: digestOf(program, process.version, JSON.stringify(wanted)),
    wanted: digestOf(JSON.stringify(wanted)),
  };
}

/** Level by level: what Node offers for all at once never ends where the system says that a folder's parent is not there. */
function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  try {
    mkdirSync(path, { mode: 0o700 });
  } catch (error) {
    // Perhaps made by a run that began a moment ago.
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  }
}

function secretIn(folder: string): Uint8Array {
  const path = join(folder, secretFile);
  for (let attempt = 0; attempt < 2; attempt++) {
    try {
      writeFileSync(path, randomBytes(secretLength), { flag: 'wx', mode: 0o600 });
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
    // Perhaps the one of a run that began a moment ago; or put there by others, when they could write to the folder.
    const secret = contentOf(path, isSecret, constants.O_NOFOLLOW);
    if (secret !== undefined) return secret;
    if (lstatSync(path, { throwIfNoEntry: false })?.isDirectory()) throw new Error(`its \`${secretFile}\` is a folder`);
    rmSync(path, { force: true });
  }
  throw new Error(
    `its file \`${secretFile}\` cannot be kept from others, or changes while it is read: name another folder`,
  );
}

/** Nobody else has made it, nor can read or write it. Windows tells neither owner nor mode. */
const isSecret = ({ size, uid, mode }: Stats): boolean =>
  size === secretLength && (process.getuid === undefined || (uid === process.getuid() && (mode & 0o077) === 0));

/** Of every source file below `root` that findings come from: a version alone says nothing between two releases. */
export const digestOfSources = (root: string): string =>
  digestOfFiles(root, globSync(['package.json', '{grammar,server/src}/**/*.{ts,json}'], { cwd: root }).sort());

/** Of the files `names` in `root`. */
export function digestOfFiles(root: string, names: readonly string[]): string {
  const hash = createHash('sha256');
  for (const name of names)
    hash
      .update(name)
      .update('\0')
      .update(readFileSync(join(root, name)))
      .update('\0');
  return hash.digest('hex');
}

const entryOf = ({ folder }: SealedFolder, name: string): string => join(folder, name + ending);

const sealOf = ({ run, secret }: SealedFolder, key: string, body: string): string =>
  createHmac('sha256', secret)
    .update(`${digestOf(run, key)}\n${body}`)
    .digest('hex');

/** What was kept under `name` with this very `key`; as if there were nothing where it is anything else. */
export function sealedEntry(place: SealedFolder, name: string, key: string): string | undefined {
  const text = contentOf(entryOf(place, name), ({ size }) => size <= largest)?.toString('utf8');
  if (text === undefined) return undefined;
  const end = text.indexOf('\n');
  const body = text.slice(end + 1);
  const given = Buffer.from(text.slice(0, Math.max(0, end)));
  const seal = Buffer.from(sealOf(place, key, body));
  return given.length === seal.length && timingSafeEqual(given, seal) ? body : undefined;
}

/** Of a regular file that `isFit`. Never blocks: a FIFO may lie there. */
function contentOf(path: string, isFit: (status: Stats) => boolean, flags?: number): Buffer | undefined {
  let descriptor: number | undefined;
  try {
    // Windows has neither flag.
    descriptor = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0) | (flags ?? 0));
    const status = fstatSync(descriptor);
    return status.isFile() && isFit(status) ? readFileSync(descriptor) : undefined;
  } catch {
    return undefined;
  } finally {
    if (descriptor !== undefined) closeSync(descriptor);
  }
}

/**
 * Keeps `body` under `name`, in place of what was there. Whole or not at all.
 * @throws where it cannot be written; what was there stays.
 */
export function keepSealed(place: SealedFolder, name: string, key: string, body: string): void {
  const temporary = join(place.folder, `.${randomUUID()}.tmp`);
  try {
    writeFileSync(temporary, `${sealOf(place, key, body)}\n${body}`, { flag: 'wx', mode: 0o600 });
    renameSync(temporary, entryOf(place, name));
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
}

/** Takes away all entries but `names`, and what a run left that was ended while it wrote. Nothing that has another name. */
export function retainSealed({ folder }: SealedFolder, names: ReadonlySet<string>): void {
  for (const found of readdirSync(folder)) {
    const path = join(folder, found);
    const entry = entryName.exec(found)?.[1];
    const isGone = entry !== undefined ? !names.has(entry) && !isFolder(path) : isLeftOver(found, path);
    if (isGone) rmSync(path, { force: true });
  }
}

/**
 * Takes away entries that were kept over a month ago, and what a run left that was ended while it wrote. Silent where that
 * cannot be done. Nothing that has another name, or another shape.
 */
export function dropOldSealed({ folder }: SealedFolder): void {
  try {
    for (const found of readdirSync(folder)) {
      const path = join(folder, found);
      const isGone = entryName.test(found) ? isOlder(path, month) && isEntry(path) : isLeftOver(found, path);
      if (isGone) rmSync(path, { force: true });
    }
  } catch {}
}

/**
 * Takes away all that was kept in `folder`, the secret too, and the folder itself where nothing else lies there.
 * @throws where something of it cannot be removed.
 */
export function removeSealed(folder: string): void {
  if (!statSync(folder, { throwIfNoEntry: false })?.isDirectory()) return;
  for (const found of readdirSync(folder)) {
    const path = join(folder, found);
    const isOurs = entryName.test(found) || temporaryName.test(found) || found === secretFile;
    if (isOurs && !isFolder(path)) rmSync(path, { force: true });
  }
  if (readdirSync(folder).length === 0) rmSync(folder, { recursive: true, force: true });
}

/** We make none: whose it is, it stays, by whatever name. */
const isFolder = (path: string): boolean => lstatSync(path, { throwIfNoEntry: false })?.isDirectory() === true;
const entryName = /^([0-9a-f]{64})\.entry$/;
const temporaryName = /^\.[0-9a-f-]{36}\.tmp$/;
const isEntry = (path: string): boolean =>
  /^[0-9a-f]{64}\n/.test(contentOf(path, () => true, constants.O_NOFOLLOW)?.toString('latin1', 0, 65) ?? '');
const isLeftOver = (name: string, path: string): boolean => temporaryName.test(name) && isOlder(path, hour);

const hour = 3_600_000;
const month = 30 * 24 * hour;
const isOlder = (path: string, age: number): boolean => {
  const status = lstatSync(path, { throwIfNoEntry: false });
  return status?.isFile() === true && Date.now() - status.mtimeMs > age;
};
