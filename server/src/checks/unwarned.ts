import type { Span, Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { type Check, type Raw, related } from './check.ts';
import { type Hazardous, hazardousSteps, warnAbove } from './hazards.ts';

export const unwarned: Check = {
  code: 'unwarned',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  local: true,
  asksOfTools: 'hazards',
  fires:
    'hazardous work (heat, cold, force, a load held up, a declared hazard) has no safety message before it in its step; only to look at, wipe, coat or mark what is heavy or sprung is none.',
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
    // A step that lacks its message lacks it for all that it does.
    for (const [{ statement, hazard }, ...rest] of unwarnedSteps(model)) {
      const others = new Map(rest.map((other) => [other.hazard, other.statement] as const).reverse());
      others.delete(hazard);
      yield {
        span: placeOf(statement),
        message: `${hazard} can hurt here, and no safety message stands before it in this step: write \`warning "…"\` with hazard, consequence and avoidance.`,
        related: [...others].reverse().flatMap(([words, other]) => related(placeOf(other), `${words} can hurt, too`)),
        data: { subject: statement.kind },
      };
    }
  },
  repairs(finding, { model }) {
    const work = unwarnedSteps(model).find(([{ statement }]) => placeOf(statement) === finding.span);
    if (work === undefined) return [];
    const statements = work.map(({ statement }) => statement);
    return [{ title: 'Write a warning above it', edits: [warnAbove(model, statements)], safe: false }];
  },
};

const placeOf = ({ name, keyword }: Statement): Span => name ?? keyword;

const unwarnedSteps = (model: Model): readonly (readonly [Hazardous, ...Hazardous[]])[] =>
  hazardousSteps(
    model,
    ({ warnedBefore, warnedLater }) => !warnedBefore && warnedLater === undefined,
  ) as readonly (readonly [Hazardous, ...Hazardous[]])[];
