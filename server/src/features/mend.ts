import { parse } from '../../../grammar/parser.ts';
import { checkOf } from '../checks/all.ts';
import type { Finding, Repair } from '../checks/check.ts';
import { judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import type { Snapshot } from '../workspace.ts';
import { disjoint, patched, type TextPatch } from './edits.ts';

/** Rounds of mending at most; one repair can make room for another. */
const mostRounds = 12;

export const repairsOf = (snapshot: Snapshot, finding: Finding): Repair[] =>
  checkOf(finding.code)?.repairs?.(finding, snapshot.context) ?? [];

/**
 * The text of the file after every repair that `choose` picks, again and again until none is left. A round that does
 * not lessen the findings, or brings an error that was not there, is taken back and ends it. Only this file is changed.
 */
export function mended(
  snapshot: Snapshot,
  choose: (finding: Finding, repairs: readonly Repair[]) => Repair | undefined,
): string {
  let text = snapshot.text;
  let { model, judged } = { model: snapshot.model, judged: snapshot.judged };
  for (let round = 0; round < mostRounds; round++) {
    const context = { model, ledger: judged.ledger, settings: snapshot.settings };
    const patches: TextPatch[] = [];
    for (const finding of judged.findings) {
      const repair = choose(finding, checkOf(finding.code)?.repairs?.(finding, context) ?? []);
      if (repair === undefined || repair.edits.some(({ uri }) => uri !== model.tree.uri)) continue;
      // Repairs in each other's way wait for the next round.
      if (disjoint([...patches, ...repair.edits]) && !repair.edits.some((edit) => meets(edit, patches)))
        patches.push(...repair.edits);
    }
    if (patches.length === 0) break;
    const next = patched(text, patches);
    const nextModel = bind(parse(model.tree.uri, next), snapshot.resolve);
    const nextJudged = judge(nextModel, snapshot.settings);
    const errors = (all: readonly Finding[]): number => all.filter(({ severity }) => severity === 'error').length;
    if (nextJudged.findings.length >= judged.findings.length || errors(nextJudged.findings) > errors(judged.findings))
      break;
    text = next;
    model = nextModel;
    judged = nextJudged;
  }
  return text;
}

/** Two insertions at one place: which comes first is for the replay to say, so the second waits. */
const meets = (edit: TextPatch, patches: readonly TextPatch[]): boolean =>
  patches.some((patch) => patch.start === edit.start && patch.end === edit.end);
