import { statementsIn } from '../model/statements.ts';
import { type Check, named } from './check.ts';
import { removeLine } from './edits.ts';

export const neverUsed: Check = {
  code: 'never-used',
  severity: 'hint',
  section: 'Coming back',
  fires: 'nothing refers to a declaration.',
  why: 'A part that no step touches is either noise or a forgotten step.',
  bad: `procedure lid "Lid"
part cover "Cover"
part spacer "Spacer"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `procedure lid "Lid"
part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  *run({ model }) {
    // A file of declarations only is there for others to use.
    if (model.head === undefined) return;
    const lost = new Set(
      model.steps.flatMap(({ step }) =>
        statementsIn(step).flatMap((statement) => (statement.words ?? []).map((word) => word.text)),
      ),
    );
    for (const declaration of model.ownDeclarations) {
      const name = declaration.name;
      if (name === undefined || (model.referencesTo.get(declaration)?.length ?? 0) > 0 || lost.has(name.text)) continue;
      if (model.duplicates.some((duplicate) => duplicate.name === name)) continue;
      yield {
        span: name,
        message: `the ${declaration.kind} ${named(name.text)} is declared and never used: use it in a step, or take the declaration out.`,
        related: [],
        data: { subject: name.text },
      };
    }
  },
  repairs(finding, { model }) {
    const declaration = model.ownDeclarations.find((each) => each.name === finding.span);
    return declaration === undefined
      ? []
      : [
          {
            title: `Take the declaration of ${String(finding.data?.['subject'])} out`,
            edits: [removeLine(model.tree, declaration)],
            safe: false,
          },
        ];
  },
};
