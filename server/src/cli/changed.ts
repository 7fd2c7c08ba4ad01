import { existsSync, realpathSync } from 'node:fs';
import { dirname, resolve as resolvePath } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import type { SyntaxTree } from '../../../grammar/syntax.ts';
import type { Resolve } from '../model/model.ts';
import { visible } from '../outputs/wording.ts';
import { projectFile, projectPlaces } from '../project/lookup.ts';
import { UsageError } from './command.ts';
import { readSource } from './files.ts';
import { Revision, real } from './git.ts';
import type { Loader } from './load.ts';

/**
 * Of `names`, those whose findings may differ from the revision's: the file itself changed, or one that it uses, directly or
 * through others, or its project file. Gone counts as changed, and so does all in a repository within. @throws {UsageError}
 */
export function changedSince(name: string, names: readonly string[], loader: Loader): string[] {
  const revision = new Revision(name, '.', { unborn: true });
  const changed = revision.changed(['.fettle', projectFile]);
  const differs = (path: string): boolean =>
    changed.has(real(path)) || changed.has(linked(path)) || revision.isFurtherIn(path);
  return names.filter((each) => {
    const path = resolvePath(each);
    if (!revision.holds(path))
      throw new UsageError(`${visible(each)} lies outside of the git repository: leave it or --changed-since out`);
    if (differs(path) || projectDiffers(path, differs)) return true;
    const source = readSource(path);
    // What cannot be read is told by the check.
    if ('reason' in source) return true;
    const { tree, resolve } = loader.open(path, source.text);
    return usesOf(tree, resolve).some(differs);
  });
}

const linked = (path: string): string => {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
};

function projectDiffers(path: string, differs: (path: string) => boolean): boolean {
  for (const place of projectPlaces(pathToFileURL(path).href)) {
    const file = fileURLToPath(place);
    if (differs(file)) return true;
    if (existsSync(file)) return false;
  }
  return false;
}

/** Every path that a file uses, directly or through others, whether there is such a file or not. */
function usesOf(tree: SyntaxTree, resolve: Resolve): string[] {
  const paths: string[] = [];
  const seen = new Set<string>();
  const visit = (file: SyntaxTree): void => {
    if (seen.has(file.uri)) return;
    seen.add(file.uri);
    for (const { item } of file.chunks) {
      if (item?.kind !== 'use' || item.path === undefined) continue;
      paths.push(resolvePath(dirname(fileURLToPath(file.uri)), item.path.value));
      const target = resolve(item.path.value, file.uri);
      if (!('missing' in target)) visit(target);
    }
  };
  visit(tree);
  return paths;
}
