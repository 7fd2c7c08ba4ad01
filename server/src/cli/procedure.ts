import { defaultSettings, type Finding, type Settings } from '../checks/check.ts';
import { type Judged, judge } from '../checks/run.ts';
import { bind, type Model } from '../model/model.ts';
import { readProject } from '../project/settings.ts';
import { UsageError } from './command.ts';
import { readSource } from './files.ts';
import { Loader } from './load.ts';
import { projectFor, settingsIn } from './project.ts';
import { complain } from './streams.ts';

/**
 * The one file that a command works on, bound and judged. @throws {UsageError} where none, or several, or no readable one is
 * named, or `withSteps` one that holds declarations only.
 */
export function openProcedure(
  command: string,
  operands: readonly string[],
  { withSteps = false } = {},
): { path: string; model: Model; settings: Settings; judged: Judged } {
  const [path, ...more] = operands;
  if (path === undefined) throw new UsageError(`no file named: write \`fettle ${command} pump.fettle\``);
  if (more.length > 0) throw new UsageError(`one file at a time: run \`fettle ${command}\` once for each`);
  const source = readSource(path);
  if ('reason' in source) throw new UsageError(`${path}: ${source.reason}`);
  const { tree, resolve } = new Loader().open(path, source.text);
  const model = bind(tree, resolve);
  if (withSteps) refuseDeclarations(path, model);
  const project = projectFor(path);
  const settings = project === undefined ? defaultSettings : settingsIn(project, readProject);
  return { path, model, settings, judged: judge(model, settings) };
}

/** @throws {UsageError} where there is no procedure to tell of. */
export function refuseDeclarations(path: string, { head, steps, piece }: Model): void {
  if (piece)
    throw new UsageError(
      `${path} holds steps for other procedures (\`fettle-shared\`): name a procedure that uses them`,
    );
  if (head === undefined && steps.length === 0)
    throw new UsageError(`${path} holds declarations only: name a file with a \`procedure\``);
}

/** Says on the standard error that what was made of a procedure with errors may not be whole. */
export function complainOfErrors(path: string, findings: readonly Finding[], what: string): void {
  const errors = findings.filter(({ severity }) => severity === 'error').length;
  if (errors > 0)
    complain(
      `${path}: ${errors} error${errors === 1 ? '' : 's'} in the procedure, so ${what} may lack something: run \`fettle check\``,
    );
}
