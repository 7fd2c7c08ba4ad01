import { type Statement, walk } from '../../../grammar/syntax.ts';
import { runLooseIn } from '../checks/run-loose.ts';
import { tightenLine, times } from '../checks/tighten-line.ts';
import type { Action, Variant } from '../ledger/ledger.ts';
import { missing, on, type PartState } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import { countOf } from '../model/model.ts';
import { quoted } from './draft-layout.ts';
import type { Origin } from './draft-relations.ts';
import {
  type DraftState,
  isConnection,
  type Limits,
  type Made,
  short,
  type TextPhase,
  type WorkPhase,
} from './draft-state.ts';
import { toolsToFit } from './draft-tools.ts';

const nothing: ReadonlySet<string> = new Set();
const anywhere = Number.POSITIVE_INFINITY;

// --- fits and transfers ---------------------------------------------------------------------------------------------------

/** Everything that is owed goes back. */
export const putBack: WorkPhase = {
  made(draft) {
    const made: Made[] = [];
    for (const variant of draft.ledger.variants) {
      for (const [part, state] of variant.final) {
        if (!variant.unsure.has(part))
          made.push(...transfers(draft, variant, part, state), ...refitting(draft, variant, part, state));
        else if (missing(state) + state.stranded > 0)
          draft.notes.add(`Nothing is drafted for \`${part}\`: a line about it cannot be read, or branches differ.`);
      }
    }
    return made;
  },
  limits: (draft, work) => (work.kind === 'transfer' ? transferLimits(draft, work) : fitLimits(draft, work)),
};

/** At any time; best just before the part, or its new carrier, is fitted. */
function transferLimits(draft: DraftState, { variants, part, along }: Made): Limits {
  let high = anywhere;
  for (const variant of variants)
    for (const each of [part, ...along])
      for (const { action, place } of draft.landingsOf(variant, each))
        if (action.verb === 'fit') high = Math.min(high, place);
  return { low: -1, high, fits: () => true, preferred: high === anywhere ? [] : [high - 1] };
}

/** After what took it off and what it holds and covers, before what is done to it once it is on. */
function fitLimits(draft: DraftState, { variants, part, along }: Made): Limits {
  let low = -1;
  let high = anywhere;
  for (const variant of variants) {
    const { lastOff, lastScrap } = variant.final.get(part)!;
    for (const mark of [lastOff, lastScrap])
      low = Math.max(low, (mark === undefined ? undefined : draft.layout.placeOf(mark.statement)) ?? -1);
    low = Math.max(low, draft.lastUnder(variant, part));
  }
  for (const variant of variants)
    for (const { action, place } of draft.landingsOf(variant, part))
      if (place > low && turns(action) && action.available < (action.wanted ?? 1)) high = Math.min(high, place);
  const ready = draft.layout
    .unitsAbout(part)
    .findLast((unit) => unit.place > low && unit.place < high && prepares(unit.statement, part));
  return {
    low,
    high,
    fits: draft.reachable(variants, part, along),
    preferred: ready === undefined ? [] : [ready.place + 1],
  };
}

const turns = ({ verb }: Action): boolean =>
  verb === 'tighten' || verb === 'hand-tighten' || verb === 'loosen' || verb === 'remove';
const preparing: ReadonlySet<string> = new Set(['heat', 'cool', 'press', 'shim', 'try', 'support']);
const prepares = (statement: Statement, part: string): boolean =>
  walk([statement]).some((each) => preparing.has(each.kind) && each.name?.text === part);

/** What sits, or sat, on a carrier that was swapped out moves to what took its place. */
function transfers(draft: DraftState, variant: Variant, part: string, state: PartState): Made[] {
  const relations = draft.relations(variant);
  return state.carried.flatMap(({ by, count }): Made[] => {
    const target = relations.chain(by).at(-1)!;
    const elsewhere = state.carried.reduce((sum, carried) => sum + (carried.by === by ? 0 : carried.count), 0);
    const refitted = Math.min(count, Math.max(0, on(state) - elsewhere));
    if (target === by || count === 0 || state.off + state.fresh + state.stranded + refitted === 0) return [];
    // Swapped for each other in a ring: none took the place for good.
    if (relations.chain(target).length > 1) return [];
    const own = relations.originOf(part);
    const carrier = relations.originOf(target);
    const origin = (own?.ordinal ?? -1) > (carrier?.ordinal ?? -1) && missing(state) > 0 ? own : carrier;
    return [
      {
        lines: [`transfer ${part} from ${by} to ${target}`],
        part,
        kind: 'transfer',
        variants: [variant],
        key: (origin?.ordinal ?? 0) + 0.5,
        source: origin?.step,
        along: new Set([target]),
      },
    ];
  });
}

function refitting(draft: DraftState, variant: Variant, part: string, state: PartState): Made[] {
  const relations = draft.relations(variant);
  const carrier = state.strandedBy?.name.text;
  // What went to scrap with a carrier that nothing was swapped in for.
  const lost = carrier !== undefined && relations.chain(carrier).length === 1 ? state.stranded : 0;
  const good = state.off + state.fresh;
  const fresh = state.spoiled + state.scrap + lost;
  if (good + fresh === 0) return [];
  const off = state.lastOff ?? state.lastScrap ?? state.strandedBy;
  if (off !== undefined && draft.origins.get(off.statement)?.step.phase === 'proving') {
    draft.notes.add(`\`${part}\` comes off in proving: what puts it back belongs there.`);
    return [];
  }
  const whole = countOf(draft.model.parts.get(part));
  const removal = relations.removalOf(part);
  const along = alongWith(draft, variant, part, removal);
  const support = supportOf(draft, part, removal);
  const holding = usingWords((support?.using ?? []).map(({ text }) => text));
  const words = [
    along.length === 0 ? '' : ` with ${along.map(({ name, count }) => name + (count ?? '')).join(', ')}`,
    hintOf(draft, variant, part, state),
    usingWords(toolsToFit(draft.model, removal?.statement, support)),
  ].join('');
  // Without a count, `fit new` would take what is good or in stock as well.
  const exactly = state.settled + state.inStock + good > 0 ? ` x${fresh}` : times(fresh, whole);
  const lines = [
    ...(support === undefined ? [] : [`support ${part}${holding}`]),
    ...(good > 0 ? [`${isConnection(state) ? 'connect' : 'fit'} ${part}${times(good, whole)}${words}`] : []),
    ...(fresh > 0 ? [`fit new ${part}${exactly}${good > 0 ? '' : words}`] : []),
  ];
  const riding = removal === undefined && lost > 0 && carrier !== undefined;
  const origin = relations.originOf(part) ?? (carrier === undefined ? undefined : relations.originOf(carrier));
  return [
    {
      lines,
      part,
      kind: 'fit',
      variants: [variant],
      key: riding ? draft.keyOf(variant, carrier) + 0.25 : draft.keyOf(variant, part),
      source: origin?.step,
      along: new Set(along.map(({ name }) => name)),
    },
  ];
}

/** What came out as one assembly goes in as one, save for what was stripped from it. */
function alongWith(
  draft: DraftState,
  variant: Variant,
  part: string,
  removal: Origin | undefined,
): { name: string; count: string | undefined }[] {
  return (removal?.statement.together ?? []).flatMap(({ name: { text: name }, count }) => {
    const rider = variant.final.get(name);
    const stripped = draft.relations(variant).removalOf(name);
    return rider !== undefined &&
      name !== part &&
      on(rider) > 0 &&
      missing(rider) === 0 &&
      (stripped === undefined || stripped.ordinal < removal!.ordinal)
      ? [{ name, count: count === undefined ? undefined : ` x${count.value}` }]
      : [];
  });
}

/** A load that was held up when it came off is held up when it goes back. */
function supportOf(draft: DraftState, part: string, removal: Origin | undefined): Statement | undefined {
  if (removal === undefined) return undefined;
  const names = new Set([part, removal.statement.name?.text ?? part]);
  const supports = [...names].flatMap((name) => draft.supportsOf(name)).sort((a, b) => a.ordinal - b.ordinal);
  const support = supports.findLast(({ step, ordinal }) => step === removal.step && ordinal < removal.ordinal);
  const again = supports.some(({ statement }) => draft.layout.placeOf(statement) !== undefined);
  return again ? undefined : support?.statement;
}

/** How a marked part is to be set, in the words of its mark. */
function hintOf(draft: DraftState, variant: Variant, part: string, state: PartState): string {
  if (!state.marked || state.off === 0) return '';
  const said = draft.relations(variant).markOf(part)?.text?.value;
  const hint = 'Line up the marks';
  return ` ${quoted(said !== undefined && short(`${hint}: ${said}`) ? `${hint}: ${said}` : hint)}`;
}

const usingWords = (tools: readonly string[]): string => (tools.length === 0 ? '' : ` using ${tools.join(', ')}`);

// --- what is in the way -----------------------------------------------------------------------------------------------------

/** Covers that teardown or inspection put back over what is still off, or loose, come off once more. */
export const reopen: TextPhase = {
  amiss: (draft) => draft.ledger.variants.reduce((sum, variant) => sum + coversOnTop(draft, variant).length, 0),
  insertions(draft) {
    const removals = new Map<string, string[]>();
    for (const variant of draft.ledger.variants) {
      const found = new Set<string>();
      const take = (part: string): void => {
        if (found.has(part)) return;
        found.add(part);
        for (const by of draft.relations(variant).blockers(part))
          if (on(draft.layout.stateAt(variant, by, 0)!) > 0) take(by);
        addTo(removals, part, variant.code ?? '');
      };
      for (const cover of coversOnTop(draft, variant)) take(cover);
    }
    const lines = [...removals].flatMap(([part, codes]) =>
      codes.length === draft.ledger.variants.length
        ? [`remove ${part}`]
        : [`for ${codes.join(', ')}`, `  remove ${part}`, 'end'],
    );
    const step = draft.newStep('reopen', 'Take off again what is in the way', lines);
    return [draft.layout.between(draft.layout.slots[0]!, [step])];
  },
};

function coversOnTop(draft: DraftState, variant: Variant): string[] {
  return [...variant.final].flatMap(([part, state]) =>
    variant.unsure.has(part) || missing(state) + state.loose + state.snug === 0
      ? []
      : [...draft.relations(variant).blockers(part)].filter((by) =>
          draft.layout.slots.every(({ place }) => draft.isBlocked(variant, part, by, place)),
        ),
  );
}

// --- tightening ---------------------------------------------------------------------------------------------------------------

const isSlack = ({ loose, snug }: PartState): boolean => loose + snug > 0;

/** What only proving tightens, when the unit has run on it. */
const runSlack = (draft: DraftState, variant: Variant): (readonly [string, PartState])[] =>
  runLooseIn(variant, draft.model).map(({ part, state }) => [part, state]);

/** What is loose, or only hand-tight, is tightened as declared. */
export const tighten: WorkPhase = {
  made: (draft) =>
    draft.ledger.variants.flatMap((variant) =>
      [...new Map([...runSlack(draft, variant), ...variant.final].filter(([, state]) => isSlack(state)))].flatMap(
        ([part, state]): Made[] => {
          if (variant.unsure.has(part) || state.lastLoose === undefined) return [];
          const loosened = draft.origins.get(state.lastLoose.statement);
          if (loosened?.step.phase === 'proving') {
            draft.notes.add(`\`${part}\` is loose since proving: what tightens it belongs there.`);
            return [];
          }
          const fitted = draft.landingsOf(variant, part).some(({ action }) => action.verb === 'fit');
          const origin = fitted ? draft.relations(variant).originOf(part) : loosened;
          return [
            {
              lines: [tightenLine(draft.model, part, state.loose + state.snug, on(state))],
              part,
              kind: 'tighten',
              variants: [variant],
              key: fitted ? draft.keyOf(variant, part) : (origin?.ordinal ?? 0),
              source: origin?.step,
              along: nothing,
            },
          ];
        },
      ),
    ),
  limits(draft, { variants, part }) {
    let low = -1;
    let fitted = -1;
    for (const variant of variants) {
      const held = draft.relations(variant).heldBy(part);
      for (const { action, place } of draft.landingsOf(variant, part)) {
        if (action.verb !== 'mark') low = Math.max(low, place);
        if (action.verb === 'fit') fitted = Math.max(fitted, place);
      }
      for (const each of held)
        for (const { action, place } of draft.landingsOf(variant, each))
          if (action.verb === 'fit') low = Math.max(low, place);
    }
    const preferred: number[] = [];
    // Fasteners that hold one part go in together, then they are tightened.
    for (let at = fitted; fitted >= 0; at += 2) {
      preferred.unshift(at + 1);
      const next = draft.layout.unitAt(at + 2)?.statement;
      if (next?.kind !== 'fit' || !areSiblings(draft, variants, part, next.name?.text ?? '')) break;
    }
    return { low, high: anywhere, fits: draft.reachable(variants, part, nothing), preferred };
  },
};

function areSiblings(draft: DraftState, variants: readonly Variant[], a: string, b: string): boolean {
  if (!draft.model.fasteners.has(b)) return false;
  return variants.every((variant) => {
    const held = draft.relations(variant).heldBy(b);
    return [...draft.relations(variant).heldBy(a)].some((part) => held.has(part));
  });
}
