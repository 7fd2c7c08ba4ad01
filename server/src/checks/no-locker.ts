import type { Declaration } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import { type Action, actionsWhere, type Check, eachVariant, named, type Raw, related } from './check.ts';

/** Names and titles of thread lockers. */
export const locks = /\bthread[- ]?lock|\block(?:er|ing)\b/i;

export const noLocker: Check = {
  code: 'no-locker',
  severity: 'information',
  section: 'Tightening',
  fires:
    'an old fastener that is declared `threadlock` goes back on, and no `apply` puts anything on it; new ones may come coated.',
  why: 'What held is broken when the thread is turned: without fresh locker the fastener works loose, and it clamps otherwise than reckoned.',
  bad: `part bolt "Bolt" thread M8 class 8.8 threadlock torque 22 N·m
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 threadlock torque 22 N·m
supply locker "Thread locker"
teardown
  step open
    remove bolt
reassembly
  step close
    apply locker to bolt
    fit bolt
    tighten bolt`,
  *run({ ledger, model }) {
    if (lockedIn(model.parts).size > 0) yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

/** Parts that are declared `threadlock`, by name. */
const lockedIn = noted((parts: Model['parts']): ReadonlyMap<string, Declaration> => {
  const locked = new Map<string, Declaration>();
  parts.forEach((part, name) => {
    if (part.condition?.text === 'threadlock') locked.set(name, part);
  });
  return locked;
});

const isOldFit = ({ verb, fresh, acted, before, unsure }: Action): boolean =>
  verb === 'fit' && !fresh && !unsure && acted > before.fresh;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const locked = lockedIn(model.parts);
  const last = new Map<string, Action>();
  for (const action of actionsWhere(variant, isOldFit)) if (locked.has(action.part)) last.set(action.part, action);
  for (const [part, { name }] of last) {
    if (variant.unsure.has(part) || isLocked(model, part)) continue;
    yield {
      span: name,
      message: `${named(part)} is declared \`threadlock\`, and no \`apply\` puts thread locker on it: write \`apply … to ${part}\` above this line, or take \`threadlock\` out of its declaration.`,
      related: related(locked.get(part)!.condition, 'declared here'),
      data: { subject: part },
    };
  }
}

/** Whether something is applied to `part`, or a thread locker to what it holds: into the thread there. */
export function isLocked(model: Model, part: string): boolean {
  return statementsOf(model, 'apply').some(({ name, targets }) =>
    targets?.some(
      ({ text }) =>
        text === part ||
        (isLocker(model, name?.text ?? '') &&
          model.parts.get(text)?.heldBy.some((holder) => holder.text === part) === true),
    ),
  );
}

export const isLocker = (model: Model, supply: string): boolean =>
  locks.test(supply) || locks.test(model.supplies.get(supply)?.title?.value ?? '');
