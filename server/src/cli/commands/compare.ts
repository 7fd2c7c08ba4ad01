import { existsSync } from 'node:fs';
import type { Settings } from '../../checks/check.ts';
import { judge } from '../../checks/run.ts';
import { bind } from '../../model/model.ts';
import { hanging } from '../../outputs/columns.ts';
import { compare } from '../../outputs/compare.ts';
import type { Version } from '../../outputs/compare-changes.ts';
import type { Place } from '../../outputs/compare-place.ts';
import { compareText } from '../../outputs/compare-text.ts';
import { caution, visible } from '../../outputs/wording.ts';
import { type Command, exit, UsageError } from '../command.ts';
import { Revision } from '../git.ts';
import { Loader } from '../load.ts';
import { namer } from '../paths.ts';
import { readProcedure } from '../procedure-file.ts';
import { Projects } from '../project.ts';
import { lineWidth, write } from '../streams.ts';

const formats = ['text', 'json'];

export const compareVersions: Command = {
  name: 'compare',
  summary: 'Tells what changed in the job itself between two versions, not in the text',
  operands: 'OLD NEW',
  options: {
    format: { value: formats.join('|'), choices: formats, help: 'text (the default) or json' },
    'exit-zero': { help: 'End with 0 although safety messages or torques changed' },
  },
  details: [
    'OLD and NEW are files, or files at a revision of git as in HEAD:pump.fettle; FILE counts from the working folder.',
    'Torques, counts, orders, steps moved, added or gone, parts renewed, safety messages, limits, supplies, tools, the',
    'length of the plan, and findings. Layout, comments and the order of declarations are no change.',
    'Ends with 1 where a safety message or a torque changed, so that a review can be required; else with 0.',
  ],
  example: 'fettle compare --exit-zero samples/faulty/winch-reducer.fettle samples/winch-reducer.fettle',
  async run(args) {
    const [old, now, ...more] = args.operands;
    if (old === undefined || now === undefined || more.length > 0)
      throw new UsageError('two versions are compared: `fettle compare HEAD:pump.fettle pump.fettle`');
    // Both by today's settings: what differs is the job, not the yardstick.
    const settings = await new Projects().settingsFor(splitRevision(now)?.file ?? now);
    const [before, after] = [versionOf(old, settings), versionOf(now, settings)];
    const comparison = compare(before.version, after.version);
    if (args.one('format') === 'json') {
      const placed = <T extends { readonly place: Place | undefined }>(list: readonly T[]) =>
        list.map(({ place, ...each }) => ({
          ...each,
          place: place && {
            version: place.version,
            file: (place.version === 'old' ? before : after).nameOf(place.uri),
            line: place.line,
          },
        }));
      const { changes, findings, allowed } = comparison;
      const report = {
        old,
        new: now,
        ...comparison,
        changes: placed(changes),
        findings: { added: placed(findings.added), gone: placed(findings.gone) },
        allowed: { added: placed(allowed.added), gone: placed(allowed.gone) },
        caution,
      };
      await write(`${JSON.stringify(report, undefined, 2)}\n`);
    } else {
      const width = lineWidth();
      await write(
        `${visible(old)} → ${visible(now)}\n\n${compareText(comparison, width)}\n${hanging('', caution, width)}\n`,
      );
    }
    return comparison.review && !args.has('exit-zero') ? exit.found : exit.well;
  },
};

/** `HEAD:pump.fettle`, unless a file is called just so. */
function splitRevision(operand: string): { revision: string; file: string } | undefined {
  const colon = operand.indexOf(':');
  return colon < 1 || existsSync(operand)
    ? undefined
    : { revision: operand.slice(0, colon), file: operand.slice(colon + 1) };
}

/** @throws {UsageError} */
function versionOf(operand: string, settings: Settings): { version: Version; nameOf: (uri: string) => string } {
  const refuse = (reason: string): UsageError => new UsageError(`${visible(operand)}: ${reason}`);
  if (operand === '-') throw refuse('is the standard input, which is not compared: name a file, or one at a revision');
  const split = splitRevision(operand);
  const judged = (opened: ReturnType<Loader['open']>): Version => {
    const model = bind(opened.tree, opened.resolve);
    return { model, judged: judge(model, settings) };
  };
  if (split === undefined) {
    const source = readProcedure(operand);
    if ('reason' in source) throw refuse(source.reason);
    return { version: judged(new Loader().open(operand, source.text)), nameOf: namer(operand, operand) };
  }
  const opened = new Revision(split.revision).open(split.file);
  if ('reason' in opened) throw refuse(opened.reason);
  const nameOf = namer(split.file, split.file);
  return {
    version: judged(opened),
    nameOf: (uri) => `${split.revision}:${uri === opened.tree.uri ? split.file : nameOf(uri)}`,
  };
}
