/**
 * `npm run fuzz -- [--inputs N | --minutes M] [--seed S] [--workers W] [--size UNITS]`: hostile inputs of the size given
 * (64 KiB), then random ones, each in a worker that is stopped when it takes too long or too much memory.
 * Failing inputs are kept, reduced, in `.cache/fuzz/`. Ends with 1 where there was one.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { Worker } from 'node:worker_threads';
import { hostile } from './hostile.ts';
import { inputOf, type Job, type Told } from './worker.ts';

/** Seconds of processor time that one stage may take for each 64 KiB begun, and of the clock, however busy the machine is. */
const mostSeconds = 2;
const mostClock = 120;
/** MiB of a worker. */
const mostMemory = 768;
const kept = join(import.meta.dirname, '../../.cache/fuzz');

export interface Outcome {
  readonly counts: ReadonlyMap<string, number>;
  readonly failures: readonly string[];
}

interface Plan {
  readonly seed: number;
  readonly until: number;
  readonly size?: number;
  readonly workers: number;
  /** Milliseconds since the epoch, when it ends in any case. */
  readonly deadline?: number;
}

/** Runs the inputs 0 to `until`. */
export async function fuzz(plan: Plan): Promise<Outcome> {
  const counts = new Map<string, number>();
  const failures: string[] = [];
  await Promise.all(Array.from({ length: plan.workers }, (_, w) => lane(plan, w, counts, failures)));
  return { counts, failures };
}

/** One worker after another, each from behind the input at which the last was stopped. */
async function lane(plan: Plan, first: number, counts: Map<string, number>, failures: string[]): Promise<void> {
  for (let from = first; from < plan.until; ) {
    const state = new Int32Array(new SharedArrayBuffer(12));
    Atomics.store(state, 0, from);
    const { seed, until, size, workers } = plan;
    const job: Job = { seed, from, step: workers, until, size, state };
    const worker = new Worker(new URL('./worker.ts', import.meta.url), {
      workerData: job,
      resourceLimits: { maxOldGenerationSizeMb: mostMemory },
    });
    const stages = new Map<number, string>();
    let stopped: string | undefined;
    const ended = new Promise<void>((resolve) => {
      worker.on('message', (told: Told) => {
        if ('stage' in told) stages.set(told.id, told.stage);
        else if ('counts' in told)
          for (const [what, count] of Object.entries(told.counts)) counts.set(what, (counts.get(what) ?? 0) + count);
        else failures.push(keep(plan, told.n, told.input.kind, told.failure, told.reduced));
      });
      worker.on('error', (error) => {
        stopped ??= `${error.name}: ${error.message}`;
      });
      worker.on('exit', () => resolve());
    });
    let since = { mark: -1, clock: 0, processor: 0 };
    let asking = false;
    const timer = setInterval(async () => {
      if (plan.deadline !== undefined && Date.now() > plan.deadline) return void worker.terminate();
      const mark = Atomics.load(state, 2);
      if (asking) return;
      if (mark === since.mark && Date.now() - since.clock < mostSeconds * 1000) return;
      asking = true;
      const { user, system } = await worker.cpuUsage().catch(() => ({ user: 0, system: 0 }));
      asking = false;
      const processor = (user + system) / 1e6;
      if (mark !== since.mark) {
        since = { mark, clock: Date.now(), processor };
        return;
      }
      const { text } = inputOf(plan, Atomics.load(state, 0));
      // No input has a part in what is loaded before the first of them begins.
      const allowed = mark === 0 ? Number.POSITIVE_INFINITY : mostSeconds * Math.ceil(text.length / 65536);
      if (
        Atomics.load(state, 2) === mark &&
        (processor - since.processor > allowed || Date.now() - since.clock > 1000 * mostClock)
      ) {
        stopped = `stopped after ${(processor - since.processor).toFixed(1)} s`;
        void worker.terminate();
      }
    }, 200);
    await ended;
    clearInterval(timer);
    const n = Atomics.load(state, 0);
    if (n < 0 || (plan.deadline !== undefined && Date.now() > plan.deadline)) return;
    const input = inputOf(plan, n);
    failures.push(
      keep(
        plan,
        n,
        input.kind,
        `${stages.get(Atomics.load(state, 1)) ?? '?'}: ${stopped ?? 'the worker ended'}`,
        input.text,
      ),
    );
    from = n + workers;
  }
}

function keep({ seed, size }: Plan, n: number, kind: string, failure: string, reduced: string): string {
  mkdirSync(kept, { recursive: true });
  const name = `${size === undefined ? `seed-${seed}` : `hostile-${size}`}-${n}.fettle`;
  if (reduced !== '') writeFileSync(join(kept, name), reduced);
  const shown = reduced.length > 400 ? `${JSON.stringify(reduced.slice(0, 400))}…` : JSON.stringify(reduced);
  return `input ${n} (${kind}) of ${size === undefined ? `seed ${seed}` : `${size} units`}: ${failure}\n  ${shown}`;
}

const numberOf = (text: string | undefined, otherwise: number): number => {
  const number = text === undefined ? otherwise : Number(text);
  if (!Number.isFinite(number) || number <= 0) throw new Error(`${text} is no positive number`);
  return number;
};

if (process.argv[1] === import.meta.filename) {
  const { values } = parseArgs({
    options: {
      inputs: { type: 'string' },
      minutes: { type: 'string' },
      seed: { type: 'string' },
      workers: { type: 'string' },
      size: { type: 'string' },
    },
  });
  const begun = Date.now();
  const minutes = values.minutes === undefined ? undefined : numberOf(values.minutes, 1);
  const seed = Math.floor(numberOf(values.seed, minutes === undefined ? 1 : begun % 1e9));
  const workers = Math.floor(numberOf(values.workers, Math.min(4, availableParallelism())));
  const size = Math.floor(numberOf(values.size, 65536));
  const inputs = Math.floor(numberOf(values.inputs, minutes === undefined ? 20_000 : 2 ** 30));
  const deadline = minutes === undefined ? undefined : begun + minutes * 60_000;
  const costly = await fuzz({ seed, until: Object.keys(hostile).length, size, workers, deadline });
  const random = await fuzz({ seed, until: inputs, workers, deadline });
  const counted = ({ counts }: Outcome): string =>
    [...counts]
      .map(([what, count]) => `${count} ${what}`)
      .sort()
      .join(', ');
  const failures = [...costly.failures, ...random.failures];
  for (const failure of failures) process.stderr.write(`${failure}\n\n`);
  process.stdout.write(
    `hostile inputs of ${size} units: ${costly.counts.get('judged') ?? 0}\n` +
      `random inputs of seed ${seed}: ${counted(random)}\n` +
      `${(random.counts.get('judged') ?? 0) + (costly.counts.get('judged') ?? 0)} inputs in ${Math.round((Date.now() - begun) / 1000)} s, ${failures.length} failed\n`,
  );
  process.exitCode = failures.length > 0 ? 1 : 0;
}
