import type { Declaration, Statement, Step } from '../../../grammar/syntax.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import { on, type PartState } from '../ledger/state.ts';
import { namesWhere } from '../model/amended.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { actionsWhere } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, linesToMove, removeLine } from './edits.ts';
import { beginAlike, firstPast, flowsOf, lastPlaceOf, placesOn } from './entries.ts';
import { codesOf, isMovable, leavesNoLine, stepOf } from './for-codes.ts';
import { curesAt, waitLine } from './not-cured.ts';
import { named } from './wording.ts';

export const drainOpen: Check = {
  code: 'drain-open',
  severity: 'warning',
  section: 'Coming back',
  fires:
    'a fluid is filled while the drain plug that was taken out to drain it is off, and goes back only further down; not where a vent or level hole is shut in between, as it then came up through the drain hole.',
  why: 'It runs out as it goes in, over the floor and whoever stands there.',
  assumes: () => [
    'A drain plug is a part with the word drain or sump in its name or title that is removed in the step of the `drain`, above it, where nothing else is drained by it; of several fluids it holds the one whose words its name or title shares. Common practice, no source.',
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
  repairs(finding, { ledger, model }) {
    const plug = String(finding.data?.['subject']);
    const codes = codesOf(model, finding);
    const variant = ledger.variants.find(({ code }) => code === undefined || codes.includes(code));
    const fill = statementsOf(model, 'fill').find(({ name }) => name !== undefined && beginAlike(name, finding.span));
    const last = variant && placesOn(variant, plug).at(-1);
    if (variant === undefined || fill === undefined || last === undefined) return [];
    const { statement: behind } = variant.entries[last]!;
    if (last < lastPlaceOf(variant, fill) || !isMovable(model, fill) || !isMovable(model, behind)) return [];
    const moved = [fill, ...levelsBehind(fill)];
    if (leavesNoLine(moved)) return [];
    const { above, wait } = whereCured(model, codes, behind);
    const waiting = above !== behind ? ' and its wait' : wait === undefined ? '' : `, wait ${wait.missing} before it`;
    return [
      {
        title: `Fill ${fill.name!.text} behind ${behind.kind} ${plug}${waiting}`,
        edits: [
          ...moved.map((each) => removeLine(model.tree, each)),
          insertAfter(model.tree, above, [
            ...(wait === undefined ? [] : [waitLine(wait.missing, wait.supply)]),
            ...moved.flatMap((each) => linesToMove(model.tree, each)),
          ]),
        ],
        safe: false,
      },
    ];
  },
};

/** `behind`, or a wait below it in its step, where all that was applied has cured; else `behind`, and what is to be waited for. */
function whereCured(
  model: Model,
  codes: readonly string[],
  behind: Statement,
): { readonly above: Statement; readonly wait: ReturnType<typeof curesAt> } {
  const step = stepOf(behind)!;
  const at = step.statements.indexOf(behind);
  const wait = curesAt(model, codes, step, at + 1);
  if (wait === undefined) return { above: behind, wait };
  for (let i = at + 1; i < step.statements.length; i++) {
    const each = step.statements[i]!;
    if (each.kind === 'wait' && curesAt(model, codes, step, i + 1) === undefined)
      return { above: each, wait: undefined };
    // What else fills or loads comes first.
    if (each.kind === 'fill' || each.kind === 'check') break;
  }
  return { above: behind, wait };
}

/** What is done right behind a fill up to where its level is looked at: it goes where the fill goes. */
function levelsBehind(fill: Statement): readonly Statement[] {
  const { statements = [] } = stepOf(fill) ?? {};
  const behind = statements.slice(statements.indexOf(fill) + 1);
  const end = behind.findIndex(({ kind }) => !looks.has(kind));
  const looking = end < 0 ? behind : behind.slice(0, end);
  return looking.slice(
    0,
    looking.findLastIndex(({ name, text }) => isOfLevel(`${name?.text ?? ''} ${text?.value ?? ''}`)) + 1,
  );
}
const looks: ReadonlySet<string> = new Set(['check', 'do', 'inspect', 'measure', 'wait']);
const isOfLevel = (said: string): boolean => /\b(?:levels?|dipstick|sight|top(?:ped)?[- ]up)\b/i.test(said);

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  // As nearly always, the plug is back before anything is filled: the places of all entries would be found anew after each edit.
  const moves = actionsWhere(variant, movesDrain, model);
  const lastOf = new Map<string, Turn>();
  turnsIn(
    moves.map(({ statement }) => statement),
    model,
  ).forEach((turn, i) => {
    lastOf.set(moves[i]!.part, turn);
  });
  const fills = statementsOf(model, 'fill');
  const firstOf = new Map<string, Turn>();
  turnsIn(fills, model).forEach((turn, i) => {
    const fluid = fills[i]!.name?.text;
    if (fluid !== undefined && !firstOf.has(fluid)) firstOf.set(fluid, turn);
  });
  for (const [fluid, plugs] of plugsOf(model)) {
    const first = firstOf.get(fluid);
    if (first === undefined) continue;
    for (const plug of plugs) {
      // What the plug holds or covers, as its ring, is back with it.
      const { heldBy = [], behind = [] } = model.parts.get(plug) ?? {};
      if ([...heldBy, ...behind].some(({ text }) => text !== plug && plugs.has(text))) continue;
      const last = lastOf.get(plug);
      if (variant.swaps.size === 0 && last !== undefined && isBehind(first, last)) continue;
      yield* withPlugOff(variant, model, fluid, flowsOf(variant, 'fill', fluid), plug);
    }
  }
}

/** When a statement has its turn: the place of its step, and where it stands there. */
interface Turn {
  readonly step: number;
  readonly start: number;
}
const isBehind = (one: Turn, other: Turn): boolean =>
  one.step > other.step || (one.step === other.step && one.start > other.start);

/** The turns of statements that stand in the order of the steps. */
function turnsIn(statements: readonly Statement[], { steps }: Model): readonly Turn[] {
  let step = 0;
  return statements.map(({ chunk, start }) => {
    while (step < steps.length && steps[step]!.step.chunk !== chunk) step++;
    return { step, start };
  });
}

const movesDrain = ({ part }: Action, parts: Model['parts']): boolean => isDrain(parts.get(part));

function* withPlugOff(
  variant: Variant,
  model: Model,
  fluid: string,
  fills: readonly number[],
  old: string,
): Generator<Raw> {
  const plug = variant.swaps.get(old) ?? old;
  if (variant.unsure.has(old) || variant.unsure.has(plug)) return;
  const either = plug === old ? [old] : [old, plug];
  const onAt = (place: number): number =>
    either.reduce((sum, name) => sum + onOf(stateBefore(variant, name, place)), 0);
  // Of one that never comes back another check tells.
  const end = either.reduce((sum, name) => sum + onOf(variant.final.get(name)), 0);
  const last = Math.max(...either.map((name) => placesOn(variant, name).at(-1) ?? -1));
  const drains = flowsOf(variant, 'drain', fluid);
  for (let i = firstPast(fills, placesOn(variant, old)[0] ?? last); i < fills.length && fills[i]! < last; i++) {
    const place = fills[i]!;
    const { name, text } = variant.entries[place]!.statement;
    if (name === undefined || onAt(place) >= end) continue;
    if (isPouredIntoPart(variant, model, text?.value ?? '', place)) continue;
    // What rinses the unit is to run out.
    const next = drains[firstPast(drains, place)];
    if (next !== undefined && onAt(next) < end) continue;
    if (isFilledFromBelow(variant, model, place, last)) continue;
    yield {
      span: name,
      message: `${named(fluid)} goes in while ${named(plug)} is off, and runs out again: fit it first.`,
      related: related(stateBefore(variant, old, place)?.lastOff?.name, `${named(old)} comes off here`),
      data: { subject: plug },
    };
  }
}

/** Whether a text says that the fluid goes into a part that lies on the bench: it does not reach the drain hole. */
function isPouredIntoPart(variant: Variant, { parts }: Model, text: string, place: number): boolean {
  const [, into] = /\b(?:in|inside|into|over|prim(?:e|es|ing)|wet)\b(.*)/i.exec(text) ?? [];
  if (into === undefined) return false;
  const words = into.toLowerCase().match(/\p{L}{3,}/gu) ?? [];
  return words.some((word) =>
    (calledBy(parts).get(word) ?? []).some((name) => {
      const state = stateBefore(variant, name, place);
      return state !== undefined && on(state) === 0;
    }),
  );
}
/** By each word that parts other than drain plugs are called by, those parts; a word of more than a few says nothing. */
const calledBy = noted((parts: Model['parts']): ReadonlyMap<string, readonly string[]> => {
  const called = new Map<string, string[]>();
  for (const [name, part] of parts) if (!isDrain(part)) for (const word of wordsOf(part)) addTo(called, word, name);
  for (const [word, { length }] of called) if (length > mostAlike) called.delete(word);
  return called;
});

/**
 * Whether, between a fill at `place` and the plug that goes in last, the vent or level hole is shut: then the fluid came up through the
 * drain hole, and stands in the unit while no air gets in from above.
 */
const isFilledFromBelow = (variant: Variant, { parts }: Model, place: number, last: number): boolean =>
  namesWhere(parts, isVent).some((vent) =>
    placesOn(variant, vent).some(
      (at) =>
        at > place &&
        at < last &&
        variant.entries[at]!.actions.some(({ verb, part }) => verb === 'fit' && part === vent),
    ),
  );
const isVent = ({ name, title }: Declaration): boolean =>
  /\b(?:vent|level|overflow)\b/i.test(`${name?.text ?? ''} ${title?.value ?? ''}`);

const onOf = (state: PartState | undefined): number => (state === undefined ? 0 : on(state));

/** Statements of a step that open, drain or fill. */
const flowing = noted((step: Step): readonly Statement[] =>
  statementsIn(step).filter(({ kind }) => kind === 'fill' || kind === 'remove' || kind === 'drain'),
);

/** By fluid, what is taken out to drain it; of what comes out above the drains of several fluids, what is called by one of them. */
export const plugsOf = noted((model: Model): ReadonlyMap<string, ReadonlySet<string>> => {
  const plugs = new Map<string, Set<string>>();
  if (namesWhere(model.parts, isDrain).length === 0) return plugs;
  for (const step of new Set(statementsOf(model, 'drain').map(stepOf))) {
    if (step === undefined) continue;
    let out: string[] = [];
    let drained = new Set<string>();
    const filled = new Set<string>();
    const settle = (): void => {
      for (const plug of drained.size === 0 ? [] : out) {
        const [only] = drained.size === 1 ? drained : [];
        const fluid = fluidNamedBy(model, plug) ?? only;
        if (fluid === undefined || !drained.has(fluid)) continue;
        const known = plugs.get(fluid) ?? new Set<string>();
        plugs.set(fluid, known.add(plug));
      }
      [out, drained] = [[], new Set()];
    };
    for (const { kind, name } of flowing(step)) {
      if (name === undefined) continue;
      if (kind === 'fill') filled.add(name.text);
      else if (kind === 'remove' && isDrain(model.parts.get(name.text))) {
        if (drained.size > 0) settle();
        filled.clear();
        out.push(name.text);
        // What was poured in to rinse comes out by the same way.
      } else if (kind === 'drain' && out.length > 0 && !filled.has(name.text)) drained.add(name.text);
    }
    settle();
  }
  return plugs;
});

/** A word that more fluids than this have in common tells none of them apart, and is not looked at. */
const mostAlike = 20;

/** The one fluid of all that are drained whose words the name or title of `plug` shares most. */
function fluidNamedBy(model: Model, plug: string): string | undefined {
  const shared = new Map<string, number>();
  for (const word of wordsOf(model.parts.get(plug))) {
    const called = drainedBy(model).get(word) ?? [];
    if (called.length <= mostAlike) for (const fluid of called) shared.set(fluid, (shared.get(fluid) ?? 0) + 1);
  }
  let [most, found]: [number, string | undefined] = [0, undefined];
  for (const [fluid, count] of shared)
    if (count > most) [most, found] = [count, fluid];
    else if (count === most) found = undefined;
  return found;
}
/** By each word that fluids are called by, those of them that are drained. */
const drainedBy = noted((model: Model): ReadonlyMap<string, readonly string[]> => {
  const fluids = new Set(statementsOf(model, 'drain').flatMap(({ name }) => (name === undefined ? [] : [name.text])));
  const called = new Map<string, string[]>();
  for (const fluid of fluids) for (const word of wordsOf(model.supplies.get(fluid))) addTo(called, word, fluid);
  return called;
});
const noWords: ReadonlySet<string> = new Set();
const wordsOf = (declared: Declaration | undefined): ReadonlySet<string> =>
  declared === undefined ? noWords : wordsSaid(declared);
const wordsSaid = noted(
  ({ name, title }: Declaration): ReadonlySet<string> =>
    new Set(`${name?.text ?? ''} ${title?.value ?? ''}`.toLowerCase().match(/\p{L}{3,}/gu) ?? []),
);

const isDrain = (part: Declaration | undefined): boolean => part !== undefined && drains(part).is;

const drains = noted(({ name, title }: Declaration): { readonly is: boolean } => {
  const said = `${name?.text ?? ''} ${title?.value ?? ''}`;
  return { is: /\b(?:drain|sump)\b/i.test(said) && !/\b(?:guard|shield)\b/i.test(said) };
});
