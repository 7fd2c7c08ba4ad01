import type { Declaration, Statement, Step } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { statementsIn } from '../model/statements.ts';
import { type Check, named, related } from './check.ts';

export const noTorque: Check = {
  code: 'no-torque',
  severity: 'error',
  section: 'Tightening',
  local: true,
  fires:
    'a threaded fastener is tightened and no torque is given in the step or declared; a warning where the part states no thread.',
  why: 'Without a figure every hand tightens to its own habit.',
  bad: `part bolt "Bolt" thread M8
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  *run({ model }) {
    for (const { step } of model.steps.filter(({ step }) => leavesOpen(model, step))) {
      for (const statement of statementsIn(step)) {
        const name = statement.name;
        const part = partWithout(model, statement);
        if (name === undefined || part === undefined || isTorqued(step, name.text)) continue;
        const threaded = part.thread !== undefined;
        yield {
          span: name,
          severity: threaded ? 'error' : 'warning',
          message: `${named(name.text)} is tightened, but no torque is given here or declared: write \`to 25 N·m\` (the maker's figure) behind it, or \`torque\` in its declaration${threaded ? '' : ', or `by hand`'}.`,
          related: related(part.name, `${named(name.text)} is declared here`),
          data: { subject: name.text },
        };
      }
    }
  },
};

/** The part that is tightened, where neither that nor its declaration could say a torque and does. */
function partWithout(model: Model, { kind, name, byHand, broken }: Statement): Declaration | undefined {
  if (kind !== 'tighten' || byHand !== undefined || broken) return undefined;
  const part = model.parts.get(name?.text ?? '');
  return part === undefined || part.broken || part.torque !== undefined ? undefined : part;
}

const leavesOpen = (model: Model, step: Step): boolean =>
  statementsIn(step).some((statement) => partWithout(model, statement) !== undefined);

/** Whether the step says to which torque the part is tightened, in any of its statements. */
const isTorqued = (step: Step, part: string): boolean =>
  statementsIn(step).some(
    ({ kind, name, to, stages }) => kind === 'tighten' && name?.text === part && (to ?? stages) !== undefined,
  );
