import { setFlagsFromString } from 'node:v8';

/**
 * Nothing is put among the old that has not lived long: once a long file had been read, the engine did so for all that came
 * after, and what it led to stayed until the next full collection; one keystroke in a hundred took thrice as long (`npm run
 * bench`). An engine that does not know the flag says so and goes on; handed to its process, it would not let that start.
 */
setFlagsFromString('--no-allocation-site-pretenuring');
