import type { Statement, Step } from '../../../grammar/syntax.ts';
import { noted } from '../model/noted.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, type Model, placeOf, type Raw, related } from './check.ts';
import { insertBefore } from './edits.ts';
import { entryNaming } from './entries.ts';
import { rowOf, stepOf } from './for-codes.ts';
import { hazardousOf, isUntoldText } from './hazards.ts';
import { named } from './wording.ts';

export const unsupported: Check = {
  code: 'unsupported',
  severity: 'information',
  section: 'Getting ready, safety, wording',
  local: true,
  fires:
    'a part with `hazard weight` comes off or goes on below safety messages that speak of other dangers only, and nothing in the step says what holds it: no `support`, no tool with it, no word of weight, lifting or holding in a text.',
  why: 'The last bolt is out before anybody has thought of the sling, and the part comes down.',
  assumes: () => [
    'What holds a part is said by a mass, or by words such as weigh, heavy, sling, lift, hoist, crane, hold, prop, chock, crush, fall, two or both hands; another danger by words such as hot, burn, live, pressure, spring, goggles, edges. Of a message with none of these nothing is concluded. Common practice, no source.',
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
      if (!isUnheld(model, statement)) continue;
      const part = statement.name!.text;
      yield {
        span: placeOf(statement),
        message: `nothing in this step says what holds ${named(part)}, which is heavy, when it ${moves[statement.kind]!}: write \`support ${part}\` above this line, or \`using\` and the hoist, or what holds it in the warning.`,
        related: related(model.parts.get(part)?.name, `${named(part)} is declared here`),
        data: { subject: part },
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
            edits: [insertBefore(model.tree, freeing(model, statement), [`support ${part}`])],
            safe: false,
          },
        ];
  },
};

/** What first frees the part that `statement` takes off, below a safety message of the step; else `statement` itself. */
function freeing(model: Model, statement: Statement): Statement {
  const step = stepOf(statement)!;
  const { ofOther } = saidIn(step);
  const holders = new Set(model.parts.get(statement.name!.text)?.heldBy.map(({ text }) => text));
  const first = rowOf(statement).find(
    ({ kind, name, start }) =>
      start > ofOther && (kind === 'loosen' || kind === 'remove') && holders.has(name?.text ?? ''),
  );
  return statement.kind === 'remove' && first !== undefined && first.start < statement.start ? first : statement;
}

const moves: Readonly<Record<string, string>> = { remove: 'comes off', fit: 'goes on' };

/** What says that a part is heavy, can fall, or is held. */
const holds =
  /\d\s*(?:kg|lbs?)\b|\b(?:bench|blocks?\b|both\b|carr(?:y|ied)|chain|chock|cradle|crane|crush|drop|f(?:all|ell)|f(?:ee|oo)t\b|hands?\b|hang|heav|held|help|hoist|hold|hung|jack|lift|loads?\b|lower|pallet|people|person|prop(?:s|ped)?\b|roll|rope|sink|slid|sling|slung|stands\b|strap|support|swing|tackle|tip|topple|trestle|trolley|two\b|wedge|weigh|wood)/i;

/** What can hurt otherwise. A message of which it is not known what it speaks of may well speak of the heavy part. */
const speaksOfOther =
  /\b(?:acid|battery|burn|caustic|chemical|cuts?\b|edges?\b|electric|eyes?\b|fl(?:y|ies) off|fumes?\b|goggles|hot\b|irritat|jets?\b|jump|live\b|mains|pressure|scald|sharp|shock|skin|solvent|spring|steam|terminals?\b|vapou?r|volt)/i;

interface Said {
  /** Where the first message begins that speaks of another danger. */
  readonly ofOther: number;
  /** Where the first statement begins that says what holds a part, or may. */
  readonly ofHold: number;
}

/** Of a step; a message is nowhere, behind everything, where there is none. */
const saidIn = noted((step: Step): Said => {
  const all = statementsIn(step);
  const start = (is: (each: Statement) => boolean): number => all.find(is)?.start ?? Number.POSITIVE_INFINITY;
  const isOfOther = (each: Statement): boolean => isSafety(each) && speaksOfOther.test(each.text?.value ?? '');
  return {
    ofOther: start(isOfOther),
    ofHold: start(
      (each) =>
        each.kind === 'support' ||
        isUntoldText(each) ||
        holds.test(each.text?.value ?? '') ||
        (isSafety(each) && !isOfOther(each)),
    ),
  };
});

/**
 * Whether `statement` moves a heavy part, all messages above it speak of other dangers, and nothing down to it says what holds
 * the part. Where no message stands above it, `unwarned` or `late-warning` tells of that.
 */
export function isUnheld(model: Model, statement: Statement): boolean {
  if (moves[statement.kind] === undefined || (statement.using ?? []).length > 0) return false;
  const isHeavy = model.parts.get(statement.name?.text ?? '')?.hazards.some(({ text }) => text === 'weight');
  if (isHeavy !== true) return false;
  const { ofOther, ofHold } = saidIn(stepOf(statement)!);
  return ofOther < statement.start && ofHold > statement.start;
}
