import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { statementsOf } from '../model/statements.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { fitNew, replaceSpan } from './edits.ts';
import { named } from './wording.ts';

export const renewRefitted: Check = {
  code: 'renew-refitted',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a single-use part, or one that removal spoiled, goes back on without `new`.',
  why: 'A plug that was driven out, a crushed washer or a bearing pulled by its cage does not seal or run a second time.',
  bad: `part bore-plug "Bore plug" renew
teardown
  step open
    remove bore-plug
reassembly
  step close
    fit bore-plug`,
  good: `part bore-plug "Bore plug" renew
teardown
  step open
    remove bore-plug
reassembly
  step close
    fit new bore-plug`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model }) {
    if (finding.data?.['along'] === true) return [];
    const part = String(finding.data?.['subject']);
    const { span } = finding;
    const connect = statementsOf(model, 'connect').find(({ name }) => name === span);
    const edit =
      connect === undefined ? replaceSpan(model.tree, span, `new ${part}`) : fitNew(model.tree, connect, connect.name!);
    return [{ title: `Fit a new ${part}`, edits: [edit], safe: true }];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'fit')) {
    if (action.refittedOld === 0 || action.unsure) continue;
    const single = model.parts.get(action.part)?.renew !== undefined;
    const pieces = action.refittedOld > 1 ? ` (${action.refittedOld} pieces)` : '';
    yield {
      span: action.name,
      message: `the old ${named(action.part)}${pieces} goes back on, but ${single ? 'it is single-use' : 'its removal spoiled it'}: write \`fit new ${action.part}\`.`,
      related: [
        ...related(action.before.lastOff?.name, `${named(action.part)} came off here`),
        ...related(model.parts.get(action.part)?.renew, `declared \`renew\` here`),
      ],
      data: { subject: action.part, along: action.along },
    };
  }
}
