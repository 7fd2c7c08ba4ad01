import type { Declaration, Name, Statement, Step } from '../../../grammar/syntax.ts';
import { parsePipeThread } from '../mechanics/index.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import { keptAsDeclared } from './as-declared.ts';
import { type Check, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { statedTorquesOf } from './fastening.ts';
import { stepOf } from './for-codes.ts';
import { named } from './wording.ts';

export const conditionDiffers: Check = {
  code: 'condition-differs',
  severity: 'warning',
  section: 'Tightening',
  fires:
    'in reassembly something is applied to a threaded part that makes its friction otherwise than declared: oil or grease on a `dry` one, anti-seize paste on one that is `dry`, `oiled` or `threadlock`; an information where its declaration says nothing and a torque is stated for it.',
  why: 'On a slippery thread the same torque clamps harder, by half and more: the bolt is stretched, or strips its thread.',
  assumes: () => [
    'What a supply is follows from its name, title and `spec`: anti-seize, ceramic, copper, nickel, graphite or molybdenum paste or grease; else oil, grease or lubricant, unless it is a sealant, locker, adhesive, cleaner or remover. Common practice, no source.',
  ],
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 15 N·m
supply slick "Anti-seize paste"
reassembly
  step close
    apply slick to bolt
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 paste torque 15 N·m
supply slick "Anti-seize paste"
reassembly
  step close
    apply slick to bolt
    tighten bolt`,
  *run({ model }): Generator<Raw> {
    for (const { statement, threaded } of onThreads(statementsOf(model, 'apply'), model.parts)) {
      const { name } = statement;
      for (const { target, part } of threaded) {
        const supply = model.supplies.get(name?.text ?? '');
        const lubricant = supply === undefined ? undefined : lubricantOf(supply).is;
        const declared = part.condition?.text;
        if (declared === undefined && !isReckoned(part, model)) continue;
        if (lubricant === undefined || !slippier[lubricant].includes(declared) || isToComeOff(statement, model))
          continue;
        const [what, subject] = [named(name!.text), named(target.text)];
        yield {
          span: target,
          ...(declared === undefined && { severity: 'information' as const }),
          message:
            declared === undefined
              ? `${what} lowers the friction of ${subject}, so that a torque clamps it harder than is reckoned: declare it with \`${lubricant}\`, and see that the torque is meant for that.`
              : `${subject} is declared \`${declared}\`, and ${what} goes on it here: a torque clamps it harder than is reckoned; declare it with \`${lubricant}\`, or take this out.`,
          related: related(part.condition ?? part.name, 'declared here'),
          data: { subject: target.text, condition: lubricant },
        };
      }
    }
  },
  repairs({ data }, { model }) {
    const part = model.parts.get(String(data?.['subject']));
    const condition = String(data?.['condition']);
    const behind = part?.propertyClass ?? part?.grade ?? part?.thread;
    if (part === undefined || behind === undefined || part.chunk.uri !== model.tree.uri) return [];
    const edit =
      part.condition === undefined
        ? replaceSpan(model.tree, { ...behind, start: behind.end }, ` ${condition}`)
        : replaceSpan(model.tree, part.condition, condition);
    return [{ title: `Declare it with \`${condition}\``, edits: [edit], safe: false }];
  },
};

/** What goes on threads, and on which. */
const onThreads = keptAsDeclared(
  ({ targets = none }) => targets,
  (applied, parts) =>
    applied.flatMap((statement) => {
      const threaded = (statement.targets ?? none).flatMap((target) => {
        const part = parts.get(target.text);
        return part?.thread === undefined ? [] : [{ target, part }];
      });
      return threaded.length === 0 ? [] : [{ statement, threaded }];
    }),
);
const none: readonly Name[] = [];

const phases = noted(
  ({ steps }: Model): ReadonlyMap<Step, StepEntry['phase']> => new Map(steps.map(({ step, phase }) => [step, phase])),
);

/** What frees a thread that is to come off is wiped off again. */
function isToComeOff(statement: Statement, model: Model): boolean {
  const step = stepOf(statement);
  const phase = step === undefined ? undefined : phases(model).get(step);
  return phase === 'teardown' || phase === 'inspection';
}

/** Whether a torque on it says how hard it clamps, and its declaration nothing that could not be read. */
const isReckoned = (part: Declaration, model: Model): boolean =>
  !part.broken &&
  parsePipeThread(part.thread?.text ?? '') === undefined &&
  (part.torque !== undefined || torqued(model).has(part));

const torqued = noted(
  (model: Model): ReadonlySet<Declaration> => new Set(statedTorquesOf(model).map(({ part }) => part)),
);

type Lubricant = 'oiled' | 'paste';
/** What each makes slippier than it is declared. A thread of which nothing is said may have been oiled. */
const slippier: Readonly<Record<Lubricant, readonly (string | undefined)[]>> = {
  oiled: ['dry'],
  paste: ['dry', 'oiled', 'threadlock', undefined],
};
const antiSeize =
  /\banti-?\s?seize\b|\b(?:assembly|ceramic|copper|graphite|mo(?:ly(?:bdenum)?|s2)|mounting|nickel)[ -](?:\w+[ -])?(?:grease|paste|compound)\b|\bmos2\b/i;
const slips = /\b(?:grease|lube|lubricant|oil)\b/i;
/** Of these, oil and grease are what they stand, or take off. */
const holds = /\b(?:adhesive|cleaner|degreaser|locker|remover|sealant|sealer|solvent|thread-?lock)\b/i;

/** What a thread becomes with a supply on it; nothing of what is not known to make it slip. */
const lubricantOf = noted(({ name, title, spec }: Declaration): { readonly is: Lubricant | undefined } => {
  const said = `${name?.text ?? ''}\n${title?.value ?? ''}\n${spec?.value ?? ''}`;
  return { is: antiSeize.test(said) ? 'paste' : slips.test(said) && !holds.test(said) ? 'oiled' : undefined };
});
