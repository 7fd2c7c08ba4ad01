import { Bench } from 'tinybench';

export type Work = () => unknown;

/**
 * Medians in ms of `rounds` times `each` runs, after `warmups` that do not count, or `each`. The works take turns in every
 * round, so that a busy machine slows all alike.
 */
export async function medians<Name extends string>(
  works: Readonly<Record<Name, Work>>,
  { rounds = 5, each = 5, warmups }: { rounds?: number; each?: number; warmups?: number } = {},
): Promise<Record<Name, number>> {
  const samples = new Map<string, number[]>();
  for (let round = 0; round < rounds; round++) {
    const bench = new Bench({
      iterations: each,
      time: 0,
      warmup: round === 0,
      warmupIterations: warmups ?? each,
      warmupTime: 0,
      retainSamples: true,
      throws: true,
    });
    for (const [name, work] of Object.entries<Work>(works)) bench.add(name, async () => void (await work()));
    for (const task of await bench.run()) {
      const { result } = task;
      if (!('latency' in result) || result.latency.samples === undefined) throw new Error(`${task.name}: no samples`);
      samples.set(task.name, [...(samples.get(task.name) ?? []), ...result.latency.samples]);
    }
  }
  return Object.fromEntries([...samples].map(([name, list]) => [name, median(list)])) as Record<Name, number>;
}

export const median = (times: readonly number[]): number => times.toSorted((a, b) => a - b)[times.length >> 1]!;

/** The 95th of 100 runs, in ms. */
export async function slowest(work: (i: number) => unknown, runs = 200): Promise<number> {
  const times: number[] = [];
  for (let i = 0; i < runs; i++) {
    const start = performance.now();
    await work(i);
    times.push(performance.now() - start);
  }
  return times.sort((a, b) => a - b)[Math.floor(runs * 0.95)]!;
}
