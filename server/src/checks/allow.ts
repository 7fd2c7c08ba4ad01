import type { Comment } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';

/** `# fettle-allow CODE: reason` */
export interface Allowance {
  readonly span: Comment;
  readonly code: string;
  /** Empty where the author gave none: then it silences nothing. */
  readonly reason: string;
}

const opening = /^#\s*fettle-allow\b/;
const shape = /^#\s*fettle-allow\s+([A-Za-z0-9-]+)\s*:\s*(.*)$/;

/** The allowances of this file, in the order of the text. */
export function allowancesOf(model: Model): Allowance[] {
  const allowances: Allowance[] = [];
  for (const chunk of model.tree.chunks) {
    for (const comment of chunk.comments) {
      if (!opening.test(comment.text)) continue;
      const [, code = '', reason = ''] = shape.exec(comment.text) ?? [];
      allowances.push({ span: comment, code, reason: reason.trim() });
    }
  }
  return allowances;
}
