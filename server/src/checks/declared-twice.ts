import { linesThatBring } from '../model/bringers.ts';
import { type Check, type Name, related } from './check.ts';
import { named } from './wording.ts';

export const declaredTwice: Check = {
  code: 'declared-twice',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'a part, tool, supply, pattern, step or procedure of the same name stands twice, or a code of the unit.',
  why: 'Two bolts under one name: every count is wrong.',
  bad: `part cover "Cover"
part cover "Side cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `part cover "Cover"
part side-cover "Side cover"
teardown
  step open
    remove cover
    remove side-cover
reassembly
  step close
    fit side-cover
    fit cover`,
  *run({ model }) {
    const fileOf = ({ chunk }: Name): string => decodeURIComponent(chunk.uri.split('/').at(-1)!);
    for (const { name, first, kind, use } of model.duplicates) {
      const elsewhere = first.chunk.uri === name.chunk.uri ? '' : ` in ${fileOf(first)}`;
      yield {
        span: use?.path ?? name,
        message:
          name === first
            ? `the step ${named(name.text)} of ${fileOf(name)} is taken in twice: take one ${named('use')} of it out.`
            : kind === 'procedure'
              ? 'a file holds one procedure: move this one to a file of its own.'
              : use === undefined
                ? `the ${kind} ${named(name.text)} is declared already${elsewhere}: give this one another name.`
                : `the ${kind} ${named(name.text)} of ${fileOf(name)} is declared already${elsewhere}: give one of them another name.`,
        related:
          use !== undefined && name === first
            ? linesThatBring(model, use, name.chunk).flatMap(({ path }) => related(path, 'brought in by this line'))
            : related(first, 'declared first here'),
        data: { subject: name.text },
      };
    }
    const codes = model.head?.codes ?? [];
    for (const code of codes) {
      const first = codes.find(({ text }) => text === code.text)!;
      if (first === code) continue;
      yield {
        severity: 'warning',
        span: code,
        message: `the code ${named(code.text)} stands here already: take it out, or write the code that was meant.`,
        related: related(first, 'the first of the two'),
        data: { subject: code.text },
      };
    }
  },
};
