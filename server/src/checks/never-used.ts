import { mentionsOf } from '../model/mentions.ts';
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
    const lost = new Set<string>();
    for (const chunk of model.tree.chunks) for (const word of mentionsOf(chunk).unread) lost.add(word);
    for (const declaration of model.ownDeclarations) {
      const name = declaration.name;
      if (name === undefined || model.used[declaration.kind].has(name.text) || lost.has(name.text)) continue;
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
