import { CompletionItemKind } from 'vscode-languageserver';
import type { Declaration } from '../../../grammar/syntax.ts';
import { isOwn, type Model, placeOfStep } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import type { NameKind } from '../model/references.ts';
import { statementsIn } from '../model/statements.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Snapshot } from '../snapshot.ts';
import { partProposals } from './part-proposals.ts';
import type { Place } from './place.ts';
import { declared, type Proposal } from './proposal.ts';

export function nameProposals(snapshot: Snapshot, offset: number, place: Place, of: NameKind): Proposal[] {
  const { model } = snapshot;
  const taken = new Set(place.names.get(place.clause) ?? []);
  switch (of) {
    case 'part':
      return partProposals(snapshot, offset, place).filter(({ label }) => !taken.has(label));
    case 'tool':
      return toolProposals(model, place).filter(({ label }) => !taken.has(label));
    case 'supply':
      return [...model.supplies].map(([name, supply]) => ({
        ...declared(name, supply, CompletionItemKind.Constant, supplyRankOf(place.segment, supply)),
        body:
          place.segment === 'fill' && supply.amount !== undefined ? `${name} <${written(supply.amount)}>` : undefined,
      }));
    case 'pattern':
      return [...model.patterns].map(([name, pattern]) => declared(name, pattern, CompletionItemKind.Struct));
    case 'step':
      return stepProposals(snapshot, offset, place.names.get('step')?.[0]).filter(({ label }) => !taken.has(label));
    case 'reading':
      return [...model.readings].map(([name, { text, limit }]) => ({
        label: name,
        kind: CompletionItemKind.Variable,
        detail: limit === undefined ? text?.value : `limit ${written(limit)}`,
      }));
    case 'code':
      return model.codes
        .filter((code) => !taken.has(code))
        .map((code) => ({ label: code, kind: CompletionItemKind.EnumMember }));
  }
}

/** The steps above, the nearest first, then those below. */
function stepProposals(snapshot: Snapshot, offset: number, own: string | undefined): Proposal[] {
  const here = placeOfCursor(snapshot, offset);
  return [...snapshot.model.stepNames]
    .filter(([name]) => name !== own)
    .map(([name, entry]) => {
      const place = placeOfStep(snapshot.model, entry);
      return {
        label: name,
        kind: CompletionItemKind.Method,
        detail: entry.step.title && isolated(entry.step.title.value),
        about: entry.phase === undefined ? [] : [entry.phase],
        rank: place <= here ? 4 : 5,
        order: place <= here ? here - place : place,
      };
    });
}

/** Place of the last step of the file that begins above the cursor; -1 without one. */
const placeOfCursor = (snapshot: Snapshot, offset: number): number =>
  snapshot.model.steps.findLastIndex(
    (entry) => isOwn(snapshot.model, entry) && snapshot.offsetAt(snapshot.rangeOf(entry.step).start) < offset,
  );

/** What cures is applied, not filled or drained. */
const supplyRankOf = (segment: string | undefined, { cure }: Declaration): number =>
  cure === undefined ? 5 : segment === 'apply' ? 4 : 7;

/** Torque wrenches that reach the torque first, then tools without a range. */
function toolProposals(model: Model, { segment, names }: Place): Proposal[] {
  const torque = extentOf(model.parts.get(names.get(segment ?? '')?.[0] ?? '')?.torque);
  return [...model.tools].map(([name, tool]) => {
    const range = extentOf(tool.range);
    const judged = segment === 'tighten' && torque !== undefined && range?.kind === 'torque';
    const reaches = judged && range.low <= torque.low && torque.high <= range.high;
    return declared(name, tool, CompletionItemKind.Interface, reaches ? 1 : judged ? 7 : 5);
  });
}

/** Names that stand in the file and that nothing declares. */
export function undeclared(model: Model, segment: string): Proposal[] {
  const names = new Set(model.unknown.filter(({ kind }) => kind === segment).map(({ name }) => name.text));
  return [...names].map((label) => ({ label, kind: CompletionItemKind.Field, detail: 'not declared yet' }));
}

// --- places that parts are kept in ---------------------------------------------------------------------------------------

/** Those that other statements name, the last one above first. */
export function keepingPlaces(snapshot: Snapshot, offset: number): string[] {
  const here = placeOfCursor(snapshot, offset);
  const above: string[] = [];
  const below: string[] = [];
  for (const [place, { step }] of snapshot.model.steps.entries()) {
    for (const statement of statementsIn(step)) {
      const name = statement.keep?.value ?? '';
      if (name === '') continue;
      if (place !== here) (place < here ? above : below).push(name);
      else {
        const { start, end } = snapshot.rangeOf(statement);
        // What is being typed is no place yet.
        if (snapshot.offsetAt(end) < offset) above.push(name);
        else if (snapshot.offsetAt(start) > offset) below.push(name);
      }
    }
  }
  return [...new Set([...above.reverse(), ...below])];
}
