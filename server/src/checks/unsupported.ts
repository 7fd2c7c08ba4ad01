import type { Statement, Step } from '../../../grammar/syntax.ts';
import { noted } from '../model/noted.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, placeOf, type Raw, related } from './check.ts';
import { insertBefore } from './edits.ts';
import { entryNaming } from './entries.ts';
import { stepOf } from './for-codes.ts';
import { hazardousOf, isUntoldText } from './hazards.ts';
import { named } from './wording.ts';

export const unsupported: Check = {
  code: 'unsupported',
  severity: 'information',
  section: 'Getting ready, safety, wording',
  local: true,
  fires:
    'a part with `hazard weight` comes off or goes on below a `danger`, `warning` or `caution`, and nothing in the step says what holds it: no `support`, no tool with it, no word of weight, lifting or holding in a text.',
  why: 'The last bolt is out before anybody has thought of the sling, and the part comes down.',
  assumes: () => [
    'What holds a part is said by a mass, or by words such as weigh, heavy, sling, lift, hoist, crane, hold, prop, chock, crush, fall, two or both hands. Common practice, no source.',
  ],
  bad: `part head "Cylinder head" hazard weight
teardown
  step open
    warning "Edges cut. Wear gloves."
    remove head
reassembly
  step close
    warning "The head weighs 18 kg and can crush. Lift it with a strap."
    fit head`,
  good: `part head "Cylinder head" hazard weight
teardown
  step open
    warning "Edges cut. Wear gloves."
    support head "With a strap, before it is free"
    remove head
reassembly
  step close
    warning "The head weighs 18 kg and can crush. Lift it with a strap."
    fit head`,
  *run({ model }): Generator<Raw> {
    for (const { statement } of hazardousOf(model)) {
      const part = model.parts.get(statement.name?.text ?? '');
      if (part === undefined || !isHeavy(part.hazards)) continue;
      const moved = moves[statement.kind];
      if (moved === undefined || (statement.using ?? []).length > 0 || !isUnheld(statement)) continue;
      // Where no message stands above it, `unwarned` or `late-warning` tells of that.
      yield {
        span: placeOf(statement),
        message: `nothing in this step says what holds ${named(statement.name!.text)}, which is heavy, when it ${moved}: write \`support ${statement.name!.text}\` above this line, or \`using\` and the hoist, or what holds it in the warning.`,
        related: related(part.name, `${named(statement.name!.text)} is declared here`),
        data: { subject: statement.name!.text },
      };
    }
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const statement = entryNaming(ledger, finding.span)?.statement;
    return statement === undefined
      ? []
      : [
          {
            title: `Support ${part} first`,
            edits: [insertBefore(model.tree, statement, [`support ${part}`])],
            safe: false,
          },
        ];
  },
};

const moves: Readonly<Record<string, string>> = { remove: 'comes off', fit: 'goes on' };

const isHeavy = (hazards: readonly { readonly text: string }[]): boolean =>
  hazards.some(({ text }) => text === 'weight');

/** What says that a part is heavy, can fall, or is held. */
const holds =
  /\d\s*(?:kg|lbs?)\b|\b(?:bench|blocks?\b|both\b|carr(?:y|ied)|chain|chock|cradle|crane|crush|drop|f(?:all|ell)|f(?:ee|oo)t\b|hands?\b|hang|heav|held|help|hoist|hold|hung|jack|lift|loads?\b|lower|pallet|people|person|prop(?:s|ped)?\b|roll|rope|sink|slid|sling|slung|stands\b|strap|support|swing|tackle|tip|topple|trestle|trolley|two\b|wedge|weigh|wood)/i;

/** Where the first statement of a step begins that says what holds a part, or may; behind everything where there is none. */
const firstHold = noted((step: Step): { readonly start: number } => {
  const says = (each: Statement): boolean =>
    each.kind === 'support' || isUntoldText(each) || holds.test(each.text?.value ?? '');
  return statementsIn(step).find(says) ?? nowhere;
});

/** Where the first message begins of what can hurt: a notice is of damage. */
const firstOfHurt = noted(
  (step: Step): { readonly start: number } =>
    statementsIn(step).find((each) => isSafety(each) && each.kind !== 'notice') ?? nowhere,
);
const nowhere = { start: Number.POSITIVE_INFINITY };

/** Whether a message above `statement` says what can hurt, and nothing down to it what holds a part. */
function isUnheld(statement: Statement): boolean {
  const step = stepOf(statement)!;
  return firstOfHurt(step).start < statement.start && firstHold(step).start > statement.start;
}
