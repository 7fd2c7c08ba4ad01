import type { Action, Ledger, Variant, Verb } from '../ledger/ledger.ts';
import { type Changed, changedSteps, placeBefore } from '../model/changed-chunks.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';

/** Stands for an empty list and is never added to. */
const none: readonly Action[] = [];

const actions = new Beside<Variant, readonly Action[]>();

/** Every action of a variant, in order. */
function actionsOf(variant: Variant): readonly Action[] {
  let all = actions.get(variant);
  if (all === undefined) {
    const found: Action[] = [];
    for (const entry of variant.entries) for (const action of entry.actions) found.push(action);
    all = found;
    actions.set(variant, all);
  }
  return all;
}

type Picker = (action: Action, parts: Model['parts']) => boolean;

/** The actions that a picker takes. */
interface Picks {
  /** By the place of their step. */
  readonly byStep: Map<number, readonly Action[]>;
  /** In order, where they have been asked for since they last became others. */
  inOrder: readonly Action[] | undefined;
}
type Picked = Map<Picker, Picks>;
const noDeclarations: Pick<Model, 'parts'> = { parts: new Map() };
/** Of replays after an edit alone: to sort by steps what is gone through once would cost more than it spares. */
const picked = new Beside<Variant, Picked>();

/** What checks of a whole procedure pick, each time. */
const ofAll = new Set<Picker>();

/** Has `pick` made in one walk with all others that are made so: in a long procedure each action lies far from the one before. Ask with the model. */
export function pickedOfAll(pick: Picker): Picker {
  ofAll.add(pick);
  return pick;
}

const together = new Beside<Variant, ReadonlyMap<Picker, readonly Action[]>>();

/** Nothing where a pick throws: the check that makes it is to break off by itself. */
function pickedTogether(variant: Variant, parts: Model['parts']): ReadonlyMap<Picker, readonly Action[]> | undefined {
  let known = together.get(variant);
  if (known === undefined) {
    const picks = [...ofAll].map((pick) => ({ pick, taken: [] as Action[] }));
    try {
      for (const entry of variant.entries)
        for (const action of entry.actions)
          for (const { pick, taken } of picks) if (pick(action, parts)) taken.push(action);
    } catch {
      return undefined;
    }
    known = new Map(picks.map(({ pick, taken }) => [pick, taken]));
    together.set(variant, known);
  }
  return known;
}

/**
 * Those actions that `pick` takes, in order. What it takes is kept under it: let it be the same function each time, and ask of
 * nothing but the action and how its part is declared in `model`.
 */
export function actionsWhere(variant: Variant, pick: (action: Action) => boolean): readonly Action[];
export function actionsWhere(variant: Variant, pick: Picker, model: Pick<Model, 'parts'>): readonly Action[];
export function actionsWhere(variant: Variant, pick: Picker, { parts } = noDeclarations): readonly Action[] {
  const byPicker = picked.get(variant);
  if (byPicker === undefined) {
    const known = ofAll.has(pick) ? pickedTogether(variant, parts) : undefined;
    return known?.get(pick) ?? actionsOf(variant).filter((action) => pick(action, parts));
  }
  let known = byPicker.get(pick);
  if (known === undefined) {
    known = { byStep: new Map(), inOrder: undefined };
    for (const place of variant.records.keys()) takeUp(known, variant, place, pick, parts);
    byPicker.set(pick, known);
  }
  const { byStep } = known;
  known.inOrder ??= [...byStep.keys()].sort((a, b) => a - b).flatMap((place) => byStep.get(place)!);
  return known.inOrder;
}

function takeUp(known: Picks, { records }: Variant, place: number, pick: Picker, parts: Model['parts']): void {
  const taken: Action[] = [];
  for (const { actions } of records[place]!.entries)
    for (const action of actions) if (pick(action, parts)) taken.push(action);
  if (taken.length > 0) known.byStep.set(place, taken);
  else if (!known.byStep.delete(place)) return;
  known.inOrder = undefined;
}

/** The same by the places where steps stand now, without those that went. */
function shifted<Value>(byStep: Map<number, Value>, { from, to, until }: Changed): Map<number, Value> {
  if (to === until) return byStep;
  const now = new Map<number, Value>();
  for (const [place, value] of byStep)
    if (place < from || place >= to) now.set(place < from ? place : place + until - to, value);
  return now;
}

/**
 * What was picked of the actions before an edit is kept for `now`, and no longer for `before`, but for the steps that were
 * replayed: these are all that ask about a part that is declared otherwise.
 */
export function carryPicked(before: Ledger, now: Ledger): void {
  const changed = changedSteps(before.model, now.model);
  for (const [v, variant] of now.variants.entries()) {
    if (picked.get(variant) !== undefined) continue;
    const old = before.variants[v];
    const byPicker = old && picked.handOn(old, variant);
    if (old === undefined || byPicker === undefined) {
      picked.set(variant, new Map());
      continue;
    }
    const replayed = [...variant.records.keys()].filter(
      (place) => variant.records[place] !== old.records[placeBefore(changed, place)],
    );
    for (const [pick, { byStep, inOrder }] of byPicker) {
      const moved = shifted(byStep, changed);
      const known = { byStep: moved, inOrder: moved.size === byStep.size ? inOrder : undefined };
      byPicker.set(pick, known);
      try {
        for (const place of replayed) takeUp(known, variant, place, pick, now.model.parts);
      } catch {
        // The check that picks so is to break off by itself, and to be told of.
        byPicker.delete(pick);
      }
    }
  }
}

const byVerb = new Beside<Variant, ReadonlyMap<Verb, readonly Action[]>>();
const verbPickers = new Map<Verb, (action: Action) => boolean>();

/** The actions of a variant that do `verb`, in order. */
export function actionsThat(variant: Variant, verb: Verb): readonly Action[] {
  if (picked.get(variant) !== undefined) {
    let pick = verbPickers.get(verb);
    if (pick === undefined) {
      pick = (action) => action.verb === verb;
      verbPickers.set(verb, pick);
    }
    return actionsWhere(variant, pick);
  }
  let sorted = byVerb.get(variant);
  if (sorted === undefined) {
    const found = new Map<Verb, Action[]>();
    for (const action of actionsOf(variant)) addTo(found, action.verb, action);
    sorted = found;
    byVerb.set(variant, sorted);
  }
  return sorted.get(verb) ?? none;
}

/** What tightens, loosens or takes off pieces of each part in `parts`, in order. */
export function movesOf(
  variant: Variant,
  parts: { has(name: string): boolean },
): ReadonlyMap<string, readonly Action[]> {
  const moves = new Map<string, Action[]>();
  for (const action of actionsWhere(variant, movesPieces))
    if (parts.has(action.part)) addTo(moves, action.part, action);
  return moves;
}

const movesPieces = ({ verb }: Action): boolean =>
  verb === 'tighten' || verb === 'hand-tighten' || verb === 'loosen' || verb === 'remove';

/** Whether all that covers is some of several like pieces, others of which are off. */
export const isAmong = ([cover, ...others]: Action['covers'], model: Model): boolean =>
  cover !== undefined && others.length === 0 && cover.on < countOf(model.parts.get(cover.part));
