import { nearest } from '../../../grammar/nearest.ts';
import { offsetsOf, type Step, walk } from '../../../grammar/syntax.ts';
import type { Edit } from '../checks/check.ts';
import { interferenceOf } from '../checks/mounting.ts';
import { lacksWrench } from '../checks/tighten-line.ts';
import type { Ledger } from '../ledger/ledger.ts';
import { missing } from '../ledger/state.ts';
import { countOf, type Model, titleOf } from '../model/model.ts';
import { completeBranches } from './draft-branches.ts';
import { coat, fill, wait } from './draft-fluids.ts';
import { putBack, reopen, tighten } from './draft-parts.ts';
import { warn } from './draft-safety.ts';
import { takeIn } from './draft-sequences.ts';
import { DraftState } from './draft-state.ts';

export interface Draft {
  /** Insertions only; empty where the reassembly answers everything already. */
  readonly edits: readonly Edit[];
  /** The whole file with the edits in it. */
  readonly text: string;
  /** What the draft cannot know: for the author to look at, a sentence each. */
  readonly notes: readonly string[];
}

/** Rounds of completing what an earlier round has laid open. */
const mostRounds = 6;

/**
 * Writes the reassembly that answers teardown and inspection, or completes one that is partly written: what stands in
 * the file keeps its text and its order. Total. What does not help is not written, so that drafting the result again
 * changes nothing.
 */
export function draft(model: Model, ledger: Ledger): Draft {
  if (model.steps.some(({ step }) => step.keyword === undefined)) {
    return {
      edits: [],
      text: model.tree.text,
      notes: ['statements stand outside any step: put them into a step, then draft'],
    };
  }
  const state = new DraftState(model, ledger);
  for (let round = 0; round < mostRounds && complete(state); round++);
  nameAwaited(state);
  remark(state);
  return { edits: state.text.edits(model.tree.uri), text: state.text.text, notes: [...state.notes] };
}

/** In the order in which each step leans on the one before; true where anything was written. */
function complete(state: DraftState): boolean {
  state.vain.clear();
  return [
    () => state.write(reopen),
    () => state.write(completeBranches),
    () => takeInAll(state),
    () => state.carryOut(putBack),
    () => state.carryOut(coat),
    () => state.carryOut(tighten),
    () => state.carryOut(fill),
    () => state.write(wait),
    () => state.write(warn),
  ].reduce((written, phase) => phase() || written, false);
}

function takeInAll(state: DraftState): boolean {
  let written = false;
  while (state.write(takeIn)) written = true;
  return written;
}

/**
 * Steps that later ones wait for (`after`) and that no step is: they stood in the reassembly that is missing. The
 * drafted steps that say most of the same words take those names.
 */
function nameAwaited(state: DraftState): void {
  const { model, layout, steps } = state;
  const isDrafted = ({ name }: Step): boolean => steps.has(name?.text ?? '');
  const known = layout.steps.flatMap(({ step }) => (isDrafted(step) ? [] : [step.name?.text ?? '']));
  const awaited = new Set<string>();
  for (const { step, phase } of model.steps)
    if (phase === 'reassembly' || phase === 'proving')
      for (const { text } of step.after)
        if (!model.stepNames.has(text) && nearest(text, known) === undefined) awaited.add(text);
  const namings = layout.steps.flatMap(({ step }, i) =>
    isDrafted(step) ? [...awaited].map((name) => ({ name, step, likeness: likenessOf(name, step), i })) : [],
  );
  namings.sort((a, b) => b.likeness - a.likeness || b.i - a.i);
  const named = new Map<Step, string>();
  for (const { name, step } of namings) {
    if (!awaited.has(name) || named.has(step)) continue;
    awaited.delete(name);
    named.set(step, name);
  }
  if (named.size === 0) return;
  // From the end, so that offsets stay what they are.
  for (const { step } of layout.steps.toReversed()) {
    const name = named.get(step);
    if (name !== undefined) state.text.reword(offsetsOf(model.tree, step.name!).start, step.name!.text, name);
  }
  state.reread();
}

/** How many words of `name` a step says, twice for those in its own name. */
function likenessOf(name: string, step: Step): number {
  const own = (step.name?.text ?? '').split('-');
  const said = walk(step.statements).flatMap((each) => [each.kind, ...(each.name?.text ?? '').split('-')]);
  return name.split('-').reduce((sum, word) => sum + (own.includes(word) ? 2 : said.includes(word) ? 1 : 0), 0);
}

/** Parts some pieces of which came off before another part and some behind it, each with that part. */
function partedOf({ model, variants }: Ledger): ReadonlyMap<string, string> {
  const parted = new Map<string, string>();
  for (const { entries } of variants) {
    let last: string | undefined;
    for (const { step, role, actions } of entries) {
      if (step.phase === 'reassembly') break;
      // The next branch is instead of this one, not behind it.
      if (role === 'restored') last = undefined;
      for (const { verb, part, acted, available } of actions) {
        if (verb !== 'remove' || acted === 0) continue;
        const isBegun = available < countOf(model.parts.get(part));
        if (last !== undefined && last !== part && isBegun) parted.set(part, last);
        last = part;
      }
    }
  }
  return parted;
}

function remark({ model, ledger, layout, steps, notes }: DraftState): void {
  if (steps.size > 0) notes.add('The times of drafted steps are those of the teardown: estimate them anew.');
  for (const variant of ledger.variants) {
    for (const [part, state] of variant.final)
      if (!variant.unsure.has(part) && missing(state) > 0)
        notes.add(`\`${part}\` is still off at the end: put it back by hand.`);
  }
  for (const [part, between] of partedOf(ledger)) {
    const fits = layout
      .unitsAbout(part)
      .flatMap(({ statement, step }) =>
        walk([statement]).flatMap(({ kind, name }) => (kind === 'fit' && name?.text === part ? [step] : [])),
      );
    if (fits.length === 1 && steps.has(fits[0]!.step.name?.text ?? ''))
      notes.add(
        `\`${part}\` came off piece by piece, with \`${between}\` between, and goes back in one \`fit\`: write a \`fit\` for each side if they lie on both.`,
      );
  }
  const statements = layout.steps.flatMap(({ step }) => walk(step.statements));
  const tightenings = statements.filter((each) => each.kind === 'tighten' && each.byHand === undefined);
  const stated = new Set(
    tightenings.flatMap((each) => ((each.to ?? each.stages) === undefined ? [] : (each.name?.text ?? ''))),
  );
  for (const part of new Set(tightenings.map((each) => each.name?.text ?? ''))) {
    const declaration = model.parts.get(part);
    if (declaration !== undefined && declaration.torque === undefined && !stated.has(part))
      notes.add(`No torque is declared for \`${part}\`: write the maker's figure.`);
    else if (lacksWrench(model, part))
      notes.add(`No declared wrench suits the torque of \`${part}\`: declare one, and write \`using\`.`);
  }
  const mounted = new Set(
    statements.flatMap((each) =>
      each.kind === 'heat' || each.kind === 'cool' || each.kind === 'press' ? (each.name?.text ?? []) : [],
    ),
  );
  for (const { kind, name } of statements) {
    const part = name?.text ?? '';
    if (kind !== 'fit' || mounted.has(part) || (interferenceOf(model.parts.get(part))?.max ?? 0) <= 0) continue;
    notes.add(
      `\`${part}\` (${titleOf(model, part)}) is an interference fit: write \`heat\`, \`cool\` or \`press\` above its \`fit\`.`,
    );
  }
  const chosen = new Set(statements.flatMap((each) => (each.kind === 'shim' ? (each.name?.text ?? []) : [])));
  for (const { kind, name } of statements) {
    const part = name?.text ?? '';
    if (kind !== 'fit' || chosen.has(part) || !isChosen.test(`${part} ${titleOf(model, part)}`)) continue;
    notes.add(
      `\`${part}\` (${titleOf(model, part)}) is chosen by a reading: write \`measure\` and \`shim\` above its \`fit\`, if it is chosen anew.`,
    );
  }
}

/** What such parts are called in the trade: common practice, no source. */
const isChosen = /\b(?:shims?|selective|select[- ]fit)\b/i;
