import { createHash, createHmac, randomBytes, randomUUID, timingSafeEqual } from 'node:crypto';
import { existsSync, globSync, mkdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve as resolvePath } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Settings } from '../checks/check.ts';
import type { Resolve } from '../model/model.ts';
import { visible } from '../outputs/text.ts';
import { UsageError } from './command.ts';
import { readSource, reasonOf } from './files.ts';
import type { Opinion } from './judge.ts';
import { realPath } from './load.ts';

/** Where the cache of one run lies, and what its entries must go by. Plain data. */
export interface CachePlace {
  readonly folder: string;
  /** Known to the owner of the folder alone; an entry that was not sealed with it is none. */
  readonly secret: Uint8Array;
  /** Of the program itself and what the run wants: findings of another Fettle are not looked at. */
  readonly run: string;
}

const secretLength = 32;
const digestOf = (...pieces: readonly string[]): string =>
  createHash('sha256').update(JSON.stringify(pieces)).digest('hex');

/**
 * Makes the folder ready. `wanted` is what the findings depend on beside the files and their settings.
 * @throws {UsageError} where it cannot be made, or others may write to it: they could put findings into it, or take them out.
 */
export function openCache(folder: string, wanted: unknown): CachePlace {
  const path = resolvePath(folder);
  const refused = (reason: string): UsageError => new UsageError(`--cache ${visible(folder)}: ${reason}`);
  if (folder === '') throw refused('name a folder');
  try {
    makeFolder(path);
    const status = statSync(path);
    if (!status.isDirectory()) throw refused('is a file: name a folder');
    const { mode, uid } = status;
    if (process.getuid !== undefined && (uid !== process.getuid() || (mode & 0o022) !== 0))
      throw refused('others may write to it: name a folder of your own (`chmod go-w` makes it so)');
    return {
      folder: path,
      secret: secretIn(path),
      run: digestOf(programDigest(), process.version, JSON.stringify(wanted)),
    };
  } catch (error) {
    if (error instanceof UsageError) throw error;
    throw refused(reasonOf(error));
  }
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
  const path = join(folder, 'secret');
  for (let attempt = 0; attempt < 2; attempt++) {
    try {
      writeFileSync(path, randomBytes(secretLength), { flag: 'wx', mode: 0o600 });
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
    // Perhaps the one of a run that began a moment ago.
    const secret = readFileSync(path);
    if (secret.length === secretLength) return secret;
    rmSync(path);
  }
  throw new Error('its file `secret` changes while it is read: run the command again');
}

/** Of every source file that findings come from: a version alone says nothing between two releases. */
function programDigest(): string {
  const root = fileURLToPath(new URL('../../..', import.meta.url));
  const hash = createHash('sha256');
  for (const name of globSync(['package.json', '{grammar,server/src}/**/*.{ts,json}'], { cwd: root }).sort())
    hash
      .update(name)
      .update('\0')
      .update(readFileSync(join(root, name)))
      .update('\0');
  return hash.digest('hex');
}

/** A file that was used: its path, where links led, and its text's digest. */
type Used = readonly [path: string, real: string, digest: string];

/** Remembers what each `use` led to. */
export class Uses {
  readonly found = new Map<string, Used>();
  /** Something that is not there leads to nothing that could be compared. */
  isWhole = true;

  around(resolve: Resolve): Resolve {
    return (use, from) => {
      const answer = resolve(use, from);
      if ('missing' in answer) this.isWhole = false;
      else {
        const path = resolvePath(dirname(fileURLToPath(from)), use);
        this.found.set(path, [path, realPath(path), digestOf(answer.text)]);
      }
      return answer;
    };
  }
}

/**
 * Opinions of earlier runs. One is taken only where the program, the run, the name, the settings and the texts of the file
 * and of all that it uses are the same, and it was sealed with the folder's secret; else it is as if there were none. Each
 * file has one entry, which the next one takes the place of.
 */
export class Cache {
  private readonly place: CachePlace;
  private readonly texts = new Map<string, string | undefined>();

  constructor(place: CachePlace) {
    this.place = place;
  }

  find(name: string, text: string, settings: Settings): Omit<Opinion, 'text'> | undefined {
    const source = readSource(this.entryOf(name));
    if ('reason' in source) return undefined;
    const end = source.text.indexOf('\n');
    const body = source.text.slice(end + 1);
    const [given, seal] = [
      Buffer.from(source.text.slice(0, Math.max(0, end))),
      Buffer.from(this.seal(name, text, settings, body)),
    ];
    if (given.length !== seal.length || !timingSafeEqual(given, seal)) return undefined;
    // Sealed by us: it has the shape that `keep` gave it.
    const { used, findings, prints } = JSON.parse(body) as Pick<Opinion, 'findings' | 'prints'> & { used: Used[] };
    return used.every(([path, real, digest]) => this.textDigest(path) === digest && realPath(path) === real)
      ? { findings, prints }
      : undefined;
  }

  /** Silent where it cannot be written: the next run has more to do, that is all. */
  keep(name: string, text: string, settings: Settings, { findings, prints }: Opinion, uses: Uses): void {
    if (!uses.isWhole) return;
    const body = JSON.stringify({ used: [...uses.found.values()], findings, prints });
    const temporary = join(this.place.folder, `.${randomUUID()}.tmp`);
    try {
      writeFileSync(temporary, `${this.seal(name, text, settings, body)}\n${body}`, { flag: 'wx', mode: 0o600 });
      renameSync(temporary, this.entryOf(name));
    } catch {
      rmSync(temporary, { force: true });
    }
  }

  private entryOf(name: string): string {
    return join(this.place.folder, `${digestOf(this.place.run, resolvePath(name), name)}.entry`);
  }

  private seal(name: string, text: string, settings: Settings, body: string): string {
    const { run, secret } = this.place;
    const key = digestOf(run, process.cwd(), name, realPath(resolvePath(name)), JSON.stringify(settings), text);
    return createHmac('sha256', secret).update(`${key}\n${body}`).digest('hex');
  }

  private textDigest(path: string): string | undefined {
    if (!this.texts.has(path)) {
      const source = readSource(path);
      this.texts.set(path, 'reason' in source ? undefined : digestOf(source.text));
    }
    return this.texts.get(path);
  }
}
