import { URI, Utils } from 'vscode-uri';

/** What a `use` in the file at `from` writes to lead to the file at `to`; both are URIs of one scheme. */
export function usePath(from: string, to: string): string {
  const a = foldersIn(Utils.dirname(URI.parse(from)).path);
  const b = foldersIn(URI.parse(to).path);
  let common = 0;
  while (common < a.length && common < b.length - 1 && a[common] === b[common]) common++;
  return [...a.slice(common).map(() => '..'), ...b.slice(common)].join('/');
}

const foldersIn = (path: string): string[] => path.split('/').filter((each) => each !== '');

/** The path as a text of the language. */
export const writtenPath = (path: string): string => `"${path.replace(/["\\]/g, '\\$&')}"`;
