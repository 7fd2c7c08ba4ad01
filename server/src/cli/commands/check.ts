import { allChecks, checkOf } from '../../checks/all.ts';
import type { Finding, Repair } from '../../checks/check.ts';
import { faultCode, judge } from '../../checks/run.ts';
import { bind } from '../../model/model.ts';
import { githubWriter } from '../../outputs/github.ts';
import { jsonWriter } from '../../outputs/json.ts';
import { junitWriter } from '../../outputs/junit.ts';
import { Places, reported, type Writer } from '../../outputs/report.ts';
import { sarifWriter } from '../../outputs/sarif.ts';
import { counted, textWriter, visible } from '../../outputs/text.ts';
import { changedSince } from '../changed.ts';
import { type Arguments, type Command, exit, UsageError, unknown } from '../command.ts';
import { filesOf, readInput, readSource } from '../files.ts';
import { fixFile } from '../fix.ts';
import { Loader, namer, uriOf } from '../load.ts';
import { Progress } from '../progress.ts';
import { Projects } from '../project.ts';
import { Review } from '../review.ts';
import { complain, faultOf, terminal, write } from '../streams.ts';
import { version } from '../version.ts';

const writers: Readonly<Record<string, (args: Arguments) => Writer>> = {
  text: (args) => textWriter({ ...terminal(), quiet: args.has('quiet') }),
  json: jsonWriter,
  sarif: () => sarifWriter({ version: version(), checks: allChecks, uriOf }),
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
    quiet: { help: 'In text: errors alone, without the closing lines' },
    'stdin-name': { value: 'NAME', help: 'The name and folder of what comes in by `-`' },
    'exit-zero': { help: 'End with 0 although errors were found' },
  },
  details: [
    'A FILE may be a pattern, as in "jobs/**/*.fettle"; `-` is read from the standard input.',
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
    const wanted = codesOf(args);
    const allowedWarnings = numberOf(args.one('max-warnings'));
    const review = new Review(args);
    const writer = writers[args.one('format') ?? 'text']!(args);
    const nameOf = (operand: string): string => (operand === '-' ? (args.one('stdin-name') ?? '-') : operand);
    let operands = args.operands.flatMap(filesOf);
    const projects = new Projects();
    // A project file that cannot be used is told before anything is written.
    for (const operand of operands) projects.settingsFor(nameOf(operand));
    const since = args.one('changed-since');
    if (since !== undefined) operands = changedSince(since, operands, new Loader());
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
    const refused = new Set<string>();
    // All of them first: a file that is used shows in the findings of others.
    for (const [i, operand] of args.has('fix') ? operands.entries() : []) {
      progress.at(i);
      let outcome: ReturnType<typeof fixFile>;
      try {
        outcome = fixFile(operand, projects.settingsFor(operand), wanted);
      } catch (error) {
        outcome = { reason: faultOf(error) };
      }
      if (typeof outcome === 'number') review.fixed(outcome);
      else {
        refused.add(operand);
        await refuse(operand, outcome.reason);
      }
    }
    const loader = new Loader();
    for (const [i, operand] of operands.entries()) {
      if (refused.has(operand)) continue;
      progress.at(i);
      const name = nameOf(operand);
      const source = operand === '-' ? await readInput(process.stdin) : readSource(operand);
      if ('reason' in source) {
        await refuse(name, source.reason);
        continue;
      }
      try {
        const { tree, resolve } = loader.open(name, source.text);
        const model = bind(tree, resolve);
        const settings = projects.settingsFor(name);
        const { ledger, findings } = judge(model, settings);
        const context = { model, ledger, settings };
        const told = review.leaves(
          name,
          model,
          findings.filter(({ code }) => wanted.has(code) || code === faultCode),
        );
        const places = new Places(model, namer(name, name));
        const repairsOf = (finding: Finding): Repair[] =>
          args.one('format') === 'sarif' ? (checkOf(finding.code)?.repairs?.(finding, context) ?? []) : [];
        for (const { severity } of told) total[severity]++;
        const report = { file: name, findings: told.map((each) => reported(each, places, repairsOf(each))) };
        await tell(writer.file(report, source.text));
      } catch (error) {
        await refuse(name, faultOf(error));
      }
    }
    await tell(writer.closing(total));
    progress.clear();
    if (!review.close(args.has('quiet'))) unusable = true;
    if (unusable) return exit.unusable;
    const tooMany = total.warning > allowedWarnings;
    if (tooMany) complain(`${counted(total.warning, 'warning')}, and --max-warnings allows ${allowedWarnings}`);
    return (total.error > 0 || tooMany) && !args.has('exit-zero') ? exit.found : exit.well;
  },
};

/** What --only and --off leave. @throws {UsageError} */
function codesOf(args: Arguments): Set<string> {
  const all = allChecks.map(({ code }) => code);
  for (const option of ['only', 'off'])
    for (const code of args.all(option))
      if (!all.includes(code)) throw new UsageError(unknown('check', code, all, 'fettle explain'));
  const only = args.has('only') ? args.all('only') : all;
  const off = args.all('off');
  return new Set(only.filter((code) => !off.includes(code)));
}

/** @throws {UsageError} */
function numberOf(count: string | undefined): number {
  if (count === undefined) return Number.POSITIVE_INFINITY;
  if (!/^\d+$/.test(count)) throw new UsageError(`--max-warnings takes a whole number, not ${count}`);
  return Number(count);
}
