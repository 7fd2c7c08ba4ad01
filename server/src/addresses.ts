import { URI, Utils } from 'vscode-uri';

/** One spelling for each file, however the client escapes its URI. */
export const keyOf = (uri: string): string => URI.parse(uri).toString();

/** The folder that a file lies in. */
export const folderOf = (uri: string): string => Utils.dirname(URI.parse(uri)).toString();

export const isWithin = (uri: URI, folder: string): boolean => {
  const root = URI.parse(folder);
  if (root.scheme !== uri.scheme || root.authority !== uri.authority) return false;
  const path = root.path.endsWith('/') ? root.path : `${root.path}/`;
  return uri.path.startsWith(path);
};

/**
 * True of an older version of a file, which editors show beside it: its address tells in a query which one, and beside other
 * paths the query would give the same text. It is none of the files of the workspace.
 */
export const isVersion = (key: string): boolean => key.includes('?');

/** What the paths of a file count from: a version takes what it uses as it is now, from beside its file in one of `roots`. */
export function baseOf(key: string, roots: readonly string[]): string {
  if (!isVersion(key)) return key;
  const uri = URI.parse(key).with({ query: '' });
  const there = roots.map((root) => URI.parse(root).with({ path: uri.path, query: '' }));
  return (there.find((place, i) => isWithin(place, roots[i]!)) ?? uri).toString();
}

/** Where a `use` path leads, or why it may not lead there. */
export function targetOf(
  path: string,
  from: string,
  roots: readonly string[],
): { readonly key: string } | { readonly refused: string } {
  if (path.trim() === '') return { refused: 'the path is empty' };
  if (!URI.parse(from).path.startsWith('/')) return { refused: 'this file lies nowhere yet: save it first' };
  if (path.includes('\\')) return { refused: 'write `/` between folders' };
  if (path.startsWith('/') || /^[A-Za-z][A-Za-z0-9+.-]*:/.test(path))
    return { refused: 'the path must count from the folder of this file' };
  if (path.includes('\0')) return { refused: 'the path holds a NUL' };
  // Nor can it be escaped: a pair of code units of which one has been deleted.
  if (/\p{Surrogate}/u.test(path)) return { refused: 'the path holds half a character' };
  const target = Utils.resolvePath(Utils.dirname(URI.parse(from)), path);
  return roots.some((root) => isWithin(target, root))
    ? { key: target.toString() }
    : { refused: 'it lies outside the workspace folder' };
}
