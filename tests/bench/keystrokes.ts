/**
 * In a process of its own, with the flags that the server has: what one keystroke in 10,000 lines takes to findings ready,
 * beside a fresh reading, and what the slowest of many takes. Tells its figures as JSON.
 */
import '../../server/src/engine.ts';
import { parse } from '../../grammar/parser.ts';
import { after, behind, fresh, typing } from './core.ts';
import { median, medians } from './measure.ts';
import { procedureOf, sharedSteps, taking } from './procedures.ts';

const text = procedureOf({ lines: 10_000 });
const works = {
  Text: typing(text, 'clean shaft-80 "Bare metal', 'x'),
  Name: typing(text, '    remove gasket-80', '0'),
  Count: typing(text, '    fit cover-bolt-80 x', '1'),
  TitleOfPart: typing(text, 'part cover-80 "Cover', 's'),
  CountOfPart: typing(text, 'part cover-bolt-80 x', '1'),
  TitleOfProcedure: typing(text, 'procedure big-unit "Overhaul', 's'),
  CodeOfHead: typing(text, 'applies to BU-1', '1'),
  RangeOfTool: typing(text, 'range 5..100', '0'),
  NewStep: typing(text, 'no burrs"\n\n', '  step look-80 "Look"\n    inspect shaft-80\n'),
};
const figures: Record<string, number> = {};
const times = await medians({ fresh: () => fresh(text), ...works }, { each: 10 });
for (const name of Object.keys(works) as (keyof typeof works)[]) {
  figures[`keystrokeIn${name}Ms10k`] = times[name];
  figures[`keystrokeIn${name}VsFresh10k`] = times[name] / times.fresh;
}
figures['keystrokeMs10k'] = times.Text;
figures['keystrokeVsFresh10k'] = times.Text / times.fresh;

// On a line of its own; written letter by letter it stands half done at nearly each of them, and a part is called otherwise by each.
const written = {
  Statement: ['    remove gasket-80\n', '    remove shaft-80 x2 "Straight up" using torque-wrench'],
  Declaration: [' held by cover-bolt-80\n', 'part dowel-80 x2 "Dowel 80" behind cover-80'],
} as const;
for (const [name, [place, letters]] of Object.entries(written)) {
  const each: number[] = [];
  for (let round = 0; round < 6; round++) {
    let at = behind(text, place);
    let now = after(fresh(text), { start: at, end: at, text: '\n' });
    for (const letter of letters) {
      const from = performance.now();
      now = after(now, { start: at, end: at, text: letter });
      // The first round makes what the others find made.
      if (round > 0) each.push(performance.now() - from);
      at += letter.length;
    }
  }
  figures[`letterOf${name}Ms10k`] = median(each);
  figures[`letterOf${name}VsFresh10k`] = median(each) / times.fresh;
}

// What is taken in stands at hand in every edit.
const shared = parse('file:///shared.fettle', sharedSteps);
const resolve = (): typeof shared => shared;
const taker = taking(text);
const dowel = 'part dowel-80 "Dowel 80"\n';
const besideShared = await medians(
  {
    fresh: () => fresh(taker, resolve),
    NewStep: typing(taker, 'no burrs"\n\n', '  step look-80 "Look"\n    inspect shaft-80\n', resolve),
    NewDeclaration: typing(taker, ' held by cover-bolt-80\n', dowel, resolve),
    NameOfDeclaration: typing(
      taker.replace(/^part cover-80 .*\n/m, (line) => line + dowel),
      'part dowel',
      's',
      resolve,
    ),
  },
  { each: 10 },
);
for (const name of ['NewStep', 'NewDeclaration', 'NameOfDeclaration'] as const) {
  figures[`keystrokeIn${name}BesideSharedMs10k`] = besideShared[name];
  figures[`keystrokeIn${name}BesideSharedVsFresh10k`] = besideShared[name] / besideShared.fresh;
}

// A part that every step acts on: each has to be replayed, and none of them looked for among all.
const steps = Array.from({ length: 20_000 }, (_, i) => `  step s-${i}\n    loosen bolt\n`);
const crowded = `procedure unit "Unit"\npart bolt "Bolt"\nteardown\n${steps.join('')}`;
const crowd = await medians({ fresh: () => fresh(crowded), count: typing(crowded, 'part bolt', ' x2') }, { each: 2 });
figures['keystrokeInPartOfEveryStepVsFresh20kSteps'] = crowd.count / crowd.fresh;

// A row as of an hour's typing: what collections add shows in the slowest.
const row = 2000;
for (const name of ['Text', 'Count'] as const) {
  const each: number[] = [];
  for (let i = 0; i < row; i++) {
    const start = performance.now();
    works[name]();
    each.push(performance.now() - start);
  }
  figures[`keystrokeIn${name}P99Ms10k`] = each.sort((a, b) => a - b)[Math.floor(row * 0.99)]!;
}
process.stdout.write(JSON.stringify(figures));
