import { parse } from '../../../grammar/parser.ts';
import { countFirst } from '../../../grammar/sorted.ts';
import type { Chunk } from '../../../grammar/syntax.ts';
import { bind, type Model, type Resolve } from '../model/model.ts';
import { repairsFor } from './all.ts';
import type { Finding, Repair, Settings } from './check.ts';
import { type Judged, judge } from './run.ts';

/** A replacement in one file, by offsets in its text. */
export interface TextPatch {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/** True where no two patches touch the same text; pure insertions at one place keep their order. */
export function disjoint(patches: readonly TextPatch[]): boolean {
  const sorted = [...patches].sort((a, b) => a.start - b.start || a.end - b.end);
  return sorted.every((patch, i) => i === 0 || sorted[i - 1]!.end <= patch.start);
}

/** `text` with all patches made; they count in `text` as it is and must be disjoint. */
export function patched(text: string, patches: readonly TextPatch[]): string {
  const sorted = patches
    .map((patch, i) => ({ ...patch, i }))
    .sort((a, b) => a.start - b.start || a.end - b.end || a.i - b.i);
  let result = '';
  let at = 0;
  for (const patch of sorted) {
    result += text.slice(at, patch.start) + patch.text;
    at = patch.end;
  }
  return result + text.slice(at);
}

/** A file with what its findings rest on. */
export interface Mendable {
  readonly text: string;
  readonly model: Model;
  readonly judged: Judged;
  readonly settings: Settings;
  readonly resolve: Resolve;
}

/** Rounds of mending at most; one repair can make room for another. */
const mostRounds = 12;

/**
 * The text of the file after every repair that `choose` picks, again and again until none is left. A round that does
 * not lessen the findings, or brings an error that was not there, is taken back and ends it. Only this file is changed.
 */
export function mended(
  file: Mendable,
  choose: (finding: Finding, repairs: readonly Repair[]) => Repair | undefined,
): string {
  let text = file.text;
  let { model, judged } = { model: file.model, judged: file.judged };
  for (let round = 0; round < mostRounds; round++) {
    const context = { model, ledger: judged.ledger, settings: file.settings };
    const patches: TextPatch[] = [];
    const taken = new Taken();
    const doubted = doubtedIn(judged.findings);
    for (const finding of judged.findings) {
      const repairs = repairsFor(finding, context);
      const isDoubted = doubted.get(finding.span.chunk)?.has(finding.span.start) === true;
      const repair = choose(finding, isDoubted ? repairs.map((each) => ({ ...each, safe: false })) : repairs);
      if (repair === undefined || repair.edits.some(({ uri }) => uri !== model.tree.uri)) continue;
      // Repairs in each other's way wait for the next round.
      if (disjoint(repair.edits) && repair.edits.every((edit) => taken.hasRoomFor(edit))) {
        for (const edit of repair.edits) taken.add(edit);
        patches.push(...repair.edits);
      }
    }
    if (patches.length === 0) break;
    const next = patched(text, patches);
    const nextModel = bind(parse(model.tree.uri, next), file.resolve);
    const nextJudged = judge(nextModel, file.settings);
    const errors = (all: readonly Finding[]): number => all.filter(({ severity }) => severity === 'error').length;
    if (nextJudged.findings.length >= judged.findings.length || errors(nextJudged.findings) > errors(judged.findings))
      break;
    text = next;
    model = nextModel;
    judged = nextJudged;
  }
  return text;
}

/** Where values begin that a finding doubts, by chunk: until somebody has looked, nothing is to be made of them. */
function doubtedIn(findings: readonly Finding[]): ReadonlyMap<Chunk, ReadonlySet<number>> {
  const found = new Map<Chunk, Set<number>>();
  for (const { code, span } of findings) {
    if (code !== 'odd-size' && code !== 'wrong-kind') continue;
    const starts = found.get(span.chunk) ?? new Set();
    found.set(span.chunk, starts.add(span.start));
  }
  return found;
}

/** Patches that touch no other, by their start; two insertions at one place: which comes first is for the replay to say. */
class Taken {
  private readonly patches: TextPatch[] = [];

  hasRoomFor({ start, end }: TextPatch): boolean {
    let at = this.placeOf(start);
    const before = this.patches[at - 1];
    if (before !== undefined && before.end > start) return false;
    for (; this.patches[at]?.start === start; at++) {
      const other = this.patches[at]!;
      // An insertion may stand where another patch begins.
      if (other.end === end || (other.end > start && end > start)) return false;
    }
    return end <= (this.patches[at]?.start ?? end);
  }

  add(patch: TextPatch): void {
    let at = this.placeOf(patch.start);
    // Insertions first.
    if (patch.end > patch.start) while (this.patches[at]?.start === patch.start) at++;
    this.patches.splice(at, 0, patch);
  }

  /** The first patch that starts at `start` or behind it. */
  private placeOf(start: number): number {
    return countFirst(this.patches, (patch) => patch.start < start);
  }
}
