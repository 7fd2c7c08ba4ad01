import type { Declaration, Quantity } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { branchPaths, exclusive, type Path } from '../model/branches.ts';
import { countOf, type Model } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import { actionsWhere, movesOf, pickedOfAll } from './actions.ts';
import { type Action, type Check, type Raw, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { restated } from './mixed-units.ts';
import { isSoundTorque } from './sound.ts';
import { lastTorque, sameTorque } from './torques.ts';
import { named } from './wording.ts';

const isTightening = ({ verb }: Action): boolean => verb === 'tighten';
const isOddTightening = pickedOfAll(
  (action, parts) => isTightening(action) && !isAsDeclared(action.statement, parts.get(action.part)),
);

export const torqueDiffers: Check = {
  code: 'torque-differs',
  severity: 'warning',
  section: 'Tightening',
  fires:
    "a part's last tightening and its declaration give different torques or angles, or the last leaves some pieces at what an earlier, lower pass gave them; else such passes are free.",
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
  // Nearly every part is tightened as declared.
  const suspects = new Set(actionsWhere(variant, isOddTightening, model).map(({ part }) => part));
  if (suspects.size === 0) return;
  const passes = new Map<string, Statement[]>();
  const toldOf = new Set<string>();
  for (const action of actionsWhere(variant, isTightening)) {
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
          toldOf.add(name);
          yield {
            span: torque,
            message: `${named(name)} is tightened to ${written(torque)}, but ${written(declared)} is declared: make the two agree.`,
            related: related(declared, 'declared here'),
            data: { subject: name, ...(isSoundTorque(part!) && { declared: restated(model, declared) }) },
          };
        }
      } else if (
        final &&
        isAngle(part?.angle) &&
        isAngle(statement.angle) &&
        angleText(part?.angle) !== angleText(statement.angle) &&
        (statement.to !== undefined || statement.angle !== undefined)
      ) {
        toldOf.add(name);
        yield {
          span: statement.angle ?? torque,
          message: `${named(name)} is tightened ${statement.angle === undefined ? 'with no angle' : `then ${written(statement.angle)}`}, but ${part?.angle === undefined ? 'no angle is declared' : `\`then ${written(part.angle)}\` is declared`}: make the two agree.`,
          related: related(part?.angle ?? declared, 'declared here'),
          data: { subject: name },
        };
      }
    }
  }
  let moves: ReadonlyMap<string, readonly Action[]> | undefined;
  const isInBranch = (statement: Statement): boolean => (pathOf(statement)?.length ?? 0) > 0;
  for (const [name, statements] of passes) {
    const declared = model.parts.get(name)?.torque;
    if (declared === undefined || toldOf.has(name) || statements.length < 2 || statements.some(isInBranch)) continue;
    if (isSlack(variant, name)) continue;
    moves ??= movesOf(variant, passes);
    const short = leftShort(moves.get(name) ?? [], declared);
    if (short === undefined) continue;
    const { pieces, last } = short;
    yield {
      span: last.count ?? last.name!,
      message: `${pieces} of ${named(name)} ${pieces === 1 ? 'is' : 'are'} left at less than the declared ${written(declared)}: tighten all ${countOf(model.parts.get(name))} in the last pass.`,
      related: related(declared, 'declared here'),
      data: { subject: name },
    };
  }
}

function isSlack({ final }: Variant, part: string): boolean {
  const state = final.get(part);
  return state !== undefined && state.loose + state.snug > 0;
}

/**
 * Pieces that a lower pass left short while others had the whole torque, and the last statement that gave it. As in the replay
 * the loose ones are tightened first, then those that are short.
 */
function leftShort(moves: readonly Action[], declared: Quantity): { pieces: number; last: Statement } | undefined {
  let short = 0;
  let last: Statement | undefined;
  for (const { verb, statement, acted, before, after } of moves) {
    if (verb !== 'tighten') {
      // Nobody can tell which: the short ones go first.
      short = Math.max(0, short - Math.max(0, before.tight - after.tight));
      continue;
    }
    const torque = lastTorque(statement);
    const fromOther = acted - (before.loose - after.loose) - (before.snug - after.snug);
    const slack = acted - fromOther;
    if (torque === undefined || sameTorque(torque, declared)) {
      short = Math.max(0, short - fromOther);
      last = statement;
    } else short += slack;
  }
  return short === 0 || last === undefined ? undefined : { pieces: short, last };
}
