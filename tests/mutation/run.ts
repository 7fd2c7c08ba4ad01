/**
 * `npm run mutate -- [--mutants N] [--seed S] [--workers W] [--file PART-OF-A-PATH]`: changes one place at a time of the checks, the
 * ledger, the model and the mechanics, and sees whether a fast test fails. Lists those that none catches; ends with 1 where they are
 * more than 15 % of those that can change what is told (`equivalent.ts`).
 */
import { readdirSync, readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { Worker } from 'node:worker_threads';
import { randomOf } from '../fuzz/inputs.ts';
import { reasonFor } from './equivalent.ts';
import { type Mutant, mutantsOf } from './mutants.ts';
import type { Trial, Verdict } from './worker.ts';

const root = join(import.meta.dirname, '../..');
const mutated = ['server/src/checks', 'server/src/ledger', 'server/src/mechanics', 'server/src/model'];
const passedOver = new Set(['server/src/checks/all.ts', 'server/src/mechanics/index.ts']);
const filesIn = (folder: string, end: string): string[] =>
  readdirSync(join(root, folder))
    .filter((name) => name.endsWith(end))
    .sort()
    .map((name) => `${folder}/${name}`);

/**
 * Test files by what they are about, the most telling first. All of them run in `npm test`; left out are those that start
 * processes or pages.
 */
export function testsFor(file: string): string[] {
  const own = basename(file, '.ts');
  const first = (files: readonly string[]): string[] =>
    files.toSorted((a, b) => Number(basename(b, '.test.ts') === own) - Number(basename(a, '.test.ts') === own));
  const fixtures = [
    'tests/checks/fixtures.test.ts',
    'tests/checks/repairs.test.ts',
    'tests/checks/related.test.ts',
    'tests/checks/hidden-names.test.ts',
  ];
  const ledger = filesIn('tests/ledger', '.test.ts');
  const mechanics = [...filesIn('tests/mechanics', '.test.ts'), ...filesIn('tests/reference', '.test.ts')];
  if (file.includes('/mechanics/')) return [...first(mechanics), ...fixtures];
  const editor = ['code-action', 'hover', 'completion', 'views'].map((name) => `tests/features/${name}.test.ts`);
  const outputs = ['trail', 'draft', 'kit', 'json'].map((name) => `tests/outputs/${name}.test.ts`);
  // What costs more than the rest comes last: only mutants that live so far meet it.
  const slow = [
    'tests/checks/repairs-linear.test.ts',
    'tests/checks/kept.test.ts',
    'tests/checks/incremental.test.ts',
    'tests/samples/samples.test.ts',
  ];
  if (file.includes('/model/'))
    return [...first(filesIn('tests/model', '.test.ts')), ...fixtures, ...ledger, ...outputs, ...editor, ...slow];
  return file.includes('/ledger/')
    ? [...ledger, ...fixtures, ...outputs, ...editor, ...slow]
    : [...fixtures, ...mechanics, ...ledger, ...editor, ...outputs, ...slow];
}

/** Milliseconds of the clock; a mutant that loops for ever is caught. */
const mostTime = 900_000;

export function attempt(trial: Omit<Trial, 'root'>): Promise<string | undefined> {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), {
    workerData: { ...trial, root } satisfies Trial,
    resourceLimits: { maxOldGenerationSizeMb: 1024 },
    // As many random edits as `npm test` tries where they are what the file is about, else a fifth.
    env: { ...process.env, RUNS: /\/(?:ledger|gather|run)\.ts$/.test(trial.mutant?.file ?? '') ? '1' : '0.2' },
    stdout: true,
    stderr: true,
  });
  return new Promise((resolve) => {
    const timer = setTimeout(() => {
      void worker.terminate();
      resolve('it does not end');
    }, mostTime);
    const done = (verdict: string | undefined): void => {
      clearTimeout(timer);
      void worker.terminate();
      resolve(verdict);
    };
    worker.on('message', ({ caughtBy }: Verdict) => done(caughtBy));
    worker.on('error', (error) => done(`it breaks: ${error.message}`));
  });
}

/** Of every file its share of `count` mutants, the same for the same seed. */
export function sample(count: number, seed: number, part = ''): Mutant[] {
  const random = randomOf(seed);
  const all = mutated
    .flatMap((folder) => filesIn(folder, '.ts'))
    .filter((file) => !passedOver.has(file) && file.includes(part))
    .flatMap((file) => mutantsOf(file, readFileSync(join(root, file), 'utf8')));
  for (let i = all.length - 1; i > 0; i--) {
    const j = random(i + 1);
    [all[i], all[j]] = [all[j]!, all[i]!];
  }
  return all.slice(0, count);
}

export const shown = ({ file, start, end, text, line }: Mutant): string => {
  const source = readFileSync(join(root, file), 'utf8');
  const from = source.lastIndexOf('\n', start - 1) + 1;
  const to = source.indexOf('\n', end);
  return `${file}:${line}: ${source.slice(from, start).trimStart()}⟦${source.slice(start, end)} → ${text}⟧${source.slice(end, to)}`;
};

async function mutate(mutants: readonly Mutant[], workers: number): Promise<{ caught: number; survivors: Mutant[] }> {
  const queue = [...mutants];
  const survivors: Mutant[] = [];
  let caught = 0;
  await Promise.all(
    Array.from({ length: workers }, async () => {
      for (let mutant = queue.shift(); mutant !== undefined; mutant = queue.shift()) {
        const caughtBy = await attempt({ mutant, files: testsFor(mutant.file) });
        if (caughtBy === undefined) survivors.push(mutant);
        else caught++;
        if (process.env.VERBOSE !== undefined)
          process.stderr.write(
            `${caughtBy === undefined ? 'LIVES ' : 'caught'} ${shown(mutant)}  ${caughtBy?.split('\n')[0]}\n`,
          );
      }
    }),
  );
  return { caught, survivors };
}

if (process.argv[1] === import.meta.filename) {
  const { values } = parseArgs({
    options: {
      mutants: { type: 'string' },
      seed: { type: 'string' },
      workers: { type: 'string' },
      file: { type: 'string' },
    },
  });
  const begun = Date.now();
  const workers = Number(values.workers ?? Math.min(4, availableParallelism()));
  for (const folder of mutated) {
    const broken = await attempt({ files: testsFor(`${folder}/`) });
    if (broken !== undefined) throw new Error(`a test fails without any mutant: ${broken}`);
  }
  process.stderr.write(`All tests pass without a mutant after ${Math.round((Date.now() - begun) / 1000)} s\n`);
  const mutants = sample(Number(values.mutants ?? 300), Number(values.seed ?? 1), values.file);
  const { caught, survivors } = await mutate(mutants, workers);
  let same = 0;
  for (const survivor of survivors.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : a.start - b.start))) {
    const reason = reasonFor(shown(survivor));
    if (reason !== undefined) same++;
    process.stdout.write(`${shown(survivor)}${reason === undefined ? '' : `  # the same: ${reason}`}\n`);
  }
  const percent = (whole: number): number => (100 * caught) / whole;
  const telling = mutants.length - same;
  process.stdout.write(
    `${caught} of ${mutants.length} mutants caught (${percent(mutants.length).toFixed(1)} %), ${survivors.length} live, in ${Math.round((Date.now() - begun) / 1000)} s\n` +
      `${same} of those that live were read and change nothing that is told: ${caught} of ${telling} (${percent(telling).toFixed(1)} %)\n`,
  );
  process.exitCode = percent(telling) < 85 ? 1 : 0;
}
