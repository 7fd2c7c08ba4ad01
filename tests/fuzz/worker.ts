/** Runs inputs one by one and says which one it is at, so that one that does not end can be stopped from outside. */
import { parentPort, workerData } from 'node:worker_threads';
import { hostile } from './hostile.ts';
import { type Input, inputAt, randomOf } from './inputs.ts';
import { answersSafely, judgedSafely, watch, writesSafely } from './path.ts';

/** Of every so many inputs one is also made into documents, and one is asked everything that an editor asks. */
const documentsEvery = 16;
const answersEvery = 50;

export interface Job {
  readonly seed: number;
  /** First input, and how far to the next one of this worker. */
  readonly from: number;
  readonly step: number;
  readonly until: number;
  /** Length of the hostile inputs; absent where the job is random inputs. */
  readonly size?: number;
  /** The input at work, and its stage, counted. */
  readonly state: Int32Array;
}
/** What a worker tells: its counts now and then, each failure, each stage's name once. */
export type Told =
  | { readonly counts: Readonly<Record<string, number>> }
  | { readonly failure: string; readonly n: number; readonly input: Input; readonly reduced: string }
  | { readonly stage: string; readonly id: number };

export const inputOf = ({ seed, size }: Pick<Job, 'seed' | 'size'>, n: number): Input => {
  if (size === undefined) return inputAt(seed, n);
  const [kind, make] = Object.entries(hostile)[n]!;
  return { kind, text: make(size) };
};

async function run(job: Job, tell: (told: Told) => void): Promise<void> {
  const { state } = job;
  const ids = new Map<string, number>();
  watch.begin = (stage) => {
    let id = ids.get(stage);
    if (id === undefined) {
      id = ids.size;
      ids.set(stage, id);
      tell({ stage, id });
    }
    Atomics.store(state, 1, id);
    Atomics.add(state, 2, 1);
  };
  const everything = async (text: string, n: number): Promise<string[]> => {
    const did = ['judged'];
    const random = randomOf(n);
    const { model, judged } = judgedSafely(text);
    if (job.size !== undefined || n % documentsEvery === 0) {
      writesSafely(text, model, judged, random);
      did.push('made into documents');
    }
    if (job.size !== undefined || n % answersEvery === 0) {
      await answersSafely(text, ['"', '\n', 'x', ' end ', 'step s\n', ''][random(6)]!, random);
      did.push('asked by an editor');
    }
    return did;
  };
  const failureOf = async (text: string, n: number): Promise<string | undefined> =>
    everything(text, n).then(
      () => undefined,
      (error: Error) => `${watch.stage}: ${error.message}\n${error.stack?.split('\n').slice(1, 6).join('\n') ?? ''}`,
    );
  let counts: Record<string, number> = {};
  let last = Date.now();
  for (let n = job.from; n < job.until; n += job.step) {
    Atomics.store(state, 0, n);
    const input = inputOf(job, n);
    try {
      for (const what of await everything(input.text, n)) counts[what] = (counts[what] ?? 0) + 1;
      counts[input.kind] = (counts[input.kind] ?? 0) + 1;
    } catch {
      const failure = (await failureOf(input.text, n))!;
      const reduced =
        job.size === undefined
          ? await reduce(input.text, async (text) => sameKind(await failureOf(text, n), failure))
          : '';
      tell({ failure, n, input, reduced });
    }
    if (Date.now() - last > 500) {
      tell({ counts });
      counts = {};
      last = Date.now();
    }
  }
  Atomics.store(state, 0, -1);
  tell({ counts });
}

/** Both at one place in the source. */
const sameKind = (a: string | undefined, b: string): boolean => a?.split('\n')[1] === b.split('\n')[1];

/** Fewer and fewer lines, then words, that fail alike. */
async function reduce(text: string, fails: (text: string) => Promise<boolean>): Promise<string> {
  let best = text;
  for (const cut of [/(?<=\n)/, /(?<=\s)/]) {
    for (let size = 8; size >= 1; size >>= 1) {
      let pieces = best.split(cut);
      for (let i = 0; i < pieces.length; ) {
        const fewer = [...pieces.slice(0, i), ...pieces.slice(i + size)];
        if (await fails(fewer.join(''))) pieces = fewer;
        else i += size;
      }
      best = pieces.join('');
    }
  }
  return best;
}

if (parentPort !== null) await run(workerData as Job, (told) => parentPort!.postMessage(told));
