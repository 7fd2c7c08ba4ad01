/**
 * In a process of its own, as a test runner has a heap that moves by itself: tells, as JSON, how many bytes 60 procedures
 * take with their ledgers, and how many of them work on each leaves behind that small garbage collections cannot take.
 */
import { getHeapStatistics, setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { parse } from '../../grammar/parser.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import { type Context, defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
// What it makes among the old at once would be measured, too.
import '../../server/src/engine.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind } from '../../server/src/model/model.ts';
import { procedureOf } from '../bench/procedures.ts';

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as (how?: { type: 'minor' }) => void;
const used = (): number => getHeapStatistics().used_heap_size;

const texts = Array.from({ length: 60 }, (_, i) => procedureOf({ lines: 200, seed: i + 1 }));
const opened = (text: string): Context => {
  const model = bind(parse('file:///unit.fettle', text));
  return { model, ledger: replay(model), settings: defaultSettings };
};

function leftBy(work: (text: string) => unknown): number {
  texts.forEach(work);
  return Math.min(
    ...[1, 2].map(() => {
      collect();
      const before = used();
      for (const text of texts) {
        work(text);
        // What outlives two of them has become old.
        collect({ type: 'minor' });
        collect({ type: 'minor' });
      }
      return used() - before;
    }),
  );
}

texts.forEach(opened);
collect();
const before = used();
const held = texts.map(opened);
collect();
const size = used() - before;
held.length = 0;

process.stdout.write(
  JSON.stringify({
    size,
    left: Object.fromEntries([
      ['model and ledger', leftBy(opened)],
      ['judge', leftBy((text) => judge(bind(parse('file:///unit.fettle', text))))],
      ...allChecks.map((check) => [
        check.code,
        leftBy((text) => {
          const context = opened(text);
          return [...check.run(context), ...(check.runLocally?.(context) ?? [])];
        }),
      ]),
    ]),
  }),
);
