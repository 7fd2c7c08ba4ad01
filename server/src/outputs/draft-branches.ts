import { type Statement, walk } from '../../../grammar/syntax.ts';
import { tightenLine, times } from '../checks/tighten-line.ts';
import type { Disagreement, Variant } from '../ledger/ledger.ts';
import { type FluidState, on, type PartState } from '../ledger/state.ts';
import { countOf } from '../model/model.ts';
import { fillLine } from './draft-fluids.ts';
import type { DraftState, TextPhase } from './draft-state.ts';
import type { Insertion } from './draft-text.ts';

/** Where branches of the reassembly leave a part or a fluid in different states, the shorter ones are completed. */
export const completeBranches: TextPhase = {
  amiss: (draft) => draft.ledger.variants.reduce((sum, variant) => sum + disagreements(draft, variant).length, 0),
  insertions(draft) {
    const insertions = new Map<string, Insertion>();
    for (const variant of draft.ledger.variants) {
      for (const disagreement of disagreements(draft, variant)) {
        missingIn(draft, disagreement).forEach((lines, branch) => {
          const { block, subject } = disagreement;
          const insertion = lines.length === 0 ? undefined : inBranch(draft, variant, block, branch, subject, lines);
          if (insertion !== undefined) insertions.set(`${insertion.at} ${insertion.text}`, insertion);
        });
      }
      // What was completed for one code may hold for the next.
      if (insertions.size > 0) break;
    }
    return [...insertions.values()];
  },
};

/** Lines that one block may lack: thousands of branches, each about a part of its own, would lack the square of them. */
const mostLacking = 10_000;

function disagreements(draft: DraftState, { disagreements: all }: Variant): Disagreement[] {
  const ours = all.filter(
    ({ block }) => draft.layout.placeOf(block) !== undefined && block.chunk.uri === draft.model.tree.uri,
  );
  const lacking = new Map<Statement, number>();
  for (const { block, branches } of ours) lacking.set(block, (lacking.get(block) ?? 0) + branches);
  return ours.filter(({ block }) => lacking.get(block)! <= mostLacking);
}

/** For each branch, the lines that it lacks. */
function missingIn(draft: DraftState, { subject, kind, states }: Disagreement): string[][] {
  if (kind === 'supply') {
    return (states as readonly FluidState[]).map((state) => {
      const line = state.drained ? fillLine(draft, subject, state) : undefined;
      return line === undefined ? [] : [line];
    });
  }
  const parts = states as readonly PartState[];
  const most = parts.reduce((a, b) => (on(b) > on(a) || (on(b) === on(a) && b.tight > a.tight) ? b : a));
  const whole = countOf(draft.model.parts.get(subject));
  return parts.map((state) => {
    const short = on(most) - on(state);
    const old = Math.min(short, state.off + state.fresh);
    const slack = most.tight - state.tight - (draft.model.fasteners.has(subject) ? 0 : short);
    return [
      ...(old > 0 ? [`fit ${subject}${times(old, whole)}`] : []),
      ...(short > old ? [`fit new ${subject}${times(short - old, whole)}`] : []),
      ...(slack > 0 ? [tightenLine(draft.model, subject, slack, on(most))] : []),
    ];
  });
}

/** Before what needs the part in its place, else at the end of the branch. */
function inBranch(
  draft: DraftState,
  variant: Variant,
  block: Statement,
  branch: number,
  part: string,
  lines: readonly string[],
): Insertion | undefined {
  const blockers = draft.relations(variant).blockers(part);
  const needs = ({ kind, name }: Statement): boolean =>
    (kind === 'tighten' && name?.text === part) || (kind === 'fit' && blockers.has(name?.text ?? ''));
  const first = block.branches?.[branch]?.statements.find((statement) => walk([statement]).some(needs));
  return first === undefined || lines[0]!.startsWith('tighten')
    ? draft.layout.inBranch(block, branch, lines)
    : draft.layout.above(first, lines);
}
