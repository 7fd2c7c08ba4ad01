import { realpathSync } from 'node:fs';
import { isAbsolute, relative, resolve, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

/** With all links followed; the path itself where they lead nowhere. */
export const realPath = (path: string): string => {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
};

/** Names files as the caller named `given`: from the working folder, or from the root. */
export function namer(given: string, path: string): (uri: string) => string {
  const own = pathToFileURL(resolve(path)).href;
  return (uri) => {
    if (uri === own) return given;
    const file = fileURLToPath(uri);
    return isAbsolute(path) ? file : relative('', file);
  };
}

/** Relative to the working folder where the file lies in it, else absolute. */
export function uriOf(file: string): string {
  const path = relative('', file);
  return path.startsWith('..') || isAbsolute(path)
    ? pathToFileURL(resolve(file)).href
    : path.split(sep).map(encodeURIComponent).join('/');
}
