import { countFirst } from '../../../grammar/sorted.ts';
import type { Quantity, Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { areRivals } from '../model/branches.ts';
import type { Model } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore } from './edits.ts';
import { lastPlaceOf, placesOn } from './entries.ts';
import { forCodes } from './for-codes.ts';
import { named } from './wording.ts';

export const angleTwice: Check = {
  code: 'angle-twice',
  severity: 'warning',
  section: 'Tightening',
  fires:
    'a fastener that was turned by an angle past its torque is turned so again, by no more than that, and was not loosened in between.',
  why: 'The torque is passed already, so the wrench clicks at once and the whole angle comes on top: the bolt stretches past what it was made for, and may break.',
  assumes: () => [
    'Steps that turn on, each by a larger angle, name the whole angle reached. Common practice, no source.',
  ],
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 20 N·m then 90°
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt
    tighten bolt
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 20 N·m then 90°
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt
    tighten bolt
    loosen bolt
    tighten bolt`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model }) {
    const part = String(finding.data?.['subject']);
    const again = statementsOf(model, 'tighten').find(({ angle, name }) => (angle ?? name) === finding.span);
    if (again === undefined) return [];
    return [
      {
        title: `Loosen ${part} first`,
        edits: [insertBefore(model.tree, again, forCodes(model, finding, [`loosen ${part}`], again))],
        safe: false,
      },
    ];
  },
};

/** The angle that `statement` turns a fastener by past its torque. */
function angleOf({ angle, to, stages }: Statement, declared: Quantity | undefined): Quantity | undefined {
  const turned = angle ?? (to === undefined && stages === undefined ? declared : undefined);
  return extentOf(turned)?.kind === 'angle' ? turned : undefined;
}

/** What turns all pieces of a fastener that are tight by an angle. */
const turnsOn = pickedOfAll(
  ({ verb, unsure, statement, before, wanted, part }, parts) =>
    verb === 'tighten' &&
    !unsure &&
    before.tight > 0 &&
    before.loose + before.snug === 0 &&
    wanted === undefined &&
    statement.holes === undefined &&
    angleOf(statement, parts.get(part)?.angle) !== undefined,
);

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { part, statement, name } of actionsWhere(variant, turnsOn, model)) {
    const declared = model.parts.get(part)?.angle;
    const earlier = turnedBefore(variant, part, statement, declared);
    if (earlier === undefined) continue;
    const [first, second] = [angleOf(earlier.statement, declared)!, angleOf(statement, declared)!];
    if (extentOf(second)!.high > extentOf(first)!.high + 1e-9) continue;
    yield {
      span: statement.angle ?? name,
      message: `${named(part)} was turned ${written(first)} past its torque already, and another ${written(second)} comes on top: \`loosen\` it first, or leave this out.`,
      related: related(earlier.name, `${named(part)} is turned ${written(first)} here`),
      data: { subject: part },
    };
  }
}

/** What turned all of `part` by an angle before `statement` does, and has not been undone. */
function turnedBefore(
  variant: Variant,
  part: string,
  statement: Statement,
  declared: Quantity | undefined,
): Action | undefined {
  const here = lastPlaceOf(variant, statement);
  const places = placesOn(variant, part);
  // One part may be tightened thousands of times.
  for (let i = countFirst(places, (place) => place < here) - 1; i >= 0; i--) {
    const { role, statement: other, actions } = variant.entries[places[i]!]!;
    if (role !== 'statement' || areRivals(statement, other)) continue;
    const action = actions.find((each) => each.part === part)!;
    if (action.verb === 'mark') continue;
    if (action.verb !== 'tighten') return undefined;
    if (angleOf(other, declared) === undefined) continue;
    return action.wanted === undefined && other.holes === undefined ? action : undefined;
  }
  return undefined;
}
