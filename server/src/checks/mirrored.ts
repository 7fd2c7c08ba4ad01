import type { Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import type { Edit } from './check.ts';
import { insertAfter, insertBefore, insertInStep, newlineOf } from './edits.ts';

const goesBack: ReadonlySet<string> = new Set(['fit', 'connect']);

/**
 * Where `lines` that put `part` back belong: above the first refitting of something that came off before it, else
 * behind the last refitting of something that came off after it, else at the end of the reassembly.
 */
export function insertMirrored(model: Model, variant: Variant, part: string, lines: readonly string[]): Edit {
  const { tree } = model;
  const order = new Map<string, number>();
  let removal = -1;
  for (const entry of variant.entries) {
    for (const action of entry.actions) {
      if (action.verb !== 'remove' || action.along) continue;
      order.set(action.part, entry.index);
      if (action.part === part) removal = entry.index;
    }
  }
  let last: Statement | undefined;
  for (const entry of variant.entries) {
    if (entry.index <= removal || entry.role !== 'statement' || !goesBack.has(entry.statement.kind)) continue;
    if (entry.statement.chunk.uri !== tree.uri) continue;
    const other = entry.statement.name?.text ?? '';
    const cameOff = order.get(other);
    if (cameOff === undefined || other === part) continue;
    if (cameOff < removal) return insertBefore(tree, entry.statement, lines);
    last = entry.statement;
  }
  if (last !== undefined) return insertAfter(tree, last, lines);
  const from = variant.entries[removal]?.step;
  const step = model.steps.findLast((entry) => entry.phase === 'reassembly');
  // What comes off after the reassembly goes back in its own step.
  if (from !== undefined && step !== undefined && from.index > step.index)
    return insertInStep(tree, from.step, lines, 'last');
  if (step !== undefined) return insertInStep(tree, step.step, lines, 'last');
  const phase = model.phases.find((line) => line.kind === 'reassembly');
  const newline = newlineOf(tree);
  const opening = phase === undefined ? [...(/[\r\n]$/.test(tree.text) ? [''] : ['', '']), 'reassembly'] : [''];
  const body = ['  step put-back "Put it back"', ...lines.map((line) => `    ${line}`)];
  if (phase !== undefined) {
    const edit = insertAfter(
      tree,
      phase,
      body.map((line) => line),
    );
    return edit;
  }
  const end = tree.text.length;
  const proving = model.phases.find((line) => line.kind === 'proving');
  if (proving !== undefined) return insertBefore(tree, proving, ['reassembly', ...body, '']);
  return { uri: tree.uri, start: end, end, text: `${[...opening, ...body].join(newline)}${newline}` };
}
