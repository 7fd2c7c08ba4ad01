import type { Declaration, Statement, Step } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsIn } from '../model/statements.ts';
import { type Check, related } from './check.ts';
import { codesAt } from './for-codes.ts';
import { joinedInShort, named } from './wording.ts';

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
    for (const { step } of model.steps.filter(({ step }) => leavesOpen(model, step))) {
      const codesWithout = codesWithoutIn(model, step);
      for (const statement of statementsIn(step)) {
        const name = statement.name;
        const part = partWithout(model, statement);
        if (name === undefined || part === undefined) continue;
        const without = codesWithout(statement);
        if (without === undefined) continue;
        // A `for` that names no code of the head is told of elsewhere.
        const isForAll = without.length === 0 || without.length === model.codes.length;
        const threaded = part.thread !== undefined;
        yield {
          span: name,
          severity: threaded ? 'error' : 'warning',
          message: `${isForAll ? '' : `for ${joinedInShort(without)}: `}${named(name.text)} is tightened, but no torque is given here or declared: write \`to\` and the maker's figure behind it, or \`torque\` and that figure in its declaration${threaded ? '' : ', or `by hand`'}${setByTurning(statement, threaded)}.`,
          related: related(part.name, `${named(name.text)} is declared here`),
          data: { subject: name.text, ...(!isForAll && { codes: without }) },
        };
      }
    }
  },
};

/** Words for what a nut or screw is turned to that has no torque. Common practice, no source. */
const setting = /\b(?:until|till|clearance|end-?float|endplay|flush|gap|length|play|turns?|zero)\b/i;

/** What mends it where the text tells of a part that is set, not tightened. */
const setByTurning = ({ text }: Statement, threaded: boolean): string =>
  text === undefined || !setting.test(text.value)
    ? ''
    : `; where it is set by turning, to a play or a length, tell how in a \`do\` in place of \`tighten\` and \`loosen\`${threaded ? ', and take `thread` out of its declaration' : ''}`;

/** The part that is tightened, where neither that nor its declaration could say a torque and does. */
function partWithout(model: Model, { kind, name, byHand, broken }: Statement): Declaration | undefined {
  if (kind !== 'tighten' || byHand !== undefined || broken) return undefined;
  const part = model.parts.get(name?.text ?? '');
  return part === undefined || part.broken || part.torque !== undefined ? undefined : part;
}

const leavesOpen = (model: Model, step: Step): boolean =>
  statementsIn(step).some((statement) => partWithout(model, statement) !== undefined);

/** By part, the statements of a step that say to which torque it is tightened. */
const torquedIn = noted((step: Step): ReadonlyMap<string, readonly Statement[]> => {
  const found = new Map<string, Statement[]>();
  for (const statement of statementsIn(step)) {
    const { kind, name, to, stages } = statement;
    if (kind !== 'tighten' || name === undefined || (to ?? stages) === undefined) continue;
    addTo(found, name.text, statement);
  }
  return found;
});

/**
 * Tells for which codes no statement of `step` says to which torque a part is tightened; nothing where one does for all.
 * A step may tighten one part thousands of times: what is said of it is gone through once.
 */
function codesWithoutIn(model: Model, step: Step): (tightening: Statement) => readonly string[] | undefined {
  const told = new Map<string, ReadonlySet<string>>();
  return (tightening) => {
    const name = tightening.name?.text ?? '';
    const torqued = torquedIn(step).get(name);
    if (torqued === undefined) return codesAt(model, tightening);
    const codes = told.get(name) ?? new Set(torqued.flatMap((each) => codesAt(model, each)));
    told.set(name, codes);
    const without = codesAt(model, tightening).filter((code) => !codes.has(code));
    return without.length === 0 ? undefined : without;
  };
}
