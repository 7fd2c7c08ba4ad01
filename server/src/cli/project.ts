import { existsSync } from 'node:fs';
import { dirname, relative, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { defaultSettings, type Settings } from '../checks/check.ts';
import { visible } from '../outputs/wording.ts';
import { findProject } from '../project/lookup.ts';
import type { readProject } from '../project/settings.ts';
import { UsageError } from './command.ts';
import { readSource } from './files.ts';

/** Settings of the files of one run. */
export class Projects {
  private readonly known = new Map<string, Settings>();
  /** Settings that differ, each once, in the order of their first use. */
  readonly all: Settings[] = [];
  private readonly places = new Map<string, number>();

  /**
   * The settings that hold for the file at `path`, which need not exist.
   * @throws {UsageError} as {@link projectFor} and {@link settingsIn}.
   */
  async settingsFor(path: string): Promise<Settings> {
    const folder = dirname(resolve(path));
    let settings = this.known.get(folder);
    if (settings === undefined) {
      const project = projectFor(path);
      // The reader knows every check, and they take time to load: only where there is a project file.
      settings =
        project === undefined
          ? defaultSettings
          : settingsIn(project, (await import('../project/settings.ts')).readProject);
      this.known.set(folder, settings);
    }
    return settings;
  }

  /** Place in `all` of the settings that hold for the file at `path`. @throws {UsageError} as {@link settingsFor}. */
  async placeFor(path: string): Promise<number> {
    const settings = await this.settingsFor(path);
    const content = JSON.stringify(settings);
    let place = this.places.get(content);
    if (place === undefined) {
      place = this.all.push(settings) - 1;
      this.places.set(content, place);
    }
    return place;
  }
}

type Project = NonNullable<ReturnType<typeof findProject>>;

/** The project file that holds for the file at `path`. @throws {UsageError} where it cannot be read. */
export const projectFor = (path: string): Project | undefined =>
  findProject(pathToFileURL(resolve(path)).href, (uri) => {
    const file = fileURLToPath(uri);
    if (!existsSync(file)) return undefined;
    const source = readSource(file);
    if ('reason' in source) throw new UsageError(`${visible(relative('', file))}: ${source.reason}`);
    return source.text;
  });

/** What the project file states. @throws {UsageError} that names every line of it that cannot be used. */
export function settingsIn({ uri, text }: Project, read: typeof readProject): Settings {
  const { settings, problems } = read(text);
  if (problems.length > 0) {
    const name = visible(relative('', fileURLToPath(uri)));
    throw new UsageError(problems.map(({ line, message }) => `${name}:${line}: ${message}`).join('\nfettle: '));
  }
  return settings;
}
