import { join } from 'node:path';

/**
 * For the server's process. A smaller young heap: an index of a thousand files peaks at half the memory, in no more time
 * (`npm run bench`). The server cannot set it for itself, as it does what `server/src/engine.ts` tells.
 */
export const serverFlags: readonly string[] = ['--max-semi-space-size=16'];

/** Has Node keep what it made of the server's code in the folder `storage`: the next start need not make it again. */
export const serverEnvironment = (storage: string): Readonly<Record<string, string>> => ({
  NODE_COMPILE_CACHE: join(storage, 'compiled'),
});
