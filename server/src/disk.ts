import { readdir, readFile, realpath, stat } from 'node:fs/promises';
import { join, sep } from 'node:path';
import { URI } from 'vscode-uri';
import { largestFile, mostFiles } from './limits.ts';
import type { Files } from './workspace.ts';

const skipped: ReadonlySet<string> = new Set(['node_modules', '.git']);

const isWithin = (path: string, folder: string): boolean =>
  path.startsWith(folder.endsWith(sep) ? folder : folder + sep);

/** Reads closed files from disk. Only regular UTF-8 files; links must end within the folders given. */
export const disk: Files = {
  async read(uri, roots) {
    const { scheme, fsPath } = URI.parse(uri);
    if (scheme !== 'file') throw new Error(`\`${scheme}:\` names no file of this machine`);
    const real = await realpath(fsPath).catch((error: NodeJS.ErrnoException) => {
      throw new Error(reasons[error.code ?? ''] ?? error.message);
    });
    const folders = await Promise.all(
      roots
        .map((root) => URI.parse(root))
        .filter((root) => root.scheme === 'file')
        .map((root) => realpath(root.fsPath).catch(() => undefined)),
    );
    if (!folders.some((folder) => folder !== undefined && isWithin(real, folder)))
      throw new Error('a link leads out of the workspace folder');
    // Asked before opening: opening a FIFO would wait for ever.
    const found = await stat(real);
    if (!found.isFile()) throw new Error('it is no regular file');
    if (found.size > largestFile) throw new Error('it is larger than 16 MiB: split it');
    const bytes = await readFile(real).catch((error: NodeJS.ErrnoException) => {
      throw new Error(reasons[error.code ?? ''] ?? error.message);
    });
    try {
      return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    } catch {
      throw new Error('it is not UTF-8: save it as UTF-8');
    }
  },

  async list(folder) {
    const { scheme, fsPath } = URI.parse(folder);
    if (scheme !== 'file') return { uris: [], isWhole: false };
    const found: string[] = [];
    let isWhole = true;
    const queue = [fsPath];
    for (let path = queue.shift(); path !== undefined && found.length < mostFiles; path = queue.shift()) {
      const entries = await readdir(path, { withFileTypes: true }).catch(() => {
        isWhole = false;
        return [];
      });
      for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
        if (entry.isDirectory() && !skipped.has(entry.name)) queue.push(join(path, entry.name));
        else if (entry.isFile() && entry.name.endsWith('.fettle'))
          found.push(URI.file(join(path, entry.name)).toString());
      }
    }
    return { uris: found, isWhole };
  },
};

const reasons: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file',
  ENOTDIR: 'there is no such file',
  EACCES: 'reading it is not allowed: check its permissions',
  EPERM: 'reading it is not allowed: check its permissions',
  EISDIR: 'it is a folder',
  ELOOP: 'its links lead in a circle',
  ENAMETOOLONG: 'its name is too long',
};
