import { type FoldingRange, FoldingRangeKind, type FoldingRangeParams } from 'vscode-languageserver';

import { statementsIn, stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';
import { extentOf } from './document-symbol.ts';
import { feature } from './feature.ts';

/** Phases, steps, branches, and runs of comments, `use` lines and declarations of one kind; whole lines. */
export function foldingRangesOf(snapshot: Snapshot): FoldingRange[] {
  const { document, tree } = snapshot.file;
  const lineAt = (offset: number): number => document.positionAt(offset).line;
  const ranges: FoldingRange[] = [];
  const fold = (startLine: number, endLine: number, kind?: FoldingRangeKind): void => {
    if (endLine > startLine) ranges.push({ startLine, endLine, ...(kind === undefined ? {} : { kind }) });
  };

  let phaseLine: number | undefined;
  let lastLine = 0;
  let run: { kind: string; first: number; last: number } | undefined;
  const closeRun = (): void => {
    if (run !== undefined)
      fold(run.first, run.last, run.kind === 'use' ? FoldingRangeKind.Imports : FoldingRangeKind.Region);
    run = undefined;
  };
  tree.chunks.forEach((chunk, i) => {
    const base = tree.starts[i]!;
    let comments: { first: number; last: number } | undefined;
    for (const comment of chunk.comments) {
      if (!comment.ownLine) continue;
      const line = lineAt(base + comment.start);
      if (comments?.last === line - 1) comments.last = line;
      else {
        if (comments !== undefined) fold(comments.first, comments.last, FoldingRangeKind.Comment);
        comments = { first: line, last: line };
      }
    }
    if (comments !== undefined) fold(comments.first, comments.last, FoldingRangeKind.Comment);

    const { item } = chunk;
    if (item === undefined) return;
    const extent = extentOf(tree, i);
    const first = lineAt(extent.start);
    const last = lineAt(extent.end);
    switch (item.kind) {
      case 'part':
      case 'tool':
      case 'supply':
      case 'pattern':
      case 'use':
        // A comment or blank line between declarations begins a group of its own.
        if (run?.kind === item.kind && run.last === first - 1) run.last = last;
        else {
          closeRun();
          run = { kind: item.kind, first, last };
        }
        break;
      case 'procedure':
      case 'step':
        closeRun();
        fold(first, last);
        break;
      default:
        closeRun();
        if (phaseLine !== undefined) fold(phaseLine, lastLine);
        phaseLine = first;
    }
    for (const step of stepsOfChunk(chunk)) {
      for (const { branches, closing } of statementsIn(step)) {
        branches?.forEach((branch, b) => {
          const next = branches[b + 1]?.keyword ?? closing;
          const from = lineAt(base + branch.keyword.start);
          const to =
            next === undefined
              ? lineAt(base + (branch.statements.at(-1)?.end ?? branch.keyword.end))
              : lineAt(base + next.start) - 1;
          fold(from, to);
        });
      }
    }
    lastLine = last;
  });
  closeRun();
  if (phaseLine !== undefined) fold(phaseLine, lastLine);
  return ranges.sort((a, b) => a.startLine - b.startLine || b.endLine - a.endLine);
}

export const foldingRange = feature<FoldingRangeParams, FoldingRange[]>(
  'textDocument/foldingRange',
  { foldingRangeProvider: true },
  foldingRangesOf,
);
