import type { Statement, Step } from '../../../grammar/syntax.ts';
import { type Entry, type Ledger, type StepRecord, toldApart } from '../ledger/ledger.ts';
import { missing, on, type PartState } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import { placeOfStep, type StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';

export interface Tally {
  readonly off: number;
  readonly back: number;
}
const nothing: Tally = { off: 0, back: 0 };

/** Pieces that a step takes off and puts back, for the code for which it moves most. */
export function tallyOf({ model, variants }: Ledger, entry: StepEntry): Tally {
  let most = nothing;
  const place = placeOfStep(model, entry);
  for (const { records } of toldApart(variants)) {
    const tally = moved(records[place]!);
    if (tally.off + tally.back > most.off + most.back) most = tally;
  }
  return most;
}

/** Kept on the record: most steps do at the next keystroke what they did at this. */
const moved = noted(({ step, entries }: StepRecord): Tally => {
  const sum = movedBy(entries);
  if (!step.step.statements.some(({ branches }) => branches !== undefined)) return sum;
  const byStatement = new Map<Statement, Entry[]>();
  for (const entry of entries) addTo(byStatement, entry.statement, entry);
  return movedIn(step.step.statements, byStatement);
});

function movedBy(entries: readonly Entry[]): Tally {
  let off = 0;
  let back = 0;
  for (const { role, actions } of entries) {
    if (role !== 'statement') continue;
    for (const { verb, before, after } of actions) {
      const change = on(after) - on(before);
      if (verb === 'transfer') continue;
      if (change < 0) off -= change;
      else back += change;
    }
  }
  return { off, back };
}

/** Of alternatives one is done: that which moves most counts. */
function movedIn(statements: readonly Statement[], byStatement: ReadonlyMap<Statement, readonly Entry[]>): Tally {
  let { off, back } = nothing;
  for (const statement of statements) {
    const own = movedBy(byStatement.get(statement) ?? []);
    const most = (statement.branches ?? [])
      .map((branch) => movedIn(branch.statements, byStatement))
      .reduce((one, other) => (other.off + other.back > one.off + one.back ? other : one), nothing);
    off += own.off + most.off;
    back += own.back + most.back;
  }
  return { off, back };
}

/** Pieces that are off, and owed to the unit, after each step, for the code for which most are. */
export const owedAfterSteps = noted(({ model, variants }: Ledger): ReadonlyMap<Step, number> => {
  const most = new Map<Step, number>();
  for (const { records } of toldApart(variants)) {
    let sum = 0;
    for (const [i, { step }] of model.steps.entries()) {
      sum += owedChange(records[i]!).pieces;
      most.set(step, Math.max(most.get(step) ?? 0, sum));
    }
  }
  return most;
});

const owed = (state: PartState | undefined): number => (state === undefined ? 0 : missing(state) + state.stranded);

const owedChange = noted(({ inputs, outputs }: StepRecord): { readonly pieces: number } => {
  let pieces = 0;
  for (const [part, after] of outputs) pieces += owed(after) - owed(inputs.get(part));
  return { pieces };
});
