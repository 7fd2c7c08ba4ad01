import type { Declaration } from '../../../grammar/syntax.ts';
import { declarationWords, isReserved } from '../../../grammar/tokens.ts';
import { mentionsOf } from '../model/mentions.ts';
import { chunksOf, type Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import { type Check, named } from './check.ts';
import { removeLine } from './edits.ts';
import { namesMeant } from './unknown-name.ts';

const known = new Beside<Model['unused'], { own: Model['ownDeclarations']; unused: readonly Declaration[] }>();

/** Declarations that nothing refers to; an edit that leaves declarations and names alone leaves them as they are. */
function unusedIn({ unused, ownDeclarations: own }: Model): readonly Declaration[] {
  if (declarationWords.every((kind) => unused[kind].size === 0)) return [];
  let answer = known.get(unused);
  if (answer?.own !== own) {
    answer = { own, unused: own.filter(({ kind, name }) => name !== undefined && unused[kind].has(name.text)) };
    known.set(unused, answer);
  }
  return answer.unused;
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
    const again = new Set(model.duplicates.map(({ name }) => name));
    for (const declaration of unused) {
      const name = declaration.name;
      // A reserved word is no name: `syntax` tells of it.
      if (name === undefined || lost.has(name.text) || isReserved(name.text)) continue;
      if (again.has(name)) continue;
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
