import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { expect, test } from 'vitest';
import { typing } from '../bench/core.ts';
import { procedureOf } from '../bench/procedures.ts';

// Small collections are cheap as long as they find nothing alive of files that nobody has in hand any more.
test('of a file that was judged nothing waits for a full garbage collection', { timeout: 600_000 }, () => {
  const script = join(import.meta.dirname, 'left-behind-by-work.ts');
  const { size, left } = JSON.parse(execFileSync(process.execPath, [script], { encoding: 'utf8' })) as {
    size: number;
    left: Record<string, number>;
  };
  expect(size).toBeGreaterThan(1e6);
  expect(Object.keys(left).length).toBeGreaterThan(50);
  expect(Object.entries(left).filter(([, bytes]) => bytes > size / 4)).toEqual([]);
});

test('of the texts between the first and the last nothing is kept by either', async () => {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  const text = procedureOf({ lines: 300 });
  // Each way what is carried over: words, what a step acts on, what a part is declared as, its name, a line more.
  const edits = [
    ['"Bare metal', 'x'],
    ['remove gasket-2', '0'],
    ['part cover-2 "Cover', 's'],
    ['part cover-bolt-2 x', '1'],
    ['part shaft-2', 'x'],
    ['  step open-2 "Open cover 2" takes 30 min\n', '    do "Look."\n'],
  ] as const;
  const runs = edits.map(([place, letters]) => {
    const type = typing(text, place, letters);
    const first = type().ledger;
    let { tree } = first.model;
    const seen: WeakRef<object>[] = [];
    for (let i = 0; i < 10; i++) {
      const before = new Set(tree.chunks);
      if (i > 0) seen.push(new WeakRef(tree));
      tree = type().ledger.model.tree;
      for (const chunk of tree.chunks) if (!before.has(chunk)) seen.push(new WeakRef(chunk));
    }
    return { type, first, tree, seen };
  });
  const kept = (): number =>
    runs.reduce((sum, { first, tree, seen }) => {
      const inHand = new Set<unknown>([...tree.chunks, ...first.model.tree.chunks]);
      return sum + seen.map((each) => each.deref()).filter((each) => each !== undefined && !inHand.has(each)).length;
    }, 0);
  expect(Math.min(...runs.map(({ seen }) => seen.length))).toBeGreaterThan(15);
  // What is looked at in one turn lives to the end of it, and what the engine is compiling a little longer.
  for (let turns = 0; turns < 500; turns++) {
    await setTimeout(10);
    collect();
    if (kept() === 0) break;
  }
  expect(kept()).toBe(0);
  for (const { type } of runs) expect(type().findings).toBeDefined();
});
