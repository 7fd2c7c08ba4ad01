/** One thread of a crew: does the jobs that come in, one by one. */
import { parentPort, workerData } from 'node:worker_threads';
import { keepCompiled } from './compiled.ts';
import type { Answered, Sent } from './crew.ts';
import type { Job, Order, Outcome } from './judge.ts';

keepCompiled();
const { Judge } = await import('./judge.ts');
const judge = new Judge(workerData as Order);
const outcomeOf = (job: Job): Outcome | undefined => {
  try {
    return judge.do(job);
  } catch {
    return undefined;
  }
};
parentPort!.on('message', (sent: Sent) =>
  parentPort!.postMessage(sent.map(([index, job]) => [index, outcomeOf(job)] as const) satisfies Answered),
);
