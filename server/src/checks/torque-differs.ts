import type { Declaration } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { branchPaths, exclusive, type Path } from '../model/branches.ts';
import type { Model } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import {
  type Action,
  actionsWhere,
  type Check,
  eachVariant,
  named,
  type Raw,
  related,
  type Statement,
} from './check.ts';
import { replaceSpan } from './edits.ts';
import { lastTorque, sameTorque } from './torques.ts';

const isTightening = ({ verb }: Action): boolean => verb === 'tighten';

export const torqueDiffers: Check = {
  code: 'torque-differs',
  severity: 'warning',
  section: 'Tightening',
  fires:
    "a part's last tightening and its declaration give different torques or angles; earlier, lower passes are free.",
  why: 'One of the two figures is wrong, and the mechanic cannot know which.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt to 22 N·m`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt to 25 N·m`,
  *run({ ledger, model }) {
    let known: Map<Statement, Path> | undefined;
    const pathOf = (statement: Statement): Path | undefined => {
      known ??= new Map(model.steps.flatMap(({ step }) => [...branchPaths(step.statements)]));
      return known.get(statement);
    };
    yield* eachVariant(ledger, (variant) => inVariant(variant, model, pathOf));
  },
  repairs(finding, { model }) {
    const declared = finding.data?.['declared'];
    return typeof declared === 'string'
      ? [
          {
            title: `Tighten to ${declared} as declared`,
            edits: [replaceSpan(model.tree, finding.span, declared)],
            safe: false,
          },
        ]
      : [];
  },
};

/** False of one that `no-unit` or `wrong-kind` tells of. */
const isAngle = (angle: Statement['angle']): boolean => angle === undefined || extentOf(angle)?.kind === 'angle';

function angleText(angle: Statement['angle']): string {
  const extent = extentOf(angle);
  return extent === undefined ? '' : `${extent.low.toFixed(6)}..${extent.high.toFixed(6)}`;
}

/** True, too, where either states no torque. */
function isAsDeclared(statement: Statement, part: Declaration | undefined): boolean {
  const torque = lastTorque(statement);
  if (part?.torque === undefined || torque === undefined) return true;
  return part.angle === undefined && statement.angle === undefined && sameTorque(torque, part.torque);
}

function* inVariant(
  variant: Variant,
  model: Model,
  pathOf: (statement: Statement) => Path | undefined,
): Generator<Raw> {
  const tightenings = actionsWhere(variant, isTightening);
  // Nearly every part is tightened as declared.
  const suspects = new Set<string>();
  for (const { part, statement } of tightenings)
    if (!isAsDeclared(statement, model.parts.get(part))) suspects.add(part);
  if (suspects.size === 0) return;
  const passes = new Map<string, Statement[]>();
  for (const action of tightenings) {
    if (!suspects.has(action.part) || variant.unsure.has(action.part) || action.statement.broken) continue;
    const known = passes.get(action.part);
    if (known === undefined) passes.set(action.part, [action.statement]);
    else if (!known.includes(action.statement)) known.push(action.statement);
  }
  for (const [name, statements] of passes) {
    const part = model.parts.get(name);
    const declared = part?.torque;
    if (declared === undefined) continue;
    for (const [i, statement] of statements.entries()) {
      const torque = lastTorque(statement);
      if (torque === undefined || isAsDeclared(statement, part)) continue;
      const same = sameTorque(torque, declared);
      const final = !statements.slice(i + 1).some((later) => !exclusive(pathOf(statement), pathOf(later)));
      if (!same) {
        const now = extentOf(torque);
        const should = extentOf(declared);
        const higher = now !== undefined && should !== undefined && now.low > should.high;
        // Stages that miss the declaration are told of by `stage-falls`.
        if ((final || higher) && !(statement.to === undefined && statement.stages !== undefined)) {
          yield {
            span: torque,
            message: `${named(name)} is tightened to ${written(torque)}, but ${written(declared)} is declared: make the two agree.`,
            related: related(declared, 'declared here'),
            data: { subject: name, declared: written(declared) },
          };
        }
      } else if (
        final &&
        isAngle(part?.angle) &&
        isAngle(statement.angle) &&
        angleText(part?.angle) !== angleText(statement.angle) &&
        (statement.to !== undefined || statement.angle !== undefined)
      ) {
        yield {
          span: statement.angle ?? torque,
          message: `${named(name)} is tightened ${statement.angle === undefined ? 'with no angle' : `then ${written(statement.angle)}`}, but ${part?.angle === undefined ? 'no angle is declared' : `\`then ${written(part.angle)}\` is declared`}: make the two agree.`,
          related: related(part?.angle ?? declared, 'declared here'),
          data: { subject: name },
        };
      }
    }
  }
}
