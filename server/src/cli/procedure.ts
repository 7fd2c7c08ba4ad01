import { defaultSettings, type Settings } from '../checks/check.ts';
import { hiddenText } from '../checks/hidden-text.ts';
import { type Judged, judge } from '../checks/run.ts';
import { joinedInShort } from '../checks/wording.ts';
import { bind, type Model } from '../model/model.ts';
import { isDay } from '../outputs/days.ts';
import { Places } from '../outputs/report.ts';
import { counted, visible } from '../outputs/wording.ts';
import { readProject } from '../project/settings.ts';
import { UsageError } from './command.ts';
import { readInput } from './files.ts';
import { Loader } from './load.ts';
import { namer } from './paths.ts';
import { readProcedure } from './procedure-file.ts';
import { projectFor, settingsIn } from './project.ts';
import { complain } from './streams.ts';

/**
 * The one file that a command works on, or the standard input for `-`, bound and judged. @throws {UsageError} where none, or several, or no readable one is
 * named, or `withSteps` one that holds declarations only.
 */
export async function openProcedure(
  command: string,
  operands: readonly string[],
  { withSteps = false } = {},
): Promise<{ path: string; model: Model; settings: Settings; judged: Judged }> {
  const [path, ...more] = operands;
  if (path === undefined) throw new UsageError(`no file named: write \`fettle ${command} pump.fettle\``);
  if (more.length > 0) throw new UsageError(`one file at a time: run \`fettle ${command}\` once for each`);
  const source = path === '-' ? await readInput(process.stdin) : readProcedure(path);
  if ('reason' in source) throw new UsageError(`${path}: ${source.reason}`);
  const { tree, resolve } = new Loader().open(path, source.text);
  const model = bind(tree, resolve);
  if (withSteps) refuseDeclarations(path, model);
  const project = projectFor(path);
  const settings = project === undefined ? defaultSettings : settingsIn(project, readProject);
  return { path, model, settings, judged: judge(model, settings) };
}

/** What `openProcedure` gives. */
type Opened = Awaited<ReturnType<typeof openProcedure>>;

/** `code`, for which a card, kit or plan is asked. @throws {UsageError} where the procedure does not cover it. */
export function coveredCode(code: string | undefined, { path, model }: Opened): string | undefined {
  if (code !== undefined && !model.codes.includes(code))
    throw new UsageError(`${path} does not apply to ${code}: it names ${joinedInShort(model.codes) || 'no code'}`);
  return code;
}

/** The day of `--start`, of which a time may be given as for a plan. @throws {UsageError} where it is none. */
export function dayOf(text: string | undefined): string | undefined {
  if (text === undefined) return undefined;
  const [day = '', time] = text.split('T');
  if (!isDay(day) || (time !== undefined && !/^\d{2}:\d{2}/.test(time)))
    throw new UsageError(`--start ${text} is no day of the calendar: write it as in 2027-03-01`);
  return day;
}

/** @throws {UsageError} where there is no procedure to tell of. */
export function refuseDeclarations(path: string, { head, steps, piece, tree }: Model): void {
  if (piece)
    throw new UsageError(
      `${path} holds steps for other procedures (\`fettle-shared\`): name a procedure that uses them`,
    );
  if (head === undefined && steps.length === 0) {
    const held = tree.text.trim() === '' ? 'is empty' : 'holds declarations only';
    throw new UsageError(`${path} ${held}: name a file with a \`procedure\``);
  }
}

/**
 * Says on the standard error what may be wrong with what was made of a procedure: characters that nobody sees go on in it, and errors
 * have a `consequence`, said behind their count. The first of each is told with its place.
 */
export function complainOfFindings({ path, model, judged: { findings } }: Opened, consequence: string): void {
  const errors = findings.filter(({ severity }) => severity === 'error');
  const places = new Places(model, namer(path, path));
  for (const finding of new Set([findings.find(({ code }) => code === hiddenText.code), errors[0]])) {
    if (finding === undefined) continue;
    const { file, range } = places.ofSpan(finding.span);
    complain(`${visible(file)}:${range.start.line + 1}:${range.start.character + 1}: ${visible(finding.message)}`);
  }
  if (errors.length > 0)
    complain(`${visible(path)}: ${counted(errors.length, 'error')} in the procedure${consequence}`);
}
