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

const shownLoops = (files: ReadonlyMap<string, string>, name: string): string[] => {
  const trees = new Map([...files].map(([each, text]) => [each, parse(`file:///${each}`, text)]));
  const model = bind(trees.get(name)!, (path) => trees.get(path) ?? { missing: true });
  return judge(model).findings.flatMap(({ code, message, span, related }) =>
    code === 'closed-in'
      ? [
          [span.chunk.text.slice(span.start, span.end), message, ...related.map((each) => each.span.chunk.uri)].join(
            ' | ',
          ),
        ]
      : [],
  );
};

test('between two shared files that do not use each other it is told at the line that brings the clause which closes it', () => {
  const files = new Map([
    ['bolts.fettle', 'part bolt "Bolt" held by cap\n'],
    ['covers.fettle', 'part lid "Lid"\npart cap "Cap" held by bolt\n'],
    ['both.fettle', 'use "bolts.fettle"\nuse "covers.fettle"\n'],
    ['unit.fettle', 'use "both.fettle"\npart plug "Plug"\n'],
  ]);
  expect(shownLoops(files, 'both.fettle')).toEqual([
    '"covers.fettle" | in covers.fettle line 2: `bolt` waits for `cap` in a loop of `held by` and `behind`, so none can come off first: take one of them out. | file:///covers.fettle | file:///bolts.fettle | file:///covers.fettle',
  ]);
  for (const name of ['bolts.fettle', 'covers.fettle', 'unit.fettle']) expect(shownLoops(files, name)).toEqual([]);
});

test('it is told in the file that has all of it, unless one that this uses has all of it, too', () => {
  const split = fc.tuple(parts, fc.nat(names.length), fc.nat(names.length), fc.boolean());
  fc.assert(
    fc.property(split, ([declared, one, other, leans]) => {
      const [from, to] = [Math.min(one, other), Math.max(one, other)];
      const [first, second, ours] = [declared.slice(0, from), declared.slice(from, to), declared.slice(to)];
      const text = (own: Part[], ...uses: string[]): string =>
        [...uses.map((path) => `use "${path}"\n`), ...own.map(lineOf)].join('');
      const files = new Map([
        ['first.fettle', text(first, ...(leans ? ['second.fettle'] : []))],
        ['second.fettle', text(second)],
        ['unit.fettle', text(ours, 'first.fettle', 'second.fettle')],
      ]);
      const clauses = ['held by', 'behind'];
      // What runs in a loop in a file that this one uses is told there.
      const theirs = [leans ? [...first, ...second] : first, second];
      if (theirs.some((each) => runsInLoop(each, clauses) || runsInLoop(each, ['carried by']))) return;
      const told = shownLoops(files, 'unit.fettle');
      for (const [each, words] of [
        [clauses, 'of `held by` and `behind`'],
        [['carried by'], 'of `carried by`'],
      ] as const)
        expect(
          told.some((line) => line.includes(`in a loop ${words}`)),
          [...files.values()].join('--\n'),
        ).toBe(runsInLoop(declared, each));
    }),
    { numRuns: 2000 },
  );
});
