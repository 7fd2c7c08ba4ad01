/**
 * In a process of its own, with the flags that the server has: how the time a line grows with a file's length, here and
 * beside other services, and with the statements where every step touches every part. Tells its figures as JSON.
 */
import '../../server/src/engine.ts';
import { fresh } from './core.ts';
import { medians } from './measure.ts';
import { cssOf, jsonOf, judgeCss, judgeJson } from './neighbours.ts';
import { adversarial, procedureOf } from './procedures.ts';

const figures: Record<string, number> = {};
const linesOf = (text: string): number => text.split('\n').length;
const microsecondsPerLine: Record<number, number> = {};
// Short files would be timed before the engine has compiled what long ones run.
const warm = procedureOf({ lines: 10_000 });
for (let i = 0; i < 60; i++) fresh(warm);
// A million lines take gigabytes: only when asked for.
for (const size of [100, 1000, 10_000, 100_000, ...(process.argv.includes('--large') ? [1_000_000] : [])]) {
  const text = procedureOf({ lines: size });
  const { work } = await medians(
    { work: () => fresh(text) },
    size < 1e5 ? {} : { rounds: 1, each: size < 1e6 ? 20 : 1 },
  );
  microsecondsPerLine[size] = (work / linesOf(text)) * 1000;
  figures[`microsecondsPerLine1e${Math.log10(size)}`] = microsecondsPerLine[size];
}
figures['perLineGrowth1kTo100k'] = microsecondsPerLine[100_000]! / microsecondsPerLine[1000]!;

// As many lines in all, and as much of it kept: what of the growth comes of keeping, not of length.
const files = Array.from({ length: 100 }, (_, i) => procedureOf({ lines: 1000, seed: i + 1 }));
const { work } = await medians({ work: () => files.map((file) => fresh(file)) }, { rounds: 1, each: 20 });
figures['microsecondsPerLine100FilesOf1e3Kept'] = (work / files.reduce((sum, text) => sum + linesOf(text), 0)) * 1000;

for (const [name, textOf, judge] of [
  ['Json', jsonOf, judgeJson],
  ['Css', cssOf, judgeCss],
] as const) {
  const [short, middling, long] = [textOf(1000), textOf(10_000), textOf(100_000)];
  for (let i = 0; i < 20; i++) await judge(middling);
  const quick = await medians({ work: () => judge(short) });
  const slow = await medians({ work: () => judge(long) }, { rounds: 1, each: 3 });
  figures[`perLineGrowth${name}1kTo100k`] = slow.work / linesOf(long) / (quick.work / linesOf(short));
}
const worst = [20, 80].map((n) => adversarial(n, n));
const ms = await medians({ small: () => fresh(worst[0]!), large: () => fresh(worst[1]!) }, { each: 4 });
figures['perStatementGrowthAdversarial'] = ms.large / ms.small / (80 / 20) ** 2;
process.stdout.write(JSON.stringify(figures));
