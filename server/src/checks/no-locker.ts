import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { namesWhere } from '../model/amended.ts';
import { areRivals } from '../model/branches.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore, linesToMove, removeLine } from './edits.ts';
import { blocksAround, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';
import { named } from './wording.ts';

/** Names and titles of thread lockers. */
export const locks = /\bthread[- ]?lock|\block(?:er|ing)\b/i;

export const noLocker: Check = {
  code: 'no-locker',
  severity: 'information',
  section: 'Tightening',
  fires:
    'an old fastener that is declared `threadlock` goes back on, and no `apply` puts anything on it, or thread locker goes on only once it is tight; new ones may come coated.',
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
    if (namesWhere(model.parts, needsLocker).length > 0)
      yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs({ span, data }, { model }) {
    const part = String(data?.['subject']);
    const late = statementsOf(model, 'apply').find(({ name }) => name === span);
    const fit = statementsOf(model, 'fit').findLast(
      ({ name, chunk, start }) => name === span || (late?.chunk === chunk && start < late.start && name?.text === part),
    );
    if (fit === undefined) return [];
    if (late === undefined) {
      const [locker, ...others] = namesWhere(model.supplies, () => true).filter((name) => isLocker(model, name));
      if (locker === undefined || others.length > 0) return [];
      const lines = warned(model, locker, [`apply ${locker} to ${part}`], stepOf(fit), fit.start);
      return [{ title: `Apply ${locker} to it first`, edits: [insertBefore(model.tree, fit, lines)], safe: false }];
    }
    // On other parts, or for other codes, it may be in time.
    if (late.targets?.length !== 1 || !standTogether(late, fit)) return [];
    return [
      {
        title: `Move it above \`fit ${part}\``,
        edits: [insertBefore(model.tree, fit, linesToMove(model.tree, late)), removeLine(model.tree, late)],
        safe: false,
      },
    ];
  },
};

function standTogether(one: Statement, other: Statement): boolean {
  const [ways, others] = [blocksAround(one), blocksAround(other)];
  return ways.length === others.length && ways.every(({ branch }, i) => branch === others[i]!.branch);
}

const needsLocker = ({ condition }: Declaration): boolean => condition?.text === 'threadlock';

const isOldFit = ({ verb, fresh, acted, before, unsure }: Action): boolean =>
  verb === 'fit' && !fresh && !unsure && acted > before.fresh;

/** How an old fastener goes back. */
interface Return {
  readonly fit: Action;
  tightened?: Statement;
  /** The first `apply` that puts thread locker on it, where that stands behind the tightening. */
  late?: Statement;
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const { parts } = model;
  const locked = new Set(namesWhere(parts, needsLocker));
  for (const [part, { fit, tightened, late }] of returnsIn(variant, model, locked)) {
    if (variant.unsure.has(part)) continue;
    if (!isLocked(model, part)) {
      // A new one is to take its place.
      if (parts.get(part)!.renew !== undefined) continue;
      yield {
        span: fit.name,
        message: `${named(part)} is declared \`threadlock\`, and no \`apply\` puts thread locker on it: write \`apply … to ${part}\` above this line, or take \`threadlock\` out of its declaration.`,
        related: related(parts.get(part)!.condition, 'declared here'),
        data: { subject: part },
      };
    } else if (late?.name !== undefined && tightened !== undefined) {
      yield {
        span: late.name,
        message: `${named(part)} is tightened above, and ${named(late.name.text)} goes on only here: it belongs into the thread, so move this line above \`fit ${part}\`.`,
        related: related(tightened.keyword, `${named(part)} is tightened here`),
        data: { subject: part },
      };
    }
  }
}

/** The last return of each old fastener that is declared `threadlock`. */
function returnsIn({ entries }: Variant, model: Model, locked: ReadonlySet<string>): ReadonlyMap<string, Return> {
  const returns = new Map<string, Return>();
  const applied = new Set<string>();
  for (const { statement, actions } of entries) {
    for (const action of actions)
      if (isOldFit(action) && locked.has(action.part)) returns.set(action.part, { fit: action });
    const returned = returns.get(statement.name?.text ?? '');
    if (returned !== undefined) {
      if (statement.kind === 'tighten' && statement.byHand === undefined) returned.tightened ??= statement;
      if (statement.kind === 'loosen') {
        delete returned.tightened;
        delete returned.late;
      }
    }
    if (!goesIntoThread(model, statement)) continue;
    for (const part of lockedBy(model, statement)) {
      const back = returns.get(part);
      if (!applied.has(part) && back?.tightened !== undefined && !areRivals(back.tightened, statement))
        back.late = statement;
      applied.add(part);
    }
  }
  return returns;
}

/** Thread locker that is to seep in goes on once the thread is tight. Common practice, no source. */
const seeps = /\b(?:penetrat|seep|wick)/i;

function goesIntoThread(model: Model, { kind, name }: Statement): boolean {
  const supply = name?.text ?? '';
  if (kind !== 'apply') return false;
  return isLocker(model, supply) && !seeps.test(supply) && !seeps.test(model.supplies.get(supply)?.title?.value ?? '');
}

/** Parts that a statement puts something on, or into whose thread: a thread locker may go on what they hold. */
function lockedBy(model: Model, { kind, name, targets = [] }: Statement): readonly string[] {
  if (kind !== 'apply') return [];
  const holders = isLocker(model, name?.text ?? '')
    ? targets.flatMap(({ text }) => model.parts.get(text)?.heldBy.map((holder) => holder.text) ?? [])
    : [];
  return [...targets.map(({ text }) => text), ...holders];
}

const allLocked = noted(
  (model: Model): ReadonlySet<string> =>
    new Set(statementsOf(model, 'apply').flatMap((statement) => lockedBy(model, statement))),
);

export const isLocked = (model: Model, part: string): boolean => allLocked(model).has(part);

export const isLocker = (model: Model, supply: string): boolean =>
  locks.test(supply) || locks.test(model.supplies.get(supply)?.title?.value ?? '');
