/**
 * For the server's process. A smaller young heap: an index of a thousand files peaks at half the memory, in no more time
 * (`npm run bench`). The server cannot set it for itself, as it does what `server/src/engine.ts` tells.
 */
export const serverFlags: readonly string[] = ['--max-semi-space-size=16'];
