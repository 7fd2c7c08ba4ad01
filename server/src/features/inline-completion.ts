import type { InlineCompletionItem, InlineCompletionParams } from 'vscode-languageserver';
import type { Statement } from '../../../grammar/syntax.ts';
import { tightenLine } from '../checks/edits.ts';
import { stateBefore, type Variant, type Verb } from '../ledger/ledger.ts';
import { on, onBench, type PartState } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';
import { placeAt } from './place.ts';
import { momentsAt, partsInUnreadLines, stepAt } from './replayed.ts';

/**
 * The statement that most likely comes next at `offset`: in the reassembly, what tightens the fastener just fitted, else
 * the `fit` of what came off last and can be reached; before that, the `discard` of a single-use part just removed.
 */
export function nextStatement(snapshot: Snapshot, offset: number): string | undefined {
  const { model } = snapshot;
  const [moment] = momentsAt(snapshot, offset);
  const step = stepAt(snapshot, offset);
  const phase = model.steps.find((entry) => entry.step === step)?.phase;
  if (moment === undefined || step === undefined) return undefined;
  const { variant, index } = moment;
  const last = variant.entries[index - 1]?.statement;
  if (phase === 'teardown' || phase === 'inspection') return afterRemoval(model, variant, last, index);
  if (phase !== 'reassembly') return undefined;
  const fitted = last?.kind === 'fit' ? last.name?.text : undefined;
  if (fitted !== undefined && model.fasteners.has(fitted)) {
    const state = stateBefore(variant, fitted, index);
    const part = model.parts.get(fitted);
    if (state !== undefined && state.loose > 0 && part?.torque !== undefined)
      return tightenLine(fitted, part, state.loose, countOf(part));
  }
  return nextFit(model, variant, index) ?? nextFill(model, variant, index);
}

function afterRemoval(model: Model, variant: Variant, last: Statement | undefined, index: number): string | undefined {
  const name = last?.kind === 'remove' ? last.name?.text : undefined;
  const state = name === undefined ? undefined : stateBefore(variant, name, index);
  return name !== undefined && model.parts.get(name)?.renew !== undefined && (state?.spoiled ?? 0) > 0
    ? `discard ${name}`
    : undefined;
}

const takesOff: ReadonlySet<Verb> = new Set(['remove', 'swap-out', 'discard']);

/** Of what is off, the part that came off last and that nothing covers any more: the teardown read backwards. */
function nextFit(model: Model, variant: Variant, index: number): string | undefined {
  const unread = partsInUnreadLines(model);
  const removed = new Set(
    variant.entries
      .slice(0, index)
      .flatMap(({ actions }) => actions.flatMap(({ verb, part }) => (verb === 'remove' ? part : []))),
  );
  for (let e = index - 1; e >= 0; e--) {
    for (const { part, verb, acted, along } of [...variant.entries[e]!.actions].reverse()) {
      if (along || acted === 0 || !takesOff.has(verb)) continue;
      // What was removed and then scrapped keeps its place in the order of removals.
      if (verb !== 'remove' && removed.has(part)) continue;
      const name = variant.swaps.get(part) ?? part;
      const state = stateBefore(variant, name, index);
      if (state === undefined || unread.has(name) || onBench(state) + state.scrap === 0) continue;
      if (isCovered(model, variant, part, index)) continue;
      const line = fitLine(name, state, countOf(model.parts.get(name)));
      return variant.entries[e]!.statement.kind === 'disconnect' ? line.replace(/^fit (?!new )/, 'connect ') : line;
    }
  }
  return undefined;
}

/** Of what has been drained and not filled again, the last. */
function nextFill(model: Model, variant: Variant, index: number): string | undefined {
  const drained = new Map<string, Statement>();
  for (const { statement } of variant.entries.slice(0, index)) {
    const name = statement.name?.text ?? '';
    if (statement.kind === 'drain') drained.set(name, statement);
    else if (statement.kind === 'fill') drained.delete(name);
  }
  const [name, statement] = [...drained].at(-1) ?? [];
  const amount = model.supplies.get(name ?? '')?.amount ?? statement?.amount;
  return name === undefined || amount === undefined ? undefined : `fill ${name} ${written(amount)}`;
}

const isCovered = (model: Model, variant: Variant, part: string, index: number): boolean =>
  (model.parts.get(part)?.behind ?? []).some(({ text }) => {
    const cover = stateBefore(variant, text, index);
    return cover !== undefined && on(cover) > 0;
  });

function fitLine(name: string, state: PartState, whole: number): string {
  const good = state.off + state.fresh;
  if (good > 0) return `fit ${name}${good === whole ? '' : ` x${good}`}`;
  const count = state.spoiled + state.scrap;
  return `fit new ${name}${count === 1 ? '' : ` x${count}`}`;
}

export function inlineCompletionsAt(snapshot: Snapshot, offset: number): InlineCompletionItem[] {
  const { document, text } = { document: snapshot.file.document, text: snapshot.text };
  const { line } = document.positionAt(offset);
  const start = document.offsetAt({ line, character: 0 });
  const typed = text.slice(start, offset);
  const rest = text.slice(offset).match(/^[^\r\n]*/)![0];
  // Only on a line that holds nothing yet, or the beginning of just that statement.
  if (rest.trim() !== '' || placeAt(snapshot, start + /^\s*/.exec(typed)![0].length).want.kind !== 'line') return [];
  const indent = /^\s*/.exec(typed)![0];
  const begun = typed.slice(indent.length);
  const statement = nextStatement(snapshot, start);
  if (statement === undefined || !statement.startsWith(begun) || statement === begun) return [];
  return [{ insertText: statement, range: snapshot.rangeAt(offset - begun.length, offset) }];
}

export const inlineCompletion = feature<InlineCompletionParams, InlineCompletionItem[]>(
  'textDocument/inlineCompletion',
  { inlineCompletionProvider: true },
  (snapshot, { position }) => inlineCompletionsAt(snapshot, snapshot.offsetAt(position)),
);
