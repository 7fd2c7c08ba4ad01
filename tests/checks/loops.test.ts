import { graphlib } from '@dagrejs/dagre';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
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

type Part = { name: string; own: [string, string][] };
const lineOf = ({ name, own }: Part): string =>
  `part ${name} "${name}" ${own.map((each) => each.join(' ')).join(' ')}\n`;

test('of parts that this and a shared file declare too, before and after a line is put in or taken out', () => {
  fc.assert(
    fc.property(parts, fc.nat(names.length), fc.nat(names.length), (declared, shared, edited) => {
      const theirs = declared.slice(0, shared);
      const ours = declared.slice(shared);
      const file = parse('file:///shared.fettle', theirs.map(lineOf).join(''));
      const top = 'use "shared.fettle"\n';
      const without = ours.toSpliced(edited, 1);
      const start = (top + ours.slice(0, edited).map(lineOf).join('')).length;
      const line = ours
        .slice(edited, edited + 1)
        .map(lineOf)
        .join('');
      const full = judge(bind(parse('file:///unit.fettle', top + ours.map(lineOf).join('')), () => file));
      const change = (from: typeof full, end: number, text: string): typeof full => {
        const model = bind(reparse(from.ledger.model.tree, { start, end, text }), () => file, from.ledger.model);
        return judge(model, defaultSettings, replay(model, from.ledger), from.ledger);
      };
      const less = change(full, start + line.length, '');
      const again = change(less, start, line);
      for (const [clauses, words] of [
        [['held by', 'behind'], 'in a loop of `held by` and `behind`'],
        [['carried by'], 'in a loop of `carried by`'],
      ] as const) {
        const told = ({ findings }: typeof full): boolean =>
          findings.some(({ code, message }) => code === 'closed-in' && message.includes(words));
        // What runs in a loop among theirs alone is told in their file.
        if (runsInLoop(theirs, clauses)) continue;
        const runs = (all: Part[]): boolean => runsInLoop(all, clauses);
        expect([full, less, again].map(told)).toEqual([declared, [...theirs, ...without], declared].map(runs));
      }
    }),
    { numRuns: 3000 },
  );
});
