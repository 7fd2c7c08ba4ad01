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
// Each length as often as it takes to read as many lines, by turns: so all pay alike for what the collector does
// and for what else the machine has to do.
const lengths = [100, 1000, 10_000, 100_000];
const texts = new Map(lengths.map((length) => [length, procedureOf({ lines: length })]));
const timesOf = (length: number): number => 1e5 / length;
const freshMs = await medians(
  Object.fromEntries(
    [...texts].map(([length, text]) => [
      length,
      () => {
        for (let i = 0; i < timesOf(length); i++) fresh(text);
      },
    ]),
  ),
  { rounds: 20, each: 1 },
);
for (const [length, text] of texts)
  microsecondsPerLine[length] = (freshMs[length]! / (linesOf(text) * timesOf(length))) * 1000;
// A million lines take gigabytes: only when asked for.
if (process.argv.includes('--large')) {
  const text = procedureOf({ lines: 1e6 });
  const { work } = await medians({ work: () => fresh(text) }, { rounds: 1, each: 1 });
  microsecondsPerLine[1e6] = (work / linesOf(text)) * 1000;
}
for (const [length, value] of Object.entries(microsecondsPerLine))
  figures[`microsecondsPerLine1e${Math.log10(Number(length))}`] = value;
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
  const times = 100;
  const neighbourMs = await medians(
    {
      short: async () => {
        for (let i = 0; i < times; i++) await judge(short);
      },
      long: () => judge(long),
    },
    { rounds: 3, each: 1 },
  );
  figures[`perLineGrowth${name}1kTo100k`] =
    neighbourMs.long / linesOf(long) / (neighbourMs.short / (linesOf(short) * times));
}
const worst = [20, 80].map((n) => adversarial(n, n));
const worstMs = await medians({ small: () => fresh(worst[0]!), large: () => fresh(worst[1]!) }, { each: 4 });
figures['perStatementGrowthAdversarial'] = worstMs.large / worstMs.small / (80 / 20) ** 2;
process.stdout.write(JSON.stringify(figures));
