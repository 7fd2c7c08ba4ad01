/**
 * For the server's process. A smaller young heap: an index of a thousand files peaks at half the memory, in no more time. Nothing
 * is put among the old that has not lived long: once a long file had been read, the engine did so for all that came after, and
 * what it led to stayed until the next full collection; one keystroke in a hundred took thrice as long (`npm run bench`). The
 * server cannot set either for itself.
 */
export const serverFlags: readonly string[] = ['--max-semi-space-size=16', '--no-allocation-site-pretenuring'];
