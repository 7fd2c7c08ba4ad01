import type { SelectionRange, SelectionRangeParams } from 'vscode-languageserver';
import { isPhase } from '../../../grammar/heads.ts';
import { contains, type Statement, type Text } from '../../../grammar/syntax.ts';
import type { Snapshot } from '../snapshot.ts';
import { chunksAt, spansAt } from './at.ts';
import { extentOf } from './document-symbol.ts';
import { feature } from './feature.ts';

/** Ever larger stretches around `offset`: word, value, clause, statement, branch, step, phase, file. */
export function selectionRangeAt(snapshot: Snapshot, offset: number): SelectionRange {
  const { tree, text } = snapshot;
  const stretches: [number, number][] = [[0, text.length]];
  const phase = phaseAround(snapshot, offset);
  if (phase !== undefined) stretches.push(phase);
  for (const { chunk, at } of chunksAt(snapshot, offset)) {
    const index = tree.chunks.indexOf(chunk);
    const base = tree.starts[index]!;
    const extent = extentOf(tree, index);
    if (extent.start <= offset && offset <= extent.end) stretches.push([extent.start, extent.end]);
    for (const span of [...spansAt(chunk.item, at), ...spansAt(chunk.strayStep, at), ...spansAt(chunk.comments, at)]) {
      stretches.push([base + span.start, base + span.end]);
      if ('value' in span && chunk.text[span.start] === '"' && at > span.start && at < span.end)
        stretches.push(...insideText(span as Text, at).map(([a, b]): [number, number] => [base + a, base + b]));
      const { branches } = span as Partial<Statement>;
      branches?.forEach((branch, b) => {
        const end = branches[b + 1]?.keyword.start ?? (span as Statement).closing?.start ?? span.end;
        const trimmed = branch.keyword.start + chunk.text.slice(branch.keyword.start, end).trimEnd().length;
        if (contains({ ...branch.keyword, end: trimmed }, at))
          stretches.push([base + branch.keyword.start, base + trimmed]);
      });
    }
  }
  let range: SelectionRange | undefined;
  let last: [number, number] | undefined;
  for (const [start, end] of stretches.sort((a, b) => b[1] - b[0] - (a[1] - a[0]))) {
    // Each must lie within the one before; what is as large is the same.
    if (last !== undefined && (start < last[0] || end > last[1] || end - start === last[1] - last[0])) continue;
    range = { range: snapshot.rangeAt(start, end), ...(range === undefined ? {} : { parent: range }) };
    last = [start, end];
  }
  return range!;
}

/** The words between the quotes, and the word among them. */
function insideText(text: Text, at: number): [number, number][] {
  const found: [number, number][] = [[text.start + 1, text.end - 1]];
  const source = text.chunk.text;
  let start = at;
  let end = at;
  while (start > text.start + 1 && /\S/.test(source[start - 1]!)) start--;
  while (end < text.end - 1 && /\S/.test(source[end]!)) end++;
  if (end > start) found.push([start, end]);
  return found;
}

/** From a phase line to the end of its last step. */
function phaseAround(snapshot: Snapshot, offset: number): [number, number] | undefined {
  const { tree } = snapshot;
  let phase: [number, number] | undefined;
  for (const [c, { item }] of tree.chunks.entries()) {
    if (item === undefined) continue;
    const extent = extentOf(tree, c);
    if (isPhase(item.kind)) {
      if (extent.start > offset) break;
      phase = [extent.start, extent.end];
    } else if (phase !== undefined) phase[1] = extent.end;
  }
  return phase !== undefined && phase[1] >= offset ? phase : undefined;
}

export const selectionRange = feature<SelectionRangeParams, SelectionRange[]>(
  'textDocument/selectionRange',
  { selectionRangeProvider: true },
  (snapshot, { positions }) => positions.map((position) => selectionRangeAt(snapshot, snapshot.offsetAt(position))),
);
