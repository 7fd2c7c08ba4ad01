import type { Comment, SyntaxTree } from '../../../grammar/syntax.ts';

/** `# fettle-allow CODE: reason` */
export interface Allowance {
  readonly span: Comment;
  readonly code: string;
  /** Empty where the author gave none: then it silences nothing. */
  readonly reason: string;
}

const opening = /^#\s*fettle-allow\b/;
const shape = /^#\s*fettle-allow\s+([A-Za-z0-9-]+)\s*:\s*(.*)$/;

/** The allowances of a file, in the order of the text. */
export function allowancesOf(tree: Pick<SyntaxTree, 'chunks'>): Allowance[] {
  const allowances: Allowance[] = [];
  for (const chunk of tree.chunks) {
    for (const comment of chunk.comments) {
      if (!opening.test(comment.text)) continue;
      const [, code = '', reason = ''] = shape.exec(comment.text) ?? [];
      allowances.push({ span: comment, code, reason: reason.trim() });
    }
  }
  return allowances;
}
