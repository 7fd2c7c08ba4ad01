import type { Chunk, Comment, SyntaxTree } from '../../../grammar/syntax.ts';
import { changedChunks } from '../model/changed-chunks.ts';
import { Beside } from '../model/noted.ts';

/** `# fettle-allow CODE: reason` */
export interface Allowance {
  readonly span: Comment;
  readonly code: string;
  /** Empty where the author gave none: then it silences nothing. */
  readonly reason: string;
}

/** Whether a comment is an allowance, be it a good one. */
export const isAllowance = (comment: string): boolean => /^#\s*fettle-allow\b/.test(comment);
const shape = /^#\s*fettle-allow\s+([A-Za-z0-9-]+)\s*:\s*(.*)$/;

/** The allowances of a file, in the order of the text. Where an `earlier` state of it had none, only what has changed is looked at. */
export function allowancesOf(tree: SyntaxTree, earlier?: SyntaxTree): readonly Allowance[] {
  let found = known.get(tree);
  if (found === undefined) {
    const { from, until } =
      earlier !== undefined && known.get(earlier)?.length === 0
        ? changedChunks(earlier, tree)
        : { from: 0, until: tree.chunks.length };
    found = allowancesIn(tree.chunks.slice(from, until));
    known.set(tree, found);
  }
  return found;
}

const known = new Beside<SyntaxTree, readonly Allowance[]>();

function allowancesIn(chunks: readonly Chunk[]): Allowance[] {
  const allowances: Allowance[] = [];
  for (const { comments } of chunks) {
    for (const comment of comments) {
      if (!isAllowance(comment.text)) continue;
      const [, code = '', reason = ''] = shape.exec(comment.text) ?? [];
      allowances.push({ span: comment, code, reason: reason.trim() });
    }
  }
  return allowances;
}
