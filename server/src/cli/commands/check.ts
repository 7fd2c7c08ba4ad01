import { githubWriter } from '../../outputs/github.ts';
import { jsonWriter } from '../../outputs/json.ts';
import { junitWriter } from '../../outputs/junit.ts';
import type { Writer } from '../../outputs/report.ts';
import { textWriter } from '../../outputs/text.ts';
import { counted, visible } from '../../outputs/wording.ts';
import { openCache } from '../cache.ts';
import { type Arguments, type Command, exit, UsageError, unknown } from '../command.ts';
import { type CrewOptions, outcomesOf, startThread, threadsFor } from '../crew.ts';
import { filesOf, readInput, sizeOf, type Unusable } from '../files.ts';
import type { Mended } from '../fix.ts';
import type { Entangled, Job, Judge, Opinion, Order, Outcome } from '../judge.ts';
import { realPath, uriOf } from '../paths.ts';
import { Progress } from '../progress.ts';
import { Projects } from '../project.ts';
import { Review } from '../review.ts';
import { complain, faultOf, terminal, write } from '../streams.ts';
import { version } from '../version.ts';

// What knows the language and its checks is loaded where it is needed: beside threads, the main one does without it.
const allChecks = async () => (await import('../../checks/all.ts')).allChecks;

const writers: Readonly<Record<string, (args: Arguments) => Writer | Promise<Writer>>> = {
  text: (args) => textWriter({ ...terminal(), quiet: args.has('quiet') }),
  json: jsonWriter,
  sarif: async () => {
    const { sarifWriter } = await import('../../outputs/sarif.ts');
    return sarifWriter({ version: version(), checks: await allChecks(), uriOf });
  },
  junit: junitWriter,
  github: githubWriter,
};
const formats = Object.keys(writers);

export const check: Command = {
  name: 'check',
  summary: 'Replays each procedure part by part and reports what is wrong in it',
  operands: 'FILE…',
  options: {
    format: { value: formats.join('|'), choices: formats, help: 'How findings are written (text)' },
    only: { value: 'CODE', multiple: true, help: 'Report these checks alone; several as in `left-off,no-torque`' },
    off: { value: 'CODE', multiple: true, help: 'Leave these checks out' },
    baseline: { value: 'FILE', help: 'Leave out the findings that FILE knows, wherever their lines have moved' },
    'write-baseline': { value: 'FILE', help: 'Write all findings into FILE as known, and report none' },
    'changed-since': {
      value: 'REV',
      help: 'Only files that changed since this revision of git, or that use one, or whose fettle.json changed',
    },
    fix: { help: 'Make the repairs that are safe, again and again until none is left, then check' },
    'max-warnings': { value: 'N', help: 'End with 1 where there are more warnings than N' },
    cache: {
      value: 'FOLDER',
      help: 'Keep findings in this folder, and take those of files that are as they were; it may be deleted at any time',
    },
    threads: { value: 'N', help: 'Check so many files at a time; without, as many as pay on this machine' },
    quiet: { help: 'In text: errors alone, without the closing lines' },
    'stdin-name': { value: 'NAME', help: 'The name and folder of what comes in by `-`' },
    'exit-zero': { help: 'End with 0 although errors were found' },
  },
  details: [
    'A FILE may be a pattern, as in "jobs/**/*.fettle", or a folder, for all *.fettle in it; `-` is read from the standard input.',
    'Settings come from the nearest fettle.json, in the folder of each file or above it.',
    'Files behind `use` are looked for from the file that names them.',
    'Lines and columns count from 1; in json from 0. Columns are UTF-16 units.',
    'sarif is SARIF 2.1.0, junit the XML that CI servers read, github one annotation a line for a pull request.',
    'Ends with 0 where no error was found, 1 where one was, 2 where a file could not be used (the others are checked).',
  ],
  example: 'fettle check samples/winch-reducer.fettle samples/gear-pump.fettle',
  async run(args) {
    if (args.operands.length === 0)
      throw new UsageError('no file to check: name one, as in `fettle check pump.fettle`');
    const inputs = args.operands.filter((name) => name === '-').length;
    if (inputs > 1) throw new UsageError('`-` stands twice, but there is one standard input');
    if (args.has('stdin-name') && inputs === 0) throw new UsageError('--stdin-name needs `-` among the files');
    const wanted = await codesOf(args);
    const allowedWarnings = numberOf(args.one('max-warnings'));
    const review = await Review.of(args);
    const writer = await writers[args.one('format') ?? 'text']!(args);
    const nameOf = (operand: string): string => (operand === '-' ? (args.one('stdin-name') ?? '-') : operand);
    let operands = args.operands.flatMap(filesOf);
    const projects = new Projects();
    const wish = {
      ...(wanted === undefined ? {} : { wanted }),
      withRepairs: args.one('format') === 'sarif',
      withPrints: review.wantsPrints,
      withText: (args.one('format') ?? 'text') === 'text',
    };
    const folder = args.one('cache');
    const cache =
      folder === undefined ? undefined : openCache(folder, [wanted && [...wanted], wish.withRepairs, wish.withPrints]);
    // A project file that cannot be used is told before anything is written.
    for (const operand of operands) await projects.settingsFor(nameOf(operand));
    const since = args.one('changed-since');
    if (since !== undefined) {
      const { changedSince } = await import('../changed.ts');
      const { Loader } = await import('../load.ts');
      operands = changedSince(since, operands, new Loader());
    }
    const total = { error: 0, warning: 0, information: 0, hint: 0 };
    let unusable = false;
    const progress = new Progress(operands.length);
    const tell = async (text: string): Promise<void> => {
      if (text !== '') progress.clear();
      await write(text);
    };
    const refuse = async (name: string, reason: string): Promise<void> => {
      unusable = true;
      progress.clear();
      complain(`${visible(name)}: ${reason}`);
      await tell(writer.unusable(name, reason));
    };
    await tell(writer.opening);
    const order: Order = { ...wish, settings: projects.all, ...(cache === undefined ? {} : { cache }) };
    const sizes = operands.map((operand) => (operand === '-' ? 0 : sizeOf(operand)));
    const threads = threadsFor(sizes, { asked: args.has('threads') ? threadsOf(args.one('threads')!) : 0 });
    const start = startThread(Math.max(0, ...sizes));
    const lost = (reason: string): void => {
      progress.clear();
      complain(`a thread of work ended early (${reason}): the files that it had in hand are worked on without it`);
    };
    const refused = new Set<string>();
    // All of them first: a file that is used shows in the findings of others.
    if (args.has('fix')) {
      const fix = fixesOf(operands, order, projects, { threads, start, lost });
      for (const [i, operand] of operands.entries()) {
        progress.at(i);
        const outcome = (await fix.next()).value;
        if (typeof outcome === 'number') review.fixed(outcome);
        else {
          refused.add(operand);
          await refuse(operand, outcome.reason);
        }
      }
      await fix.return(undefined);
    }
    const rest = operands.filter((operand) => !refused.has(operand));
    const jobs: (Job | undefined)[] = [];
    for (const path of rest)
      jobs.push(path === '-' ? undefined : { do: 'judge', path, settings: await projects.placeFor(path) });
    let own: Judge | undefined;
    const here = async (i: number): Promise<Outcome> => {
      try {
        own ??= new (await import('../judge.ts')).Judge(order);
        const job = jobs[i];
        if (job !== undefined) return own.do(job);
        const source = await readInput(process.stdin);
        return 'reason' in source ? source : own.judge(nameOf('-'), source, await projects.settingsFor(nameOf('-')));
      } catch (error) {
        return { reason: faultOf(error) };
      }
    };
    const outcomes = outcomesOf(jobs, order, { threads, start, here, lost });
    for (const [i, operand] of rest.entries()) {
      progress.at(i);
      const name = nameOf(operand);
      const outcome = (await outcomes.next()).value as Opinion | Unusable;
      if ('reason' in outcome) {
        await refuse(name, outcome.reason);
        continue;
      }
      // Most likely what should have written it failed: that must not pass for a procedure without faults.
      if (outcome.blank) {
        progress.clear();
        complain(`${visible(name)}: is empty, so there was nothing to check: look at what was to write it`);
      }
      const told = review.leaves(name, outcome.findings, outcome.prints);
      for (const { severity } of told) total[severity]++;
      await tell(writer.file({ file: name, findings: told }, outcome.text));
    }
    await outcomes.return(undefined);
    await tell(writer.closing(total, review.withheld));
    progress.clear();
    if (!review.close(args.has('quiet'))) unusable = true;
    if (unusable) return exit.unusable;
    const tooMany = total.warning > allowedWarnings;
    if (tooMany) complain(`${counted(total.warning, 'warning')}, and --max-warnings allows ${allowedWarnings}`);
    return (total.error > 0 || tooMany) && !args.has('exit-zero') ? exit.found : exit.well;
  },
};

/**
 * Mends the files one after the other, and gives what {@link fixFile} gives for each. What the crew makes of a file rests on
 * that file alone; one that uses others, or is named twice, is mended here when its turn comes.
 */
async function* fixesOf(
  operands: readonly string[],
  order: Order,
  projects: Projects,
  crew: Omit<CrewOptions, 'here'>,
): AsyncGenerator<number | Unusable> {
  const seen = new Set<string>();
  const jobs: (Job | undefined)[] = [];
  for (const path of operands) {
    const real = realPath(path);
    jobs.push(seen.has(real) ? undefined : { do: 'mend', path, settings: await projects.placeFor(path) });
    seen.add(real);
  }
  const { fixFile, writeMended } = await import('../fix.ts');
  const outcomes = outcomesOf(jobs, order, { ...crew, here: () => ({ uses: true }) });
  try {
    for (const operand of operands) {
      const outcome = (await outcomes.next()).value as Mended | Entangled | Unusable;
      try {
        if ('uses' in outcome) yield fixFile(operand, await projects.settingsFor(operand), order.wanted);
        else yield 'reason' in outcome ? outcome : writeMended(operand, outcome);
      } catch (error) {
        yield { reason: faultOf(error) };
      }
    }
  } finally {
    await outcomes.return(undefined);
  }
}

/** @throws {UsageError} */
function threadsOf(count: string): number {
  if (!/^[1-9]\d?$/.test(count)) throw new UsageError(`--threads takes a whole number from 1 to 99, not ${count}`);
  return Number(count);
}

/** What --only and --off leave; nothing where neither stands. @throws {UsageError} */
async function codesOf(args: Arguments): Promise<Set<string> | undefined> {
  if (!args.has('only') && !args.has('off')) return undefined;
  const all = (await allChecks()).map(({ code }) => code);
  for (const option of ['only', 'off'])
    for (const code of args.all(option))
      if (!all.includes(code)) throw new UsageError(unknown('check', code, all, 'fettle explain'));
  const only = args.has('only') ? args.all('only') : all;
  const off = args.all('off');
  const left = only.filter((code) => !off.includes(code));
  if (left.length === 0)
    throw new UsageError('--only and --off leave no check to run: name one, as in --only left-off');
  return new Set(left);
}

/** @throws {UsageError} */
function numberOf(count: string | undefined): number {
  if (count === undefined) return Number.POSITIVE_INFINITY;
  if (!/^\d+$/.test(count)) throw new UsageError(`--max-warnings takes a whole number, not ${count}`);
  return Number(count);
}
