import { graphlib } from '@dagrejs/dagre';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';

const names = ['a', 'b', 'c', 'd', 'e', 'f'];
const relation = fc.tuple(fc.constantFrom('held by', 'behind', 'carried by'), fc.constantFrom(...names, 'unknown'));
const parts = fc
  .shuffledSubarray(names)
  .chain((declared) =>
    fc.tuple(
      ...declared.map((name) =>
        fc.uniqueArray(relation, { maxLength: 3, selector: ([clause]) => clause }).map((own) => ({ name, own })),
      ),
    ),
  );

/** Whether what `clauses` say of the parts runs in a ring, by a graph library. */
function runsInLoop(declared: { name: string; own: [string, string][] }[], clauses: readonly string[]): boolean {
  const graph = new graphlib.Graph({ directed: true });
  for (const { name } of declared) graph.setNode(name);
  for (const { name, own } of declared)
    for (const [clause, other] of own) if (clauses.includes(clause) && graph.hasNode(other)) graph.setEdge(name, other);
  return !graphlib.alg.isAcyclic(graph);
}

test('a loop is told of where, and only where, a graph library finds one', () => {
  fc.assert(
    fc.property(parts, (declared) => {
      const lines = declared.map(
        ({ name, own }) => `part ${name} "${name}" ${own.map((each) => each.join(' ')).join(' ')}`,
      );
      const { findings } = judge(bind(parse('file:///unit.fettle', `${lines.join('\n')}\n`)));
      const told = (words: string): boolean =>
        findings.some(({ code, message }) => code === 'closed-in' && message.includes(words));
      expect(told('in a loop of `held by` and `behind`'), lines.join('\n')).toBe(
        runsInLoop(declared, ['held by', 'behind']),
      );
      expect(told('in a loop of `carried by`'), lines.join('\n')).toBe(runsInLoop(declared, ['carried by']));
    }),
    { numRuns: 3000 },
  );
});
