import type { Quantity, Statement } from '../../../grammar/syntax.ts';
import { cameInToFlush, drainedFrom, isFlushedOut } from '../checks/left-open.ts';
import { restated } from '../checks/mixed-units.ts';
import { timeToWait } from '../checks/not-cured.ts';
import { listed } from '../checks/wording.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { FluidState } from '../ledger/state.ts';
import { extentOf, figure, fromSI, leastOf, mostOf, siValueOf, written } from '../model/quantity.ts';
import { loadsUnit } from '../model/statements.ts';
import { quoted } from './draft-layout.ts';
import {
  type DraftState,
  goesOn,
  isConnection,
  type Made,
  short,
  type TextPhase,
  type WorkPhase,
} from './draft-state.ts';
import { coatsOf } from './draft-supplies.ts';

const nothing: ReadonlySet<string> = new Set();

// --- what cures -----------------------------------------------------------------------------------------------------------

/** Sealants and thread lockers go on right before their part is fitted. */
export const coat: WorkPhase = {
  made(draft) {
    const returning = new Set(draft.ledger.variants.flatMap((variant) => [...draft.returning(variant)]));
    const { coats, notes } = coatsOf(draft.model, (part) => returning.has(part));
    for (const note of notes) draft.notes.add(note);
    const applied = new Map(draft.ledger.variants.map((variant) => [variant, appliedIn(variant)]));
    return coats.flatMap(({ supply, part }) =>
      draft.ledger.variants.flatMap((variant): Made[] => {
        const coat = `${supply} ${part}`;
        if (firstFit(draft, variant, part) === undefined || applied.get(variant)!.has(coat)) return [];
        draft.coats.add(coat);
        return [
          {
            lines: [`apply ${supply} to ${part}`],
            part,
            kind: 'apply',
            variants: [variant],
            key: draft.keyOf(variant, part) + 0.3,
            source: draft.relations(variant).originOf(part)?.step,
            along: nothing,
          },
        ];
      }),
    );
  },
  limits(draft, { variants, part }) {
    const high = Math.min(...variants.map((variant) => firstFit(draft, variant, part)!));
    return { low: -1, high, fits: () => true, preferred: [high - 1] };
  },
};

const firstFit = (draft: DraftState, variant: Variant, part: string): number | undefined =>
  draft.landingsOf(variant, part).find(({ action }) => action.verb === 'fit')?.place;

/** `supply part` of what the reassembly applies. */
const appliedIn = ({ entries }: Variant): ReadonlySet<string> =>
  new Set(
    entries.flatMap(({ statement: { kind, name, targets }, step }) =>
      step.phase === 'reassembly' && kind === 'apply'
        ? (targets ?? []).map((target) => `${name?.text ?? ''} ${target.text}`)
        : [],
    ),
  );

// --- fluids ---------------------------------------------------------------------------------------------------------------

/** What was drained goes in when everything that closes it is back; a filler plug, and what covers that, comes after. */
export const fill: WorkPhase = {
  made: (draft) =>
    draft.ledger.variants.flatMap((variant) =>
      [...variant.fluids].flatMap(([supply, state]): Made[] => {
        const drain = state.lastDrain?.statement;
        if (!variant.unsure.has(supply)) noteToppedUp(draft, supply, state);
        if (!isOwed(variant, supply) || drain === undefined || isReplaced(variant, state)) return [];
        const source = draft.origins.get(drain)?.step;
        const line = source?.phase === 'proving' ? undefined : fillLine(draft, supply, state);
        if (line === undefined) return [];
        const key = draft.fillKey(variant, drain);
        return [{ lines: [line], part: supply, kind: 'fill', variants: [variant], key, source, along: nothing }];
      }),
    ),
  limits(draft, { variants, part, key }) {
    let low = -1;
    let high = Number.POSITIVE_INFINITY;
    const later = new Set<string>();
    for (const variant of variants) {
      const drain = variant.fluids.get(part)!.lastDrain!.statement;
      for (const each of withBlockers(draft, variant, draft.fillersOf(variant, drain))) later.add(each);
      for (const { action, place } of draft.landings(variant)) {
        const after = isConnection(variant.final.get(action.part)) && draft.ordinalOf(variant, action.part) < key;
        if (goesOn(action) && !later.has(action.part) && !after) low = Math.max(low, place);
      }
    }
    for (const { statement, place } of draft.layout.units) if (statement.kind === 'wait') low = Math.max(low, place);
    for (const variant of variants)
      for (const { action, place } of draft.landings(variant))
        if (later.has(action.part) && place > low) high = Math.min(high, place);
    return { low, high, fits: () => true, preferred: [] };
  },
};

/** A fluid that is drained and then only topped up while the unit is proved, by less than is declared. */
function noteToppedUp(draft: DraftState, supply: string, { lastDrain, filled, fills }: FluidState): void {
  const declared = draft.model.supplies.get(supply)?.amount;
  const whole = extentOf(declared);
  if (lastDrain === undefined || !filled || whole === undefined) return;
  let sum = 0;
  for (let fill = fills; fill !== undefined; fill = fill.drained ? undefined : fill.earlier) {
    const { statement } = fill;
    const extent = extentOf(statement.amount);
    if (extent?.kind !== whole.kind) return;
    if (draft.origins.get(statement)?.step.phase !== 'proving') return;
    sum += extent.high;
  }
  const unit = declared!.inUnit!;
  if (sum < whole.low * (1 - 1e-9))
    draft.notes.add(
      `All of \`${supply}\` that goes in is ${figure(fromSI(sum, unit), 6)} ${unit.symbol} in proving, and ${written(declared!)} is declared: \`fill\` the rest in the reassembly.`,
    );
}

const isOwed = ({ fluids, unsure }: Variant, supply: string): boolean => {
  const state = fluids.get(supply)!;
  return state.drained && !state.filled && !unsure.has(supply);
};

/** Another fluid takes the place of one that only came in to flush, or will when it is filled. */
const isReplaced = (variant: Variant, state: FluidState): boolean =>
  isFlushedOut(variant, state) ||
  (cameInToFlush(state) &&
    [...variant.fluids].some(([supply, other]) => isOwed(variant, supply) && !cameInToFlush(other)));

/** `parts`, and all that may only go back after them. */
function withBlockers(draft: DraftState, variant: Variant, parts: readonly string[]): ReadonlySet<string> {
  const found = new Set(parts);
  // What is added is gone through in turn.
  for (const each of found) for (const part of draft.relations(variant).blockers(each)) found.add(part);
  return found;
}

/** With the declared quantity, else with what was drained. */
export function fillLine(draft: DraftState, supply: string, state: FluidState): string | undefined {
  const declared = draft.model.supplies.get(supply)?.amount;
  if (declared !== undefined && isVolumeOrMass(declared)) return `fill ${supply} ${restated(draft.model, declared)}`;
  const drained = drainedFrom(state);
  if (drained === undefined || (typeof drained !== 'string' && drained.inUnit === undefined)) {
    draft.notes.add(
      `\`${supply}\` is drained, and neither its declaration nor the drain says how much: \`fill\` it with a quantity.`,
    );
    return undefined;
  }
  return `fill ${supply} ${typeof drained === 'string' ? drained : restated(draft.model, drained)}`;
}

const isVolumeOrMass = ({ inUnit }: Quantity): boolean => inUnit?.kind === 'volume' || inUnit?.kind === 'mass';

// --- waiting --------------------------------------------------------------------------------------------------------------

interface Cure {
  /** The first load behind it; nothing where there is none. */
  readonly loading: Statement | undefined;
  readonly supply: string;
  /** Seconds still to wait. */
  readonly short: number;
  readonly variant: Variant;
}

/** Time to cure ahead of the first load, and at the end where nothing loads what was applied here. */
export const wait: TextPhase = {
  amiss: (draft) => curesOf(draft).reduce((sum, { short }) => sum + short, 0),
  insertions(draft) {
    const { layout, model } = draft;
    const waits = new Map<Statement | undefined, { seconds: number; supplies: Set<string>; variants: Set<Variant> }>();
    for (const { loading, supply, short, variant } of curesOf(draft)) {
      const here = loading !== undefined && layout.placeOf(loading) !== undefined ? loading : undefined;
      const known = waits.get(here) ?? { seconds: 0, supplies: new Set<string>(), variants: new Set<Variant>() };
      waits.set(here, {
        seconds: Math.max(known.seconds, short),
        supplies: known.supplies.add(supply),
        variants: known.variants.add(variant),
      });
    }
    const passed = new Map(
      draft.ledger.variants.map((variant) => [variant, new Set(variant.entries.map(({ statement }) => statement))]),
    );
    return [...waits].map(([loading, { seconds, supplies, variants }]) => {
      const titles = [...supplies].map((supply) => model.supplies.get(supply)?.title?.value ?? supply);
      const said = `${listed(titles)} ${titles.length === 1 ? 'cures' : 'cure'}`;
      const wait = `wait ${timeText(draft, seconds, supplies)} ${quoted(short(said) ? said : 'What was applied cures')}`;
      // Where other codes load here they have waited.
      const there = draft.ledger.variants.filter(
        (variant) => loading === undefined || passed.get(variant)!.has(loading),
      );
      const codes = [...variants].map(({ code }) => code);
      const lines = variants.size < there.length ? [`for ${codes.join(', ')}`, `  ${wait}`, 'end'] : [wait];
      if (loading !== undefined && loading.chunk.uri === model.tree.uri) return layout.above(loading, lines);
      // A shared file is not written into: ahead of its steps.
      const before = (loading === undefined ? undefined : layout.placeOf(loading)) ?? Number.POSITIVE_INFINITY;
      const slot = layout.slots.findLast(({ inside, place }) => inside === undefined && place < before);
      return layout.between(slot ?? layout.slots.at(-1)!, [draft.newStep('let-cure', 'Let it cure', lines)]);
    });
  },
};

/** Cures that lack time. Of what is drafted here only `wait` counts: the times of its steps are estimates. */
function curesOf(draft: DraftState): Cure[] {
  return draft.ledger.variants.flatMap((variant) => [
    ...variant.earlyLoads.map(({ supply, loading, cure, elapsed }) => ({
      loading,
      supply,
      short: cure - elapsed,
      variant,
    })),
    ...shortOf(draft, variant),
  ]);
}

function shortOf(draft: DraftState, variant: Variant): Cure[] {
  const cures: Cure[] = [];
  let loading: Statement | undefined;
  let waited = 0;
  for (const { statement, step, role } of variant.entries.toReversed()) {
    const { kind, name, amount, targets } = statement;
    const supply = name?.text ?? '';
    if (loadsUnit(statement, step.phase)) {
      loading = statement;
      waited = 0;
    } else if (kind === 'wait')
      // One whose time cannot be read counts as none: a wait too many in the draft does no harm.
      waited += leastOf(amount, 'time') ?? 0;
    else if (kind === 'apply' && role === 'statement') {
      const isOurs = (targets ?? []).some((target) => draft.coats.has(`${supply} ${target.text}`));
      const cure = mostOf(draft.model.supplies.get(supply)?.cure, 'time') ?? 0;
      if (isOurs && waited + 1e-6 < cure) cures.push({ loading, supply, short: cure - waited, variant });
    }
  }
  return cures.reverse();
}

function timeText(draft: DraftState, seconds: number, supplies: ReadonlySet<string>): string {
  for (const supply of supplies) {
    const cure = draft.model.supplies.get(supply)?.cure;
    if (cure?.form === 'single' && Math.abs((siValueOf(cure, 'time') ?? 0) - seconds) < 1e-6) return written(cure);
  }
  return timeToWait(seconds);
}
