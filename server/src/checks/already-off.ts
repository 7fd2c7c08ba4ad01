import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { actionsWhere } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { named, participle } from './wording.ts';

const done: Readonly<Record<string, string>> = {
  remove: 'removed',
  loosen: 'loosened',
  tighten: 'tightened',
  'hand-tighten': 'tightened',
};

export const alreadyOff: Check = {
  code: 'already-off',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is removed, loosened or tightened that is off, or more pieces than are on.',
  why: 'Either the part came off earlier, or the count does not match the unit.',
  bad: `part cover "Cover"
teardown
  step open
    remove cover
    remove cover
reassembly
  step close
    fit cover`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model }) {
    const correct = finding.data?.['correct'];
    return typeof correct === 'number'
      ? [
          {
            title: `Correct the count to x${correct}`,
            edits: [replaceSpan(model.tree, finding.span, `x${correct}`)],
            safe: false,
          },
        ]
      : [];
  },
};

const isShort = ({ available, wanted, unsure }: Action): boolean => !unsure && available < (wanted ?? 1);

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsWhere(variant, isShort)) {
    const verb = participle(action, done);
    if (verb === undefined) continue;
    const none = action.available === 0;
    const { stock } = action.before;
    const remedy =
      verb === 'tightened'
        ? '`fit` it first'
        : // What is removed anywhere is in stock only where a `swap` brings it in.
          stock
          ? 'take this line out, or correct its `swap`, which names first what comes off'
          : 'take this line out, or correct the name';
    yield {
      span: none ? action.name : (action.statement.count ?? action.name),
      message: none
        ? `${named(action.part)} is ${stock ? 'not fitted yet' : 'off'} and cannot be ${verb}: ${remedy}.`
        : `only ${action.available} of ${named(action.part)} ${action.available === 1 ? 'is' : 'are'} on, ${action.wanted} are to be ${verb}: write \`x${action.available}\`.`,
      related: [
        ...related(action.before.lastOff?.name, `${named(action.part)} came off here`),
        ...related(model.parts.get(action.part)?.name, `${named(action.part)} is declared here`),
      ],
      data: {
        subject: action.part,
        ...(none || action.statement.count === undefined ? {} : { correct: action.available }),
      },
    };
  }
}
