import { execFileSync } from 'node:child_process';
import { existsSync, realpathSync } from 'node:fs';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { parse } from '../../../grammar/parser.ts';
import type { SyntaxTree } from '../../../grammar/syntax.ts';
import { largestFile } from '../limits.ts';
import type { Resolve } from '../model/model.ts';
import { visible } from '../outputs/wording.ts';
import { UsageError } from './command.ts';
import { decoded, type Source, tooBig, type Unusable } from './files.ts';

/** A repository at one revision. */
export class Revision {
  private readonly nested = new Map<string, boolean>();
  /** As the caller named it. */
  readonly name: string;
  private readonly top: string;
  /** Nothing where there is no commit yet: before the first one, `HEAD` stands for no files at all. */
  private readonly commit: string | undefined;

  /** @throws {UsageError} where `folder` lies in no repository, or that has no such revision; `HEAD` may be `unborn`. */
  constructor(name: string, folder = '.', { unborn = false } = {}) {
    this.name = name;
    this.top = topOf(folder);
    const found = git(this.top, ['rev-parse', '--verify', '--quiet', '--end-of-options', `${name}^{commit}`]);
    const none = found === undefined && git(this.top, ['rev-list', '--max-count=1', '--all'])?.length === 0;
    if (none && unborn && name === 'HEAD') return;
    if (none)
      throw new UsageError(
        `${visible(this.top)} has no commit yet, so there is no ${visible(name)}: commit first, or name files alone`,
      );
    if (found === undefined && git(this.top, ['rev-parse', '--is-shallow-repository'])?.toString().trim() === 'true')
      throw new UsageError(
        `git knows no revision ${visible(name)} in this clone, which is shallow: fetch more of the history, as with \`git fetch --unshallow\``,
      );
    if (found === undefined)
      throw new UsageError(`git knows no revision ${visible(name)}: name a commit, branch or tag, as in HEAD or main`);
    this.commit = found.toString().trim();
  }

  /** The file at `path`, which counts from the working folder, as it was. */
  read(path: string): (Source & { readonly id: string }) | Unusable {
    const inside = this.inside(path);
    if (inside === undefined) return { reason: 'lies outside of the git repository: name a file in it' };
    if (/[\r\n]/.test(inside)) return { reason: 'has a line break in its name: rename it' };
    // A link in the revision is followed within it.
    const { out: answer, fault } = ask(
      this.top,
      ['cat-file', '--batch', '--follow-symlinks'],
      `${this.commit}:${inside}\n`,
    );
    if (fault !== undefined)
      return {
        reason: `git cannot tell (${visible(fault)}): clone without a filter, or fetch it with \`git fetch --refetch\``,
      };
    const end = answer?.indexOf(10) ?? -1;
    const [, id, type, size] = /^([0-9a-f]+) (\w+) (\d+)$/.exec(answer?.subarray(0, end).toString() ?? '') ?? [];
    if (answer === undefined || id === undefined || type === undefined)
      return { reason: `no such file in ${this.name}: check its name, and the folder that it counts from` };
    if (type !== 'blob') return { reason: 'is a folder: name a file in it' };
    if (Number(size) > largestFile) return tooBig;
    const source = decoded(answer.subarray(end + 1, end + 1 + Number(size)));
    return 'reason' in source ? source : { ...source, id };
  }

  /** The tree of a file as it was, and a resolver that finds what it uses in the same revision. */
  open(path: string): { readonly tree: SyntaxTree; readonly resolve: Resolve } | Unusable {
    const byId = new Map<string, SyntaxTree>();
    const load = (file: string): SyntaxTree | Unusable => {
      const source = this.read(file);
      if ('reason' in source) return source;
      // By content: so that a loop of links has an end.
      const tree = byId.get(source.id) ?? parse(pathToFileURL(file).href, source.text);
      byId.set(source.id, tree);
      return tree;
    };
    const tree = load(resolve(path));
    if ('reason' in tree) return tree;
    return {
      tree,
      resolve: (use, from) => {
        const found = load(resolve(dirname(fileURLToPath(from)), use));
        return 'reason' in found ? { missing: true, reason: found.reason } : found;
      },
    };
  }

  /**
   * Absolute paths of all files ending in `ending` that differ from the revision, were added, or are gone; files that git
   * is told to ignore are left out. @throws {UsageError} where git cannot tell, as in a clone that lacks objects.
   */
  changed(endings: readonly string[]): Set<string> {
    const specs = endings.map((ending) => `:(glob)**/*${ending}`);
    const list = (args: readonly string[]): string[] => {
      const { out, fault } = ask(this.top, [...args, '--', ...specs]);
      if (out === undefined)
        throw new UsageError(
          `git cannot tell what changed since ${visible(this.name)} (${visible(fault ?? '')}): clone without a filter, or name files alone`,
        );
      return out
        .toString()
        .split('\0')
        .filter((name) => name !== '');
    };
    const differing =
      this.commit === undefined
        ? list(['ls-files', '--full-name', '-z'])
        : list(['diff', '--name-only', '--no-renames', '--no-ext-diff', '-z', this.commit]);
    const unknown = list(['ls-files', '--others', '--exclude-standard', '--full-name', '-z']);
    return new Set([...differing, ...unknown].map((name) => join(this.top, name)));
  }

  /** True where the file at `path` lies in the repository. */
  holds(path: string): boolean {
    return this.inside(path) !== undefined;
  }

  /** True where the file at `path` lies in a repository within this one, such as a submodule: of its changes this one knows nothing. */
  isFurtherIn(path: string): boolean {
    for (let folder = dirname(real(resolve(path))); folder.length > this.top.length; folder = dirname(folder)) {
      const known = this.nested.get(folder) ?? existsSync(join(folder, '.git'));
      this.nested.set(folder, known);
      if (known) return true;
    }
    return false;
  }

  /** Relative to the top of the repository, with slashes; nothing where it lies outside. */
  private inside(path: string): string | undefined {
    const inside = relative(this.top, real(resolve(path)));
    return inside.startsWith('..') ? undefined : inside.split(sep).join('/');
  }
}

/** The folder that holds the repository of `folder`. @throws {UsageError} */
function topOf(folder: string): string {
  const top = git(folder, ['rev-parse', '--show-toplevel'])
    ?.toString()
    .replace(/\r?\n$/, '');
  if (top === undefined || top === '')
    throw new UsageError(`${visible(resolve(folder))} lies in no git repository: run this in a clone, or name files`);
  return realpathSync(top);
}

/** With the links of its folders resolved, but not a link in its own name; what does not exist stays as it is. */
export function real(path: string): string {
  const folder = dirname(path);
  if (folder === path) return path;
  try {
    return join(realpathSync(folder), basename(path));
  } catch {
    return join(real(folder), basename(path));
  }
}

/** What git answers; nothing where it refuses. */
const git = (folder: string, args: readonly string[]): Buffer | undefined => ask(folder, args).out;

/** Asks git, which asks nobody, fetches nothing, and runs no helper that a repository names. */
function ask(folder: string, args: readonly string[], input = ''): { readonly out?: Buffer; readonly fault?: string } {
  try {
    const out = execFileSync('git', ['-C', folder, '-c', 'core.fsmonitor=false', ...args], {
      input,
      maxBuffer: 4 * largestFile,
      stdio: 'pipe',
      env: { ...process.env, LC_ALL: 'C', GIT_TERMINAL_PROMPT: '0', GIT_NO_LAZY_FETCH: '1', GIT_OPTIONAL_LOCKS: '0' },
    });
    return { out };
  } catch (error) {
    const { code, stderr } = error as NodeJS.ErrnoException & { stderr?: Buffer };
    if (code === 'ENOENT') throw new UsageError('git cannot be run: install it, or name files instead of a revision');
    const lines = (stderr?.toString() ?? '').split('\n').filter((line) => line !== '');
    return { fault: lines.find((line) => line.startsWith('fatal:')) ?? lines[0] ?? (error as Error).message };
  }
}
