import { extentOf, written, writtenWhole } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { oddTorqueAt } from './fastening.ts';
import { sameTorque } from './torques.ts';
import { named } from './wording.ts';

export const stageFalls: Check = {
  code: 'stage-falls',
  severity: 'error',
  section: 'Tightening',
  local: true,
  fires: 'stages do not rise, or the last is not the declared torque.',
  why: 'A later stage at a lower torque turns nothing: the wrench clicks at once.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt in stages 20 N·m, 12 N·m, 25 N·m`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt in stages 12 N·m, 20 N·m, 25 N·m`,
  *run({ model, settings }): Generator<Raw> {
    for (const statement of statementsOf(model, 'tighten')) {
      const stages = statement.stages;
      if (stages === undefined || statement.name === undefined) continue;
      const part = model.parts.get(statement.name.text);
      let fell = false;
      for (let i = 1; i < stages.length; i++) {
        const before = extentOf(stages[i - 1]);
        const now = extentOf(stages[i]);
        if (before?.kind !== 'torque' || now?.kind !== 'torque' || now.low > before.low) continue;
        fell = true;
        yield {
          span: stages[i]!,
          message: `stage ${i + 1} (${written(stages[i]!)}) does not rise above stage ${i} (${written(stages[i - 1]!)}): order the stages from low to high.`,
          related: related(stages[i - 1], 'the stage before'),
        };
      }
      // Behind a line that could not be read to its end there may be none.
      const last = stages.at(-1);
      const final = statement.to ?? part?.torque;
      if (fell || last === undefined || final === undefined || sameTorque(last, final)) continue;
      // A declared torque that no such thread can be given is not what to end with.
      const isOdd =
        statement.to === undefined &&
        part !== undefined &&
        oddTorqueAt({ torque: final, angle: part.angle, part, final: true }, settings) !== undefined;
      yield {
        span: last,
        message: `the last stage is ${written(last)}, but ${statement.to === undefined ? `${named(statement.name.text)} is declared with` : '`to` says'} ${written(final)}: ${isOdd ? 'correct the declaration' : `end with ${written(final)}`}.`,
        related: related(final, statement.to === undefined ? 'declared here' : 'the final torque'),
        ...(!isOdd && { data: { final: writtenWhole(final) } }),
      };
    }
  },
  repairs(finding, { model }) {
    const final = finding.data?.['final'];
    return typeof final === 'string'
      ? [{ title: `End with ${final}`, edits: [replaceSpan(model.tree, finding.span, final)], safe: false }]
      : [];
  },
};
