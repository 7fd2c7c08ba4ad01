import type { Declaration } from '../../../grammar/syntax.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import { onBench } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { type Check, eachVariant, named, type Raw, related } from './check.ts';
import { lastPlaceOf } from './entries.ts';

export const drainOpen: Check = {
  code: 'drain-open',
  severity: 'warning',
  section: 'Coming back',
  fires:
    'a fluid is filled while the drain plug that was taken out to drain it is off, and goes back only further down.',
  why: 'It runs out as it goes in, over the floor and whoever stands there.',
  assumes: () => [
    'A drain plug is a part with the word drain or sump in its name or title that is removed in the step of the `drain`, above it. Common practice, no source.',
  ],
  bad: `part drain-plug "Drain plug"
supply oil "Gear oil" 1.8 L
teardown
  step drain
    remove drain-plug
    drain oil
reassembly
  step fill
    fill oil 1.8 L
    fit drain-plug`,
  good: `part drain-plug "Drain plug"
supply oil "Gear oil" 1.8 L
teardown
  step drain
    remove drain-plug
    drain oil
reassembly
  step fill
    fit drain-plug
    fill oil 1.8 L`,
  *run({ ledger, model }) {
    if (statementsOf(model, 'fill').length > 0 && plugsOf(model).size > 0)
      yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const plugs = plugsOf(model);
  for (const statement of statementsOf(model, 'fill')) {
    const { name } = statement;
    const place = lastPlaceOf(variant, statement);
    if (name === undefined || place < 0) continue;
    for (const plug of plugs.get(name.text) ?? []) {
      const [state, end] = [stateBefore(variant, plug, place), variant.final.get(plug)];
      if (state === undefined || end === undefined || variant.unsure.has(plug)) continue;
      // Of one that never comes back another check tells.
      if (onBench(state) === 0 || onBench(end) > 0) continue;
      yield {
        span: name,
        message: `${named(name.text)} goes in while ${named(plug)} is off, and runs out again: fit it first.`,
        related: related(state.lastOff?.name, `${named(plug)} comes off here`),
        data: { subject: plug },
      };
    }
  }
}

/** By fluid, what is taken out to drain it. */
export const plugsOf = noted((model: Model): ReadonlyMap<string, ReadonlySet<string>> => {
  const plugs = new Map<string, Set<string>>();
  if (statementsOf(model, 'drain').length === 0) return plugs;
  for (const { step } of model.steps) {
    const out: string[] = [];
    for (const { kind, name } of statementsIn(step)) {
      if (name === undefined) continue;
      if (kind === 'remove' && isDrain(model.parts.get(name.text))) out.push(name.text);
      if (kind !== 'drain' || out.length === 0) continue;
      const known = plugs.get(name.text) ?? new Set<string>();
      plugs.set(name.text, known);
      for (const plug of out) known.add(plug);
    }
  }
  return plugs;
});

const isDrain = (part: Declaration | undefined): boolean =>
  part !== undefined && /\b(?:drain|sump)\b/i.test(`${part.name?.text ?? ''} ${part.title?.value ?? ''}`);
