import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Job, Order, Outcome } from './judge.ts';

/** Jobs that are sent as one, at most: a message costs as much as a small file. */
const mostTogether = 8;
/** Messages that a thread has at a time, so that it never waits for the next. */
const inHand = 2;
/** Jobs that may be done ahead of the one that is waited for: a slow reader must not fill the memory. */
const ahead = 256;
/** More threads than this gain little and take memory each. */
const mostThreads = 8;
/**
 * Bytes of text that keep one thread busy for as long as it takes another to start and to warm up. Measured from source on
 * two cores: 0.1 s and as long again, and a megabyte is checked in 0.15 s.
 */
const worthAThread = 1.5 * 1024 * 1024;
const megabyte = 1024 * 1024;

/**
 * How many threads beside the main one files of these sizes in bytes are worth, or the caller asks for; 0 where the main
 * one does the work. One alone is no faster than that, but its memory is limited: so it pays where two would.
 */
export function threadsFor(sizes: readonly number[], { asked = 0, cores = availableParallelism() } = {}): number {
  if (asked > 1) return asked;
  const bytes = sizes.reduce((sum, size) => sum + size, 0);
  const worth = Math.min(mostThreads, sizes.length, Math.floor(bytes / worthAThread));
  return worth < 2 ? 0 : Math.min(worth, asked || cores);
}

/** What a thread is sent: an order once, by `workerData`, then jobs by their places in the list. */
export type Sent = readonly (readonly [index: number, job: Job])[];
/** What it answers: outcomes, or none where a job threw; the main thread then does it again, and tells why. */
export type Answered = readonly (readonly [index: number, outcome: Outcome | undefined])[];

/** Threads with limits of memory: they collect their garbage early, and a file that needs more is left to the main thread. */
export const startThread =
  (largest: number) =>
  (order: Order): Worker =>
    new Worker(new URL('./worker.ts', import.meta.url), {
      workerData: order,
      resourceLimits: {
        // Half of it costs a tenth more processor time, twice of it memory alone.
        maxYoungGenerationSizeMb: 32,
        maxOldGenerationSizeMb: Math.ceil(112 + (400 * largest) / megabyte),
      },
    });

export interface CrewOptions {
  /** 0 where all is done here. */
  readonly threads: number;
  start(order: Order): Worker;
  /** Does a job in this thread: those that no thread of the crew could do. */
  here(index: number): Outcome | Promise<Outcome>;
  /** Tells that a thread has ended early. */
  lost(reason: string): void;
}

/**
 * Outcomes of all jobs, in their order, done by several threads; a job that is `undefined` is done here. A thread that ends
 * early loses nothing: what it had in hand is done here, the rest by the others.
 */
export async function* outcomesOf(
  jobs: readonly (Job | undefined)[],
  order: Order,
  { threads, start, here, lost }: CrewOptions,
): AsyncGenerator<Outcome> {
  if (threads === 0) {
    for (const index of jobs.keys()) yield await here(index);
    return;
  }
  const done = new Map<number, Outcome>();
  /** Jobs that are left to this thread. */
  const left = new Set<number>();
  const crew = new Map<Worker, Set<number>>();
  let next = 0;
  let wanted = 0;
  let wake = (): void => {};
  const feed = (): void => {
    for (let round = 0; round < inHand; round++) {
      for (const [worker, hand] of crew) {
        // Few at a time near the end, so that all end together.
        const together = Math.min(mostTogether, Math.ceil((jobs.length - next) / (threads * inHand)));
        if (hand.size > round * mostTogether) continue;
        const sent: [number, Job][] = [];
        for (; sent.length < together && next < jobs.length && next - wanted < ahead; next++) {
          const job = jobs[next];
          if (job === undefined) left.add(next);
          else sent.push([next, job]);
        }
        if (sent.length === 0) return;
        for (const [index] of sent) hand.add(index);
        worker.postMessage(sent satisfies Sent);
      }
    }
  };
  const leave = (worker: Worker, reason: string): void => {
    const hand = crew.get(worker);
    if (hand === undefined) return;
    crew.delete(worker);
    for (const index of hand) left.add(index);
    lost(reason);
    wake();
  };
  for (let i = 0; i < threads; i++) {
    const worker = start(order);
    crew.set(worker, new Set());
    worker.on('message', (answered: Answered) => {
      for (const [index, outcome] of answered) {
        // What has been given up is done here.
        if (crew.get(worker)?.delete(index) !== true) continue;
        if (outcome === undefined) left.add(index);
        else done.set(index, outcome);
      }
      feed();
      wake();
    });
    worker.on('error', (error) => leave(worker, error instanceof Error ? error.message : String(error)));
    worker.on('exit', (code) => leave(worker, `it ended with code ${code}`));
  }
  try {
    for (; wanted < jobs.length; wanted++) {
      feed();
      // With no thread left, all that nobody has begun is done here.
      while (!done.has(wanted) && !left.has(wanted) && wanted < next)
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
      const outcome = done.get(wanted);
      done.delete(wanted);
      left.delete(wanted);
      if (outcome === undefined && next <= wanted) next = wanted + 1;
      yield outcome ?? (await here(wanted));
    }
  } finally {
    const workers = [...crew.keys()];
    crew.clear();
    for (const worker of workers) void worker.terminate();
  }
}
