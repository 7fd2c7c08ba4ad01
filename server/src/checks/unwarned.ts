import type { Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { type Check, placeOf, type Raw, related } from './check.ts';
import { ByPlace } from './entries.ts';
import { type Hazardous, hazardousSteps, warnAbove } from './hazards.ts';
import { listedInShort, shortened } from './wording.ts';

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
    for (const [{ statement, dangers }, ...rest] of unwarnedSteps(model)) {
      const here = new Set(dangers);
      const others = new Map<string, Statement>();
      for (const other of rest)
        for (const danger of other.dangers)
          if (!here.has(danger) && !others.has(danger)) others.set(danger, other.statement);
      const [also, where, each] =
        others.size === 0
          ? ['', ' in this step', '']
          : [`, ${listedInShort([...others.keys()], String)} further down in this step`, '', ' of each'];
      yield {
        span: placeOf(statement),
        message: `${listedInShort(dangers, String)} can hurt here${also}, and no safety message stands before it${where}: write \`warning "…"\` with hazard, consequence and avoidance${each}.`,
        related: shortened([...others]).told.flatMap(([danger, other]) =>
          related(placeOf(other), `${danger} can hurt here`),
        ),
        data: { subject: statement.kind },
      };
    }
  },
  repairs(finding, { model }) {
    const work = unwarnedAt(model).get(finding.span);
    if (work === undefined) return [];
    const statements = work.map(({ statement }) => statement);
    return [{ title: 'Write a warning above it', edits: [warnAbove(model, statements)], safe: false }];
  },
};

const unwarnedSteps = (model: Model): readonly (readonly [Hazardous, ...Hazardous[]])[] =>
  hazardousSteps(
    model,
    ({ warnedBefore, warnedLater }) => !warnedBefore && warnedLater === undefined,
  ) as readonly (readonly [Hazardous, ...Hazardous[]])[];

/** The same, by the place that each is told of at. */
const unwarnedAt = noted(
  (model: Model): ByPlace<readonly Hazardous[]> =>
    new ByPlace(unwarnedSteps(model).map((work) => [placeOf(work[0].statement), work])),
);
