import type { Step } from '../../../grammar/syntax.ts';
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
    for (const { step } of model.steps) {
      for (const statement of statementsIn(step)) {
        if (statement.kind !== 'tighten') continue;
        const name = statement.name;
        const part = model.parts.get(name?.text ?? '');
        if (
          name === undefined ||
          part === undefined ||
          statement.byHand !== undefined ||
          statement.broken ||
          part.broken
        )
          continue;
        if (part.torque !== undefined || isTorqued(step, name.text)) continue;
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

/** Whether the step says to which torque the part is tightened, in any of its statements. */
const isTorqued = (step: Step, part: string): boolean =>
  statementsIn(step).some(
    ({ kind, name, to, stages }) => kind === 'tighten' && name?.text === part && (to ?? stages) !== undefined,
  );
