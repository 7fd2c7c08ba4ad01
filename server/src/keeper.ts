/** Keeps the index of closed files from one run of the server to the next. For Node. */
import { digestOf, keepSealed, openSealed, retainSealed, type SealedFolder, sealedEntry } from './sealed.ts';
import type { Keeper, Kept } from './snapshot.ts';

/**
 * Keeps entries in `folder`, which is made where there is none, one a file. `program` is a digest of the server: what another
 * one kept is not looked at. `warn` is told once where nothing can be written; what was kept is still taken then.
 * @throws {Error} where the folder cannot be used.
 */
export function openKeeper(folder: string, program: string, warn: (reason: string) => void): Keeper {
  const place: SealedFolder = openSealed(folder, program, 'index');
  let canWrite = true;
  const write = (work: () => void): void => {
    if (!canWrite) return;
    try {
      work();
    } catch (error) {
      // A full disk stays full for the next thousand files.
      canWrite = false;
      warn(error instanceof Error ? error.message : String(error));
    }
  };
  return {
    digestOf: (text) => digestOf(text),
    find(key) {
      const body = sealedEntry(place, digestOf(key), key);
      // Sealed by us: it has the shape that `keep` gave it.
      return body === undefined ? undefined : (JSON.parse(body) as Kept);
    },
    keep: (key, kept) => write(() => keepSealed(place, digestOf(key), key, JSON.stringify(kept))),
    retain: (keys) => write(() => retainSealed(place, new Set(keys.map((key) => digestOf(key))))),
  };
}
