import type { Quantity } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { FluidState, Mark } from '../ledger/state.ts';
import { namesMeantIn } from '../model/meant-names.ts';
import { countOf, isOwn, type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { extentOf, fromSI, say, written } from '../model/quantity.ts';
import { statementsIn } from '../model/statements.ts';
import { owedAtEnd } from './at-end.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertInStep } from './edits.ts';
import { lastPlaceOf } from './entries.ts';
import { codesOf, forCodes } from './for-codes.ts';
import { warned } from './hazards.ts';
import { insertMirrored } from './mirrored.ts';
import { restated } from './mixed-units.ts';
import { curesAt, waitLine } from './not-cured.ts';
import { isSound } from './sound.ts';
import { named } from './wording.ts';

export const leftOpen: Check = {
  code: 'left-open',
  severity: 'error',
  section: 'Coming back',
  fires: 'a fluid is drained and not filled again, or something is disconnected and not connected.',
  why: 'A gearbox that runs dry for a minute is the next overhaul.',
  bad: `supply oil "Gear oil" 1.8 L
teardown
  step drain
    drain oil`,
  good: `supply oil "Gear oil" 1.8 L
teardown
  step drain
    drain oil
reassembly
  step fill
    fill oil 1.8 L`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const subject = String(finding.data?.['subject']);
    if (finding.data?.['kind'] === 'part') {
      const variant =
        ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
      return [
        {
          title: `Connect ${subject} in the mirrored place`,
          edits: [insertMirrored(model, variant, subject, finding, [`connect ${subject}`])],
          safe: false,
        },
      ];
    }
    const amount = String(finding.data?.['amount']);
    const drains = lastDrains(model).get(subject);
    const last =
      model.steps.findLast((entry) => entry.phase === 'reassembly' && isOwn(model, entry)) ?? model.steps.at(-1);
    // What is drained after the reassembly is filled in its own step.
    const step =
      drains !== undefined && last !== undefined && placeOfStep(model, drains) > placeOfStep(model, last)
        ? drains
        : last;
    if (amount === '' || step === undefined) return [];
    const cures = curesAt(model, codesOf(model, finding), step.step, step.step.statements.length);
    const waiting = cures === undefined ? [] : [waitLine(cures.missing, cures.supply)];
    const lines = warned(model, subject, [...waiting, `fill ${subject} ${amount}`], step.step);
    return [
      {
        title: `Fill ${subject}`,
        edits: [insertInStep(model.tree, step.step, forCodes(model, finding, lines), 'last')],
        safe: false,
      },
    ];
  },
};

/** By supply, the last step that drains it, also where its name is misspelt. */
const lastDrains = noted((model: Model): ReadonlyMap<string, StepEntry> => {
  const found = new Map<string, StepEntry>();
  const meant = namesMeantIn(model);
  for (const entry of model.steps)
    for (const { kind, name } of statementsIn(entry.step))
      if (kind === 'drain' && name !== undefined) found.set((meant.get(name) ?? name).text, entry);
  return found;
});

/**
 * What was in the unit, by its drains: what came out before anything was filled in, as it was filled to flush it; as written where one
 * drain says it, and undefined where none says how much.
 */
export function drainedFrom(state: FluidState): Quantity | string | undefined {
  const last = state.lastDrain?.statement.amount;
  const unit = last?.inUnit;
  const extent = extentOf(last);
  if (last === undefined || unit === undefined || extent === undefined) return last;
  let first = state.fills;
  while (first?.earlier !== undefined) first = first.earlier;
  const held = first === undefined ? state.out : first.out;
  const once = (extent.low + extent.high) / 2;
  return held === 0 || Math.abs(held - once) <= 1e-9 * held ? last : say(fromSI(held, unit), unit, 6);
}

/** It was not in the unit at the start: filled first, then drained. */
export function cameInToFlush({ fills }: FluidState): boolean {
  let first = fills;
  while (first?.earlier !== undefined) first = first.earlier;
  return first !== undefined && !first.drained;
}

/** It was never in the unit but to flush it, and another fluid is filled behind that. */
export function isFlushedOut(variant: Variant, state: FluidState): boolean {
  if (!cameInToFlush(state)) return false;
  return lastFilled(variant).place > placeOf(variant, state.lastDrain);
}

const placeOf = (variant: Variant, mark: Mark | undefined): number =>
  mark === undefined ? -1 : lastPlaceOf(variant, mark.statement);

/** Where the last of all fluids that stay filled is filled. */
const lastFilled = noted((variant: Variant) => {
  let place = -1;
  for (const { filled, lastFill } of variant.fluids.values())
    if (filled) place = Math.max(place, placeOf(variant, lastFill));
  return { place };
});

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const [supply, state] of variant.fluids) {
    if (!state.drained || state.filled || state.lastDrain === undefined || variant.unsure.has(supply)) continue;
    if (isFlushedOut(variant, state)) continue;
    const quantity = model.supplies.get(supply)?.amount ?? drainedFrom(state) ?? '';
    const [amount, whole] =
      typeof quantity === 'string'
        ? [quantity, quantity]
        : [written(quantity), isSound(quantity, 'volume', 'mass') ? restated(model, quantity) : ''];
    yield {
      span: state.lastDrain.name,
      message: `${named(supply)} is drained here and never filled again: \`fill ${supply}${amount === '' ? '' : ` ${amount}`}\` before the end.`,
      related: related(model.supplies.get(supply)?.name, `${named(supply)} is declared here`),
      data: { subject: supply, kind: 'supply', amount: whole },
    };
  }
  for (const { part, shortage, mark } of owedAtEnd(variant)) {
    if (shortage !== 'left-open') continue;
    yield {
      span: mark.name,
      message: `${named(part)} is disconnected here and never connected again: \`connect ${part}\` before the end.`,
      related: related(model.parts.get(part)?.name, `${named(part)} is declared here`),
      data: { subject: part, kind: 'part', count: countOf(model.parts.get(part)), variant: variant.code ?? '' },
    };
  }
}
