import { CompletionItemKind } from 'vscode-languageserver';
import { missing, on, onBench } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import type { Snapshot } from '../snapshot.ts';
import { openClauses, requiredOf } from './clauses.ts';
import type { Place } from './place.ts';
import { about, asksForListed, type Proposal } from './proposal.ts';
import { momentsAt, statesOf } from './replayed.ts';
import { amountProposals, stagesOf } from './value-proposals.ts';
import { clauseHelp, helpOf, spelled } from './words.ts';

/** What is mostly declared along with a thread, with a bore. */
const usualWith: Readonly<Record<string, readonly string[]>> = {
  thread: ['class', 'length', 'torque', 'holes', 'head'],
  bore: ['interference', 'length', 'diameter', 'limit'],
};

export function clauseProposals(snapshot: Snapshot, offset: number, place: Place): Proposal[] {
  const { segment, used } = place;
  if (segment === undefined) return [];
  const usual =
    segment === 'part' ? Object.keys(usualWith).flatMap((each) => (used.has(each) ? usualWith[each]! : [])) : [];
  const required = (requiredOf[segment] ?? []).flatMap((clause) =>
    clause.split('|').some((each) => used.has(each)) ? [] : clause.split('|'),
  );
  const first = required.slice(0, required[0] === 'endplay' ? 2 : 1);
  // Until a statement is whole, only what it lacks is offered.
  const offered = first.length > 0 ? first : openClauses(segment, used);
  const found = amountProposals(snapshot.model, place);
  offered.forEach((clause, i) => {
    if (clause === 'xN') {
      const count = countHere(snapshot, offset, place);
      if (count !== undefined)
        found.push({ label: `x${count}`, kind: CompletionItemKind.Value, detail: 'all there are', rank: 4 });
      return;
    }
    if (clause === 'text') {
      found.push({
        label: '"…"',
        kind: CompletionItemKind.Text,
        body: '"<text>"',
        filter: '"',
        rank: 4,
        detail: 'a text',
      });
      return;
    }
    const label = segment === 'part' && clause === 'at' ? clause : (spelled[clause] ?? clause);
    const body = bodyOf(snapshot.model, place, clause) ?? clauseHelp.get(clause)?.body ?? spelled[clause];
    found.push({
      label,
      kind: CompletionItemKind.Keyword,
      body,
      about: about(helpOf(clause, segment)),
      ...(usual.includes(clause) ? { rank: 1, order: usual.indexOf(clause) } : { rank: i < 4 ? 2 : 3 }),
      asks: asksForListed(snapshot.model, body, label),
    });
  });
  return found;
}

/** What this file knows better than the general snippet. */
function bodyOf(model: Model, { segment, names }: Place, clause: string): string | undefined {
  const part = model.parts.get(names.get(segment ?? '')?.[0] ?? '');
  if (segment === 'tighten' && part?.torque !== undefined) {
    if (clause === 'to') return `to <${written(part.torque)}>`;
    const stages = stagesOf(part);
    if (clause === 'in' && stages !== undefined) return `in stages ${stages}`;
  }
  if (clause === 'to') {
    if (segment === 'heat' || segment === 'cool') return undefined;
    return 'to <part>';
  }
  if (clause === 'limit' && segment === 'part') return 'limit <120> °C';
  if (clause === 'at' && segment === 'part') return 'at <1, 2>';
  if (segment === 'shim' && clause === 'from') return 'from <0.1> mm, <0.2> mm';
  return undefined;
}

/** Pieces that the statement can act on, where there are several. */
function countHere(snapshot: Snapshot, offset: number, { segment, names, fresh }: Place): number | undefined {
  const { model } = snapshot;
  const name = names.get(segment ?? '')?.[0];
  const whole = countOf(model.parts.get(name ?? ''));
  if (name === undefined || whole < 2) return undefined;
  const [state] = statesOf(momentsAt(snapshot, offset), name);
  if (state === undefined) return whole;
  const count =
    segment === 'fit' || segment === 'connect'
      ? fresh
        ? state.stock
          ? whole
          : missing(state) + state.stranded
        : onBench(state)
      : segment === 'discard' || segment === 'replace' || segment === 'omit'
        ? missing(state)
        : on(state);
  return count > 0 ? count : undefined;
}
