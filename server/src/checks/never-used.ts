import type { Declaration } from '../../../grammar/syntax.ts';
import { declarationWords, isReserved } from '../../../grammar/tokens.ts';
import { mentionsOf } from '../model/mentions.ts';
import { chunksOf, type Model, tableOf } from '../model/model.ts';
import type { Check } from './check.ts';
import { removeLine } from './edits.ts';
import { namesMeant } from './unknown-name.ts';
import { named } from './wording.ts';

/** Declarations of this file that nothing refers to; of several by one name, the first. */
function unusedIn(model: Model): readonly Declaration[] {
  const found: Declaration[] = [];
  for (const kind of declarationWords)
    for (const name of model.unused[kind]) {
      const declaration = model[tableOf[kind]].get(name);
      if (declaration?.chunk.uri === model.tree.uri) found.push(declaration);
    }
  return found;
}

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
    const unused = unusedIn(model);
    if (unused.length === 0) return;
    const lost = new Set(model.lost);
    for (const chunk of chunksOf(model))
      if (chunk.issues.length > 0) for (const word of mentionsOf(chunk).unread) lost.add(word);
    // `unknown-name` tells of what was misspelt, with the name that was meant, and of what is there as another kind.
    if (model.useTroubles.length === 0) {
      for (const name of namesMeant(model)) lost.add(name);
      for (const { name, otherKind } of model.unknown) if (otherKind !== undefined) lost.add(name.text);
    }
    for (const declaration of unused) {
      const name = declaration.name;
      // A reserved word is no name: `syntax` tells of it.
      if (name === undefined || lost.has(name.text) || isReserved(name.text)) continue;
      yield {
        span: name,
        message: `the ${declaration.kind} ${named(name.text)} is declared and never used: use it in a step, or take the declaration out.`,
        related: [],
        data: { subject: name.text },
      };
    }
  },
  repairs(finding, { model }) {
    const declaration = finding.span.chunk.item;
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
