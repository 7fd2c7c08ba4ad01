import type { Variant } from '../ledger/ledger.ts';
import { on, type PartState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { actionsWhere } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { named, participle } from './wording.ts';

/** Verbs that need the part in hand. */
const needsOff: Readonly<Record<string, string>> = {
  fit: 'fitted',
  discard: 'discarded',
  replace: 'replaced',
  'swap-out': 'swapped',
  omit: 'left off',
};

export const notOff: Check = {
  code: 'not-off',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is fitted, discarded, replaced or swapped while it is still on.',
  why: 'The step that takes it off is missing, stands later, or names another part.',
  bad: `procedure unit "Unit"
part cover "Cover"
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
};

const isShort = ({ verb, available, wanted, unsure }: Action): boolean =>
  !unsure && (verb === 'fit' ? available === 0 : available < (wanted ?? 1));

/** What was to be replaced or discarded while it was on, and has not come off since: that was told of there. */
const wasToldOn = (state: PartState): boolean =>
  on(state) > 0 && state.cameOff && state.lastOff === undefined && state.lastBack === undefined;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsWhere(variant, isShort)) {
    const done = participle(action, needsOff);
    if (done === undefined) continue;
    const state = action.before;
    if (action.verb === 'fit' && wasToldOn(state)) continue;
    const why =
      action.available > 0
        ? `only ${action.available} of ${named(action.part)} ${action.available === 1 ? 'is' : 'are'} off`
        : on(state) > 0
          ? `${named(action.part)} is on and cannot be ${done}`
          : `nothing of ${named(action.part)} is off to be ${done}`;
    const swapped = action.verb === 'fit' && on(state) === 0 && state.swappedOut > 0 ? state.lastScrap : undefined;
    const successor = swapped?.statement.kind === 'swap' ? swapped.statement.targets?.[0]?.text : undefined;
    const takeOff = `\`${action.statement.kind === 'connect' ? 'disconnect' : 'remove'}\` it first`;
    const remedy =
      successor !== undefined
        ? `${named(successor)} has taken its place, write that, or take this line out`
        : on(state) === 0
          ? 'take this line out, or correct the name'
          : action.verb === 'swap-out'
            ? `${takeOff}, or exchange the two if it is the one that goes in`
            : action.verb === 'fit' && !action.fresh && !state.cameOff && state.lastOff === undefined
              ? `${takeOff}, or \`fit new\` where it comes from stock`
              : action.verb === 'fit' && state.lastBack !== undefined
                ? `take this line out, or ${takeOff}`
                : takeOff;
    yield {
      span: action.name,
      message: `${why}: ${remedy}.`,
      related: [
        ...related(state.lastBack?.name, `${named(action.part)} went back on here`),
        ...related(model.parts.get(action.part)?.name, `${named(action.part)} is declared here`),
      ],
      data: { subject: action.part },
    };
  }
}
