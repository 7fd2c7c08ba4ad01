import { parse } from '../../../grammar/parser.ts';
import { lineFinder, offsetsOf, type SyntaxTree } from '../../../grammar/syntax.ts';
import { visible } from '../outputs/wording.ts';
import { readSource, type Source, type Unusable } from './files.ts';

/**
 * {@link readSource} of a file that is to be a procedure, or declarations. One by another name than `*.fettle` of which most lines
 * cannot be read is refused whole: an error a line would help nobody, and what lays it out or mends it would spoil it.
 */
export function readProcedure(path: string): Source | Unusable {
  const source = readSource(path);
  if ('reason' in source || path.endsWith('.fettle')) return source;
  return foreign(parse('', source.text)) ?? source;
}

function foreign(tree: SyntaxTree): Unusable | undefined {
  const { text } = tree;
  const lineOf = lineFinder(text);
  const issues = tree.chunks.flatMap((chunk) => chunk.issues.map((issue) => ({ ...issue, chunk })));
  const unread = new Set(issues.map((issue) => lineOf(offsetsOf(tree, issue).start)));
  const filled = text.split(/\r\n|[\r\n]/).filter((line) => /^\s*[^\s#]/.test(line)).length;
  const [first] = unread;
  if (first === undefined || unread.size * 2 <= filled) return undefined;
  const [expected] = issues[0]!.message.split(': ');
  return {
    reason: `is no procedure: ${unread.size} of its ${filled} lines cannot be read, from line ${first + 1} on (${visible(expected!)}); name files that end in .fettle`,
  };
}
