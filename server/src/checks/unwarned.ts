import type { Check, Raw } from './check.ts';
import { insertBefore } from './edits.ts';
import { blocksAround, stepOf } from './for-codes.ts';
import { hazardousIn, hazardousOf, messagesFor } from './hazards.ts';

export const unwarned: Check = {
  code: 'unwarned',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  local: true,
  asksOfTools: 'hazards',
  fires:
    'hazardous work (heat, cold, force, a load held up, a declared hazard) has no safety message before it in its step.',
  why: 'A message in another step is not read by whoever opens the card at this one.',
  bad: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    heat race to 100 °C
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
    for (const { statement, hazard, warnedBefore, warnedLater } of hazardousOf(model)) {
      if (warnedBefore || warnedLater !== undefined) continue;
      yield {
        span: statement.name ?? statement.keyword,
        message: `${hazard} can hurt here, and no safety message stands before it in this step: write \`warning "…"\` with hazard, consequence and avoidance.`,
        related: [],
        data: { subject: statement.kind },
      };
    }
  },
  repairs(finding, { model }) {
    const hit = hazardousOf(model).find(({ statement }) => (statement.name ?? statement.keyword) === finding.span);
    if (hit === undefined) return [];
    const { statement } = hit;
    // None in the step is warned of; below the first of them a warning would be late for that one.
    const others = hazardousIn(model, stepOf(statement)!).map((each) => each.statement);
    const first = others[0]!;
    const ways = blocksAround(statement);
    const at = blocksAround(first).find(({ branch }) => !ways.some((way) => way.branch === branch))?.block ?? first;
    const above = others.slice(0, others.indexOf(statement) + 1);
    const lines = [...new Set(above.flatMap((each) => messagesFor(model, each)))].map((text) => `warning "${text}"`);
    return [
      {
        title: 'Write a warning above it',
        edits: [insertBefore(model.tree, at, lines)],
        safe: false,
      },
    ];
  },
};
