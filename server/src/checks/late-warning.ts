import type { Statement } from '../../../grammar/syntax.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, named, type Raw, related } from './check.ts';
import { type Hazardous, hazardousOf } from './hazards.ts';

export const lateWarning: Check = {
  code: 'late-warning',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  local: true,
  asksOfTools: 'hazards',
  fires:
    'a safety message has no statement after it in its step, or hazardous work stands before the only safety message of its step.',
  why: 'A warning read after the work is an accident report.',
  bad: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    heat race to 100 °C
    warning "Hot parts burn. Wear gloves."
    fit race`,
  good: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 100 °C
    fit race`,
  *run({ model }): Generator<Raw> {
    // A message that comes late is one slip, however much it is late for.
    const late = new Map<Statement, Hazardous[]>();
    for (const each of hazardousOf(model)) {
      if (each.warnedBefore || each.warnedLater === undefined) continue;
      const others = late.get(each.warnedLater);
      if (others === undefined) late.set(each.warnedLater, [each]);
      else others.push(each);
    }
    for (const [message, [first, ...others]] of late) {
      const { statement, hazard } = first!;
      yield {
        span: statement.name ?? statement.keyword,
        message: `${hazard} can hurt here, and the safety message comes only later in this step: move ${named(message.kind)} above this line.`,
        related: [
          ...related(message.keyword, 'the safety message'),
          ...others.flatMap((other) =>
            related(other.statement.name ?? other.statement.keyword, `it comes too late for ${other.hazard}, too`),
          ),
        ],
        data: { subject: statement.kind },
      };
    }
    for (const { step } of model.steps) {
      const statements = statementsIn(step);
      const last = statements.findLastIndex((statement) => statement.branches === undefined && !isSafety(statement));
      for (let i = last + 1; i < statements.length; i++) {
        const statement = statements[i]!;
        if (statement.branches !== undefined || late.has(statement)) continue;
        yield {
          span: statement.keyword,
          message: `this ${named(statement.kind)} stands behind everything it could warn of in its step: move it above the work, or into the next step.`,
          related: [],
          data: { subject: 'message' },
        };
      }
    }
  },
};
