import { describe, expect, test } from 'vitest';
import type { CodeAction, CreateFile, TextDocumentEdit } from 'vscode-languageserver';
import { format } from '../../grammar/printer.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { sharedSteps } from '../../server/src/features/shared-steps.ts';
import { type Fill, describe as said } from '../../server/src/ledger/state.ts';
import { written } from '../../server/src/model/quantity.ts';
import { card } from '../../server/src/outputs/card.ts';
import { kit } from '../../server/src/outputs/kit.ts';
import { planOf } from '../../server/src/outputs/plan.ts';
import { planText } from '../../server/src/outputs/plan-text.ts';
import type { Snapshot } from '../../server/src/snapshot.ts';
import { applied, folder, scene } from '../features/scene.ts';
import { filesIn, textOf } from './samples.ts';

const shared = Object.fromEntries(filesIn('common').map((name) => [name, textOf(name)]));

const inAnyOrder = (_: string, value: unknown): unknown =>
  Array.isArray(value) && value.every((each) => typeof each === 'string') ? [...value].sort() : value;

const amountsOf = (fill: Fill | undefined): string =>
  fill === undefined
    ? 'none'
    : `${fill.statement.amount === undefined ? '?' : written(fill.statement.amount)}, ${amountsOf(fill.earlier)}`;

/** All that the bench and the office get, whatever file the steps stand in. */
function outcome({ model, ledger, judged }: Snapshot) {
  const plan = planOf(model);
  return {
    ends: ledger.variants.map(({ code, final, fluids }) => [
      code,
      [...final].map(([part, state]) => `${part}: ${said(state)}`).sort(),
      [...fluids].map(([supply, { out, fills }]) => `${supply}: ${out} ${amountsOf(fills)}`).sort(),
    ]),
    // Rows go by the declarations, which stand elsewhere now.
    kit: Object.entries(kit(model, ledger)).map(([name, rows]) => [
      name,
      Array.isArray(rows) ? rows.map((row) => JSON.stringify(row, inAnyOrder)).sort() : rows,
    ]),
    plan: 'rows' in plan ? planText(plan) : plan,
    // Findings, tools and supplies of the front page go by the declarations, too.
    card: card(model, ledger, { findings: [] } as never)
      .split('<article class="step"')
      .slice(1)
      .join('')
      .replace(/ data-(?:finding-)?line="[^"]*"/g, ''),
    findings: judged.findings.map(
      ({ code, message }) => `${code}: ${message.replace(/^in \S+ line \d+, step [\w-]+: /, '')}`,
    ),
  };
}

describe.each(filesIn(''))('%s', (name) => {
  const text = textOf(name);
  test('each step and each two steps of a phase can be shared, and nothing else changes', async () => {
    const one = await scene({ [name]: text, ...shared });
    const before = outcome(one.snapshot);
    const { steps } = one.snapshot.model;
    const own = steps.filter(({ step }) => step.chunk.uri === one.snapshot.tree.uri);
    let moves = 0;
    for (const [i, entry] of own.entries()) {
      const { step, phase } = entry;
      const next = own[i + 1];
      // Two steps with a sequence between them are no run.
      const run =
        next !== undefined && next.phase === phase && steps.indexOf(next) === steps.indexOf(entry) + 1
          ? next.step
          : undefined;
      for (const until of [step, run]) {
        if (until === undefined) continue;
        const { start } = one.snapshot.rangeOf(step.keyword!);
        const end = one.snapshot.rangeOf(until.statements.at(-1)!).start;
        const [action] = sharedSteps(
          one.snapshot,
          // From within the first step to within the last.
          one.snapshot.offsetAt(start) + 2,
          one.snapshot.offsetAt(end) + 1,
          fullClient,
        ) as Iterable<CodeAction>;
        const label = `${step.name?.text} to ${until.name?.text}`;
        expect(action, label).toBeDefined();
        moves++;
        const texts: Record<string, string> = { [name]: text };
        for (const change of action!.edit!.documentChanges as (CreateFile | TextDocumentEdit)[]) {
          if ('kind' in change) {
            expect(change.options).toEqual({ overwrite: false });
            texts[change.uri.slice(folder.length)] = '';
          } else {
            const file = change.textDocument.uri.slice(folder.length);
            texts[file] = applied(texts[file]!, change.edits as never);
          }
        }
        for (const [file, each] of Object.entries(texts)) expect(format(each), `${label}: ${file}`).toBe(each);
        const now = await scene({ ...texts, ...shared });
        const after = outcome(now.snapshot);
        expect({ ...after, findings: [] }, label).toEqual({ ...before, findings: [] });
        const added = (after.findings as string[]).filter((each) => !before.findings.includes(each));
        expect(added, label).toEqual([]);
        const [path] = Object.keys(texts).filter((file) => file !== name);
        const alone = await now.workspace.snapshot(folder + path);
        expect(
          alone!.judged.findings
            .map(({ code, message }) => `${code}: ${message}`)
            .filter((each) => !before.findings.includes(each)),
          `${label} alone`,
        ).toEqual([]);
      }
    }
    expect(moves).toBeGreaterThan(5);
  });
});
