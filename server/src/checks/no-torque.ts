import { type Check, named, related } from './check.ts';
import { tighteningsIn } from './fastening.ts';

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
      const statements = tighteningsIn(step);
      if (statements.length === 0) continue;
      const torqued = new Set(
        statements
          .filter((statement) => statement.to !== undefined || statement.stages !== undefined)
          .map((statement) => statement.name?.text),
      );
      for (const statement of statements) {
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
        if (part.torque !== undefined || torqued.has(name.text)) continue;
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
