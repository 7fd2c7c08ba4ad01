import { walk } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

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
  repairs({ span, data }, { model }) {
    const place = data?.['turned'] === true ? model.steps.find(({ step }) => step.chunk === span.chunk) : undefined;
    const turned = place && [...walk(place.step.statements)].find(({ source }) => source === span);
    const target = turned?.targets?.[0];
    if (turned?.source === undefined || target === undefined) return [];
    const edits = [
      replaceSpan(model.tree, turned.source, target.text),
      replaceSpan(model.tree, target, turned.source.text),
    ];
    return [{ title: `Transfer from ${target.text} to ${turned.source.text}`, edits, safe: false }];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'transfer')) {
    if (action.available >= (action.wanted ?? 1) || action.unsure) continue;
    const part = model.parts.get(action.part);
    if (part?.broken && part.carriedBy === undefined) continue;
    const source = action.statement.source!;
    yield {
      span: source,
      message:
        action.available === 0
          ? `${named(source.text)} does not carry ${named(action.part)}${remedyOf(action, model)}.`
          : `${named(source.text)} carries only ${action.available} of ${named(action.part)}, ${action.wanted} are to be transferred.`,
      related: related(part?.carriedBy ?? part?.name, `${named(action.part)} is declared here`),
      data: { subject: action.part, turned: action.available === 0 && isTurned(action, model) },
    };
  }
}

/** What it is to be transferred to carries it from the start. */
const isTurned = ({ part, before, statement }: Action, model: Model): boolean => {
  const target = statement.targets?.[0]?.text;
  return model.parts.get(part)?.carriedBy?.text === target && before.carried.some(({ by }) => by === target);
};

function remedyOf(action: Action, model: Model): string {
  const { before, statement } = action;
  const target = statement.targets?.[0]?.text ?? '';
  if (isTurned(action, model)) return `, ${named(target)} does: exchange the two`;
  return before.carried.some(({ by }) => by === target)
    ? `, which sits on ${named(target)} already: take this line out`
    : `: declare it \`carried by ${statement.source!.text}\`, or correct the name`;
}
