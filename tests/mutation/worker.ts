/** Tries one mutant: runs the tests given until one fails. */
import { registerHooks } from 'node:module';
import { basename } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parentPort, workerData } from 'node:worker_threads';
import type { Mutant } from './mutants.ts';

export interface Trial {
  /** Absent for the run that shows that all is well without. */
  readonly mutant?: Mutant;
  readonly root: string;
  /** Test files, the most telling first. */
  readonly files: readonly string[];
}
/** The test that failed, or `undefined` where the mutant lives. */
export type Verdict = { readonly caughtBy: string | undefined };

const { mutant, root, files } = workerData as Trial;
const shim = new URL('./shim.ts', import.meta.url).href;
const target = mutant === undefined ? undefined : pathToFileURL(`${root}/${mutant.file}`).href;
let loaded = target === undefined;
registerHooks({
  resolve: (specifier, context, next) =>
    specifier === 'vitest' ? { url: shim, shortCircuit: true } : next(specifier, context),
  load(url, context, next) {
    const result = next(url, context);
    if (url !== target || result.source === undefined || result.source === null) return result;
    loaded = true;
    const source =
      typeof result.source === 'string' ? result.source : Buffer.from(result.source as Uint8Array).toString();
    return { ...result, source: source.slice(0, mutant!.start) + mutant!.text + source.slice(mutant!.end) };
  },
});

async function caughtBy(): Promise<string | undefined> {
  const { tests } = (await import(shim)) as typeof import('./shim.ts');
  for (const file of files) {
    tests.length = 0;
    try {
      await import(pathToFileURL(`${root}/${file}`).href);
    } catch (error) {
      return `${file}: ${String(error)}`;
    }
    // Tests that name the mutated file first: most mutants fall there.
    const own = mutant === undefined ? '' : basename(mutant.file, '.ts');
    for (const { name, run } of tests.toSorted((a, b) => Number(b.name.includes(own)) - Number(a.name.includes(own)))) {
      try {
        await run();
      } catch (error) {
        return `${file}: ${name}: ${String((error as Error).message).slice(0, 3000)}`;
      }
    }
  }
  if (!loaded) throw new Error(`no test loads ${mutant!.file}`);
  return undefined;
}
parentPort!.postMessage({ caughtBy: await caughtBy() } satisfies Verdict);
