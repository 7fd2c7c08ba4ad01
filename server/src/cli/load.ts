import { dirname, resolve as resolvePath } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parse } from '../../../grammar/parser.ts';
import type { SyntaxTree } from '../../../grammar/syntax.ts';
import type { Resolve } from '../model/model.ts';
import { readSource, type Unusable } from './files.ts';
import { realPath } from './paths.ts';

/** UTF-16 units of shared files that are kept between the files of one run. */
const keptText = 8 * 1024 * 1024;

/** Finds the files behind `use` on disk. Shared ones are parsed once a run, the least lately used being dropped. */
export class Loader {
  private readonly kept = new Map<string, SyntaxTree>();
  private size = 0;

  /**
   * Parses the file that is to be judged and gives the resolver for it.
   * A file reached by several paths (links) is one file, known by the first: so a loop of links has an end.
   */
  open(path: string, text: string): { tree: SyntaxTree; resolve: Resolve } {
    const tree = parse(pathToFileURL(resolvePath(path)).href, text);
    const byRealPath = new Map<string, SyntaxTree>([[realPath(resolvePath(path)), tree]]);
    const resolve: Resolve = (use, from) => {
      if (use.includes('\0')) return { missing: true, reason: 'its name holds a NUL' };
      const target = resolvePath(dirname(fileURLToPath(from)), use);
      const real = realPath(target);
      const known = byRealPath.get(real) ?? this.load(target);
      if ('reason' in known) return { missing: true, reason: known.reason };
      byRealPath.set(real, known);
      return known;
    };
    return { tree, resolve };
  }

  private load(path: string): SyntaxTree | Unusable {
    let tree = this.kept.get(path);
    if (tree === undefined) {
      const source = readSource(path);
      if ('reason' in source) return source;
      tree = parse(pathToFileURL(path).href, source.text);
      this.size += tree.text.length;
    } else this.kept.delete(path);
    this.kept.set(path, tree);
    for (const [oldest, { text }] of this.kept) {
      if (this.size <= keptText) break;
      this.kept.delete(oldest);
      this.size -= text.length;
    }
    return tree;
  }
}
