import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { type Hazardous, hazardousIn, messageByHazard, messagesFor } from '../checks/hazards.ts';
import { isUnheld } from '../checks/unsupported.ts';
import { isOwn } from '../model/model.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { quoted } from './draft-layout.ts';
import type { DraftState, TextPhase } from './draft-state.ts';
import type { Insertion } from './draft-text.ts';

/**
 * The safety messages that hazards call for, above the work, in the words of the check `unwarned`: in drafted steps one for
 * each kind of hazard, in the author's where none stands before the work.
 */
export const warn: TextPhase = {
  amiss: (draft) =>
    ownSteps(draft).reduce((sum, { step }) => sum + unwarnedIn(draft, step).length + unheldIn(draft, step).length, 0),
  insertions(draft) {
    const insertions: Insertion[] = [];
    const dangerous = dangers(draft);
    for (const { step } of ownSteps(draft)) {
      const drafted = draft.steps.has(step.name?.text ?? '');
      const said = new Set<string>();
      const unwarned = unwarnedIn(draft, step);
      for (const { statement } of drafted ? unwarned : unwarned.slice(0, 1)) {
        const texts = messagesFor(draft.model, statement).filter((text) => !said.has(text));
        for (const text of texts) said.add(text);
        if (texts.length === 0) continue;
        const word = dangerous.has(statement.name?.text ?? '') ? 'danger' : 'warning';
        const lines = texts.map((text) => `${word} ${quoted(text)}`);
        insertions.push(draft.layout.above(statement, lines));
      }
      const [unheld] = unheldIn(draft, step);
      const weight = `warning ${quoted(messageByHazard['weight']!)}`;
      if (unheld !== undefined) insertions.push(draft.layout.above(unheld, [weight]));
    }
    return insertions;
  },
};

/** What is missing in steps of a shared file is for that file. */
const ownSteps = ({ model, layout }: DraftState) => layout.steps.filter((entry) => isOwn(model, entry));

const unwarnedIn = (draft: DraftState, step: Step): Hazardous[] =>
  hazardousIn(draft.model, step).filter(({ warnedBefore }) => !warnedBefore);

/** What is heavy and moved below messages of other dangers, in the words of the check `unsupported`. */
const unheldIn = ({ model }: DraftState, step: Step): Statement[] =>
  statementsIn(step).filter((statement) => isUnheld(model, statement));

/** Parts and supplies of which teardown or inspection says `danger`: nothing less is said of them when they go back. */
function dangers(draft: DraftState): Set<string> {
  const found = new Set<string>();
  for (const { step, phase } of draft.model.steps) {
    if (phase === 'reassembly' || phase === 'proving') continue;
    let last: Statement | undefined;
    for (const statement of walk(step.statements)) {
      if (isSafety(statement)) last = statement;
      else if (last?.kind === 'danger' && statement.name !== undefined) found.add(statement.name.text);
    }
  }
  return found;
}
