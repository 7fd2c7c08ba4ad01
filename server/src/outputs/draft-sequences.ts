import { type Use, walk } from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import { stepsFor } from '../checks/steps-unused.ts';
import { missing } from '../ledger/state.ts';
import type { Slot } from './draft-layout.ts';
import type { DraftState, TextPhase } from './draft-state.ts';

/** Shared steps that take something off are answered by those of the same file that put it back. */
export const takeIn: TextPhase = {
  amiss: (draft) => owing(draft).length,
  // One at a time: the next finds its place beside it.
  insertions(draft) {
    const { layout } = draft;
    const all = owing(draft);
    const last = all.findLast(({ phase }) => phase === 'reassembly');
    if (last !== undefined) return [layout.taking(slotFor(draft, last.parts), last.use.path!.value)];
    // Each goes above the one before it: what came off last is back first.
    const [first] = all;
    return first === undefined ? [] : [layout.takingToProve(first.use.path!.value)];
  },
};

const answering = ['reassembly', 'proving'] as const satisfies readonly PhaseWord[];

interface Owing {
  readonly use: Use;
  readonly phase: (typeof answering)[number];
  /** What its steps for this phase put back. */
  readonly parts: readonly string[];
}

/** Each `use` before the reassembly whose file puts back, in steps for a phase that nothing takes in, what is off and nothing else. */
function owing({ model, ledger }: DraftState): Owing[] {
  const found = new Map<string, Owing>();
  for (const [use, { phase }] of model.sequences) {
    const file = model.targets.get(use);
    if (use.chunk.uri !== model.tree.uri || file === undefined || phase === 'reassembly' || phase === 'proving')
      continue;
    const isOff = (part: string): boolean =>
      ledger.variants.every((variant) => {
        const state = variant.final.get(part);
        return state !== undefined && missing(state) > 0 && !variant.unsure.has(part);
      });
    for (const answer of answering) {
      if (model.steps.some((entry) => entry.phase === answer && entry.step.chunk.uri === file.uri)) continue;
      const work = stepsFor(file, answer).flatMap(({ statements }) => walk(statements));
      const parts = work.flatMap(({ kind, name }) => (kind === 'fit' || kind === 'connect' ? (name?.text ?? []) : []));
      if (parts.length > 0 && parts.every(isOff)) found.set(`${answer} ${file.uri}`, { use, phase: answer, parts });
    }
  }
  return [...found.values()];
}

/** Before the step that puts back what came off before all of `parts`; else at the end. */
function slotFor(draft: DraftState, parts: readonly string[]): Slot {
  const { layout, ledger } = draft;
  let next = layout.steps.length;
  for (const variant of ledger.variants) {
    const key = Math.min(...parts.map((part) => draft.keyOf(variant, part)));
    const later = draft
      .landings(variant)
      .find(({ action }) => action.verb === 'fit' && draft.keyOf(variant, action.part) < key);
    const unit = layout.units.find(({ place }) => place === later?.place);
    if (unit !== undefined) next = Math.min(next, layout.steps.indexOf(unit.step));
  }
  return layout.slots.findLast(({ inside, nextStep }) => inside === undefined && nextStep <= next)!;
}
