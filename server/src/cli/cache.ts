import { dirname, resolve as resolvePath } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Settings } from '../checks/check.ts';
import type { Resolve } from '../model/model.ts';
import { visible } from '../outputs/wording.ts';
import {
  digestOf,
  digestOfSources,
  dropOldSealed,
  keepSealed,
  openSealed,
  type SealedFolder,
  sealedEntry,
} from '../sealed.ts';
import { UsageError } from './command.ts';
import { readSource, reasonOf } from './files.ts';
import type { Opinion } from './judge.ts';
import { realPath } from './paths.ts';

/** Where the cache of one run lies, and what its entries must go by. Plain data. */
export type CachePlace = SealedFolder;

/**
 * Makes the folder ready, without what has lain there for long. `wanted` is what the findings depend on beside the files and their settings.
 * @throws {UsageError} where it cannot be made, or others may write to it: they could put findings into it, or take them out.
 */
export function openCache(folder: string, wanted: unknown): CachePlace {
  const refused = (reason: string): UsageError => new UsageError(`--cache ${visible(folder)}: ${reason}`);
  if (folder === '') throw refused('name a folder');
  try {
    const place = openSealed(folder, digestOfSources(fileURLToPath(new URL('../../..', import.meta.url))), wanted);
    dropOldSealed(place);
    return place;
  } catch (error) {
    throw refused(reasonOf(error));
  }
}

/** What is kept of an opinion. */
type Findings = Pick<Opinion, 'findings' | 'prints'>;

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
 * file has one entry for all that runs may want of it, which the next one takes the place of, be it by another program.
 */
export class Cache {
  private readonly place: CachePlace;
  private readonly texts = new Map<string, string | undefined>();

  constructor(place: CachePlace) {
    this.place = place;
  }

  find(name: string, text: string, settings: Settings): Findings | undefined {
    const body = sealedEntry(this.place, this.entryOf(name), this.keyOf(name, text, settings));
    if (body === undefined) return undefined;
    // Sealed by us: it has the shape that `keep` gave it.
    const { used, findings, prints } = JSON.parse(body) as Findings & { used: Used[] };
    return used.every(([path, real, digest]) => this.textDigest(path) === digest && realPath(path) === real)
      ? { findings, prints }
      : undefined;
  }

  /** Silent where it cannot be written: the next run has more to do, that is all. */
  keep(name: string, text: string, settings: Settings, { findings, prints }: Findings, uses: Uses): void {
    if (!uses.isWhole) return;
    const body = JSON.stringify({ used: [...uses.found.values()], findings, prints });
    try {
      keepSealed(this.place, this.entryOf(name), this.keyOf(name, text, settings), body);
    } catch {}
  }

  private entryOf(name: string): string {
    return digestOf(this.place.wanted, resolvePath(name), name);
  }

  private keyOf(name: string, text: string, settings: Settings): string {
    return digestOf(process.cwd(), name, realPath(resolvePath(name)), JSON.stringify(settings), text);
  }

  private textDigest(path: string): string | undefined {
    if (!this.texts.has(path)) {
      const source = readSource(path);
      this.texts.set(path, 'reason' in source ? undefined : digestOf(source.text));
    }
    return this.texts.get(path);
  }
}
