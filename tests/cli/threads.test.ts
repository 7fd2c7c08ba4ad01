import { mkdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Worker } from 'node:worker_threads';
import { describe, expect, onTestFinished, test } from 'vitest';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { outcomesOf, startThread, threadsFor } from '../../server/src/cli/crew.ts';
import { type Job, Judge, type Order, type Outcome } from '../../server/src/cli/judge.ts';
import { bad, fettle, folder, good, mixed } from './run.ts';

/** Good, faulty and unreadable files, some that use others, one of them broken, one in a folder with settings of its own. */
function scene(): string {
  const files: Record<string, string | Uint8Array> = {
    'shared.fettle': 'part spare "Spare"\npart cover "Cover" held by bolt\npart bolt x4 "Bolt"\n',
    'own/fettle.json': '{ "off": ["left-off"] }',
    'bytes.fettle': new Uint8Array([0x70, 0xff, 0x0a]),
    'empty.fettle': '',
  };
  for (let i = 0; i < 60; i++) {
    const name = `${i % 7 === 0 ? 'own/' : ''}unit-${String(i).padStart(2, '0')}.fettle`;
    const up = i % 7 === 0 ? '../' : '';
    files[name] = [
      good,
      bad,
      mixed,
      `use "${up}shared.fettle"\nteardown\n  step open\n    remove cover\n`,
      `use "${up}nowhere.fettle"\n${good}`,
      good.replace('remove cover', 'remove cover remove'),
      `# einzöllig 🔩\n${bad.replace('"Cover"', '"Cøver"')}`,
    ][i % 7]!;
  }
  const path = folder(files);
  mkdirSync(join(path, 'folder.fettle'));
  symlinkSync('nowhere.fettle', join(path, 'dead.fettle'));
  return path;
}
const everything = ['own/*.fettle', 'unit-*.fettle', 'bytes.fettle', 'dead.fettle', 'folder.fettle', 'empty.fettle'];

describe('several threads say what one says', () => {
  const both = (args: readonly string[], { input = '', cwd = scene() } = {}): ReturnType<typeof fettle> => {
    const one = fettle(['check', ...args, '--threads', '1'], { cwd, input });
    expect(fettle(['check', ...args, '--threads', '3'], { cwd, input })).toEqual(one);
    return one;
  };

  test.each(['text', 'json', 'sarif', 'junit', 'github'])('as %s', (format) => {
    const { status, out, err } = both([...everything, '--format', format]);
    expect(status).toBe(2);
    expect(out.match(/unit-01/g)!.length).toBeGreaterThan(0);
    for (const name of ['bytes', 'dead', 'folder']) expect(err).toMatch(new RegExp(`fettle: ${name}.fettle[:/]`));
  });

  test('with a file from the standard input among them', () =>
    expect(both(['unit-01.fettle', '-', 'unit-*.fettle', '--stdin-name', 'piped.fettle'], { input: bad }).out).toMatch(
      /unit-01\.fettle:4.*piped\.fettle:4.*unit-01\.fettle:4/s,
    ));

  test('with limits, chosen checks and a baseline', () => {
    const cwd = scene();
    expect(both(['own/*.fettle', '--max-warnings', '0'], { cwd }).status).toBe(0);
    expect(both(['unit-*.fettle', '--only', 'never-used', '--quiet'], { cwd }).status).toBe(0);
    for (const threads of ['1', '3'])
      fettle(['check', 'unit-*.fettle', '--write-baseline', `known-${threads}.json`, '--threads', threads], { cwd });
    const known = (threads: string): string =>
      fettle(['check', 'unit-*.fettle', '--baseline', `known-${threads}.json`, '--threads', threads], { cwd }).err;
    expect(known('3')).toMatch(/^fettle: \d+ known findings left out\n$/);
    expect(known('3')).toBe(known('1'));
  });
});

test('--fix mends the same with several threads, in files that use others or are named twice, too', () => {
  const files = Object.fromEntries(
    Array.from({ length: 20 }, (_, i) => [
      `u${i}.fettle`,
      `procedure job-${i} "Job"
${i % 3 === 0 ? `use "u${(i + 1) % 20}.fettle"\n` : ''}part seal-${i} "Seal" renew
teardown
  step open-${i}
    remove seal-${i}
    discard seal-${i}
reassembly
  step close-${i}
    fit seal-${i}
`,
    ]),
  );
  const [one, three] = [folder(files), folder(files)];
  const args = ['check', '--fix', 'u*.fettle', 'u5.fettle', '--format', 'json', '--threads'];
  const [first, second] = [fettle([...args, '1'], { cwd: one }), fettle([...args, '3'], { cwd: three })];
  expect(second).toEqual(first);
  expect(first!.err).toMatch(/\d+ findings mended in 20 files/);
  const all = ['check', 'u*.fettle', '--exit-zero'];
  expect(fettle(all, { cwd: three })).toEqual(fettle(all, { cwd: one }));
});

test('a number of threads that is none is refused', () => {
  const { status, err } = fettle(['check', 'x.fettle', '--threads', '0']);
  expect({ status, err }).toEqual({ status: 2, err: 'fettle: --threads takes a whole number from 1 to 99, not 0\n' });
});

test('threads pay for much text only', () => {
  const file = 24_000;
  expect(threadsFor([], { cores: 8 })).toBe(0);
  expect(threadsFor(Array(20).fill(file), { cores: 8 })).toBe(0);
  expect(threadsFor([1e9], { cores: 8 })).toBe(0);
  expect(threadsFor(Array(1000).fill(file), { cores: 1 })).toBe(1);
  expect(threadsFor(Array(1000).fill(file), { cores: 2 })).toBe(2);
  expect(threadsFor(Array(100_000).fill(file), { cores: 64 })).toBe(8);
});

test('as many threads work as are asked for, and one only where its limit of memory counts', () => {
  const file = 24_000;
  expect(threadsFor(Array(20).fill(file), { asked: 3, cores: 8 })).toBe(3);
  expect(threadsFor(Array(1000).fill(file), { asked: 12, cores: 2 })).toBe(12);
  expect(threadsFor(Array(1000).fill(file), { asked: 1, cores: 8 })).toBe(1);
  expect(threadsFor(Array(20).fill(file), { asked: 1, cores: 8 })).toBe(0);
});

describe('a thread that ends early loses nothing', () => {
  const order: Order = {
    wanted: new Set(['left-off']),
    withRepairs: false,
    withPrints: false,
    withText: false,
    settings: [defaultSettings],
  };
  const names = Array.from({ length: 40 }, (_, i) => `${i % 7 === 0 ? 'own/' : ''}unit-${String(i).padStart(2, '0')}`);
  const jobsIn = (cwd: string): Job[] =>
    names.map((name) => ({ do: 'judge', path: join(cwd, `${name}.fettle`), settings: 0 }));
  /** Fails where the outcomes are not those of one thread. */
  const run = async (start: (order: Order) => Worker, threads = 2) => {
    const jobs = jobsIn(scene());
    const told: string[] = [];
    const outcomes: Outcome[] = [];
    const judge = new Judge(order);
    const here: number[] = [];
    for await (const outcome of outcomesOf(jobs, order, {
      threads,
      start,
      here: (index) => {
        here.push(index);
        return judge.do(jobs[index]!);
      },
      lost: (reason) => told.push(reason),
    }))
      outcomes.push(outcome);
    expect(outcomes).toEqual(jobs.map((job) => new Judge(order).do(job)));
    return { told, here };
  };
  /** A thread that answers as it should until it is sent `unit-12`, and then does `trouble`. */
  const troubled = (trouble: string): ((order: Order) => Worker) => {
    const path = join(folder(), 'thread.mjs');
    writeFileSync(
      path,
      `import { parentPort, workerData } from 'node:worker_threads';
import { Judge } from ${JSON.stringify(join(import.meta.dirname, '../../server/src/cli/judge.ts'))};
const judge = new Judge(workerData);
parentPort.on('message', (sent) => parentPort.postMessage(sent.map(([index, job]) => {
  if (job.path.includes('unit-12')) { ${trouble} }
  return [index, judge.do(job)];
})));`,
    );
    return (workerData) => {
      const worker = new Worker(path, { workerData, resourceLimits: { maxOldGenerationSizeMb: 64 } });
      onTestFinished(() => void worker.terminate());
      return worker;
    };
  };

  test('none does', async () => {
    const { told, here } = await run(startThread(0));
    expect({ told, here }).toEqual({ told: [], here: [] });
  });

  test('one ends', async () => {
    const { told, here } = await run(troubled('process.exit(3)'));
    expect(told).toEqual(['it ended with code 3']);
    expect(here).toContain(12);
  });

  test('one throws outside of a job', async () => {
    const { told } = await run(troubled('throw new Error("out of luck")'));
    expect(told).toEqual(['out of luck']);
  });

  test('a job throws', async () => {
    const { told, here } = await run(troubled('return [index, undefined]'));
    expect({ told, here }).toEqual({ told: [], here: [12] });
  });

  test('none can be started', async () => {
    const { told, here } = await run(() => new Worker('/nowhere.mjs'), 3);
    expect(told).toHaveLength(3);
    expect(here).toHaveLength(40);
  });

  test('one runs out of memory', async () => {
    const { told, here } = await run(troubled('for (const all = [];;) all.push(Array(1e6).fill(0.5))'));
    expect(told).toHaveLength(1);
    expect(here).toContain(12);
  });
});
