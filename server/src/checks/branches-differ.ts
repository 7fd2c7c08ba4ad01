import { type Statement, spanText, walk } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { describe, type FluidState, type PartState } from '../ledger/state.ts';
import { type Check, eachVariant, named, type Raw } from './check.ts';
import { insertAfter } from './edits.ts';
import { forCodes } from './for-codes.ts';

export const branchesDiffer: Check = {
  code: 'branches-differ',
  severity: 'error',
  section: 'Coming back',
  fires: 'the branches of `either` or `if` leave a part or a fluid in different states.',
  why: 'Whoever takes the other branch stands at the next step with a different unit on the bench.',
  bad: `part race "Bearing cup"
part ring "Snap ring"
teardown
  step open
    remove ring
    remove race
reassembly
  step close
    either "With the ring"
      fit race
      fit ring
    or "Without"
      fit race
    end`,
  good: `part race "Bearing cup"
part ring "Snap ring"
teardown
  step open
    remove ring
    remove race
reassembly
  step close
    either "Heat it on"
      fit race
      fit ring
    or "Press it on"
      fit race
      fit ring
    end`,
  *run({ ledger }) {
    yield* eachVariant(ledger, inVariant);
  },
  repairs(finding, { model, ledger }) {
    const subject = String(finding.data?.['subject']);
    const block = ledger.variants
      .flatMap((variant) => variant.disagreements)
      .find((each) => each.block.keyword === finding.span)?.block;
    const branches = block?.branches;
    if (branches === undefined || branches.length !== 2) return [];
    const about = (statements: Statement[]): Statement[] =>
      statements.filter((statement) => statement.branches === undefined && statement.name?.text === subject);
    const [first, second] = branches;
    const counts = [about(first!.statements), about(second!.statements)];
    const shorter = counts[0]!.length < counts[1]!.length ? 0 : 1;
    const missing = counts[1 - shorter]!.slice(counts[shorter]!.length);
    const { statements, text, keyword } = branches[shorter]!;
    const last = statements.at(-1);
    if (missing.length === 0) return [];
    const lines = forCodes(
      model,
      finding,
      missing.map((statement) => spanText(statement)),
      block,
    );
    const edit =
      last === undefined
        ? insertAfter(
            model.tree,
            text ?? keyword,
            lines.map((line) => `  ${line}`),
          )
        : insertAfter(model.tree, last, lines);
    return [
      {
        title: `Complete the shorter branch: ${missing.map(spanText).join(', ')}`,
        edits: [edit],
        safe: false,
      },
    ];
  },
};

function* inVariant(variant: Variant): Generator<Raw> {
  for (const { block, subject, kind, states } of variant.disagreements) {
    const ends = states.map((state, i) => {
      const text = block.branches?.[i]?.text?.value;
      const branch =
        text !== undefined && text !== ''
          ? `“${text}”`
          : block.kind === 'if'
            ? i === 0
              ? 'the first branch'
              : block.branches!.length > i
                ? '`else`'
                : 'otherwise'
            : `branch ${i + 1}`;
      const state_ =
        kind === 'part'
          ? describe(state as PartState)
          : (state as FluidState).drained
            ? 'drained'
            : (state as FluidState).filled
              ? 'filled'
              : 'untouched';
      return `${branch}: ${state_}`;
    });
    const isStranded = kind === 'part' && states.some((state) => (state as PartState).stranded > 0);
    const remedy = isStranded
      ? '`remove` it above, or `discard` it and `fit new` in that branch'
      : 'complete the shorter branch';
    yield {
      span: block.keyword,
      message: `${named(subject)} is not the same after each branch (${ends.join('; ')}): ${remedy}.`,
      related: (block.branches ?? []).flatMap((branch) => {
        const last = walk(branch.statements)
          .filter((statement) => statement.name?.text === subject)
          .at(-1);
        return last?.name === undefined ? [] : [{ span: last.name, message: `${named(subject)} in this branch` }];
      }),
      data: { subject },
    };
  }
}
