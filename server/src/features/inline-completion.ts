import type { InlineCompletionItem, InlineCompletionParams } from 'vscode-languageserver';
import type { Statement, Step } from '../../../grammar/syntax.ts';
import { isLocked, isLocker } from '../checks/no-locker.ts';
import { curesAt, waitLine } from '../checks/not-cured.ts';
import { tightenAsDeclared } from '../checks/tighten-line.ts';
import { stateBefore, type Variant, type Verb } from '../ledger/ledger.ts';
import { obstaclesAt } from '../ledger/obstacles-at.ts';
import { onBench, type PartState } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';
import { placeAt } from './place.ts';
import { momentsAt, partsInUnreadLines, stepAt } from './replayed.ts';

/**
 * The statements that most likely come next at `offset`, in this order: in the reassembly, what tightens the fastener just
 * fitted, else the `fit` of what came off last and can be reached, with its thread locker, else
 * the `fill` of what was drained, once all has cured; before that, the `discard` of a single-use part just removed.
 */
function nextStatements(snapshot: Snapshot, offset: number): string[] {
  const { model } = snapshot;
  const [moment] = momentsAt(snapshot, offset);
  const step = stepAt(snapshot, offset);
  const phase = model.steps.find((entry) => entry.step === step)?.phase;
  if (moment === undefined || step === undefined) return [];
  const { variant, index } = moment;
  const last = variant.entries[index - 1]?.statement;
  if (phase === 'teardown' || phase === 'inspection') return afterRemoval(model, variant, last, index);
  if (phase !== 'reassembly') return [];
  const fitted = last?.kind === 'fit' ? last.name?.text : undefined;
  if (fitted !== undefined && model.fasteners.has(fitted)) {
    const state = stateBefore(variant, fitted, index);
    const part = model.parts.get(fitted);
    if (state !== undefined && state.loose > 0 && part?.torque !== undefined)
      return [tightenAsDeclared(model, fitted, state.loose)];
  }
  const fit = nextFit(model, variant, index);
  if (fit !== undefined) return fit;
  const fill = nextFill(model, variant, index);
  return fill === undefined ? [] : [...cureLine(snapshot, variant, step, offset), fill];
}

function afterRemoval(model: Model, variant: Variant, last: Statement | undefined, index: number): string[] {
  const name = last?.kind === 'remove' ? last.name?.text : undefined;
  const state = name === undefined ? undefined : stateBefore(variant, name, index);
  return name !== undefined && model.parts.get(name)?.renew !== undefined && (state?.spoiled ?? 0) > 0
    ? [`discard ${name}`]
    : [];
}

const takesOff: ReadonlySet<Verb> = new Set(['remove', 'swap-out', 'discard']);

/** Of what is off, the part that came off last and that nothing covers any more: the teardown read backwards. */
function nextFit(model: Model, variant: Variant, index: number): string[] | undefined {
  const obstacles = obstaclesAt(model, variant, index);
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
      if (obstacles.coversOf(name).length > 0) continue;
      const line = fitLine(name, state, countOf(model.parts.get(name)));
      const isDisconnected = variant.entries[e]!.statement.kind === 'disconnect';
      return [
        ...(state.off > 0 ? lockerLine(model, name) : []),
        isDisconnected ? line.replace(/^fit (?!new )/, 'connect ') : line,
      ];
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

/** Waits until what has been applied is cured. */
function cureLine({ model, tree }: Snapshot, { code }: Variant, step: Step, offset: number): string[] {
  const at = offset - tree.starts[tree.chunks.indexOf(step.chunk)]!;
  const done = step.statements.filter(({ start }) => start < at).length;
  const cures = curesAt(model, code === undefined ? [] : [code], step, done);
  return cures === undefined ? [] : [waitLine(cures.missing, cures.supply)];
}

/** What puts the one thread locker on an old fastener that asks for it. */
function lockerLine(model: Model, name: string): string[] {
  if (model.parts.get(name)?.condition?.text !== 'threadlock' || isLocked(model, name)) return [];
  const lockers = [...model.supplies.keys()].filter((supply) => isLocker(model, supply));
  return lockers.length === 1 ? [`apply ${lockers[0]} to ${name}`] : [];
}

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
  const statement = nextStatements(snapshot, start).find((each) => each.startsWith(begun));
  if (statement === undefined || statement === begun) return [];
  return [{ insertText: statement, range: snapshot.rangeAt(offset - begun.length, offset) }];
}

export const inlineCompletion = feature<InlineCompletionParams, InlineCompletionItem[]>(
  'textDocument/inlineCompletion',
  { inlineCompletionProvider: true },
  (snapshot, { position }) => inlineCompletionsAt(snapshot, snapshot.offsetAt(position)),
);
