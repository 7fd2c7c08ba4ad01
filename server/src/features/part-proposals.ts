import { CompletionItemKind } from 'vscode-languageserver';
import type { Declaration } from '../../../grammar/syntax.ts';
import { isLocker } from '../checks/no-locker.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Obstacles } from '../ledger/obstacles-at.ts';
import { describe, missing, on, onBench, type PartState } from '../ledger/state.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import type { Snapshot } from '../snapshot.ts';
import { factsOf } from './declared-facts.ts';
import type { Place } from './place.ts';
import { declared, type Proposal } from './proposal.ts';
import { type Moment, momentsAt, obstaclesOf, partsInUnreadLines, statesOf } from './replayed.ts';
import { clauseHelp } from './words.ts';

const isOn = (state: PartState): boolean => on(state) > 0;

const isLoose = (state: PartState): boolean => state.loose + state.snug > 0;

/** Whether the replay lets a part stand in a statement, at the moment before it. */
function fitsIn(place: Place, model: Model, name: string, state: PartState): boolean {
  const fastener = model.fasteners.has(name);
  if (place.clause !== place.segment) return true;
  switch (place.segment) {
    case 'remove':
    case 'disconnect':
      return isOn(state);
    case 'fit':
      return (place.fresh && state.stock) || missing(state) + state.stranded > 0;
    case 'connect':
      return onBench(state) > 0;
    case 'discard':
    case 'replace':
      return onBench(state) > 0 || state.carried.length > 0 || state.stranded > 0;
    case 'omit':
      return missing(state) + state.stranded > 0;
    case 'swap':
      return onBench(state) + state.scrap > 0;
    case 'transfer':
      return state.carried.length > 0;
    case 'loosen':
      return fastener && state.tight + state.snug > 0;
    case 'tighten':
      return fastener && isOn(state);
    default:
      return true;
  }
}

export function partProposals(snapshot: Snapshot, offset: number, place: Place): Proposal[] {
  const { model } = snapshot;
  const { segment, clause, names } = place;
  const moments = momentsAt(snapshot, offset);
  const obstacles = obstaclesOf(model, moments);
  const unread = partsInUnreadLines(model);
  const inStatement = segment !== undefined && segment !== 'part';
  const subject = names.get(segment ?? '')?.[0];
  const found: Proposal[] = [];
  for (const [name, part] of model.parts) {
    if (!inStatement) {
      if (name !== subject) found.push(declared(name, part, CompletionItemKind.Field));
      continue;
    }
    const states = statesOf(moments, name);
    if (clause !== segment && !standsIn(place, name, subject, moments)) continue;
    if (!unread.has(name) && !states.some((state) => fitsIn(place, model, name, state))) continue;
    const state = states.find((each) => fitsIn(place, model, name, each)) ?? states[0];
    if (state === undefined) continue;
    const old = segment === 'fit' && !place.fresh && clause === segment && state.off + state.fresh === 0;
    found.push({
      ...declared(name, part, CompletionItemKind.Field, rankOf(model, place, name, part, state, moments, obstacles)),
      // What is used up or gone goes back as a new one.
      ...(old ? { label: `new ${name}`, filter: `${name} new` } : {}),
      about: [describe(state), '', ...factsOf(part).map((fact) => `- ${fact}`)],
    });
  }
  if (clause !== segment) return found;
  if (segment === 'fit' && !place.fresh && partProposals(snapshot, offset, { ...place, fresh: true }).length > 0) {
    const { help, body } = clauseHelp.get('new')!;
    found.push({ label: 'new', kind: CompletionItemKind.Keyword, body, about: [help], asks: true });
  }
  if (segment !== 'tighten') return found;
  const loose = found.filter(({ label }) => statesOf(moments, label).some(isLoose));
  return loose.length > 0 ? loose : found;
}

/** Parts that a clause can name. */
function standsIn(
  { segment, clause }: Place,
  name: string,
  subject: string | undefined,
  moments: readonly Moment[],
): boolean {
  if (name === subject) return false;
  if (segment === 'transfer' && clause === 'from')
    return statesOf(moments, subject ?? '').some((state) => state.carried.some(({ by }) => by === name));
  if (segment === 'swap' && clause === 'for')
    return statesOf(moments, name).some((state) => state.stock || !state.cameOff);
  return true;
}

const swappedIn = noted(({ swaps }: Variant): ReadonlySet<string> => new Set(swaps.values()));

function rankOf(
  model: Model,
  { segment, clause, fresh, names }: Place,
  name: string,
  part: Declaration,
  state: PartState,
  moments: readonly Moment[],
  obstacles: readonly Obstacles[],
): number {
  const free = (): boolean => obstacles.every((each) => each.coversOf(name).length === 0);
  const held = (): boolean => obstacles.some((each) => each.holdersOf(name).length > 0);
  if (segment === 'swap' && clause === 'for') return state.stock ? 1 : 5;
  if (segment === 'apply' && clause === 'to') {
    const locker = isLocker(model, names.get('apply')?.[0] ?? '');
    if (locker) return part.condition?.text === 'threadlock' ? 1 : model.fasteners.has(name) ? 4 : 5;
    return onBench(state) > 0 ? 4 : 5;
  }
  if (clause === 'with') return state.carried.some(({ by }) => by === names.get(segment ?? '')?.[0]) ? 1 : 5;
  if (clause !== segment) {
    // What was swapped in takes over what its forerunner carried.
    return segment === 'transfer' && clause === 'to' && moments.some(({ variant }) => swappedIn(variant).has(name))
      ? 1
      : 5;
  }
  switch (segment) {
    case 'remove':
    case 'disconnect':
      if (segment === 'disconnect' && model.fasteners.has(name)) return 7;
      return !free() ? 6 : held() ? 5 : state.loose > 0 ? 1 : 2;
    case 'loosen':
    case 'tighten':
      return free() ? (isLoose(state) ? 1 : 2) : 6;
    case 'fit':
    case 'connect':
      if (!free()) return 6;
      return fresh && (part.renew !== undefined || onBench(state) === 0) ? 1 : 2;
    case 'discard':
    case 'replace':
      return state.spoiled > 0 || part.renew !== undefined ? 1 : onBench(state) > 0 ? 2 : 5;
    case 'mark':
      return part.index !== undefined && !state.marked ? 1 : 5;
    case 'heat':
    case 'cool':
    case 'press':
      if (part.bore !== undefined || part.limit !== undefined) return 1;
      return model.fasteners.has(name) ? 7 : onBench(state) > 0 ? 4 : 5;
    case 'support':
      return part.hazards.some(({ text }) => text === 'weight') ? 1 : model.fasteners.has(name) ? 7 : 5;
    case 'shim':
      return /shim/i.test(`${name} ${part.title?.value}`) ? 1 : model.fasteners.has(name) ? 7 : 5;
    case 'clean':
    case 'inspect':
      return onBench(state) > 0 ? 4 : 5;
    default:
      return 5;
  }
}
