import type { Head, PhaseLine, SyntaxTree } from '../../../grammar/syntax.ts';

/**
 * A comment says so. Without it, a file with phases and no head is taken for a procedure in the making, of which nothing
 * must be passed over in silence.
 */
export const isPiece = ({ chunks }: SyntaxTree, head: Head | undefined, phases: readonly PhaseLine[]): boolean =>
  head === undefined &&
  phases.length > 0 &&
  chunks.some(({ comments }) => comments.some(({ text, ownLine }) => ownLine && sharedMark.test(text)));

/** The comment that marks steps for other procedures to take in. */
export const sharedComment = '# fettle-shared';
const sharedMark = /^#\s*fettle-shared\b/;
