import type { Variant, Verb } from '../ledger/ledger.ts';
import { areRivals } from '../model/branches.ts';
import type { Model } from '../model/model.ts';
import { isAbove, statementsOf } from '../model/statements.ts';
import { actionsThat } from './actions.ts';
import { type Action, type Check, type Raw, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, linesToMove, removeLine } from './edits.ts';
import { rowOf } from './for-codes.ts';
import { named } from './wording.ts';

export const lateShim: Check = {
  code: 'late-shim',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  fires: 'shims are chosen only once they are back in, and do not come out again.',
  why: 'The stack of the last job, or any that was at hand, stays in, and the figure that was reckoned is for nothing.',
  bad: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    fit pack
    measure play limit 0.2..0.5 mm
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm`,
  good: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    measure play limit 0.2..0.5 mm
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit pack`,
  *run({ ledger, model }) {
    if (statementsOf(model, 'shim').length > 0) yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const chosen = statementsOf(model, 'shim').find(({ name }) => name === finding.span);
    if (chosen === undefined || finding.data?.['codes'] !== undefined) return [];
    const variant = ledger.variants[0]!;
    const fit = fitAbove(lastMoves(variant, [chosen]), variant, model, chosen)?.statement;
    if (fit === undefined || !canFollow(fit, chosen)) return [];
    return [
      {
        title: `Fit ${chosen.name!.text} behind it`,
        edits: [insertAfter(model.tree, chosen, linesToMove(model.tree, fit)), removeLine(model.tree, fit)],
        safe: false,
      },
    ];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const shims = statementsOf(model, 'shim');
  const moves = lastMoves(variant, shims);
  for (const chosen of shims) {
    const { name } = chosen;
    const fit = fitAbove(moves, variant, model, chosen);
    if (name === undefined || fit === undefined) continue;
    yield {
      span: name,
      message: `${named(name.text)} is chosen only here, but is in already and stays in: choose it first, then \`fit\` it.`,
      related: related(fit.name, `${named(name.text)} goes in here`),
      data: { subject: name.text },
    };
  }
}

/** By part, what put it in and what took it out for the last time. */
type Moves = Readonly<Record<'fit' | 'remove', ReadonlyMap<string, Action>>>;

/** Of the parts that `shims` choose. */
function lastMoves(variant: Variant, shims: readonly Statement[]): Moves {
  const chosen = new Set(shims.map(({ name }) => name?.text));
  const lastThat = (verb: Verb): ReadonlyMap<string, Action> =>
    new Map(
      actionsThat(variant, verb)
        .filter(({ part, acted }) => acted > 0 && chosen.has(part))
        .map((action) => [action.part, action]),
    );
  return { fit: lastThat('fit'), remove: lastThat('remove') };
}

/** What put in the stack that `chosen` is to say, if it stands above that and is undone no more. */
function fitAbove(moves: Moves, variant: Variant, model: Model, chosen: Statement): Action | undefined {
  const part = chosen.name?.text;
  if (part === undefined || variant.unsure.has(part)) return undefined;
  const fit = moves.fit.get(part);
  if (fit === undefined || !isAbove(model, fit.statement, chosen) || areRivals(fit.statement, chosen)) return undefined;
  const out = moves.remove.get(part);
  return out !== undefined && isAbove(model, fit.statement, out.statement) ? undefined : fit;
}

/** Whether nothing goes in or is tightened between `fit` and `chosen`, in one row of statements, so that it may go in behind. */
function canFollow(fit: Statement, chosen: Statement): boolean {
  const row = rowOf(chosen);
  const [from, to] = [row.indexOf(fit), row.indexOf(chosen)];
  return from >= 0 && row.slice(from + 1, to).every(({ kind }) => kind === 'measure' || kind === 'clean');
}
