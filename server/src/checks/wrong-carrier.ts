import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { actionsThat, type Check, eachVariant, named, type Raw, related } from './check.ts';

export const wrongCarrier: Check = {
  code: 'wrong-carrier',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is transferred from something that does not carry it, or more pieces than it carries.',
  why: 'The transfer names the wrong carrier, or stands twice.',
  bad: `part old-drum "Drum"
part new-drum "Drum"
part wheel "Brake wheel"
teardown
  step open
    remove old-drum
    swap old-drum for new-drum
    transfer wheel from old-drum to new-drum
reassembly
  step close
    fit new-drum`,
  good: `part old-drum "Drum"
part new-drum "Drum"
part wheel "Brake wheel" carried by old-drum
teardown
  step open
    remove old-drum
    swap old-drum for new-drum
    transfer wheel from old-drum to new-drum
reassembly
  step close
    fit new-drum`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'transfer')) {
    if (action.available >= (action.wanted ?? 1) || action.unsure) continue;
    const source = action.statement.source!;
    yield {
      span: source,
      message:
        action.available === 0
          ? `${named(source.text)} does not carry ${named(action.part)}: declare it \`carried by ${source.text}\`, or correct the name.`
          : `${named(source.text)} carries only ${action.available} of ${named(action.part)}, ${action.wanted} are to be transferred.`,
      related: related(
        model.parts.get(action.part)?.carriedBy ?? model.parts.get(action.part)?.name,
        `${named(action.part)} is declared here`,
      ),
      data: { subject: action.part },
    };
  }
}
