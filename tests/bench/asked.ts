import { lensesOf } from '../../server/src/features/code-lens.ts';
import { outlineOf } from '../../server/src/features/document-symbol.ts';
import { foldingRangesOf } from '../../server/src/features/folding-range.ts';
import { hintsIn } from '../../server/src/features/inlay-hint.ts';
import { encodedTokens } from '../../server/src/features/semantic-tokens.ts';
import type { Snapshot } from '../../server/src/snapshot.ts';
import { scene } from '../features/scene.ts';
import { behind } from './core.ts';
import { median } from './measure.ts';

/** What an editor asks for anew after a keystroke, beside findings; hints for the sixty lines that are seen. */
const asked: Readonly<Record<string, (snapshot: Snapshot, from: number, to: number) => unknown>> = {
  colours: (snapshot) => encodedTokens(snapshot),
  hints: hintsIn,
  lenses: (snapshot) => lensesOf(snapshot, { commands: new Set() }),
  outline: outlineOf,
  folds: foldingRangesOf,
};

/** Milliseconds of each, after keystrokes behind `place` in `text`; medians of `rounds`. */
export async function askedAfterKeystroke(text: string, place: string, rounds = 30): Promise<Record<string, number>> {
  const { workspace, uri, snapshot } = await scene(text);
  const at = behind(text, place);
  const start = snapshot.file.document.positionAt(at);
  const end = { line: start.line, character: start.character + 1 };
  const all = new Map<string, number[]>();
  for (let round = 0; round < rounds; round++) {
    const change = round % 2 === 0 ? { range: { start, end: start }, text: 'x' } : { range: { start, end }, text: '' };
    workspace.didChange(uri, round + 2, [change]);
    const now = (await workspace.snapshot(uri))!;
    now.judged;
    const seen = [-30, 30].map((lines) => now.offsetAt({ line: Math.max(0, start.line + lines), character: 0 }));
    for (const [name, ask] of Object.entries(asked)) {
      const from = performance.now();
      ask(now, seen[0]!, seen[1]!);
      all.set(name, [...(all.get(name) ?? []), performance.now() - from]);
    }
  }
  return Object.fromEntries([...all].map(([name, each]) => [name, median(each)]));
}
